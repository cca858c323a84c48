"""The lessons that come with the kit, and what their words claim of the bench.

`harms/` lists, for lessons and exam bank alike, which wrong answer the words
say does which harm, and whether it still shows at the end or only at the next
step (a mistake that the rest of the work makes good).
"""

from __future__ import annotations

import csv
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from lessons.drawing import draw
from scoring.catalogue import facts, mistakes, subjects
from scoring.check import check_files
from scoring.coverage import named_mistakes
from scoring.instance import soiled_places
from scoring.marking.credit import check_answer, credit
from scoring.model import STATIONS
from scoring.play import Moment
from scoring.scenario import Decision
from scoring.wording import fill_words, is_key_name, names_in
from tests.lessons.players import (
    BANK,
    LESSONS,
    SEEDS,
    SITES,
    instance,
    library,
    play,
    protein,
    right_answer,
    right_answers,
    sentences,
    worst_answer,
    wrong_answers,
)
from tests.lessons.readability import grade, syllables

HARMS = Path(__file__).with_name("harms")
LESSON_IDS = library(LESSONS).scenario_ids()
ALL_IDS = library().scenario_ids()
LOWEST_SHOWN_UG = 1.0
"""A difference in protein that a picture or a figure without decimals can show."""
NUMBER_WORDS = {"2": "two", "3": "three"}
HARDEST_GRADE = 8.0
"""The Flesch-Kincaid grade that the words must stay below."""


def reason_codes(decision: Decision) -> set[str]:
    if decision.kind == "choose_one":
        return {option.id for option in decision.options}
    if decision.kind == "choose_several":
        return {"right"} | {tick.id for tick in decision.ticks}
    if decision.kind == "order":
        return {"right", "wrong"} | {rule.first for rule in decision.precedence}
    if decision.kind == "quantity":
        return {"right", "too_low", "too_high"}
    return {"all_found", "missed", "false_alarm"}


def answer_ids(decision: Decision) -> set[str]:
    parts: Any = getattr(decision, "options", None) or getattr(decision, "ticks", None)
    parts = parts or getattr(decision, "items", ())
    return {part.id for part in parts}


def test_the_kit_finds_no_fault_in_its_own_files() -> None:
    folders = (LESSONS, BANK, SITES[0].parent, BANK.parent / "forms")
    paths = [path for folder in folders for path in sorted(folder.rglob("*.yaml"))]
    assert check_files(paths, library()) == []


def test_every_station_has_a_lesson_and_every_kind_of_decision_occurs() -> None:
    lessons = [library().scenario(name) for name in LESSON_IDS]
    assert {lesson.station for lesson in lessons} == set(STATIONS)
    kinds = {decision.kind for lesson in lessons for decision in lesson.decisions}
    assert kinds == {"choose_one", "choose_several", "order", "quantity", "mark_places"}
    assert all(
        any(decision.kind == "mark_places" for decision in lesson.decisions)
        for lesson in lessons
        if lesson.station == "inspect"
    )
    assert all(4 <= len(lesson.decisions) <= 10 for lesson in lessons)


@pytest.mark.parametrize("name", LESSON_IDS)
def test_the_folder_of_a_lesson_is_its_station(name: str) -> None:
    assert library().scenario_path(name).parent.name == library().scenario(name).station


@pytest.mark.parametrize("name", ALL_IDS)
def test_words_are_whole(name: str) -> None:
    scenario, words = library().scenario(name), library().words(name, "en")
    assert words.scenario == name
    assert list(words.decisions) == [decision.id for decision in scenario.decisions]
    for decision in scenario.decisions:
        said = words.decisions[decision.id]
        assert set(said.answers) == answer_ids(decision), decision.id
        assert set(said.reasons) == reason_codes(decision), decision.id
        labels = list(said.answers.values())
        assert len(set(labels)) == len(labels), decision.id
        shown = " ".join([said.question, said.hint, *labels])
        assert not any(is_key_name(name) for name in names_in(shown)), decision.id
    shown = " ".join([words.title, words.situation, words.caution, *words.aims])
    assert not any(is_key_name(name) for name in names_in(shown))
    assert "IFU" in words.caution
    assert "local rules" in words.caution


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", ALL_IDS)
def test_every_sentence_can_be_filled(name: str, path: Path) -> None:
    for text in sentences(library().words(name, "en")):
        filled = fill_words(text, instance(name, path, 1))
        assert "{" not in filled
        assert "$" not in filled
        assert "\n" not in filled.strip()


ASKS_TO_CONVERT = {("exam-brush-grasper-gauge", "kPa")}
"""Here the IFU has one unit and the gauge another; the words in braces would give the answer."""


