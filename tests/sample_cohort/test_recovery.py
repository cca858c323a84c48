"""What was planted is found again through logs, marking and report, and no more is claimed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest

from sample_cohort.answering import Operator
from sample_cohort.generate import SEED
from sample_cohort.population import population_shares
from sample_cohort.truth import HABITS, STATIONS, Habit, Truth
from scoring.cohort.outcome import StationOutcome, station_outcomes
from scoring.cohort.table import CohortTable
from scoring.form import Form
from scoring.library import Library
from scoring.marking.credit import rule_of
from scoring.marking.marks import SittingMarks
from scoring.model import Station
from scoring.site import SiteValues
from scoring.variation.between import BetweenShare, between_share
from scoring.variation.two_way import lay_out
from tests.scoring.cohort.made import tabulate


@pytest.fixture(scope="module")
def table(marks: Sequence[SittingMarks]) -> CohortTable:
    return tabulate(marks)


@pytest.fixture(scope="module")
def outcomes(table: CohortTable) -> dict[Station, StationOutcome]:
    return {outcome.station: outcome for outcome in station_outcomes(table)}


@pytest.fixture(scope="module")
def truths(
    library: Library, site: SiteValues, forms: Sequence[Form]
) -> Mapping[Station, BetweenShare]:
    found = population_shares(forms, library, site, SEED)
    return {station: share for station, share in found.items() if isinstance(share, BetweenShare)}


def test_every_station_of_the_forms_is_there(
    outcomes: Mapping[Station, StationOutcome], truths: Mapping[Station, BetweenShare]
) -> None:
    assert list(outcomes) == ["soak", "brush", "rinse", "inspect"]
    assert set(truths) == set(outcomes)


def test_the_intervals_hold_the_planted_truth(
    outcomes: Mapping[Station, StationOutcome], truths: Mapping[Station, BetweenShare]
) -> None:
    for station, outcome in outcomes.items():
        assert isinstance(outcome.between, BetweenShare)
        assert truths[station].high - truths[station].low < 0.06, "the truth itself is sharp"
        assert outcome.between.low <= truths[station].share <= outcome.between.high, station


def test_the_step_planted_as_most_personal_is_found(
    outcomes: Mapping[Station, StationOutcome], truths: Mapping[Station, BetweenShare]
) -> None:
    planted = max(outcomes, key=lambda station: STATIONS[station].spread)
    assert max(truths, key=lambda station: truths[station].share) == planted
    shares = {station: outcome.between for station, outcome in outcomes.items()}
    most = shares.pop(planted)
    assert isinstance(most, BetweenShare)
    for other in shares.values():
        assert isinstance(other, BetweenShare)
        assert other.high < most.low


def test_the_hardest_step_is_found(outcomes: Mapping[Station, StationOutcome]) -> None:
    planted = min(outcomes, key=lambda station: STATIONS[station].level)
    assert min(outcomes, key=lambda station: outcomes[station].mean or 1.0) == planted


def test_the_naive_figure_would_have_claimed_more(
    table: CohortTable,
    outcomes: Mapping[Station, StationOutcome],
    truths: Mapping[Station, BetweenShare],
) -> None:
    """The spread of operators' plain means holds each person's own ups and downs as well."""
    for station, outcome in outcomes.items():
        rows = table.finished(station)
        naive = float(rows.groupby("operator")["share"].mean().std(ddof=1))
        assert isinstance(outcome.between, BetweenShare)
        assert naive > outcome.between.variance_between**0.5
        if STATIONS[station].spread < 1:
            assert naive > 1.2 * truths[station].variance_between ** 0.5, station


@pytest.mark.parametrize("habit", HABITS, ids=lambda habit: habit.operator)
def test_a_planted_habit_costs_that_person_points(
    habit: Habit, table: CohortTable, library: Library, site: SiteValues, forms: Sequence[Form]
) -> None:
    """Against the same person on the same days without the habit: the draws are the same."""
    without = Operator(habit.operator, replace(Truth(), habits=()), SEED)
    rows = table.decisions[table.decisions["operator"] == habit.operator]
    credit = rows.set_index(["form", "scenario", "decision"])["credit"]
    real = other = 0.0
    for form in forms:
        for part in form.scenarios:
            instance = library.instance(part.id, site, part.seed or 0)
            for decision in instance.scenario.decisions:
                if decision.topic == habit.topic:
                    real += credit[form.name, part.id, decision.id]
                    value = without.answer(instance, decision, form.name)
                    other += rule_of(decision, instance)(value).credit
    assert real < other - 0.5


def test_over_many_departments_the_interval_covers_as_often_as_it_says(
    library: Library,
    site: SiteValues,
    forms: Sequence[Form],
    truths: Mapping[Station, BetweenShare],
) -> None:
    """80 departments of 24 others; scores here are pressed against 100 %, so not normal."""
    departments = 80
    people = [Operator(f"POP-{number}", Truth(), SEED) for number in range(24 * departments)]
    for place in range(len(forms[0].scenarios)):
        scores = np.empty((len(people), len(forms)))
        for column, form in enumerate(forms):
            part = form.scenarios[place]
            instance = library.instance(part.id, site, part.seed or 0)
            rules = [(d, rule_of(d, instance)) for d in instance.scenario.decisions]
            points = sum(d.weight for d, _ in rules)
            for row, person in enumerate(people):
                scores[row, column] = (
                    sum(
                        d.weight * rule(person.answer(instance, d, form.name)).credit
                        for d, rule in rules
                    )
                    / points
                )
        truth = truths[instance.scenario.station].share
        covered = 0
        for k in range(departments):
            block = scores[24 * k : 24 * (k + 1)]
            codes = [f"OP-{row}" for row in range(24) for _ in forms]
            names = [form.name for _ in range(24) for form in forms]
            result = between_share(lay_out(codes, names, block.ravel().tolist()))
            covered += isinstance(result, BetweenShare) and result.low <= truth <= result.high
        # 95 % less three standard errors of a share in 80 departments.
        assert covered / departments >= 0.877, (instance.scenario.station, covered)
