"""Seating and opening: PINs, tries, resuming, what is on the disk."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from assessments.pins import PIN_DIGITS, WRONG_TRIES_ALLOWED
from assessments.seating import (
    close_seat,
    find_by_token,
    forget_token,
    is_locked,
    open_sitting,
    seat,
)
from assessments.seats import Seats
from assessments.slips import slips_html, slips_text
from scoring.faults import FaultError
from scoring.form import Form
from scoring.settings import Settings

DIGEST = "0" * 64


def exam(identifier: str = "trial", version: int = 1) -> Form:
    return Form.model_validate(
        {
            "schema_version": 1, "id": identifier, "version": version, "purpose": "exam",
            "title": {"en": "A trial"}, "scenarios": [{"id": "one"}], "minutes": 20,
        }
    )  # fmt: skip


@pytest.fixture
def kit(tmp_path: Path) -> Settings:
    return Settings(records=tmp_path / "records", site=tmp_path / "site.yaml")


def other(pin: str) -> str:
    return f"{(int(pin) + 1) % 10**PIN_DIGITS:0{PIN_DIGITS}d}"


def test_the_right_pin_opens_and_opens_again_until_the_sitting_is_closed(kit: Settings) -> None:
    (slip,) = seat(kit, exam(), DIGEST, ["OP-001"])
    first = open_sitting(kit, " op-001 ", slip.pin)
    assert first is not None
    assert not first.again
    second = open_sitting(kit, "OP-001", slip.pin)
    assert second is not None
    assert second.again
    assert second.seat.sitting == first.seat.sitting == slip.sitting
    assert find_by_token(kit, first.token) is None, "the token of the dead tablet still works"
    assert find_by_token(kit, second.token) == second.seat
    closed = close_seat(kit, slip.sitting, "7K3Q-M2XP")
    assert closed.pin is None
    assert closed.receipt == "7K3Q-M2XP"
    assert close_seat(kit, slip.sitting, "other") == closed, "closing twice changed the receipt"
    assert open_sitting(kit, "OP-001", slip.pin) is None
    forget_token(kit, slip.sitting)
    assert find_by_token(kit, second.token) is None


def test_no_pin_and_no_token_is_on_the_disk(kit: Settings) -> None:
    slips = seat(kit, exam(), DIGEST, ["OP-001", "OP-002"])
    opened = open_sitting(kit, "OP-001", slips[0].pin)
    assert opened is not None
    stored = "".join(path.read_text() for path in kit.records.rglob("*") if path.suffix == ".json")
    assert opened.token not in stored
    for slip in slips:
        assert f'"{slip.pin}"' not in stored


def test_wrong_pin_and_unknown_code_look_the_same_and_lock_the_same(kit: Settings) -> None:
    (slip,) = seat(kit, exam(), DIGEST, ["OP-001"])
    for code in ("OP-001", "OP-999"):
        for tried in range(WRONG_TRIES_ALLOWED):
            assert not is_locked(kit, code), f"locked after {tried} tries"
            assert open_sitting(kit, code, other(slip.pin)) is None
        assert is_locked(kit, code)
    assert open_sitting(kit, "OP-001", slip.pin) is None, "the right PIN opened a locked code"
    (fresh,) = seat(kit, exam(), DIGEST, ["OP-001"], new_pins=True)
    assert fresh.sitting == slip.sitting
    assert open_sitting(kit, "OP-001", slip.pin) is None or fresh.pin == slip.pin
    assert open_sitting(kit, "OP-001", fresh.pin) is not None


def test_tries_at_the_same_time_are_all_counted(kit: Settings) -> None:
    (slip,) = seat(kit, exam(), DIGEST, ["OP-001"])
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda _: open_sitting(kit, "OP-001", other(slip.pin)), range(4)))
    assert Seats(kit).wrong_tries() == {"OP-001": 4}


def test_text_that_is_no_code_is_turned_away_and_not_counted(kit: Settings) -> None:
    for code in ("", "../../x", "OP-001\n", "Ωmega", "\ud800"):
        assert open_sitting(kit, code, "000000") is None or code.strip() == "OP-001"
    assert set(Seats(kit).wrong_tries()) <= {"OP-001"}


@pytest.mark.parametrize("pin", ["", "\ud800", "0" * 100_000, "\uff11\uff12\uff13"])
def test_no_odd_pin_opens(kit: Settings, pin: str) -> None:
    seat(kit, exam(), DIGEST, ["OP-001"])
    assert open_sitting(kit, "OP-001", pin) is None


def test_bad_codes_are_all_named_and_nobody_is_seated(kit: Settings) -> None:
    seat(kit, exam(), DIGEST, ["OP-001"])
    with pytest.raises(FaultError) as caught:
        seat(kit, exam(), DIGEST, ["OP-002", "OP-002", "nobody", "OP-001", "OP-003"])
    said = [fault.found for fault in caught.value.faults]
    assert said == ["OP-002, 2 times", "nobody", "OP-001, already seated for an open sitting"]
    assert [placed.operator for placed in Seats(kit).all()] == ["OP-001"]
    with pytest.raises(FaultError, match="at least one"):
        seat(kit, exam(), DIGEST, [])


def test_one_code_sits_one_form_at_a_time(kit: Settings) -> None:
    (slip,) = seat(kit, exam(), DIGEST, ["OP-001"])
    with pytest.raises(FaultError, match="trial_v1"):
        seat(kit, exam(version=2), DIGEST, ["OP-001"], new_pins=True)
    close_seat(kit, slip.sitting, "7K3Q-M2XP")
    (later,) = seat(kit, exam(version=2), DIGEST, ["OP-001"])
    assert later.sitting != slip.sitting


def test_a_damaged_seat_stops_seating_but_not_the_other_candidates(kit: Settings) -> None:
    slips = seat(kit, exam(), DIGEST, ["OP-001", "OP-002"])
    (kit.records / "seats" / f"{slips[0].sitting}.json").write_text('{"half')
    assert open_sitting(kit, "OP-002", slips[1].pin) is not None
    with pytest.raises(FaultError, match="damaged"):
        seat(kit, exam(), DIGEST, ["OP-003"])


def test_a_folder_that_cannot_be_made_is_a_fault(kit: Settings) -> None:
    kit.records.write_text("a file where the folder should be")
    with pytest.raises(FaultError, match="can be written"):
        seat(kit, exam(), DIGEST, ["OP-001"])


def test_slips_hold_code_and_pin_and_never_run_a_name(kit: Settings) -> None:
    slips = seat(kit, exam(), DIGEST, ["OP-001", "OP-002"])
    page = slips_html(slips, "A <trial>", {"OP-001": "<script>x</script>"})
    text = slips_text(slips, "A trial")
    for slip in slips:
        shown = f"{slip.pin[:3]} {slip.pin[3:]}"
        assert shown in page
        assert shown in text
        assert slip.operator in page
        assert slip.sitting not in page + text
    assert "<script>" not in page
    assert "A &lt;trial&gt;" in page
    assert "http" not in page.replace('lang="en"', "")
