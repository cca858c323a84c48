from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from scipy.stats import kstest

from sample_cohort.plan import OPERATORS
from sample_cohort.truth import HABITS, STATIONS, Truth, normal
from scoring.form import Form
from scoring.library import Library


def test_draws_are_standard_normal() -> None:
    drawn = [normal(3, "a", str(number)) for number in range(4000)]
    assert kstest(drawn, "norm").pvalue > 0.01


def test_abilities_have_the_planted_level_and_spread() -> None:
    truth = Truth()
    for station, planted in STATIONS.items():
        drawn = [truth.ability(5, f"POP-{number}", station) for number in range(3000)]
        assert np.mean(drawn) == pytest.approx(planted.level, abs=4 * planted.spread / 3000**0.5)
        assert np.std(drawn) == pytest.approx(planted.spread, rel=0.06)


def test_a_person_is_as_able_today_as_tomorrow_and_with_more_people_about() -> None:
    assert Truth().ability(1, "OP-101", "soak") == Truth().ability(1, "OP-101", "soak")
    assert Truth().ability(1, "OP-101", "soak") != Truth().ability(2, "OP-101", "soak")


def test_brushing_is_planted_as_the_step_that_depends_most_on_who() -> None:
    assert max(STATIONS, key=lambda station: STATIONS[station].spread) == "brush"


def test_every_habit_belongs_to_somebody_and_shows_in_every_second_form_or_more(
    library: Library, forms: Sequence[Form]
) -> None:
    for habit in HABITS:
        assert habit.operator in OPERATORS
        met = [
            any(
                decision.topic == habit.topic
                for part in form.scenarios
                for decision in library.scenario(part.id).decisions
            )
            for form in forms
        ]
        assert sum(met) >= len(forms) / 2, habit
        assert Truth().shift(habit.operator, habit.topic) == habit.shift
        assert Truth().shift("OP-101", habit.topic) == 0


def test_soiled_places_are_marked_more_often_than_clean_ones_and_better_by_the_able() -> None:
    truth = Truth()
    hits = [truth.chance_of_marking(ability, 0, 0.3, True) for ability in (-2, 0, 2)]
    alarms = [truth.chance_of_marking(ability, 0, 0.3, False) for ability in (-2, 0, 2)]
    assert hits == sorted(hits)
    assert alarms == sorted(alarms, reverse=True)
    assert hits[1] > 0.5 > alarms[1]
    # Somebody who sees nothing marks soiled and clean places alike, and never the wrong way round.
    assert truth.chance_of_marking(-99, 0, 0.3, True) == truth.chance_of_marking(-99, 0, 0.3, False)


def test_a_cautious_eye_marks_fewer_places() -> None:
    chances = [Truth().chance_of_marking(0, 0, caution, True) for caution in (-1, 0, 1)]
    assert chances == sorted(chances, reverse=True)
