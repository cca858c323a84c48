"""The screens of a lesson: where the person stands, put into words and pictures."""

from __future__ import annotations

from collections.abc import Iterable

from lessons.page import screens, summing, told
from lessons.page.around import Around
from lessons.page.asking import question
from lessons.page.compared import compared, earlier_shown, picture_at
from lessons.page.due import Suggestion
from lessons.page.history import History
from lessons.page.interface import languages
from lessons.page.practice import Practice
from lessons.page.screens import Progress, Screen, button
from lessons.page.weeks import weeks_of
from scoring.library import Library
from scoring.marking.credit import credit
from scoring.marking.hints import HINT_COST
from scoring.model import Station
from scoring.scenario import Scenario
from scoring.wording import fill_words
from scoring.words import DecisionWords, Words


def sign_in(around: Around, *, wrong: str | None = None, forget: bool = False) -> Screen:
    """Ask for the operator code and offer the languages; `wrong` is what was typed for a code."""
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
        frame,
        intro=say("sign_in_intro"),
        fields=[field],
        label=say("sign_in_button"),
        languages=languages().items(),
    )


def choose(
    around: Around,
    operator: str,
    scenarios: Iterable[Scenario],
    before: History,
    library: Library,
    found: Iterable[Suggestion],
) -> Screen:
    """Offer the station's scenarios, what to practise next, and how the last weeks went.

    Parameters
    ----------
    around : Around
    operator : str
        Operator code.
    scenarios : iterable of Scenario
        The station's.
    before : History
        What this operator has done.
    library : Library
        Where the titles are.
    found : iterable of Suggestion
        What is due.
    """
    say = around.words.say

    def state(name: str) -> str:
        if name in before.begun:
            return say("state_begun")
        if name in before.done:
            return say("state_done", date=f"{before.done[name].astimezone():%Y-%m-%d}")
        return say("state_new")

    items = []
    for scenario in scenarios:
        words = library.words(scenario.id, around.language)
        detail = say(
            "minutes_decisions", minutes=scenario.minutes, decisions=len(scenario.decisions)
        )
        item = {"id": scenario.id, "title": words.title, "state": state(scenario.id)}
        if words.language != around.words.language:
            detail += f". {say('only_english')}"
            item["language"] = words.language
        items.append(item | {"detail": detail})
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
    weeks = weeks_of(before.played, around.station)
    return screens.choose(
        frame,
        intro=intro,
        items=items,
        practise=_practise(around, found, library) if before.played else (),
        weeks=[summing.week_line(week, around.words) for week in weeks],
    )


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
    number = len(practice.answers)
    frame = around.frame(
        fill_words(words.decisions[asked.id].question, practice.instance),
        operator=_operator(practice),
        progress=_progress(around, practice, number),
        saved=say("resumed") if resumed else "",
        notice=notice,
        token=practice.token,
    )
    hint = _hint(around, practice, words.decisions[asked.id])
    return question(around, practice, words, frame, number, hint=hint, label=say("confirm"))


def _hint(around: Around, practice: Practice, said: DecisionWords) -> dict[str, str] | None:
    """Return the offer of a hint, or the hint once asked for; None where there is none."""
    say = around.words.say
    if not said.hint:
        return None
    if practice.hint_taken:
        return {"label": say("hint"), "text": fill_words(said.hint, practice.instance)}
    return {"label": say("hint_button"), "costs": say("hint_costs", percent=round(100 * HINT_COST))}


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
    earlier = practice.scenario.decisions[: count - 1]
    followed = told.reasons(
        instance, asked, said, given.value, worth, earlier=earlier, language=around.language
    )
    verdict = told.verdict(worth)
    if verdict == "right" and earlier_shown(practice):
        followed.append(say("earlier_shown"))
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
    around: Around,
    practice: Practice,
    words: Words,
    library: Library,
    found: Iterable[Suggestion],
) -> Screen:
    """Sum up a practice that was played to its end.

    Parameters
    ----------
    around : Around
    practice : Practice
    words : Words
        Of its scenario.
    library : Library
        Where the titles are.
    found : iterable of Suggestion
        What is due next.
    """
    say = around.words.say
    marks = practice.marks()
    strong = summing.strengths(practice, marks, words)
    weak = summing.weak_spots(practice, marks, words, around.words, around.language)
    buttons = [
        button(say("again_button"), "again"),
        button(say("what_if_button"), "what_if"),
        button(say("print_button"), "print"),
    ]
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
        ended=summing.ended(practice, around.words, around.language),
        reached=summing.reached(marks, practice.instance.site, around.words),
        practise=_practise(around, found, library),
        picture=picture_at(practice, len(practice.answers), say("at_end"), around.language),
        buttons=buttons,
    )


def _practise(
    around: Around, found: Iterable[Suggestion], library: Library
) -> list[dict[str, str]]:
    """Return the suggestions as the page shows them, each with the way there."""
    return [
        {**item, **_way_to(around, library.scenario(item["id"]).station)}
        for item in summing.practise_next(
            found, library, around.station, around.words, around.language
        )
    ]


def _way_to(around: Around, station: Station) -> dict[str, str]:
    """Return how the page gets to a lesson: by an action here, by an address elsewhere.

    A notebook program has no addresses of ours: there a lesson elsewhere is only named.
    """
    if station == around.station:
        return {"do": "choose"}
    return {"to": f"{around.home}learn/{station}"} if around.home else {}


def _progress(around: Around, practice: Practice, done: int) -> Progress:
    total = len(practice.scenario.decisions)
    number = min(done + 1, total) if practice.read == len(practice.answers) else done
    label = around.words.say("decision_of", number=number, total=total)
    return {"done": done, "total": total, "label": label}


def _operator(practice: Practice) -> str:
    return practice.log.header.operator
