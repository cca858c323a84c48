"""Answers change the handling, and the bench runs where the file says so."""

from __future__ import annotations

import pytest

from scoring.marking.right import right_answer
from scoring.play import after, opening
from tests.scoring.small import small_library, small_site

SOAK = small_library().instance("small-soak", small_site(), 7)
LOOK = small_library().instance("small-look", small_site(), 7)


def test_before_the_first_decision_all_is_as_the_file_says() -> None:
    moment = opening(SOAK)
    assert moment.handling.bath_l == SOAK.values["litres"]
    assert moment.handling.opened
    assert moment.state.soil["tip"]["fresh"] == 200
    assert moment.state.soil["shaft"]["fresh"] == 0


def test_one_option_sets_its_handling_and_nothing_else() -> None:
    start = opening(SOAK)
    moment = after(SOAK, SOAK.scenario.decision("agent"), "disinfectant", start)
    assert moment.handling == start.handling.changed(agent="aldehyde")
    assert moment.state == start.state


def test_ticks_set_what_is_ticked_and_leave_the_rest() -> None:
    moment = after(SOAK, SOAK.scenario.decision("wear"), ("eyes", "gown"), opening(SOAK))
    assert (moment.handling.eyes_covered, moment.handling.gown_on) == (True, True)
    assert not moment.handling.gloves_thick


@pytest.mark.parametrize(("amount", "unit"), [(50, "mL"), (0.05, "L"), (50 / 29.57353, "fl oz")])
def test_a_quantity_is_set_in_the_benchs_unit(amount: float, unit: str) -> None:
    value = {"amount": amount, "unit": unit}
    moment = after(SOAK, SOAK.scenario.decision("dose"), value, opening(SOAK))
    assert moment.handling.dose_ml == pytest.approx(50.0, rel=1e-6)


def test_a_quantity_that_is_none_is_refused() -> None:
    with pytest.raises(TypeError, match="an amount and a unit"):
        after(SOAK, SOAK.scenario.decision("dose"), "50 mL", opening(SOAK))


def test_the_step_of_a_decision_runs_after_its_answer() -> None:
    moment = opening(SOAK)
    for decision in SOAK.scenario.decisions:
        before = moment
        moment = after(SOAK, decision, right_answer(decision, SOAK), moment)
    assert before.state.soil["tip"]["fresh"] == 200
    assert moment.state.protein_ug("tip") <= 200
    assert moment.handling.temperature_c == pytest.approx(36.5)


def test_the_steps_of_an_order_run_in_the_order_given() -> None:
    decision = LOOK.scenario.decision("steps")
    right = after(LOOK, decision, ("soak", "brush", "rinse", "look"), opening(LOOK))
    wrong = after(LOOK, decision, ("look", "rinse", "brush", "soak"), opening(LOOK))
    left = [sum(moment.state.protein_ug(place) for place in LOOK.instrument.places)
            for moment in (right, wrong)]  # fmt: skip
    assert left[0] != left[1]
    # Rinsed last but one, or soaked last: only then is cleaner left on the instrument.
    assert right.state.residue_mg < wrong.state.residue_mg


def test_playing_changes_nothing_of_the_instance() -> None:
    before = opening(LOOK)
    soil = {place: dict(kinds) for place, kinds in before.state.soil.items()}
    after(LOOK, LOOK.scenario.decision("steps"), ("soak", "brush", "rinse", "look"), before)
    assert opening(LOOK).state.soil == soil