@pytest.mark.parametrize("name", ALL_IDS)
def test_no_sentence_repeats_by_hand_what_the_instrument_file_says(name: str) -> None:
    """A width, length or pressure of a lumen comes from its file, in braces."""
    lumens = [
        place
        for place in library().instrument(library().scenario(name).instrument).places.values()
        if place.kind == "lumen"
    ]
    filed = {(f"{size:g}", "mm") for one in lumens for size in (one.bore_mm, one.length_mm) if size}
    filed |= {(f"{one.pressure_max_kpa:g}", "kPa") for one in lumens if one.pressure_max_kpa}
    for text in sentences(library().words(name, "en")):
        found = re.findall(r"(\d+(?:\.\d+)?) ?(mm|kPa)\b", text)
        said = {
            (f"{float(number):g}", unit)
            for number, unit in found
            if (name, unit) not in ASKS_TO_CONVERT
        }
        assert not filed & said, text


@pytest.mark.parametrize("name", ALL_IDS)
def test_every_rule_rests_on_known_facts_and_names_known_mistakes(name: str) -> None:
    topics = {topic for subject in subjects().values() for topic in subject.topic_ids}
    for decision in library().scenario(name).decisions:
        assert set(decision.basis.facts) <= set(facts()), decision.id
        assert set(named_mistakes(decision)) <= set(mistakes()), decision.id
        assert decision.topic in topics, decision.id


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", ALL_IDS)
def test_a_person_who_knows_the_work_gets_every_point(name: str, path: Path) -> None:
    for met in (instance(name, path, seed) for seed in SEEDS):
        for decision in met.scenario.decisions:
            units = decision.units if decision.kind == "quantity" else (None,)
            for unit in units:
                value = right_answer(decision, met, unit)
                assert check_answer(decision, value, met) is None, (met.seed, decision.id, value)
                got = credit(decision, value, met)
                assert got.credit == 1.0, (met.seed, decision.id, value, got)
                assert not got.mistakes
                assert not got.unsafe


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", ALL_IDS)
def test_the_worst_answers_earn_nothing_or_fail_a_critical_decision(name: str, path: Path) -> None:
    met = instance(name, path, 3)
    given = [
        (decision, credit(decision, worst_answer(decision, met), met))
        for decision in met.scenario.decisions
    ]
    failed = any(decision.critical and got.unsafe for decision, got in given)
    assert failed or sum(got.credit for _, got in given) == 0.0


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", ALL_IDS)
def test_every_wrong_answer_has_its_reason_and_its_mistake(name: str, path: Path) -> None:
    met, words = instance(name, path, 2), library().words(name, "en")
    for decision in met.scenario.decisions:
        for value in wrong_answers(decision, met):
            assert check_answer(decision, value, met) is None, (decision.id, value)
            got = credit(decision, value, met)
            assert got.credit < 1.0, (decision.id, value)
            assert got.mistakes, (decision.id, value)
            assert got.reason in words.decisions[decision.id].reasons, (decision.id, value)


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", ALL_IDS)
def test_good_work_leaves_the_instrument_better(name: str, path: Path) -> None:
    for met in (instance(name, path, seed) for seed in SEEDS):
        moments = play(met, right_answers(met))
        first, last = moments[0], moments[-1]
        assert protein(met, last) < protein(met, first)
        assert last.state.damage == first.state.damage == 0.0
        if met.scenario.station in {"brush", "rinse", "inspect"}:
            assert not soiled_places(last.state, met.instrument, met.site)
        else:
            assert soiled_places(last.state, met.instrument, met.site) <= met.soiled
        if met.scenario.station == "rinse":
            picture = draw(met.instrument, last.state, last.handling, title="end")
            assert "No soil is left" in picture.alt
            assert last.state.residue_mg <= met.site.limits.residue_mg
            assert last.state.ions_mg <= met.site.limits.ions_mg
            assert last.state.endotoxin_eu <= met.site.limits.endotoxin_eu
            assert last.state.residue_mg < first.state.residue_mg


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
def test_the_dark_line_is_all_that_is_seen_when_the_shift_ends(path: Path, seed: int) -> None:
    """What the words of one lesson say is there for every department, and nothing beside it."""
    met = instance("soak-needle-holder-called", path, seed)
    evening = [decision.id for decision in met.scenario.decisions].index("evening")
    state = play(met, right_answers(met))[evening].state
    assert soiled_places(state, met.instrument, met.site) == {"insert_right"}


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", LESSON_IDS)
def test_a_lesson_shows_something_after_most_decisions(name: str, path: Path) -> None:
    """A step changes the state; a setting (open, which brush) changes what is drawn."""
    met = instance(name, path, 0)
    moments = play(met, right_answers(met))
    changes = sum(
        (before.state, before.handling) != (then.state, then.handling)
        for before, then in pairwise(moments)
    )
    steps = sum(before.state != then.state for before, then in pairwise(moments))
    assert changes >= 2
    assert steps >= 1


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize(
    ("width_mm", "unsafe"), [(1.0, True), (2.5, True), (3.2, False), (4.0, False), (6.0, False)]
)
def test_a_brush_that_does_not_touch_the_wall_is_unsafe(
    path: Path, width_mm: float, unsafe: bool
) -> None:
    met = instance("brush-suction-width", path, 0)
    got = credit(met.scenario.decision("width"), {"amount": width_mm, "unit": "mm"}, met)
    assert got.unsafe == unsafe
    assert (got.credit == 0.0) == (width_mm in {1.0, 2.5, 6.0})


