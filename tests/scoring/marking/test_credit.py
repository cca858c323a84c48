"""Answers to credit: by hand for each kind, and properties that hold for any answer."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.instance import Instance
from scoring.marking.credit import UnreadableAnswer, check_answer, credit
from scoring.marking.refusal import ENGLISH, RefusalCode
from scoring.marking.right import right_answer
from scoring.marking.rule import Credit, Looked
from tests.scoring.small import small_library, small_site

SOAK = small_library().instance("small-soak", small_site(), 7)
LOOK = small_library().instance("small-look", small_site(), 7)
ALL = [
    (instance, decision) for instance in (SOAK, LOOK) for decision in instance.scenario.decisions
]
NAMES = [decision.id for _, decision in ALL]

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=8,
)
IDS = st.sampled_from(
    ["cleaner", "eyes", "gloves", "soak", "brush", "tip", "joint", "amount", "mL", "", "nothing"]
)
NEAR_JSON = (
    IDS
    | st.lists(IDS | JSON, max_size=5)
    | st.fixed_dictionaries({"amount": JSON, "unit": st.sampled_from(["mL", "degF", "min", "", 3])})
    | JSON
)


def given_for(instance: Instance, decision: str, value: Any) -> Credit:
    return credit(instance.scenario.decision(decision), value, instance)


# --- any value ---


@given(NEAR_JSON)
def test_any_value_is_marked_or_refused_with_a_sentence(value: Any) -> None:
    for instance, decision in ALL:
        said = check_answer(decision, value, instance)
        if said is None:
            earned = credit(decision, value, instance)
            assert 0.0 <= earned.credit <= 1.0
            assert (earned.credit == 1.0) == (not earned.mistakes)
            assert not (earned.unsafe and earned.credit == 1.0)
        else:
            assert said.endswith(".")
            with pytest.raises(UnreadableAnswer, match=r"\.$"):
                credit(decision, value, instance)


@pytest.mark.parametrize(("instance", "decision"), ALL, ids=NAMES)
@pytest.mark.parametrize("seed", range(5))
def test_the_right_answer_earns_everything(instance: Instance, decision: Any, seed: int) -> None:
    drawn = small_library().instance(instance.scenario.id, small_site(), seed)
    earned = credit(decision, right_answer(decision, drawn), drawn)
    assert (earned.credit, earned.mistakes, earned.unsafe) == (1.0, (), False)


@pytest.mark.parametrize(("instance", "decision"), ALL, ids=NAMES)
def test_a_list_from_the_page_is_marked_as_the_tuple_in_the_log(
    instance: Instance, decision: Any
) -> None:
    right = right_answer(decision, instance)
    if isinstance(right, tuple):
        assert credit(decision, list(right), instance) == credit(decision, right, instance)


@pytest.mark.parametrize(
    ("instance", "decision", "value", "said"),
    [
        (SOAK, "agent", "water", "not one of the choices"),
        (SOAK, "agent", ["cleaner"], "Choose one answer"),
        (SOAK, "wear", [], "at least one"),
        (SOAK, "wear", ["eyes", "eyes"], "twice"),
        (SOAK, "wear", ["eyes", "hat"], "not there"),
        (SOAK, "wear", "eyes", "a list"),
        (SOAK, "wear", ["eyes", 3], "by its name"),
        (LOOK, "steps", ["soak", "brush"], "every action"),
        (LOOK, "mark", ["tip", "handle"], "not there"),
        (SOAK, "dose", 50, "a number and a unit"),
        (SOAK, "dose", {"amount": 50}, "Give the unit"),
        (SOAK, "dose", {"amount": 50, "unit": ""}, "Give the unit"),
        (SOAK, "dose", {"amount": 50, "unit": "ounce"}, "not known"),
        (SOAK, "dose", {"amount": 50, "unit": "min"}, "wrong kind of unit"),
        (SOAK, "warmth", {"amount": "40", "unit": "degC"}, "as a number"),
        (SOAK, "warmth", {"amount": True, "unit": "degC"}, "as a number"),
        (SOAK, "warmth", {"unit": "degC"}, "as a number"),
        (SOAK, "warmth", {"amount": math.nan, "unit": "degC"}, "cannot be set"),
        (SOAK, "warmth", {"amount": math.inf, "unit": "degC"}, "cannot be set"),
        (SOAK, "warmth", {"amount": 10**400, "unit": "degC"}, "cannot be set"),
        (SOAK, "warmth", {"amount": -300, "unit": "degC"}, "cannot be set"),
        (SOAK, "dose", {"amount": -1, "unit": "mL"}, "cannot be set"),
    ],
)
def test_what_cannot_be_taken_is_said(
    instance: Instance, decision: str, value: Any, said: str
) -> None:
    found = check_answer(instance.scenario.decision(decision), value, instance)
    assert found is not None
    assert said in found


def test_another_language_hands_in_its_own_sentences() -> None:
    decision = SOAK.scenario.decision("dose")
    german: dict[RefusalCode, str] = {"unknown_unit": "Diese Einheit kennt niemand: {units}."}
    value = {"amount": 5, "unit": "drops"}
    assert check_answer(decision, value, sentences=german) == (
        "Diese Einheit kennt niemand: mL, L, fl oz."
    )
    assert check_answer(decision, 5, sentences=german) == ENGLISH["no_quantity"]


# --- choose one ---


def test_choose_one_earns_what_the_file_says() -> None:
    assert given_for(SOAK, "agent", "cleaner") == Credit(1.0, "cleaner")
    assert given_for(SOAK, "agent", "detergent") == Credit(0.5, "detergent", ("M08",))
    assert given_for(SOAK, "agent", "disinfectant") == Credit(0.0, "disinfectant", ("M06",), True)


# --- choose several ---


def test_choose_several_is_right_minus_wrong_by_hand() -> None:
    # Three boxes are right: eyes, gloves, gown.
    assert given_for(SOAK, "wear", ("eyes", "gloves", "gown")) == Credit(1.0, "right")
    assert given_for(SOAK, "wear", ("eyes", "gloves")).credit == pytest.approx(2 / 3)
    everything = given_for(SOAK, "wear", ("eyes", "gloves", "gown", "sandals"))
    assert everything.credit == pytest.approx((3 - 1) / 3)
    assert (everything.reason, everything.mistakes, everything.unsafe) == (
        "sandals",
        ("M16",),
        False,
    )
    assert given_for(SOAK, "wear", ("sandals",)) == Credit(0.0, "eyes", ("M15", "M16"), True)


TICKS = [tick.id for tick in SOAK.scenario.decision("wear").ticks]  # type: ignore[union-attr]


@given(st.permutations(TICKS), st.integers(1, 4))
def test_the_order_of_ticks_does_not_matter(ticks: list[str], number: int) -> None:
    chosen = ticks[:number]
    assert given_for(SOAK, "wear", chosen) == given_for(SOAK, "wear", sorted(chosen))


@given(st.sets(st.sampled_from(TICKS), min_size=1), st.sampled_from(TICKS))
def test_a_right_tick_more_never_costs_and_a_wrong_one_never_earns(
    chosen: set[str], more: str
) -> None:
    before = given_for(SOAK, "wear", sorted(chosen)).credit
    after = given_for(SOAK, "wear", sorted(chosen | {more})).credit
    assert after <= before if more == "sandals" else after >= before


# --- order ---


def test_order_is_kendalls_tau_floored_by_hand() -> None:
    # Four actions, six pairs; one swap of neighbours turns one pair: 1 - 2/6.
    swapped = given_for(LOOK, "steps", ("soak", "rinse", "brush", "look"))
    assert swapped.credit == pytest.approx(2 / 3)
    assert (swapped.reason, swapped.mistakes, swapped.unsafe) == ("wrong", ("M74",), False)
    # brush before soak breaks a precedence that is not unsafe.
    broken = given_for(LOOK, "steps", ("brush", "soak", "rinse", "look"))
    assert broken.credit == pytest.approx(2 / 3)
    assert (broken.reason, broken.mistakes, broken.unsafe) == ("soak", ("M31",), False)


def test_an_unsafe_precedence_earns_nothing_however_close() -> None:
    assert given_for(LOOK, "steps", ("soak", "brush", "look", "rinse")) == Credit(
        0.0, "rinse", ("M60",), True
    )
    # The unsafe one is named first although the file lists it second.
    both = given_for(LOOK, "steps", ("look", "rinse", "brush", "soak"))
    assert (both.reason, both.mistakes) == ("rinse", ("M60", "M31"))


def test_every_order_agrees_with_counting_the_pairs() -> None:
    right = ("soak", "brush", "rinse", "look")
    for order in itertools.permutations(right):
        turned = sum(
            order.index(first) > order.index(then)
            for first, then in itertools.combinations(right, 2)
        )
        wanted = 0.0 if order.index("look") < order.index("rinse") else max(0, 1 - turned / 3)
        assert given_for(LOOK, "steps", order).credit == pytest.approx(wanted)


# --- quantity ---


def test_quantity_falls_linearly_by_hand() -> None:
    # The label says 5 mL/L; window 10 % to each side, nothing at half and one and a half of it.
    litres = SOAK.values["litres"]
    low, high = 0.9 * 5 * litres, 1.1 * 5 * litres
    for amount, share, reason in [
        (low, 1.0, "right"),
        (high, 1.0, "right"),
        (0.75 * low, 0.5, "too_low"),
        (1.25 * high, 0.5, "too_high"),
        (0.5 * low, 0.0, "too_low"),
        (1.5 * high, 0.0, "too_high"),
        (0.0, 0.0, "too_low"),
    ]:
        earned = given_for(SOAK, "dose", {"amount": amount, "unit": "mL"})
        assert earned.credit == pytest.approx(share, abs=1e-9)
        assert earned.reason == reason
        off = None if amount == 0 else math.log(amount / (5 * litres))
        assert earned.off == (off if off is None else pytest.approx(off))


def test_too_little_is_unsafe_only_when_it_earns_nothing() -> None:
    litres = SOAK.values["litres"]
    assert not given_for(SOAK, "dose", {"amount": 4 * litres, "unit": "mL"}).unsafe
    assert given_for(SOAK, "dose", {"amount": 1 * litres, "unit": "mL"}).unsafe
    assert not given_for(SOAK, "dose", {"amount": 50 * litres, "unit": "mL"}).unsafe


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(30, 86.0), (43, 109.4), (35, 95.0)])
def test_the_unit_does_not_change_the_credit(celsius: float, fahrenheit: float) -> None:
    # Published pairs of one temperature; 109.4 degF is the cap of 43 degC exactly.
    for amount, unit in [(celsius, "degC"), (fahrenheit, "degF")]:
        assert given_for(SOAK, "warmth", {"amount": amount, "unit": unit}).credit == 1.0


@given(st.floats(0, 500), st.floats(0, 500))
def test_closer_to_the_window_never_earns_less(one: float, other: float) -> None:
    key = SOAK.keys["dose"]

    def off(amount: float) -> float:
        return max(0.0, key.low - amount, amount - key.high)

    near, far = sorted((one, other), key=off)
    if (near < key.low) == (far < key.low):
        earned = [
            given_for(SOAK, "dose", {"amount": amount, "unit": "mL"}).credit
            for amount in (near, far)
        ]
        assert earned[0] >= earned[1] - 1e-9


# --- places ---

PLACES = sorted(LOOK.instrument.places)


def test_places_are_hits_minus_false_alarms_by_hand() -> None:
    soiled = sorted(LOOK.soiled)
    clean = sorted(set(PLACES) - LOOK.soiled)
    assert (len(soiled), len(clean)) == (2, 3)
    assert given_for(LOOK, "mark", soiled) == Credit(1.0, "all_found", looked=Looked(2, 0, 0, 3))
    assert given_for(LOOK, "mark", soiled[:1]) == Credit(
        0.5, "missed", ("M70",), True, Looked(1, 1, 0, 3)
    )
    alarm = given_for(LOOK, "mark", [*soiled, clean[0]])
    assert alarm.credit == pytest.approx(1 - 1 / 3)
    assert (alarm.reason, alarm.mistakes, alarm.unsafe) == ("false_alarm", ("M80",), False)
    both = given_for(LOOK, "mark", [soiled[0], clean[0]])
    assert both.credit == pytest.approx(1 / 2 - 1 / 3)
    assert (both.reason, both.mistakes, both.unsafe) == ("missed", ("M70", "M80"), True)
    assert both.looked == Looked(1, 1, 1, 2)


def test_calling_a_soiled_instrument_clean_is_an_answer_and_earns_nothing() -> None:
    assert given_for(LOOK, "mark", []) == Credit(0.0, "missed", ("M70",), True, Looked(0, 2, 0, 3))


def test_marking_everything_earns_nothing() -> None:
    assert given_for(LOOK, "mark", PLACES).credit == 0.0


@given(st.permutations(PLACES), st.integers(0, 5))
def test_the_order_of_marks_does_not_matter(places: list[str], number: int) -> None:
    assert given_for(LOOK, "mark", places[:number]) == given_for(
        LOOK, "mark", sorted(places[:number])
    )


@given(st.sets(st.sampled_from(PLACES)), st.sampled_from(PLACES))
def test_a_hit_more_never_costs_and_an_alarm_more_never_earns(marked: set[str], more: str) -> None:
    before = given_for(LOOK, "mark", sorted(marked)).credit
    after = given_for(LOOK, "mark", sorted(marked | {more})).credit
    assert after >= before if more in LOOK.soiled else after <= before
