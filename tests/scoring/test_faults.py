"""How a fault is said, whatever was found."""

from __future__ import annotations

import pickle

from hypothesis import given
from hypothesis import strategies as st

from scoring.faults import Fault, FaultError
from scoring.records.troubles import LogRefused, RecordsError, StaleLog

FAULT = Fault("a.yaml", "cut (line 3)", "80", "a number below 1", "Write a share.")


def test_a_fault_names_everything() -> None:
    assert str(FAULT) == (
        "a.yaml: cut (line 3)\n    found:  80\n    wanted: a number below 1\n"
        "    remedy: Write a share."
    )


def test_an_error_carries_every_fault() -> None:
    error = FaultError([FAULT, FAULT])
    assert error.faults == (FAULT, FAULT)
    assert str(error).count("found:") == 2


def test_an_error_of_a_kind_stays_of_that_kind() -> None:
    for kind in (FaultError, RecordsError, StaleLog, LogRefused):
        error = kind.one("a", "b", found=1, wanted="c", remedy="d")
        assert type(error) is kind
    assert issubclass(StaleLog, RecordsError)


@given(st.text() | st.binary() | st.lists(st.integers()) | st.none() | st.floats())
def test_what_was_found_never_floods_or_moves_the_screen(found: object) -> None:
    said = FaultError.one("a", "b", found=found, wanted="c", remedy="d").faults[0].found
    assert len(said) <= 120
    assert said.isprintable()


def test_faults_can_be_handed_to_another_process() -> None:
    assert pickle.loads(pickle.dumps(FAULT)) == FAULT  # noqa: S301 - made in this line