def harms() -> list[dict[str, str]]:
    rows = []
    for path in sorted(HARMS.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as lines:
            rows += list(csv.DictReader(lines))
    return rows


def test_the_table_of_harms_covers_every_scenario() -> None:
    assert {row["scenario"] for row in harms()} == set(ALL_IDS)


@pytest.mark.parametrize(
    "row", harms(), ids=lambda row: f"{row['scenario']}/{row['decision']}/{row['answer']}"
)
def test_a_single_mistake_does_the_harm_that_the_words_claim(row: dict[str, str]) -> None:
    for met in (instance(row["scenario"], path, 4) for path in SITES):
        decisions = met.scenario.decisions
        decision = met.scenario.decision(row["decision"])
        value = _answer(row["answer"], decision)
        assert credit(decision, value, met).credit < 1.0, met.site.id
        right = right_answers(met)
        good, bad = play(met, right), play(met, right | {decision.id: value})
        spot = len(good) - 1 if row["when"] == "end" else _next_step(decisions, decision)
        amount = [_amount(row["worse"], met, moments[spot]) for moments in (good, bad)]
        least = LOWEST_SHOWN_UG if row["worse"] in {"protein", "dried", "fixed"} else 0.01
        assert amount[1] > amount[0] + least, (met.site.id, amount)


def _answer(said: str, decision: Decision) -> Any:
    if decision.kind == "quantity":
        amount, unit = said.split(" ", 1)
        return {"amount": float(amount), "unit": unit}
    return said if decision.kind == "choose_one" else tuple(said.split(" "))


def _amount(what: str, met: Any, moment: Moment) -> float:
    if what == "protein":
        return protein(met, moment)
    if what in {"dried", "fixed"}:
        return float(sum(amounts[what] for amounts in moment.state.soil.values()))
    return float(getattr(moment.state, what))


def _next_step(decisions: tuple[Decision, ...], decision: Decision) -> int:
    """The moment after the first step at or after this decision."""
    start = decisions.index(decision)
    return next(
        number + 1
        for number, later in enumerate(decisions)
        if number >= start and (later.step or later.kind == "order")
    )


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", ALL_IDS)
def test_sittings_differ_by_seed(name: str, path: Path) -> None:
    met = [instance(name, path, seed) for seed in SEEDS]
    drawn = {(*sorted(one.values.items()), *sorted(one.soiled)) for one in met}
    orders = {tuple(one.answer_order.items()) for one in met}
    assert len(drawn) > 1
    assert len(orders) > 1
    if met[0].scenario.station == "inspect":
        assert len({len(one.soiled) for one in met}) == 1


def test_lessons_and_bank_share_no_scenario_and_no_question() -> None:
    bank = library(BANK).scenario_ids()
    assert not set(bank) & set(LESSON_IDS)
    questions = [
        decision.question
        for name in ALL_IDS
        for decision in library().words(name, "en").decisions.values()
    ]
    assert len(questions) == len(set(questions))


def test_what_a_rule_rests_on_is_a_sentence_that_carries_its_numbers() -> None:
    """A trainee reads it under "What this rests on", without the table's other columns."""
    cited = {
        name
        for scenario in ALL_IDS
        for decision in library().scenario(scenario).decisions
        for name in decision.basis.facts
    }
    for name in sorted(cited):
        fact = facts()[name]
        said = set(re.findall(r"\d+(?:\.\d+)?|[a-z]+", fact.fact))
        for number in re.findall(r"\d+(?:\.\d+)?", fact.values):
            spoken = NUMBER_WORDS.get(number, number)
            assert {number, spoken, f"{float(number):g}"} & said, (name, number)
        assert fact.fact.endswith("."), name
        assert "ug" not in said, name


@pytest.mark.parametrize("name", ALL_IDS)
def test_the_words_are_plain(name: str) -> None:
    reached = grade(sentences(library().words(name, "en")))
    print(f"{name}: Flesch-Kincaid grade {reached:.1f}")
    assert reached < HARDEST_GRADE


def test_the_counting_of_syllables() -> None:
    """Words counted by hand; the grade of a sentence worked out by hand."""
    by_hand = {"bath": 1, "soaked": 1, "instrument": 3, "lumen": 2, "table": 2, "theatre": 2}
    assert {word: syllables(word) for word in by_hand} == by_hand
    assert grade(["The cat sat."]) == pytest.approx(0.39 * 3 + 11.8 * 1 - 15.59)
