"""The sheet a candidate takes home: what was answered, how it was marked, what to practise.

The exam is used again, so the sheet gives no key away: it never says which
answer or amount is right. A decision that earned everything shows its reason.
Of another decision it shows the candidate's own answer
and, for one choice, the reason that belongs to this very choice; where a reason
would name what is missing (boxes, orders, amounts, places) it says only in
which direction the answer is off. What a rule rests on is named by
its source and never by what the source found.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from assessments.collecting import HandedIn
from assessments.exam_words import ExamWords, exam_words
from assessments.paper import Paper, Question
from assessments.printing import render
from lessons.page import told
from lessons.page.interface import Interface, interface
from scoring.attempt import Answer
from scoring.catalogue import said_basis
from scoring.library import Library
from scoring.marking.marks import DecisionMark, SittingMarks, StationResult
from scoring.wording import fill_words, is_key_name, names_in, said_number

WIDE_INTERVAL = 0.3
"""An interval wider than this is called not sure. A working judgement, no source."""

MOST_TITLES = 3
"""Lessons named for each station; more are not read. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a feedback sheet is made from.

    Attributes
    ----------
    paper : Paper
        The exam as this sitting met it.
    handed_in : HandedIn
        Seat and log.
    marks : SittingMarks
        The marks.
    cut : float
        The share that passes, above 0 and below 1.
    lessons : Library
        Where lessons to practise are found.
    """

    paper: Paper
    handed_in: HandedIn
    marks: SittingMarks
    cut: float
    lessons: Library


class _Sources:
    """The sources that the sheet names, each once, with how its statement is known."""

    def __init__(self, words: ExamWords, say: Interface) -> None:
        self._words, self._say = words, say
        self.lines: list[str] = []

    def of(self, question: Question) -> list[int]:
        """Return the numbers of a decision's sources, from 1."""
        numbers = []
        for ground in said_basis(question.decision.basis):
            status = self._say.say(f"status_{ground.status}")
            # Without a fact of the table, the scenario's own words stand there, and those may
            # say what is right ("a marked line at each sink").
            named = ground.text and "no source" not in ground.source
            line = (
                self._words.say("feedback_basis_source", source=ground.source, status=status)
                if named
                else status
            )
            if line not in self.lines:
                self.lines.append(line)
            numbers.append(self.lines.index(line) + 1)
        return sorted(set(numbers))


def feedback_html(sheet: Sheet) -> str:
    """Return the sheet as one printable page."""
    language = sheet.paper.language
    words = exam_words(language)
    seat = sheet.handed_in.seat
    answers = last_answers(sheet.handed_in.log.answers)
    of = {(mark.scenario, mark.decision): mark for mark in sheet.marks.decisions}
    sources = _Sources(words, interface(language))
    decisions = [
        _decision(
            words, sheet.paper, question, of[_key(question)], answers.get(_key(question)), sources
        )
        for question in sheet.paper.questions
    ]
    numbers = {
        f"{question.scenario}/{question.decision.id}": str(question.number)
        for question in sheet.paper.questions
    }
    close = sheet.handed_in.log.close
    return render(
        "feedback.html.j2",
        language=language,
        say=words.say,
        heading=words.say("feedback_heading", title=sheet.paper.title),
        who=words.say(
            "feedback_who",
            operator=seat.operator,
            at=f"{close.at:%Y-%m-%d %H:%M}" if close else "-",
            receipt=seat.receipt,
        ),
        cut=words.say("feedback_cut", cut=said_number(100 * sheet.cut, 0)),
        stations=[_station(words, station, language, numbers) for station in sheet.marks.stations],
        decisions=decisions,
        practise=_practise(words, sheet, of),
        sources=sources.lines,
        refused="",
    )


def not_assessed_html(title: str, operator: str, reason: str, language: str) -> str:
    """Return the sheet of somebody whose log was refused: not a result."""
    words = exam_words(language)
    return render(
        "feedback.html.j2",
        language=language,
        say=words.say,
        heading=words.say("feedback_heading", title=title),
        who=words.say("code_label") + " " + operator,
        cut="",
        stations=[],
        decisions=[],
        practise=[],
        sources=[],
        refused=words.say("feedback_refused_why", reason=reason),
    )


def last_answers(answers: Iterable[Answer]) -> dict[tuple[str, str], Answer]:
    """Return the answer that counts for each decision: the last one given."""
    return {(answer.scenario, answer.decision): answer for answer in answers}


def said_question(paper: Paper, question: Question) -> str:
    """Return the question as this sitting met it."""
    asked = paper.words(question).decisions[question.decision.id].question
    return fill_words(asked, question.instance)


