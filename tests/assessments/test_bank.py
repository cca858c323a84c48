"""The exam bank: not the lessons over again, of one length, and giving nothing away."""

from __future__ import annotations

import re
from collections import Counter
from difflib import SequenceMatcher

import pytest

from scoring.model import STATIONS
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


WEIGHT = {"ready": 5.5, "soak": 5.5, "brush": 5.5, "rinse": 5.5, "inspect": 6.5}
"""Points of an exam scenario by station: any two of a station can stand for one another."""


def test_every_station_has_scenarios_enough_for_forms_without_repeats() -> None:
    stations = Counter(library().scenario(name).station for name in BANK_IDS)
    assert set(stations) == set(STATIONS)
    assert all(count >= 8 for count in stations.values()), stations


@pytest.mark.parametrize("name", BANK_IDS)
def test_every_scenario_of_the_bank_has_one_shape(name: str) -> None:
    one = library().scenario(name)
    assert (len(one.decisions), one.minutes) == (5, 6)
    assert sum(decision.weight for decision in one.decisions) == WEIGHT[one.station]
    assert sum(decision.critical for decision in one.decisions) == 1


def test_no_exam_asks_about_the_same_instrument_in_the_same_topics_as_a_lesson() -> None:
    def met(name: str) -> tuple[str, tuple[str, ...]]:
        one = library().scenario(name)
        return one.instrument, tuple(sorted(decision.topic for decision in one.decisions))

    lessons = {met(name) for name in LESSON_IDS}
    exams = [met(name) for name in BANK_IDS]
    assert not lessons & set(exams)
    assert len(set(exams)) == len(exams)


def test_no_question_of_the_bank_is_a_lesson_question_in_other_words() -> None:
    taught = [
        said.question
        for name in LESSON_IDS
        for said in library().words(name, "en").decisions.values()
    ]
    for name in BANK_IDS:
        for said in library().words(name, "en").decisions.values():
            for question in taught:
                pair = SequenceMatcher(None, said.question, question)
                # Two quick upper bounds spare most of the work.
                near = pair.real_quick_ratio() >= CLOSEST and pair.quick_ratio() >= CLOSEST
                assert not near or pair.ratio() < CLOSEST, said.question


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
