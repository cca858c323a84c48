"""Mark the soiled places on a picture."""

from __future__ import annotations

from typing import Any

from scoring.marking.refusal import Refusal
from scoring.marking.rule import Credit, Looked, Rule, UnreadableAnswer, check_ids, once
from scoring.scenario import MarkPlaces


def check(value: Any, known: frozenset[str] | None = None) -> Refusal | None:
    """Say why these are no places; None when they are.

    No place at all is an answer here: "all clean".
    """
    return check_ids(value, known)


def rule(decision: MarkPlaces, known: frozenset[str], soiled: frozenset[str]) -> Rule:
    """Compile the rule: hit rate minus false-alarm rate, not below 0.

    This is Youden's index (Cancer 1950, 3:32-35; from memory); marking places
    by lot earns 0 on average before the floor. With nothing soiled
    the hit rate counts as 1, with nothing clean the false-alarm rate as 0.
    Missing any soiled place is unsafe when `missed` says so: the instrument
    would go on as clean. Likewise for `false_alarm`.
    """
    soiled = soiled & known
    clean = len(known) - len(soiled)

    def mark(value: Any) -> Credit:
        misfit = check(value, known)
        if misfit is not None:
            raise UnreadableAnswer(misfit)
        marked = frozenset(value)
        hits = len(marked & soiled)
        alarms = len(marked) - hits
        missed = len(soiled) - hits
        looked = Looked(hits, missed, alarms, clean - alarms)
        if not missed and not alarms:
            return Credit(1.0, "all_found", looked=looked)
        hit_rate = hits / len(soiled) if soiled else 1.0
        alarm_rate = alarms / clean if clean else 0.0
        sides = [
            *([decision.missed] if missed else []),
            *([decision.false_alarm] if alarms else []),
        ]
        return Credit(
            max(0.0, hit_rate - alarm_rate),
            "missed" if missed else "false_alarm",
            once([side.mistake for side in sides]),
            any(side.unsafe for side in sides),
            looked,
        )

    return mark
