"""The exam bank: not the lessons over again, of one length, and giving nothing away."""

from __future__ import annotations

import re
from collections import Counter
from difflib import SequenceMatcher

import pytest

from scoring.wording import is_key_name, names_in
from tests.lessons.players import BANK, LESSONS, library, sentences

BANK_IDS = library(BANK).scenario_ids()
LESSON_IDS = library(LESSONS).scenario_ids()
CLOSEST = 0.85
"""Two questions more alike than this (difflib's ratio) would be a paraphrase."""


def phrases(text: str) -> set[tuple[str, ...]]:
    """Every four words in a row."""
    words = re.findall(r"[a-z]+", text.lower())
    return set(zip(words, words[1:], words[2:], words[3:], strict=False))


def test_two_scenarios_for_each_exam_station_of_the_same_shape() -> None:
    scenarios = [library().scenario(name) for name in BANK_IDS]
    assert Counter(one.station for one in scenarios) == {
        "soak": 2, "brush": 2, "rinse": 2, "inspect": 2,
    }  # fmt: skip
    assert len({len(one.decisions) for one in scenarios}) == 1
    assert len({one.minutes for one in scenarios}) == 1
    for station in ("soak", "brush", "rinse", "inspect"):
        pair = [one for one in scenarios if one.station == station]
        assert len({one.instrument for one in pair}) == 2
        assert len({sum(decision.weight for decision in one.decisions) for one in pair}) == 1
        assert [sum(decision.critical for decision in one.decisions) for one in pair] == [1, 1]


def test_the_instrument_of_an_exam_is_not_the_one_the_station_was_taught_on() -> None:
    for name in BANK_IDS:
        exam = library().scenario(name)
        taught = {
            lesson.instrument
            for lesson in map(library().scenario, LESSON_IDS)
            if lesson.station == exam.station
        }
        assert exam.instrument not in taught


def test_no_question_of_the_bank_is_a_lesson_question_in_other_words() -> None:
    taught = [
        said.question
        for name in LESSON_IDS
        for said in library().words(name, "en").decisions.values()
    ]
    for name in BANK_IDS:
        for said in library().words(name, "en").decisions.values():
            likeness = max(
                SequenceMatcher(None, said.question, question).ratio() for question in taught
            )
            assert likeness < CLOSEST, said.question


@pytest.mark.parametrize("name", BANK_IDS)
def test_no_sentence_of_the_bank_gives_a_key_away(name: str) -> None:
    """Not even a reason: feedback after an exam must not hold the key."""
    for text in sentences(library().words(name, "en")):
        assert not any(is_key_name(found) for found in names_in(text)), text


@pytest.mark.parametrize("name", BANK_IDS)
def test_no_reason_for_a_wrong_answer_quotes_the_right_one(name: str) -> None:
    scenario, words = library().scenario(name), library().words(name, "en")
    for decision in scenario.decisions:
        if decision.kind == "choose_one":
            said = words.decisions[decision.id]
            right = next(option.id for option in decision.options if option.credit == 1)
            for option in decision.options:
                if option.id != right:
                    shared = phrases(said.answers[right]) & phrases(said.reasons[option.id])
                    assert not shared, (decision.id, option.id)


@pytest.mark.parametrize("name", BANK_IDS)
def test_an_exam_gives_no_hints(name: str) -> None:
    assert all(not said.hint for said in library().words(name, "en").decisions.values())


@pytest.mark.parametrize("name", BANK_IDS)
def test_the_right_option_does_not_stand_out_by_its_length(name: str) -> None:
    """A right answer that is always the longest is found without knowing the work."""
    scenario, words = library().scenario(name), library().words(name, "en")
    for decision in scenario.decisions:
        if decision.kind == "choose_one":
            answers = words.decisions[decision.id].answers
            right = next(option.id for option in decision.options if option.credit == 1)
            others = [len(text) for key, text in answers.items() if key != right]
            assert len(answers[right]) <= 2.0 * max(others), decision.id
