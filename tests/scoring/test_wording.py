"""Numbers in sentences: written without needless digits, in the units of the place."""

from __future__ import annotations

import pytest

from scoring.faults import FaultError
from scoring.wording import fill_words, is_key_name, names_in, said_number, wording_table
from tests.lessons.players import SITES, instance

THREE_BAYS, TWO_BAYS = SITES
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
    assert text == f"{litres} L at 5 mL per litre, {litres} L, 30 to 40 °C"


def test_a_place_with_us_units_reads_its_own_and_the_metric_ones() -> None:
    met = instance(LESSON, TWO_BAYS, 1)
    assert fill_words("{site_dose}", met) == "1 fl oz per US gallon (7.81 mL per litre)"
    assert fill_words("{site_temperature}", met) == "81 to 109 °F (27 to 43 °C)"
    assert "US gallons" in fill_words("{bath}", met)
    assert "fl oz" in fill_words("{right_dose}", met)


def test_the_right_amount_is_the_key() -> None:
    met = instance(LESSON, THREE_BAYS, 1)
    key = met.keys["dose"]
    said = fill_words("{right_dose}", met)
    assert said == f"{said_number(key.low, 1)} to {said_number(key.high, 1)} mL"


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
