"""The exam forms: they load, cover the work, and within a family are equally long and hard."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path
from statistics import mean

import pytest

from scoring.form import Form
from scoring.instance import Instance
from scoring.marking.credit import credit
from scoring.model import digest
from scoring.wording import fill_words
from scoring.yaml_file import read_yaml
from tests.lessons.players import (
    BANK,
    ROOT,
    SITES,
    instance,
    library,
    right_answer,
    worst_answer,
    wrong_answers,
)

PATHS = sorted((ROOT / "assessments" / "forms").glob("*.yaml"))
FORMS = {path.stem: read_yaml(path, Form) for path in PATHS}
FAMILIES = {
    "hand-cleaning": ("soak", "brush", "rinse", "inspect"),
    "five-stations": ("ready", "soak", "brush", "rinse", "inspect"),
}
"""Forms that can stand for one another, by how their ids begin, and the stations they cover."""
LENGTHS_APART = 0.10
"""Largest difference in words to read between two forms, as a share of the mean."""
SLIP_APART = 0.05
"""Largest difference between forms in what an answer with one mistake earns on average."""


def sitting(form: Form, site: Path) -> list[Instance]:
    return [instance(part.id, site, part.seed or 0) for part in form.scenarios]


def of_family(family: str) -> dict[str, Form]:
    return {name: form for name, form in FORMS.items() if name.startswith(family)}


def test_there_are_twelve() -> None:
    assert list(of_family("hand-cleaning")) == [f"hand-cleaning-{letter}" for letter in "abcd"]
    assert list(of_family("five-stations")) == [f"five-stations-{letter}" for letter in "abcdefgh"]
    assert len({digest(form) for form in FORMS.values()}) == len(FORMS) == 12


@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
def test_a_form_is_an_exam_of_bank_scenarios_one_for_each_station(form: Form) -> None:
    assert form.purpose == "exam"
    assert form.version == 1
    assert {part.id for part in form.scenarios} <= set(library(BANK).scenario_ids())
    assert (
        tuple(library().scenario(part.id).station for part in form.scenarios)
        == (FAMILIES[form.id.rpartition("-")[0]])
    )
    assert len(library().form_digest(form)) == 64
    minutes = sum(library().scenario(part.id).minutes for part in form.scenarios)
    assert minutes <= form.minutes <= 2 * minutes


@pytest.mark.parametrize(("family", "times"), [("hand-cleaning", 2), ("five-stations", 1)])
def test_a_scenario_is_used_equally_often_in_a_family(family: str, times: int) -> None:
    used = [part.id for form in of_family(family).values() for part in form.scenarios]
    assert {used.count(name) for name in used} == {times}


def test_every_bank_scenario_is_in_some_form() -> None:
    used = {part.id for form in FORMS.values() for part in form.scenarios}
    assert used == set(library(BANK).scenario_ids())


def test_no_two_forms_are_the_same_sitting() -> None:
    for one, other in combinations(FORMS.values(), 2):
        shared = {part.id for part in one.scenarios} & {part.id for part in other.scenarios}
        assert len(shared) <= 2
        for name in shared:
            seeds = [
                part.seed for form in (one, other) for part in form.scenarios if part.id == name
            ]
            met = [instance(name, SITES[0], seed or 0) for seed in seeds]
            assert met[0].values != met[1].values or met[0].soiled != met[1].soiled, name


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("site", SITES, ids=lambda path: path.stem)
def test_forms_are_of_equal_length(site: Path, family: str) -> None:
    counts, weights, lengths = [], [], []
    for form in of_family(family).values():
        met = sitting(form, site)
        counts.append(sum(len(one.scenario.decisions) for one in met))
        weights.append(sum(part.weight for one in met for part in one.scenario.decisions))
        lengths.append(sum(_words_to_read(one) for one in met))
    print(f"{site.stem}: decisions {counts}, points {weights}, words to read {lengths}")
    assert len(set(counts)) == 1
    assert len(set(weights)) == 1
    assert max(lengths) - min(lengths) <= LENGTHS_APART * mean(lengths)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("site", SITES, ids=lambda path: path.stem)
def test_a_slip_costs_about_the_same_in_every_form(site: Path, family: str) -> None:
    """What an answer with a mistake earns, over all mistakes: a form where mistakes earn
    more is easier for the same person. Difficulty proper can only be had from sittings.
    """
    earned = {}
    for name, form in of_family(family).items():
        shares = []
        for met in sitting(form, site):
            for decision in met.scenario.decisions:
                slips = [
                    credit(decision, slip, met).credit for slip in wrong_answers(decision, met)
                ]
                shares.append((decision.weight, mean(slips)))
        earned[name] = sum(w * share for w, share in shares) / sum(w for w, _ in shares)
    print(f"{site.stem}: " + ", ".join(f"{name} {share:.3f}" for name, share in earned.items()))
    assert max(earned.values()) - min(earned.values()) <= SLIP_APART


@pytest.mark.parametrize("site", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)
def test_best_and_worst_person(form: Form, site: Path) -> None:
    for met in sitting(form, site):
        best = [
            credit(part, right_answer(part, met), met).credit for part in met.scenario.decisions
        ]
        assert best == [1.0] * len(best)
        worst = [credit(part, worst_answer(part, met), met) for part in met.scenario.decisions]
        assert any(
            got.unsafe and part.critical
            for got, part in zip(worst, met.scenario.decisions, strict=True)
        )


def _words_to_read(met: Instance) -> int:
    words = library().words(met.scenario.id, "en")
    shown = [words.title, words.situation, words.caution]
    for said in words.decisions.values():
        shown += [said.question, *said.answers.values()]
    return sum(len(fill_words(text, met).split()) for text in shown)
