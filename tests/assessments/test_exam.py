"""The exam without a page: sign in, rules, decisions, hand in, receipt, and everything between."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from assessments import exam_library
from assessments.exam import Exam
from assessments.exam_form import exam_forms, find_form
from assessments.seating import Slip, close_seat, seat
from assessments.seats import Seats
from lessons.page.card import Card
from lessons.page.screens import Screen
from scoring.faults import FaultError
from scoring.form import Form
from scoring.records.log import read_log
from scoring.records.places import exam_log
from scoring.settings import Settings
from tests.assessments.play import answer, as_page, current, play, sign_in
from tests.assessments.trial import right, trial_form, trial_library, trial_settings, wrong

LIBRARY = trial_library()
FORM = trial_form()


@pytest.fixture
def kit(tmp_path: Path) -> Settings:
    return trial_settings(tmp_path)


def seated(kit: Settings, *codes: str, form: Form = FORM) -> tuple[Slip, ...]:
    return seat(kit, form, LIBRARY.form_digest(form), codes or ("OP-001",))


def tablet(kit: Settings, form: Form = FORM) -> Exam:
    return Exam(kit, LIBRARY, (form,))


def begun(kit: Settings, slip: Slip) -> Exam:
    """A tablet at the first decision."""
    exam = tablet(kit)
    sign_in(exam, slip.operator, slip.pin)
    exam.act({"do": "begin"})
    exam.act({"do": "begin"})
    assert exam.screen["kind"] == "decision"
    return exam


def test_from_pin_to_receipt(kit: Settings) -> None:
    (slip,) = seated(kit)
    exam = tablet(kit)
    assert exam.screen["kind"] == "sign_in"
    sign_in(exam, "op-001", f"{slip.pin[:3]} {slip.pin[3:]}")
    assert exam.screen["kind"] == "intro"
    assert exam.screen["token"]
    for part in ("25 minutes", "final", "assessor"):
        assert part in exam.screen["situation"], part
    screens: list[Screen] = []
    play(exam, right, screens)
    assert [screen["kind"] for screen in screens].count("intro") == 3 + 1
    decisions = [screen for screen in screens if screen["kind"] == "decision"]
    assert all(screen["saved"].startswith("saved ") for screen in decisions if screen["number"] > 1
               and not _opens(screen, screens))  # fmt: skip
    log = read_log(exam_log(kit, slip.sitting))
    assert exam.screen["code"] == log.receipt == Seats(kit).get(slip.sitting).receipt
    assert len(log.answers) == decisions[-1]["total"]
    assert log.close is not None
    header = log.header
    assert (header.operator, header.purpose, header.form) == ("OP-001", "exam", "trial")
    assert header.form_digest == LIBRARY.form_digest(FORM)
    assert [scenario.digest for scenario in header.scenarios] == [
        LIBRARY.scenario_digest(part.id) for part in FORM.scenarios
    ]
    assert exam.act({"do": "done"}) is not None
    assert exam.screen["kind"] == "sign_in"
    assert exam.screen["token"] == ""
    sign_in(exam, "OP-001", slip.pin)
    assert exam.screen["kind"] == "sign_in", "a spent PIN opened a sitting"


def _opens(screen: Screen, screens: Sequence[Screen]) -> bool:
    return screens[screens.index(screen) - 1]["kind"] == "intro"


def test_no_consequence_is_ever_shown(kit: Settings) -> None:
    """Right and wrong answers lead through the same screens, the receipt apart."""
    slips = seated(kit, "OP-001", "OP-002", form=_fixed())
    seen: list[list[Screen]] = []
    for slip, choose in zip(slips, (right, wrong), strict=True):
        exam = tablet(kit, _fixed())
        sign_in(exam, slip.operator, slip.pin)
        screens: list[Screen] = []
        play(exam, choose, screens)
        seen.append([{**screen, "saved": ""} for screen in screens[:-1]])
    assert json.dumps(seen[0]).replace("OP-001", "OP-002") == json.dumps(seen[1])


def _fixed() -> Form:
    return trial_form(scenarios=[{"id": part.id, "seed": 11} for part in FORM.scenarios])


def test_wrong_pin_and_unknown_code_read_the_same(kit: Settings) -> None:
    (slip,) = seated(kit)
    pin = f"{(int(slip.pin) + 1) % 10**6:06d}"
    exam = tablet(kit)
    sign_in(exam, "OP-001", pin)
    wrong_pin = exam.screen
    sign_in(exam, "OP-777", pin)
    assert exam.screen == wrong_pin
    assert "OP-" not in wrong_pin["notice"]
    for _ in range(4):
        sign_in(exam, "OP-001", pin)
    locked = exam.screen
    assert locked["notice"] != wrong_pin["notice"]
    assert "trainer" in locked["notice"]
    for _ in range(4):
        sign_in(exam, "OP-777", pin)
    assert exam.screen == locked
    sign_in(exam, "OP-001", slip.pin)
    assert exam.screen == locked, "a locked code was opened"


def test_a_missing_unit_is_said_at_once_and_nothing_is_saved(kit: Settings) -> None:
    (slip,) = seated(kit)
    exam = begun(kit, slip)
    answer(exam, right)
    question = current(exam)
    assert question.decision.kind == "quantity"
    before = exam_log(kit, slip.sitting).read_bytes()
    for value in ({"amount": 5}, {"amount": "5", "unit": "mL"}, {"amount": 5, "unit": "min"},
                  {"amount": float("nan"), "unit": "mL"}, "5 mL", None, [], {}):  # fmt: skip
        exam.act({"do": "answer", "decision": exam.screen["id"], "value": value})
        assert exam.screen["notice"]
        assert exam.screen["kind"] == "decision"
        assert current(exam) is question
    assert exam_log(kit, slip.sitting).read_bytes() == before


def test_a_reload_goes_on_where_it_was(kit: Settings) -> None:
    (slip,) = seated(kit)
    first = tablet(kit)
    sign_in(first, "OP-001", slip.pin)
    token = first.screen["token"]
    first.act({"do": "begin"})
    first.act({"do": "begin"})
    answer(first, right)
    shown = first.screen
    second = tablet(kit)
    second.act({"do": "hello", "token": token})
    assert {**second.screen, "saved": ""} == {**shown, "saved": ""}
    assert second.screen["saved"]
    log = read_log(exam_log(kit, slip.sitting))
    assert [event.what for event in log.events] == ["resumed"]
    answer(first, right)
    assert first.screen["kind"] == "problem", "two windows wrote into one sitting"
    answer(second, right)
    assert second.screen["number"] == 3


def test_a_dead_tablet_is_replaced_with_code_and_pin(kit: Settings) -> None:
    (slip,) = seated(kit)
    dead = begun(kit, slip)
    answer(dead, right)
    fresh = tablet(kit)
    sign_in(fresh, "OP-001", slip.pin)
    assert fresh.screen["kind"] == "decision"
    assert fresh.screen["number"] == 2
    assert fresh.screen["token"]
    detail = read_log(exam_log(kit, slip.sitting)).events[-1].detail
    assert "code and PIN" in detail


def test_a_reload_after_handing_in_shows_the_receipt_again(kit: Settings) -> None:
    (slip,) = seated(kit)
    exam = tablet(kit)
    sign_in(exam, "OP-001", slip.pin)
    token = exam.screen["token"]
    play(exam, right)
    again = tablet(kit)
    again.act({"do": "hello", "token": token})
    assert again.screen == exam.screen
    again.act({"do": "done"})
    third = tablet(kit)
    third.act({"do": "hello", "token": token})
    assert third.screen["kind"] == "sign_in"
    assert third.screen["token"] == ""


def test_a_kernel_that_died_between_closing_and_the_receipt(kit: Settings) -> None:
    (slip,) = seated(kit)
    exam = tablet(kit)
    sign_in(exam, "OP-001", slip.pin)
    token = exam.screen["token"]
    while "Hand in" not in exam.screen["heading"]:
        exam.act({"do": "begin"}) if exam.screen["kind"] == "intro" else answer(exam, right)
    log, _ = exam._sitting()
    log.close()
    again = tablet(kit)
    again.act({"do": "hello", "token": token})
    assert again.screen["kind"] == "receipt"
    assert Seats(kit).get(slip.sitting).receipt == again.screen["code"]


def test_an_answer_that_cannot_be_saved_is_not_called_saved(
    kit: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    (slip,) = seated(kit)
    exam = begun(kit, slip)
    path = exam_log(kit, slip.sitting)
    kept = path.read_bytes()
    path.rename(path.with_suffix(".away"))
    answer(exam, right)
    assert exam.screen["kind"] == "decision"
    assert exam.screen["number"] == 1
    assert exam.screen["notice"].startswith("The answer was not saved.")
    assert not exam.screen["saved"]
    path.with_suffix(".away").rename(path)
    assert path.read_bytes() == kept
    answer(exam, right)
    assert exam.screen["number"] == 2


def test_a_changed_log_stops_the_sitting_and_is_left_as_it_is(kit: Settings) -> None:
    (slip,) = seated(kit)
    exam = begun(kit, slip)
    answer(exam, wrong)
    answer(exam, right)
    path = exam_log(kit, slip.sitting)
    changed = path.read_bytes().replace(b"disinfectant", b"site-cleaner")
    path.write_bytes(changed)
    again = tablet(kit)
    sign_in(again, "OP-001", slip.pin)
    assert again.screen["kind"] == "problem"
    assert "assessor" in again.screen["remedy"]
    assert path.read_bytes() == changed
    assert "line 2" in (kit.records / "exam-problems.txt").read_text()
    assert str(kit.records) not in json.dumps(again.screen)
    again.act({"do": "retry"})
    assert again.screen["kind"] == "problem"


def test_a_form_changed_since_seating_opens_nothing(kit: Settings) -> None:
    (slip,) = seated(kit)
    exam = tablet(kit, trial_form(minutes=99))
    sign_in(exam, "OP-001", slip.pin)
    assert exam.screen["kind"] == "problem"
    assert not exam_log(kit, slip.sitting).exists()


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner),
    max_leaves=8,
)


@given(
    actions=st.lists(
        st.fixed_dictionaries(
            {"do": st.sampled_from(["hello", "begin", "answer", "retry", "sign_out", "x"])},
            optional={"decision": st.sampled_from(["n1", "n2", 3]), "value": json_values,
                      "token": json_values, "values": json_values},
        ),
        max_size=6,
    )
)  # fmt: skip
@hypothesis_settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_no_action_of_a_page_raises_or_writes_nonsense(kit: Settings, actions: Any) -> None:
    if not Seats(kit).all():
        seated(kit)
    (place,) = Seats(kit).all()
    (slip,) = seat(kit, FORM, LIBRARY.form_digest(FORM), ["OP-001"], new_pins=True)
    exam = tablet(kit)
    sign_in(exam, "OP-001", slip.pin)
    for action in actions:
        exam.act(action)
        assert exam.screen["kind"]
    log = read_log(exam_log(kit, place.sitting))
    known = {
        decision.id for part in FORM.scenarios for decision in LIBRARY.scenario(part.id).decisions
    }
    assert {given_answer.decision for given_answer in log.answers} <= known


def test_every_form_of_the_kit_can_be_sat(kit: Settings) -> None:
    library = exam_library()
    forms = exam_forms()
    assert forms
    for number, form in enumerate(forms, start=1):
        (slip,) = seat(kit, form, library.form_digest(form), [f"OP-{number}"])
        exam = Exam(kit)
        sign_in(exam, slip.operator, slip.pin)
        play(exam, right)
        assert exam.screen["kind"] == "receipt"


def test_forms_are_found_by_name_and_by_id(tmp_path: Path) -> None:
    form = exam_forms()[0]
    assert find_form(form.name) == form
    assert find_form(form.id).id == form.id
    with pytest.raises(FaultError, match=form.name):
        find_form("no-such-form")
    for name in ("one.yaml", "two.yaml"):
        (tmp_path / name).write_text(json.dumps(form.model_dump(mode="json")))
    with pytest.raises(FaultError, match="each version of a form once"):
        exam_forms([tmp_path])


def test_the_exam_page_needs_none_of_the_heavy_libraries() -> None:
    """A kernel for each tablet: what it loads is paid twenty times over."""
    heavy = ("pandas", "matplotlib", "scipy", "numpy", "sqlalchemy", "rich", "typer", "nbgrader")
    program = (
        "import sys; import assessments.exam; "
        f"print(*(name for name in {heavy!r} if name in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True)
    assert (done.returncode, done.stdout.split(), done.stderr) == (0, [], "")


def test_the_page_never_meets_an_id_of_an_answer(kit: Settings) -> None:
    (slip,) = seated(kit)
    exam = begun(kit, slip)
    question = current(exam)
    sent = {each["id"] for each in exam.screen["answers"]}
    assert sent == {"a1", "a2", "a3", "a4"}
    value = as_page(question, right(question.decision, question.instance))
    exam.act({"do": "answer", "decision": "n1", "value": value})
    log = read_log(exam_log(kit, slip.sitting))
    assert log.answers[0].value == right(question.decision, question.instance)


def test_what_the_page_writes_into_the_card_changes_nothing(kit: Settings) -> None:
    """The card's state belongs to the page; the exam goes by its own."""
    (slip,) = seated(kit)
    exam = begun(kit, slip)
    card = Card(exam.screen)
    card.on_action(exam.act)
    for forged in ({"kind": "receipt", "code": "0000-0000"}, {"kind": "sign_in"}, {}):
        card.set_state({"screen": forged})
        for do in ("done", "sign_in", "begin", "sign_out", "retry"):
            card._received(card, {"do": do, "values": {"code": "OP-001", "pin": slip.pin}}, [])
    assert exam.screen["kind"] == "decision"
    assert read_log(exam_log(kit, slip.sitting)).answers == ()
    answer(exam, right)
    assert len(read_log(exam_log(kit, slip.sitting)).answers) == 1


def test_closing_a_seat_of_an_unknown_sitting_is_a_fault(kit: Settings) -> None:
    with pytest.raises(FaultError, match="missing or damaged"):
        close_seat(kit, "0" * 32, "7K3Q-M2XP")
