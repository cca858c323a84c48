"""The screens of the page: pure functions from what is so to what is shown.

Every screen is a dict that JSON can carry. It holds words and pictures only,
never a key: what the page must not know is not sent.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, NotRequired, TypedDict

Screen = dict[str, Any]
"""See the module."""

Verdict = Literal["right", "partly", "wrong", "unsafe"]

SHOWN_UNITS: Mapping[str, str] = {"degC": "°C", "degF": "°F", "fl oz": "fl oz (US)"}
"""Units whose sign differs from the id that an answer carries."""


class Picture(TypedDict):
    """A drawn picture with the text that stands for it."""

    svg: str
    alt: str
    caption: NotRequired[str]


class Progress(TypedDict):
    """How far one is: `done` of `total`, and the words for it."""

    done: int
    total: int
    label: str


@dataclass(frozen=True)
class Frame:
    """What every screen carries besides its content.

    Attributes
    ----------
    language : str
        Two letters.
    heading : str
        The page's one main heading.
    progress : Progress or None
        Where one is.
    saved : str
        ``saved 10:42`` once an answer is on disk, else empty.
    notice : str
        An error, shown next to its cause.
    store : str
        Name under which the page keeps its token.
    token : str or None
        What to keep: the way back to this sitting; ``""`` forgets it, None leaves it.
    place : str
        Where one is, such as the station.
    home : mapping or None
        `label` and `to`: a link to the start page.
    who : str
        The operator code, so that a colleague sees whose page this is.
    aside : mapping or None
        A quiet button beside it.
    """

    language: str
    heading: str
    progress: Progress | None = None
    saved: str = ""
    notice: str = ""
    store: str = ""
    token: str | None = None
    place: str = ""
    home: Mapping[str, str] | None = None
    who: str = ""
    aside: Mapping[str, str] | None = None

    def screen(self, kind: str, **content: Any) -> Screen:
        """Return the screen of this kind with the frame's items around its content."""
        around: Screen = {
            "kind": kind,
            "language": self.language,
            "heading": self.heading,
            "progress": dict(self.progress) if self.progress else None,
            "saved": self.saved,
            "notice": self.notice,
            "store": self.store,
            "place": self.place,
            "home": dict(self.home) if self.home else None,
            "who": self.who,
            "aside": dict(self.aside) if self.aside else None,
        }
        if self.token is not None:
            around["token"] = self.token
        return around | content


def button(label: str, do: str, **more: str) -> dict[str, str]:
    """Return a button that sends ``{"do": do, **more}``.

    The page itself carries out ``reload``, ``print`` and ``leave`` (with ``to``);
    everything else goes to the kernel.
    """
    return {"label": label, "do": do, **more}


def sign_in(
    frame: Frame,
    *,
    intro: str,
    fields: Iterable[Mapping[str, str]],
    label: str,
    languages: Iterable[tuple[str, str]] = (),
) -> Screen:
    """Ask who it is. Each field: `name`, `label`, `hint`, and `inputmode` if not text.

    `languages` that the page can speak, each with what it calls itself.
    """
    return frame.screen(
        "sign_in",
        intro=intro,
        fields=[dict(field) for field in fields],
        languages=[{"id": one, "label": name} for one, name in languages],
        button=button(label, "sign_in"),
    )


def choose(
    frame: Frame,
    *,
    intro: str,
    items: Iterable[Mapping[str, str]],
    practise: Iterable[Mapping[str, str]] = (),
    weeks: Iterable[Mapping[str, Any]] = (),
    buttons: Sequence[Mapping[str, str]] = (),
) -> Screen:
    """Offer scenarios.

    Each item: `id`, `title`, `detail`, `state`, and the `language` of its title if it is not
    the page's. `practise` as in `summary`; `weeks` are lines
    of progress with the items of a station in `summary`.
    """
    return frame.screen(
        "choose",
        intro=intro,
        items=[dict(item) for item in items],
        practise=[dict(item) for item in practise],
        weeks=[dict(week) for week in weeks],
        buttons=list(buttons),
    )


def intro(
    frame: Frame,
    *,
    situation: str,
    aims: Iterable[str],
    caution: str,
    minutes: str,
    picture: Picture | None,
    label: str,
) -> Screen:
    """Tell the situation before the first decision. `minutes` is a sentence."""
    return frame.screen(
        "intro",
        situation=situation,
        aims=list(aims),
        caution=caution,
        minutes=minutes,
        picture=picture,
        button=button(label, "begin"),
    )


