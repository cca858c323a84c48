"""The screens of a lesson: where the person stands, put into words and pictures."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from lessons.page import screens, summing, told
from lessons.page.compared import compared, picture_at
from lessons.page.done_before import DoneBefore
from lessons.page.interface import Interface, interface
from lessons.page.practice import Practice
from lessons.page.screens import Frame, Progress, Screen, button
from scoring.faults import FaultError
from scoring.library import Library
from scoring.marking.credit import credit
from scoring.model import Station
from scoring.scenario import Scenario
from scoring.wording import fill_words
from scoring.words import Words


@dataclass(frozen=True)
class Around:
    """What is the same on every screen of one page.

    Attributes
    ----------
    language : str
        Two letters.
    station : Station
        Whose lessons these are.
    home : str or None
        URL of the start page.
    """

    language: str
    station: Station
    home: str | None = None

    @property
    def words(self) -> Interface:
        """The page's words."""
        return interface(self.language)

    def station_name(self) -> str:
        """Return the station's name."""
        return self.words.say(f"station_{self.station}")

    def frame(
        self,
        heading: str,
        *,
        operator: str = "",
        progress: Progress | None = None,
        saved: str = "",
        notice: str = "",
        token: str | None = None,
    ) -> Frame:
        """Return a frame with the way home and the way to sign out."""
        say = self.words.say
        return Frame(
            language=self.language,
            heading=heading,
            progress=progress,
            saved=saved,
            notice=notice,
            store=f"sinkside:lesson:{self.station}",
            token=token,
            place=self.station_name(),
            home={"label": say("start_title"), "to": self.home} if self.home else None,
            who=operator,
            aside=button(say("other_person"), "sign_out") if operator else None,
        )


def sign_in(around: Around, *, wrong: str | None = None, forget: bool = False) -> Screen:
    """Ask for the operator code; `wrong` is what was typed when it was none."""
    say = around.words.say
    frame = around.frame(
        say("sign_in_heading", station=around.station_name()),
        notice="" if wrong is None else say("operator_wrong", code=wrong[:20]),
        token="" if forget else None,
    )
    field = {
        "name": "operator",
        "label": say("operator_label"),
        "hint": say("operator_hint"),
        "inputmode": "text",
    }
    return screens.sign_in(
        frame, intro=say("sign_in_intro"), fields=[field], label=say("sign_in_button")
    )


def choose(
    around: Around,
    operator: str,
    scenarios: Iterable[Scenario],
    before: DoneBefore,
    title: Callable[[str], str],
) -> Screen:
    """Offer the station's scenarios, each with what this operator has done of it."""
    say = around.words.say

    def state(name: str) -> str:
        if name in before.begun:
            return say("state_begun")
        if name in before.done:
            return say("state_done", date=f"{before.done[name].astimezone():%Y-%m-%d}")
        return say("state_new")

    items = [
        {
            "id": scenario.id,
            "title": title(scenario.id),
            "detail": say(
                "minutes_decisions", minutes=scenario.minutes, decisions=len(scenario.decisions)
            ),
            "state": state(scenario.id),
        }
        for scenario in scenarios
    ]
    if not items:
        frame = around.frame(say("problem_heading"), operator=operator, token="")
        return screens.problem(
            frame, what=say("problem_none"), remedy=say("problem_none_remedy"), button=None
        )
    intro = say("choose_intro")
    if before.unreadable:
        intro += "\n\n" + say("choose_unreadable", count=before.unreadable)
    frame = around.frame(
        say("choose_heading", station=around.station_name()), operator=operator, token=""
    )
    return screens.choose(frame, intro=intro, items=items)


def intro(around: Around, practice: Practice, words: Words) -> Screen:
    """Tell the situation."""
    say = around.words.say
    return screens.intro(
        around.frame(words.title, operator=_operator(practice), token=practice.token),
        situation=fill_words(words.situation, practice.instance),
        aims=[fill_words(aim, practice.instance) for aim in words.aims],
        caution=fill_words(words.caution, practice.instance),
        minutes=say("minutes", minutes=practice.scenario.minutes),
        picture=picture_at(practice, 0, say("as_met"), around.language),
        label=say("begin"),
    )


def decision(
    around: Around, practice: Practice, words: Words, *, notice: str = "", resumed: bool = False
) -> Screen:
    """Ask for the next decision."""
    say = around.words.say
    asked = practice.next_decision()
    said = words.decisions[asked.id]
    number, total = len(practice.answers) + 1, len(practice.scenario.decisions)
    question = fill_words(said.question, practice.instance)
    frame = around.frame(
        question,
        operator=_operator(practice),
        progress=_progress(around, practice, len(practice.answers)),
        saved=say("resumed") if resumed else "",
        notice=notice,
        token=practice.token,
    )
    return screens.decision(
        frame,
        id=asked.id,
        number=number,
        total=total,
        control=asked.kind,
        question=question,
        situation=fill_words(words.situation, practice.instance),
        answers=told.answers_offered(practice.instance, asked, said),
        units=asked.units if asked.kind == "quantity" else (),
        spots=(
            told.spots_offered(practice.instance, practice.moments[-1], around.language)
            if asked.kind == "mark_places"
            else ()
        ),
        picture=picture_at(practice, len(practice.answers), say("as_met"), around.language),
        label=say("confirm"),
    )


