"""The data card says what the generator does."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import pytest

import sample_cohort
from sample_cohort.generate import MEDIAN_SECONDS, SECONDS_SPREAD, SEED, CohortSummary
from sample_cohort.population import POPULATION, population_shares
from sample_cohort.truth import HABITS, STATIONS, Truth
from scoring.form import Form
from scoring.library import Library
from scoring.site import SiteValues
from scoring.variation.between import BetweenShare

CARD = (Path(sample_cohort.__file__).parent / "README.md").read_text(encoding="utf-8")


def test_it_says_aloud_that_the_data_are_invented() -> None:
    assert "**Invented data.**" in CARD


def test_planted_numbers_are_the_generators(
    library: Library, site: SiteValues, forms: Sequence[Form]
) -> None:
    rows = {
        name: (float(level), float(spread), int(share))
        for name, level, spread, share in re.findall(
            r"^\| (soak|brush|rinse|inspect) \| ([\d.]+) \| ([\d.]+) \| (\d+) % \|$", CARD, re.M
        )
    }
    assert f"{POPULATION} other operators" in CARD
    found = population_shares(forms, library, site, SEED)
    assert set(rows) == set(found)
    for station, share in found.items():
        assert isinstance(share, BetweenShare)
        planted = STATIONS[station]
        assert rows[station][:2] == (planted.level, planted.spread)
        # The card gives whole per cent; a scenario reworded at its edges moves it by less than 3.
        assert rows[station][2] == pytest.approx(100 * share.share, abs=3)


def test_counts_are_the_cohorts(cohort: CohortSummary) -> None:
    planned = f"{cohort.planned} sittings planned ({len(cohort.operators)} operators"
    assert planned in CARD
    assert f"{len(cohort.logs)} logs, {cohort.answers} answers" in CARD
    assert f"| Seed | {SEED} |" in CARD


def test_constants_are_the_generators() -> None:
    truth = Truth()
    assert f"median {MEDIAN_SECONDS:.0f}, logarithm" in CARD
    assert f"standard deviation {SECONDS_SPREAD}" in CARD
    assert f"d' {truth.looking.dprime} for the middle" in CARD.replace("\n  ", " ")
    assert f"standard deviation {truth.difficulty_spread}." in CARD
    for habit in HABITS:
        assert f"{habit.operator} {habit.said}" in CARD.replace("\n  ", " ")
