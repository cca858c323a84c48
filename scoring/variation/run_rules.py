"""Which patterns in a row of points are too unlikely to be chance, and how often chance makes them.

A rule looks at the last few points, told as standard errors from the centre line,
so that limits may differ from point to point. Every signal names its rule and the
points behind it. More rules see a change sooner and cry wolf more often: the
average run length says how often.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import DataError
from scoring.variation.event_counts import Floats, label_names, numbers

Where = Literal["beyond", "inside", "outside", "rising", "alternating"]

ROUNDING = 1e-9
"""A point this close to a limit, in standard errors, lies on it: double precision keeps about
16 digits and the square roots on the way lose a few."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A pattern that counts as a signal.

    Attributes
    ----------
    code : str
        Short name.
    count, window : int
        How many of the last how many points must fit; the last one must.
    where : {'beyond', 'inside', 'outside', 'rising', 'alternating'}
        ``beyond``: all on one side, further than `distance`. ``inside``: nearer than it,
        either side. ``outside``: further than it, either side. ``rising``: each above the
        one before (or each below). ``alternating``: up and down in turn. The last two
        need `count` equal to `window`.
    distance : float
        Standard errors from the centre line.
    said : str
        The pattern in plain words.
    """

    code: str
    count: int
    window: int
    where: Where
    distance: float
    said: str


BEYOND = Rule("beyond", 1, 1, "beyond", 3.0, "One point lies outside the limits.")
TWO_OF_THREE = Rule(
    "two-of-three", 2, 3, "beyond", 2.0,
    "Two of three points in a row lie over two thirds of the way to the limit, on one side.",
)  # fmt: skip
FOUR_OF_FIVE = Rule(
    "four-of-five", 4, 5, "beyond", 1.0,
    "Four of five points in a row lie over one third of the way to the limit, on one side.",
)  # fmt: skip
EIGHT_IN_A_ROW = Rule(
    "eight-one-side", 8, 8, "beyond", 0.0,
    "Eight points in a row lie on the same side of the centre line.",
)  # fmt: skip
NINE_IN_A_ROW = Rule(
    "nine-one-side", 9, 9, "beyond", 0.0,
    "Nine points in a row lie on the same side of the centre line.",
)  # fmt: skip
SIX_RISING = Rule(
    "six-trend", 6, 6, "rising", 0.0, "Six points in a row rise, or fall, without a break."
)
FOURTEEN_ALTERNATING = Rule(
    "fourteen-alternating", 14, 14, "alternating", 0.0,
    "Fourteen points in a row go up and down in turn.",
)  # fmt: skip
FIFTEEN_INSIDE = Rule(
    "fifteen-inside", 15, 15, "inside", 1.0,
    "Fifteen points in a row lie close to the centre line: suspiciously little scatter.",
)  # fmt: skip
EIGHT_OUTSIDE = Rule(
    "eight-outside", 8, 8, "outside", 1.0,
    "Eight points in a row keep away from the centre line, on either side of it.",
)  # fmt: skip

WESTERN_ELECTRIC = (BEYOND, TWO_OF_THREE, FOUR_OF_FIVE, EIGHT_IN_A_ROW)
"""Western Electric, Statistical Quality Control Handbook (1956), the four rules in their order;
from memory. Chance alone gives a signal every 91.75 points (Champ and Woodall 1987)."""

NELSON = (
    BEYOND, NINE_IN_A_ROW, SIX_RISING, FOURTEEN_ALTERNATING, TWO_OF_THREE, FOUR_OF_FIVE,
    FIFTEEN_INSIDE, EIGHT_OUTSIDE,
)  # fmt: skip
"""Nelson LS (1984), J Qual Technol 16:237-239, tests 1 to 8 in their order; from memory."""

RULE_SETS: dict[str, tuple[Rule, ...]] = {
    "beyond": (BEYOND,),
    "western-electric": WESTERN_ELECTRIC,
    "nelson": NELSON,
}


@dataclass(frozen=True, slots=True)
class Signal:
    """One place where a rule is met.

    Attributes
    ----------
    rule : str
        Code of the rule.
    at : str
        Point that completes the pattern.
    points : tuple of str
        All points behind it, in order, `at` last.
    side : str
        ``above`` or ``below`` (for trends: ``up`` or ``down``), ``both`` where the rule
        knows no side.
    said : str
        The rule and the points in plain words.
    """

    rule: str
    at: str
    points: tuple[str, ...]
    side: str
    said: str


def rule_set(rules: str | Sequence[Rule]) -> tuple[Rule, ...]:
    """Return the rules of a named set, or those given.

    Raises
    ------
    ValueError
        There is no set of that name, or a rule cannot be met.
    """
    if isinstance(rules, str):
        named = rules.strip().lower().replace("_", "-").replace(" ", "-")
        if named not in RULE_SETS:
            raise ValueError(f"rules {rules!r}: wanted one of {', '.join(sorted(RULE_SETS))}")
        return RULE_SETS[named]
    for rule in rules:
        whole = rule.where in ("rising", "alternating")
        if not 1 <= rule.count <= rule.window or (whole and rule.count != rule.window):
            raise ValueError(f"rule {rule.code!r}: {rule.count} of {rule.window} cannot be")
    return tuple(rules)


def run_rules(
    z: ArrayLike,
    rules: str | Sequence[Rule] = "western-electric",
    *,
    labels: Sequence[Any] | None = None,
    on_limit: bool = False,
) -> tuple[Signal, ...]:
    """Return every signal in a row of points.

    Parameters
    ----------
    z : array_like
        Points in order of time, as standard errors from the centre line (each with its own
        standard error where they differ). No NaN.
    rules : str or sequence of Rule
        ``beyond``, ``western-electric``, ``nelson``, or rules of one's own.
    labels : sequence, optional
        Names of the points, each once; else 1, 2, ….
    on_limit : bool
        Whether a point exactly on a limit counts as outside it (``>=``). Off: ``>``. A point on
        the centre line is on neither side in any case.

    Returns
    -------
    tuple of Signal
        In order of the completing point, then of the rules. A pattern that goes on gives
        a signal at each further point.

    Raises
    ------
    DataError
        A value is no finite number, or names do not fit.
    ValueError
        The rules are unknown.
    """
    chosen = rule_set(rules)
    row = numbers(z, "z")
    check_finite(row)
    names = label_names(labels, len(row))
    found: list[tuple[int, int, Signal]] = []
    for place, rule in enumerate(chosen):
        for side, fits in sides(row[None, :], rule, on_limit):
            met = completed(fits, rule)[0]
            for at in np.flatnonzero(met):
                first = max(0, int(at) - rule.window + 1)
                behind = [
                    names[point]
                    for point in range(first, int(at) + 1)
                    if rule.count == rule.window or fits[0, point]
                ]
                said = f"{rule.said} Points: {', '.join(behind)}."
                found.append((int(at), place, Signal(
                    rule.code, names[at], tuple(behind), side, said
                )))  # fmt: skip
    return tuple(signal for _, _, signal in sorted(found, key=lambda each: each[:2]))


def check_finite(row: Floats) -> None:
    """Raise `DataError` at the first value that is no finite number."""
    for place in np.flatnonzero(~np.isfinite(row))[:1]:
        raise DataError(f"value in row {int(place) + 1}", float(row[place]), "a finite number")


def sides(z: Floats, rule: Rule, on_limit: bool = False) -> list[tuple[str, NDArray[np.bool_]]]:
    """Return for each side of a rule which points fit it, rows kept apart.

    Of ``rising`` and ``alternating`` a point fits when the step to it does; the first
    point of a pattern has no step, so there one step fewer than points is needed.
    """
    limit = rule.distance
    if rule.where in ("beyond", "outside", "inside"):
        reach = -ROUNDING if on_limit and limit > 0 else ROUNDING
        above, below = z > limit + reach, z < -limit - reach
        if rule.where == "beyond":
            return [("above", above), ("below", below)]
        return [("both", (above | below) if rule.where == "outside" else ~(above | below))]
    steps = np.diff(z, axis=1, prepend=z[:, :1])
    up, down = steps > ROUNDING, steps < -ROUNDING
    if rule.where == "rising":
        return [("up", up), ("down", down)]
    odd = (np.arange(z.shape[1]) % 2).astype(bool)
    turned = np.where(odd, up, down), np.where(odd, down, up)
    return [("both", turned[0]), ("both", turned[1])]


def completed(fits: NDArray[np.bool_], rule: Rule) -> NDArray[np.bool_]:
    """Return the points at which a rule is met, given the points that fit it."""
    by_steps = rule.where in ("rising", "alternating")
    count = rule.count - 1 if by_steps else rule.count
    window = rule.window - 1 if by_steps else rule.window
    total = np.cumsum(fits, axis=1, dtype=np.int64)
    before = np.zeros_like(total)
    before[:, window:] = total[:, :-window] if window < total.shape[1] else 0
    met: NDArray[np.bool_] = fits & (total - before >= count)
    return met
