"""What a hint costs: credit that was earned with help is worth less than credit earned without."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from scoring.attempt import Event
from scoring.marking.marks import DecisionMark

HINT_COST = 0.25
"""Share of a decision's credit that its hint costs: enough to be felt, too little to make anybody
guess rather than ask. A working judgement, no source."""


def hint_detail(scenario: str, decision: str) -> str:
    """Return what the log says of a hint: which decision it was for."""
    return f"{scenario}/{decision}"


def hinted(events: Iterable[Event]) -> frozenset[str]:
    """Return the decisions a hint was asked for, each as ``scenario/decision``."""
    return frozenset(event.detail for event in events if event.what == "hint")


def with_hints(marks: Iterable[DecisionMark], asked: frozenset[str]) -> tuple[DecisionMark, ...]:
    """Return the marks with the cost of each hint taken off; the rest of a mark stays."""
    if not asked:
        return tuple(marks)
    return tuple(
        dataclasses.replace(mark, credit=mark.credit * (1.0 - HINT_COST), hinted=True)
        if hint_detail(mark.scenario, mark.decision) in asked
        else mark
        for mark in marks
    )