def said_answer(paper: Paper, question: Question, mark: DecisionMark, answer: Answer | None) -> str:
    """Return an answer in words; empty when there is none that can be read."""
    if answer is None or not mark.assessed:
        return ""
    return told.said_answer(
        question.instance,
        question.decision,
        paper.words(question).decisions[question.decision.id],
        answer.value,
        interface(paper.language),
        paper.language,
    )


def _key(question: Question) -> tuple[str, str]:
    return question.scenario, question.decision.id


def _station(
    words: ExamWords, result: StationResult, language: str, numbers: Mapping[str, str]
) -> dict[str, str]:
    said = []
    if result.decisions == 0:
        said.append(words.say("feedback_station_none"))
    else:
        low, high = round(100 * result.low), round(100 * result.high)
        said.append(
            words.say(
                "feedback_station",
                share=round(100 * result.share),
                n=result.decisions,
                low=low,
                high=high,
            )
        )
        if result.high - result.low > WIDE_INTERVAL:
            said.append(words.say("feedback_station_few"))
        if result.unanswered:
            everything = result.decisions + result.unanswered
            said.append(
                words.say("feedback_station_open", unanswered=result.unanswered, all=everything)
            )
        if result.failed_critical:
            failed = ", ".join(numbers[name] for name in result.failed_critical)
            said.append(words.say("feedback_station_unsafe", numbers=failed))
    return {
        "name": interface(language).say(f"station_{result.station}"),
        "verdict": result.verdict,
        "word": words.say(f"verdict_{result.verdict}"),
        "said": " ".join(said),
    }


def _decision(
    words: ExamWords,
    paper: Paper,
    question: Question,
    mark: DecisionMark,
    answer: Answer | None,
    sources: _Sources,
) -> dict[str, Any]:
    key = "not_assessed" if not mark.assessed else _credit_word(mark)
    return {
        "number": question.number,
        "question": said_question(paper, question),
        "answer": said_answer(paper, question, mark, answer),
        "credit": words.say(f"credit_{key}"),
        "kind": key,
        "points": words.say(
            "feedback_points",
            points=said_number(mark.points),
            maximum=said_number(mark.maximum),
        )
        if mark.assessed
        else "",
        "reason": _reason(words, paper, question, mark),
        "basis": sources.of(question) if mark.assessed else [],
    }


def _credit_word(mark: DecisionMark) -> str:
    if mark.unsafe:
        return "unsafe"
    if mark.credit >= 1:
        return "full"
    return "part" if mark.credit > 0 else "none"


def _reason(words: ExamWords, paper: Paper, question: Question, mark: DecisionMark) -> str:
    """Return the reason that may be told; see the module for which may."""
    if not mark.assessed:
        return words.say(f"reason_{mark.reason}")
    kind = question.decision.kind
    text = paper.words(question).decisions[question.decision.id].reasons.get(mark.reason, "")
    names_key = any(is_key_name(name) for name in names_in(text))
    if text and not names_key and (mark.credit >= 1 or kind == "choose_one"):
        return fill_words(text, question.instance)
    if mark.credit >= 1:
        return ""
    general = {
        "choose_several": "reason_several",
        "order": "reason_order",
        "mark_places": "reason_places",
        "quantity": f"reason_{mark.reason}",
    }
    return words.say(general.get(kind, "reason_other"))


def _practise(words: ExamWords, sheet: Sheet, of: dict[tuple[str, str], DecisionMark]) -> list[str]:
    """Name lessons, by station, that share a topic with what did not earn everything."""
    say = interface(sheet.paper.language)
    missed: dict[str, set[str]] = {}
    for question in sheet.paper.questions:
        mark = of[_key(question)]
        if not (mark.assessed and mark.credit >= 1):
            missed.setdefault(mark.station, set()).add(question.decision.topic)
    lines = []
    for station, topics in missed.items():
        ranked = []
        for name in sheet.lessons.scenario_ids():
            lesson = sheet.lessons.scenario(name)
            shared = len(topics & {decision.topic for decision in lesson.decisions})
            if lesson.station == station or shared:
                ranked.append((-shared, lesson.station != station, name))
        titles = [
            sheet.lessons.words(name, sheet.paper.language).title
            for _, _, name in sorted(ranked)[:MOST_TITLES]
        ]
        if titles:
            lines.append(
                words.say(
                    "feedback_practise_item",
                    station=say.say(f"station_{station}"),
                    titles=", ".join(titles),
                )
            )
    return lines
