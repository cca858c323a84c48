"""The data card says what the generator does."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

import sample_cohort
from sample_cohort.generate import MEDIAN_SECONDS, SECONDS_SPREAD, SEED, CohortSummary
from sample_cohort.observing import DOUBLE, TIMES_A_YEAR
from sample_cohort.plan import LEFT_BLANK, MONTHS, NEW, ON_LEAVE, PEOPLE, STOPPED, YEAR
from sample_cohort.truth import BROKEN, HABITS, STATIONS, Truth
from scoring.checklist import Checklist
from scoring.model import Station
from scoring.observation import Observation

CARD = (Path(sample_cohort.__file__).parent / "README.md").read_text(encoding="utf-8")
RUNNING = " ".join(CARD.split())


def says(*sentences: str) -> None:
    for sentence in sentences:
        assert sentence in RUNNING, sentence


def test_it_says_aloud_that_the_data_are_invented_and_the_seed_not_picked() -> None:
    says("**Invented data.**", f"| Seed | {SEED}: the first there is, not chosen after looking |")


def test_stations_are_the_generators() -> None:
    rows = {
        name: (float(level), float(spread))
        for name, level, spread in re.findall(r"^\| (\w+) \| ([\d.]+) \| ([\d.]+) \|$", CARD, re.M)
    }
    assert rows == {name: (one.level, one.spread) for name, one in STATIONS.items()}


def test_counts_are_the_cohorts(
    cohort: CohortSummary,
    observations: Sequence[Observation],
    checklists: Mapping[Station, Checklist],
) -> None:
    at_first = sum(person.site == "Ostrevale" for person in PEOPLE.values())
    says(
        f"{len(PEOPLE)} operators, {at_first} at Ostrevale",
        f"over {MONTHS} months of {YEAR}. {len(cohort.forms)} exam forms",
        f"{cohort.planned} sittings planned, {len(cohort.logs)} logs, {cohort.answers} answers",
        f"{len(checklists)} checklists ({', '.join(checklists)})",
        f"{len(Truth().raters)} assessors watch each person {TIMES_A_YEAR} times a year",
        f"on {DOUBLE:.0%} of the occasions".replace("%", " %"),
        f"{len(observations)} observations of {len({one.occasion for one in observations})} ",
    )


def test_who_is_away_or_stops_is_the_plans() -> None:
    for code, day in NEW.items():
        says(f"| {code} | new, first day {day}")
    for code, months in ON_LEAVE.items():
        word = "months" if len(months) > 1 else "month"
        says(f"| {code} | on leave in {word} {', '.join(str(month + 1) for month in months)} |")
    for (code, month), answers in STOPPED.items():
        says(f"| {code} | in month {month + 1} left after {answers} answers")
    says(f"| {LEFT_BLANK[0]} | in month {LEFT_BLANK[1] + 1} handed in with the last scenario")
    assert len(re.findall(r"^\| OP-\d+ \|", CARD, re.M)) == len(NEW) + len(ON_LEAVE) + 3


def test_truths_are_the_generators() -> None:
    truth = Truth()
    shift, training, seen = truth.shift_habit, truth.retraining, truth.rating
    ((broken, sound),) = BROKEN.items()
    says(
        f"standard deviation {truth.difficulty_spread}.",
        f"{' and '.join(truth.worse)}, by {truth.worse['OP-112']}.",
        f"at {shift.site}, {shift.shift} {shift.said}: {shift.by} at decisions on {shift.topic}",
        f"items that name {' or '.join(shift.mistakes)}",
        f"begin {truth.learning.below} below",
        f"the factor e in {truth.learning.months} months",
        f"{training.station}, {training.day}, {training.effect:+}, for the {training.chosen} with",
        f"in the {training.months_before} months before",
        ", ".join(f"{rater} {lenient:+}" for rater, lenient in truth.raters.items()),
        f"with logit {seen.sharp}; {100 * seen.unseen:.0f} % of items",
        f"standard deviation {seen.item_spread}; the overall grade has an error of "
        f"{seen.overall_noise}",
        f"`{broken}`, a copy of `{sound}`",
        f"taken {truth.typical_weight:.0f} times as often",
        f"normal with standard deviation {truth.dose_error}.",
    )
    assert set(truth.worse.values()) == {truth.worse["OP-112"]}


def test_looking_habits_and_times_are_the_generators() -> None:
    looking = Truth().looking
    says(
        f"d' {looking.dprime} for the middle operator, {looking.slope} more",
        f"drawn {looking.caution} standard deviations",
        f"standard deviation of {looking.caution_spread} between operators",
        f"median {MEDIAN_SECONDS:.0f}, logarithm normal with standard deviation {SECONDS_SPREAD}",
    )
    for habit in HABITS:
        says(f"{habit.operator} {habit.said} ({habit.shift} at {habit.topic})")