def decision(
    frame: Frame,
    *,
    id: str,  # the page's own name for it
    number: int,
    total: int,
    control: str,
    question: str,
    situation: str = "",
    answers: Iterable[tuple[str, str]] = (),
    units: Iterable[str] = (),
    spots: Iterable[Mapping[str, Any]] = (),
    picture: Picture | None = None,
    hint: Mapping[str, str] | None = None,
    given: str = "",
    label: str,
) -> Screen:
    """Ask for one decision.

    Parameters
    ----------
    frame : Frame
        What is around.
    id : str
        Id of the decision.
    number, total : int
        Its place among the sitting's decisions, from 1.
    control : str
        Kind of the decision.
    question, situation : str
        What is asked, and what the person may read again.
    answers : iterable of (str, str)
        Id and label, in the order shown.
    units : iterable of str
        Units on offer; none is chosen beforehand.
    spots : iterable of mapping
        `place`, `label`, and `x`, `y`, `r` in the picture's units (640 by 360).
    picture : Picture or None
        The instrument as it is now.
    hint : mapping or None
        `label` of its button and what it `costs`, or, once asked for, its `text`.
    given : str
        What was answered before, where it is asked a second time.
    label : str
        Words of the button.
    """
    return frame.screen(
        "decision",
        id=id,
        number=number,
        total=total,
        control=control,
        question=question,
        situation=situation,
        answers=[{"id": name, "label": text} for name, text in answers],
        units=[{"id": unit, "label": SHOWN_UNITS.get(unit, unit)} for unit in units],
        spots=[dict(spot) for spot in spots],
        picture=picture,
        hint=dict(hint) if hint else None,
        given=given,
        button=button(label, "answer"),
    )


def consequence(
    frame: Frame,
    *,
    verdict: Verdict,
    said: str,
    reason: Sequence[str],
    your_answer: Sequence[str],
    ordered: bool,
    basis: Iterable[Mapping[str, str]],
    before: Picture | None,
    after: Picture | None,
    figures: Iterable[Mapping[str, str]],
    heads: tuple[str, str],
    label: str,
) -> Screen:
    """Show what the answer did and why.

    `said` is what followed, `reason` the parts of what would have been right (or none),
    `your_answer` those of what was answered, `ordered` when their order counts; each basis
    has `text`, `source`, `status`; each figure `label`, `before`, `after`, `unit`, `limit`,
    and `before_is`, `after_is` for "above the limit", all as words; `heads` stand over
    `before` and `after`.
    """
    return frame.screen(
        "consequence",
        verdict=verdict,
        said=said,
        reason=list(reason),
        your_answer=list(your_answer),
        ordered=ordered,
        basis=[dict(each) for each in basis],
        before=before,
        after=after,
        figures=[dict(figure) for figure in figures],
        heads=list(heads),
        button=button(label, "next"),
    )


def summary(
    frame: Frame,
    *,
    stations: Iterable[Mapping[str, Any]],
    strengths: Iterable[str],
    weak: Iterable[Mapping[str, str]],
    ended: str = "",
    reached: Iterable[str] = (),
    practise: Iterable[Mapping[str, str]] = (),
    picture: Picture | None = None,
    buttons: Sequence[Mapping[str, str]],
) -> Screen:
    """Sum up a sitting.

    Each station: `station`, `verdict`, `share`, `low`, `high` (0 to 1, or None
    when there is no evidence), `n`, and `said`, the sentence that says them. Each weak
    spot: `text`, and `then`, what to do instead. `ended` says what would be left. Each item
    to practise: `id`, `title`, `why`, and `do` (an action) or `to` (an address) if the page
    can go there.
    """
    return frame.screen(
        "summary",
        stations=[dict(station) for station in stations],
        strengths=list(strengths),
        weak=[dict(item) for item in weak],
        ended=ended,
        reached=list(reached),
        practise=[dict(item) for item in practise],
        picture=picture,
        buttons=list(buttons),
    )


def what_if(
    frame: Frame,
    *,
    said: Iterable[str],
    before: Picture,
    after: Picture,
    figures: Iterable[Mapping[str, str]],
    heads: tuple[str, str],
    then: Iterable[str],
    buttons: Sequence[Mapping[str, str]],
) -> Screen:
    """Show two ends of one practice; `figures` and `heads` as in `consequence`.

    `said` stands above the pictures, `then` below the figures: what comes after these ends.
    """
    return frame.screen(
        "what_if",
        said=list(said),
        then=list(then),
        before=before,
        after=after,
        figures=[dict(figure) for figure in figures],
        heads=list(heads),
        buttons=list(buttons),
    )


def receipt(
    frame: Frame, *, code: str, lines: Iterable[str], button: Mapping[str, str] | None
) -> Screen:
    """Give the receipt of a closed exam."""
    return frame.screen("receipt", code=code, lines=list(lines), button=button)


def problem(frame: Frame, *, what: str, remedy: str, button: Mapping[str, str] | None) -> Screen:
    """Say what is wrong and what to do, never a traceback."""
    return frame.screen("problem", what=what, remedy=remedy, button=button)
