"""Answers and verdicts in words."""

from __future__ import annotations

import re

import pytest

from lessons import DEFAULT_SITE, lesson_library
from lessons.page import told
from lessons.page.interface import interface
from scoring.marking.credit import Credit, check_answer, credit
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

LIBRARY = lesson_library()
SITE = read_yaml(DEFAULT_SITE, SiteValues)


@pytest.mark.parametrize(
    ("worth", "word"),
    [
        (Credit(1.0, "x"), "right"),
        (Credit(0.4, "x"), "partly"),
        (Credit(0.0, "x"), "wrong"),
        (Credit(0.0, "x", unsafe=True), "unsafe"),
        (Credit(0.6, "x", unsafe=True), "unsafe"),
    ],
)
def test_unsafe_is_said_before_all_else(worth: Credit, word: str) -> None:
    assert told.verdict(worth) == word


@pytest.mark.parametrize("scenario_id", LIBRARY.scenario_ids())
def test_each_right_answer_can_be_told_and_each_rule_says_what_it_rests_on(
    scenario_id: str,
) -> None:
    instance = LIBRARY.instance(scenario_id, SITE, 3)
    words = LIBRARY.words(scenario_id, "en")
    say = interface("en")
    for decision in instance.scenario.decisions:
        said = told.right_answer(instance, decision, words.decisions[decision.id], say, "en")
        assert said
        assert all(part and "{" not in part for part in said)
        grounds = list(told.basis(decision, say))
        assert grounds
        assert all(ground["text"] and ground["status"] for ground in grounds)
        pointing = [ground for ground in grounds if re.search(r" [A-Z]+\d+$", ground["source"])]
        assert not pointing, "an id of the catalogue means nothing to a reader"


def test_every_box_that_was_off_has_its_reason() -> None:
    instance = LIBRARY.instance("inspect-clamp-ceiling-lamp", SITE, 3)
    words = LIBRARY.words("inspect-clamp-ceiling-lamp", "en")
    decision = instance.scenario.decision("record")
    value = ("found-where", "sign-later")
    assert check_answer(decision, value, instance) is None
    worth = credit(decision, value, instance)
    lines = told.reasons(instance, decision, words.decisions["record"], value, worth)
    assert len(lines) == 3
    assert len(set(lines)) == 3


def test_a_quantity_is_told_with_a_sign_people_read() -> None:
    instance = LIBRARY.instance("soak-clamp-dried", SITE, 3)
    words = LIBRARY.words("soak-clamp-dried", "en")
    decision = instance.scenario.decision("temperature")
    said = told.said_answer(
        instance,
        decision,
        words.decisions["temperature"],
        {"amount": 35.0, "unit": "degC"},
        interface("en"),
        "en",
    )
    assert said == "35 °C"


def test_a_dispute_is_told_once_in_a_practice() -> None:
    instance = LIBRARY.instance("ready-suction-no-cleaner", SITE, 3)
    words = LIBRARY.words("ready-suction-no-cleaner", "en")
    decision = instance.scenario.decision("until-then")
    said = words.decisions[decision.id]
    worth = credit(decision, "drip-stand", instance)
    first = told.reasons(instance, decision, said, "drip-stand", worth)
    again = told.reasons(instance, decision, said, "drip-stand", worth, earlier=[decision])
    assert len(first) == 2
    assert "disagree" in first[1]
    assert again == first[:1]
