"""The feedback sheet: each verdict by word and shape, each figure with interval and n, no key."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest

from assessments.collecting import HandedIn
from assessments.exam_words import exam_words
from assessments.feedback import Sheet, feedback_html, not_assessed_html
from assessments.paper import Paper
from assessments.seating import close_seat, seat
from lessons import lesson_library
from scoring.marking.marks import SittingMarks
from scoring.marking.sitting import Marker
from scoring.records.log import read_log
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.assessments.trial import (
    Chooser,
    nothing,
    right,
    sat,
    trial_form,
    trial_library,
    trial_settings,
    wrong,
)

FORM = trial_form()
LIBRARY = trial_library()


def sheet(folder: Path, choose: Chooser | dict[str, Chooser]) -> tuple[str, SittingMarks]:
    """The page of somebody who sat the trial, as plain text with tags, and the marks."""
    kit = trial_settings(folder)
    (slip,) = seat(kit, FORM, LIBRARY.form_digest(FORM), ["OP-001"])
    log = sat(kit, FORM, "OP-001", choose, sitting=slip.sitting)
    placed = close_seat(kit, slip.sitting, log.receipt)
    site = read_yaml(kit.site, SiteValues)
    read = read_log(log.path)
    marks = Marker(FORM, lambda name, seed: LIBRARY.instance(name, site, seed)).mark(read)
    paper = Paper.of(read.header, FORM, LIBRARY, site)
    made = Sheet(paper, HandedIn(placed, log.path, read), marks, 0.8, lesson_library())
    return unescape(feedback_html(made)), marks


def plain(page: str) -> str:
    return " ".join(re.sub(r"<style>.*?</style>|<[^>]+>", " ", page, flags=re.S).split())


def test_every_station_has_word_shape_interval_and_n(tmp_path: Path) -> None:
    page, marks = sheet(tmp_path, {"dose": wrong})
    text = plain(page)
    assert page.count("<svg") == len(marks.stations) == 3
    for station in marks.stations:
        assert station.verdict in text
        assert (
            f"{round(100 * station.share)} % of the points. With {station.decisions} answers the "
            f"true figure may lie between {round(100 * station.low)} and "
            f"{round(100 * station.high)} %."
        ) in text
    assert "OP-001" in text
    assert "To pass, a station needs 80 % of the points." in text


def test_an_unsafe_answer_to_a_critical_decision_is_named_by_its_number(tmp_path: Path) -> None:
    page, marks = sheet(tmp_path, {"agent": wrong})
    assert marks.stations[0].failed_critical
    assert "The answer to decision 1 was unsafe." in plain(page)
    assert "unsafe answer" in plain(page)


def test_own_reason_is_told_and_no_right_amount(tmp_path: Path) -> None:
    page, _ = sheet(tmp_path, {"dose": wrong, "load": wrong})
    text = plain(page)
    assert "Too little. [" in text
    assert "was needed" not in text
    assert "Steel lies on steel." in text


def test_nothing_answered_is_not_assessed_and_no_figure(tmp_path: Path) -> None:
    page, marks = sheet(tmp_path, nothing)
    text = plain(page)
    assert text.count("There is no answer, so nothing can be said.") == 3
    assert "% of the points. With" not in text
    assert text.count("There is no answer.") == len(marks.decisions)
    assert "0 of" not in text


def test_all_right_has_nothing_to_practise(tmp_path: Path) -> None:
    page, _ = sheet(tmp_path, right)
    assert "There is nothing to repeat" in page
    assert "Not right" not in page


def test_what_to_practise_names_lessons_of_the_topic(tmp_path: Path) -> None:
    page, _ = sheet(tmp_path, {"dose": wrong})
    shown = plain(page).partition("What to practise")[2]
    lessons = lesson_library()
    of_dose = [
        lessons.words(name, "en").title
        for name in lessons.scenario_ids()
        if "dose" in {decision.topic for decision in lessons.scenario(name).decisions}
    ]
    listed = shown[shown.index("Soaking: ") :].split(", ")[0].removeprefix("Soaking: ")
    assert any(listed.startswith(title) for title in of_dose), listed


def test_a_refused_log_is_no_result(tmp_path: Path) -> None:
    page = not_assessed_html("A <trial>", "OP-001", "line 2: <b>changed</b>", "en")
    assert "A &lt;trial&gt;" in page
    assert "<b>changed" not in page
    text = plain(unescape(page))
    assert "not assessed" in text
    assert "%" not in text


def test_a_language_without_words_is_shown_in_english() -> None:
    words = exam_words("xx")
    assert words.language == "en"
    with pytest.raises(KeyError):
        words.say("no-such-sentence")