def consequence(
    around: Around, practice: Practice, words: Words, *, resumed: bool = False
) -> Screen:
    """Show what the last answer did and why."""
    say = around.words.say
    given = practice.answers[-1]
    count = len(practice.answers)
    asked = practice.scenario.decisions[count - 1]
    said = words.decisions[asked.id]
    instance = practice.instance
    worth = credit(asked, given.value, instance)
    followed = told.reasons(instance, asked, said, given.value, worth)
    verdict = told.verdict(worth)
    right: list[str] = []
    if verdict != "right" and asked.kind != "quantity":
        right = told.right_answer(instance, asked, said, around.words, around.language)
    views = compared(practice, around.words, around.language, right=verdict == "right")
    frame = around.frame(
        say(f"verdict_{verdict}"),
        operator=_operator(practice),
        progress=_progress(around, practice, count),
        saved=say("resumed") if resumed else say("saved", time=f"{given.at.astimezone():%H:%M}"),
        token=practice.token,
    )
    return screens.consequence(
        frame,
        verdict=verdict,
        said="\n\n".join(followed),
        reason=right,
        your_answer=told.answer_parts(
            instance, asked, said, given.value, around.words, around.language
        ),
        ordered=asked.kind == "order",
        basis=told.basis(asked, around.words),
        before=views.before,
        after=views.after,
        figures=views.figures,
        heads=views.heads,
        label=say("finish") if practice.complete else say("next"),
    )


def summary(
    around: Around, practice: Practice, words: Words, library: Library, before: DoneBefore
) -> Screen:
    """Sum up a practice that was played to its end."""
    say = around.words.say
    marks = practice.marks()
    strong = summing.strengths(practice, marks, words)
    weak = summing.weak_spots(practice, marks, words, around.words, around.language)
    buttons = [button(say("again_button"), "again"), button(say("print_button"), "print")]
    if around.home:
        buttons.append(button(say("leave_button"), "leave", to=around.home))
    return screens.summary(
        around.frame(
            say("summary_heading", title=words.title),
            operator=_operator(practice),
            token=practice.token,
        ),
        stations=[summing.share_line(result, around.words) for result in marks.stations],
        strengths=strong or [say("no_strength")],
        weak=weak or [{"text": say("no_weak"), "then": ""}],
        reached=summing.reached(marks, around.words),
        practise=[
            {**item, **_way_to(around, library.scenario(item["id"]).station)}
            for item in summing.practise_next(
                practice, marks, library, before, around.words, around.language
            )
        ],
        picture=picture_at(practice, len(practice.answers), say("at_end"), around.language),
        buttons=buttons,
    )


def _way_to(around: Around, station: Station) -> dict[str, str]:
    """Return how the page gets to a lesson: by an action here, by an address elsewhere.

    A notebook program has no addresses of ours: there a lesson elsewhere is only named.
    """
    if station == around.station:
        return {"do": "choose"}
    return {"to": f"{around.home}learn/{station}"} if around.home else {}


def opened_elsewhere(around: Around) -> Screen:
    """Say that the sitting goes on in another window."""
    return _problem(around, "problem_stale", "problem_stale_remedy", ("retry", "reload"))


def damaged(around: Around, error: FaultError) -> Screen:
    """Say that the log was changed by hand; it stays as it is."""
    say = around.words.say
    fault = error.faults[0]
    return screens.problem(
        around.frame(say("problem_heading"), token=""),
        what=f"{say('problem_damaged')}\n\n{fault.item}: {fault.found}",
        remedy=say("problem_damaged_remedy"),
        button=button(say("start_over"), "start_over"),
    )


def fault(around: Around, error: FaultError) -> Screen:
    """Say which file of the kit or of the department cannot be used."""
    say = around.words.say
    first = error.faults[0]
    return screens.problem(
        around.frame(say("problem_heading"), token=""),
        what=say("problem_fault", item=first.item, found=first.found, wanted=first.wanted),
        remedy=f"{first.remedy}\n\n{say('problem_remedy')}",
        button=button(say("start_over"), "start_over"),
    )


def kit_fault(around: Around, name: str) -> Screen:
    """Say that something else is wrong; the details are in the server's log."""
    say = around.words.say
    return screens.problem(
        around.frame(say("problem_heading")),
        what=say("problem_kit", name=name),
        remedy=say("problem_remedy"),
        button=button(say("retry"), "reload"),
    )


def not_saved(around: Around, error: FaultError) -> str:
    """Return the sentence for an answer that could not be written down."""
    return f"{around.words.say('problem_unsaved')} {error.faults[0].remedy}"


def _problem(around: Around, what: str, remedy: str, retry: tuple[str, str]) -> Screen:
    say = around.words.say
    label, do = retry
    return screens.problem(
        around.frame(say("problem_heading")),
        what=say(what),
        remedy=say(remedy),
        button=button(say(label), do),
    )


def _progress(around: Around, practice: Practice, done: int) -> Progress:
    total = len(practice.scenario.decisions)
    number = min(done + 1, total) if practice.read == len(practice.answers) else done
    label = around.words.say("decision_of", number=number, total=total)
    return {"done": done, "total": total, "label": label}


def _operator(practice: Practice) -> str:
    return practice.log.header.operator
