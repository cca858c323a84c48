"""Sensitivity: which constants of the bench matter most to what it says.

Each constant is moved to the low and to the high end of its plausible range,
one at a time, over a small set of reference plays: work as it should be done,
and the same work with one mistake. For each the table gives the largest change
of the worst place's protein, of the cleaner left and of the droplets, in powers
of ten, and whether right and wrong ever change places.

``python -m scoring.bench.sensitivity`` writes the table into ``README.md`` beside
this file. One at a time says nothing about constants that are wrong together.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scoring.bench.constants import Constant, names_read, varied
from scoring.bench.outcomes import Outcome, limit_of
from scoring.bench.plays import PLAYS, Play
from scoring.bench.reference import SITE
from scoring.bench.state import State
from scoring.bench.table import EFFECTS
from scoring.readme_part import write_part

SHOWN: tuple[Outcome, ...] = ("protein", "residue_mg", "droplets")
"""The outcomes in the table, in the order that it is sorted by."""

_FLOOR: dict[Outcome, float] = {"protein": 0.03, "residue_mg": 0.01, "droplets": 0.1}
"""Below this an amount is taken as this: a hundredth of a limit is as good as nothing."""


@dataclass(frozen=True, slots=True)
class Change:
    """What moving one constant does at most, over all plays and both ends of its range.

    Attributes
    ----------
    effect : str
        The module that the constant belongs to.
    constant : Constant
    moved : bool
        Whether any play ends at all otherwise, in what is shown or in anything else.
    powers : dict of Outcome to float
        Largest change of each shown outcome, powers of ten, with its sign.
    where : dict of Outcome to str
        The play in which it is that large.
    turned : tuple of str
        Mistakes that then do no more harm than right work.
    fails : tuple of str
        Right work that then ends above a limit.
    passes : tuple of str
        Mistakes above a limit that then end within it.
    """

    effect: str
    constant: Constant
    moved: bool
    powers: dict[Outcome, float]
    where: dict[Outcome, str]
    turned: tuple[str, ...]
    fails: tuple[str, ...]
    passes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """The whole table.

    Attributes
    ----------
    changes : tuple of Change
        Largest change of protein first, then of cleaner, then of droplets.
    untouched : tuple of (str, Constant)
        Effect and constant, of those that no play reads.
    """

    changes: tuple[Change, ...]
    untouched: tuple[tuple[str, Constant], ...]


_HELD_TO: tuple[Outcome, ...] = ("protein", "residue_mg", "ions_mg", "endotoxin_eu")
_LIMITS: dict[Outcome, float] = {
    which: limit for which in _HELD_TO if (limit := limit_of(which, SITE)) is not None
}


def sensitivity(plays: tuple[Play, ...] = PLAYS) -> Sensitivity:
    """Return what each constant does to the reference plays, one at a time.

    Parameters
    ----------
    plays : tuple of Play
        For each instrument the first one is the right one, which its mistakes
        are compared with.
    """
    usual: dict[str, State] = {}
    readers: dict[str, set[str]] = {}
    for play in plays:
        with names_read() as names:
            usual[play.name] = play.state()
        for name in names:
            readers.setdefault(name, set()).add(play.name)
    changes, untouched = [], []
    for effect, constant in _constants():
        if constant.name not in readers:
            untouched.append((effect, constant))
        elif constant.low < constant.high:
            touched = readers[constant.name]
            changes.append(_change(effect, constant, plays, usual, touched))
    changes.sort(key=lambda change: [-abs(change.powers[outcome]) for outcome in SHOWN])
    return Sensitivity(tuple(changes), tuple(untouched))


def _constants() -> Iterator[tuple[str, Constant]]:
    for effect, constants in EFFECTS.items():
        for constant in constants:
            yield effect, constant


def _change(
    effect: str,
    constant: Constant,
    plays: tuple[Play, ...],
    usual: Mapping[str, State],
    touched: set[str],
) -> Change:
    powers: dict[Outcome, float] = dict.fromkeys(SHOWN, 0.0)
    where: dict[Outcome, str] = dict.fromkeys(SHOWN, "")
    moved = False
    turned: set[str] = set()
    fails: set[str] = set()
    passes: set[str] = set()
    for value in (constant.low, constant.high):
        right: dict[str, dict[Outcome, float]] = {}
        for play in plays:
            state = usual[play.name]
            if play.name in touched:
                with varied({constant.name: value}):
                    state = play.state()
            moved = moved or state != usual[play.name]
            end, before = play.outcomes(state), play.outcomes(usual[play.name])
            right.setdefault(play.instrument.id, end)
            for outcome in SHOWN:
                power = _power(outcome, end, before)
                if abs(power) > abs(powers[outcome]):
                    powers[outcome], where[outcome] = power, play.name
            if play.harm is None:
                if _within(before) and not _within(end):
                    fails.add(play.name)
                continue
            if end[play.harm] <= right[play.instrument.id][play.harm]:
                turned.add(play.name)
            if _within(end) and not _within(before):
                passes.add(play.name)
    return Change(
        effect, constant, moved, powers, where, tuple(sorted(turned)), tuple(sorted(fails)),
        tuple(sorted(passes)),
    )  # fmt: skip


def _power(outcome: Outcome, end: Mapping[Outcome, float], usual: Mapping[Outcome, float]) -> float:
    floor = _FLOOR[outcome]
    return math.log10(max(end[outcome], floor) / max(usual[outcome], floor))


def _within(end: Mapping[Outcome, float]) -> bool:
    return all(end[outcome] <= limit for outcome, limit in _LIMITS.items())


SHOWN_ROWS = 15


def markdown(found: Sensitivity) -> str:
    """Return the table and what it comes to as Markdown."""
    rows = [
        f"{len(found.changes)} constants, each moved alone to both ends of its range, over "
        f"{len(PLAYS)} reference plays ({sum(play.harm is None for play in PLAYS)} right, the "
        "others with one mistake). Changes are in powers of ten (1 is ten times); the play that "
        "shows it stands beside it. Last: right work that then ends above a limit / mistakes "
        "above a limit that then end within all of them.",
        "",
        "| effect | constant | range | status | worst protein | cleaner | droplets "
        "| fails / passes |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for change in found.changes[:SHOWN_ROWS]:
        shown = [
            f"{change.powers[outcome]:+.2f} ({change.where[outcome]})"
            if change.where[outcome]
            else "0"
            for outcome in SHOWN
        ]
        constant = change.constant
        span = f"{constant.low:.4g} to {constant.high:.4g}"
        if constant.unit != "1":
            span += f" {constant.unit}"
        rows.append(
            f"| {change.effect} | {constant.name} | {span} | {constant.status} | "
            f"{' | '.join(shown)} | {len(change.fails)} / {len(change.passes)} |"
        )
    rows += ["", _turned(found), "", _failing(found), "", _untouched(found)]
    return "\n".join(rows)


def _turned(found: Sensitivity) -> str:
    turned = [
        f"{change.constant.name} ({', '.join(change.turned)})"
        for change in found.changes
        if change.turned
    ]
    if not turned:
        return (
            "Right and wrong never change places: with no constant at either end does a mistake "
            "end with as little harm as right work on the same instrument."
        )
    return "Right and wrong change places with: " + "; ".join(turned) + "."


def _failing(found: Sensitivity) -> str:
    failing = [
        f"{change.constant.name} ({', '.join(change.fails)})"
        for change in found.changes
        if change.fails
    ]
    if not failing:
        return "Right work stays within every limit throughout."
    return "Right work ends above a limit with: " + "; ".join(failing) + "."


def _untouched(found: Sensitivity) -> str:
    effects = sorted({effect for effect, _ in found.untouched})
    return (
        f"{len(found.untouched)} constants touch no play: they only say what can be seen, tested "
        f"or reached by steam, or what another published finding would give ("
        f"{', '.join(effects)})."
    )


if __name__ == "__main__":
    write_part("sensitivity", markdown(sensitivity()))
