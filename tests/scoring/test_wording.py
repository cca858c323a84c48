"""Numbers in sentences: written without needless digits, in the units of the place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scoring.faults import FaultError
from scoring.wording import fill_words, is_key_name, names_in, said_number, wording_table
from tests.lessons.players import SITES, instance, library

THREE_BAYS, TWO_BAYS = (
    next(path for path in SITES if path.stem == name)
    for name in ("invented-three-bays", "invented-two-bays")
)
LESSON = "soak-clamp-dried"


@pytest.mark.parametrize(
    ("value", "said"),
    [(5.0, "5"), (7.8125, "7.81"), (0.5, "0.5"), (100.0, "100"), (0.0, "0"), (10.10, "10.1")],
)
def test_numbers_carry_no_needless_digits(value: float, said: str) -> None:
    assert said_number(value) == said


def test_a_sentence_is_filled_from_parameters_and_site() -> None:
    met = instance(LESSON, THREE_BAYS, 1)
    litres = said_number(met.values["bath_l"])
    text = fill_words("{bath} at {site_dose}, {bath_l} L, {site_temperature}", met)
    assert text == f"{litres} L at 5 mL/L, {litres} L, 30\N{EN DASH}40 °C"


def test_a_place_with_us_units_reads_its_own_and_the_metric_ones() -> None:
    met = instance(LESSON, TWO_BAYS, 1)
    assert fill_words("{site_dose}", met) == "1 fl oz/gal (7.81 mL/L)"
    assert fill_words("{site_temperature}", met) == "81\N{EN DASH}109 °F (27\N{EN DASH}43 °C)"
    assert " gal)" in fill_words("{bath}", met)
    assert "fl oz" in fill_words("{right_dose}", met)


def test_the_right_amount_is_said_before_what_counts_as_right() -> None:
    met = instance(LESSON, THREE_BAYS, 1)
    right = met.values["bath_l"] * met.site.cleaner.dose_ml_per_l
    slack = right * met.site.cleaner.dose_tolerance
    window = f"{said_number(right - slack, 1)}\N{EN DASH}{said_number(right + slack, 1)} mL"
    assert fill_words("{right_dose}", met) == f"{said_number(right, 1)} mL ({window})"


def test_things_that_are_counted_carry_no_word_of_a_language() -> None:
    met = instance("rinse-suction-hurry", THREE_BAYS, 1)
    assert fill_words("{right_tap-rinses}", met) == "2\N{EN DASH}3"


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
def test_what_is_filled_in_is_free_of_language(path: Path) -> None:
    symbols = {"L", "mL", "fl", "oz", "gal", "min", "mm", "µg", "cm²", "C", "F"}
    symbols |= {"kPa", "bar", "lux", "psi", "fc"}
    for name in library().scenario_ids():
        for key, said in wording_table(instance(name, path, 1)).items():
            if key not in {"site_name", "site_label"}:
                assert set(re.findall(r"[^\W\d_]+", said)) <= symbols, (key, said)


def test_a_flush_is_a_window_and_a_dose_an_amount() -> None:
    for path, said in (
        (THREE_BAYS, "50\N{EN DASH}150 mL"),
        (TWO_BAYS, "2\N{EN DASH}6.8 fl oz (60\N{EN DASH}200 mL)"),
    ):
        table = wording_table(instance("brush-tube-gauge", path, 1))
        assert said in table.values(), table


def test_a_lumen_is_told_as_its_instrument_file_says() -> None:
    met = instance("soak-flexible-tube-channels", THREE_BAYS, 1)
    fine = met.instrument.places["fine_channel"]
    assert fine.pressure_max_kpa is not None
    table = wording_table(met)
    assert table["bore_fine_channel"] == f"{fine.bore_mm:g} mm"
    assert table["length_fine_channel"] == f"{fine.length_mm:g} mm"
    assert table["pressure_fine_channel"].startswith(f"{fine.pressure_max_kpa:g} kPa (")
    assert "bore_sheath" not in table


def test_a_highest_pressure_is_never_rounded_up() -> None:
    # By hand: 150 kPa / 6.894757 is 21.7557 psi, which rounds to 21.8 and would be above it.
    met = instance("soak-flexible-tube-channels", THREE_BAYS, 1)
    assert wording_table(met)["pressure_suction_channel"] == "150 kPa (1.5 bar, 21.7 psi)"


def test_names_that_give_an_answer_away_are_known() -> None:
    table = wording_table(instance(LESSON, THREE_BAYS, 1))
    keys = {name for name in table if is_key_name(name)}
    assert keys == {"soiled_count", "right_dose", "right_temperature", "right_time"}


def test_a_misspelt_name_is_said_with_what_would_fit() -> None:
    with pytest.raises(FaultError) as raised:
        fill_words("in {bath_litres} of water", instance(LESSON, THREE_BAYS, 1))
    fault = raised.value.faults[0]
    assert fault.item == "{bath_litres}"
    assert "bath_l" in fault.wanted


def test_other_braces_are_text() -> None:
    assert names_in("a {b} and {C} and {}") == {"b"}


def test_no_pressure_told_in_psi_lies_above_the_limit() -> None:
    """150 kPa is 21.756 psi: rounded to one digit it would be 21.8, too much."""
    met = instance("brush-tube-gauge", TWO_BAYS, 1)
    for key, said in wording_table(met).items():
        if "psi (" in said:
            decision = key.removeprefix("right_")
            high = float(re.findall(r"[\d.]+", said)[1])
            assert high * 6.894757293168361 <= met.keys[decision].high
            break
    else:
        raise AssertionError("the scenario asks for no pressure")
