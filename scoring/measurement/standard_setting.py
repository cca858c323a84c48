"""The cuts of several methods side by side, and who would pass by each.

The method decides who passes; so the consequences belong beside the cuts.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.measurement.credit_table import names_of, numbers
from scoring.variation.proportion_intervals import proportion_interval


@dataclass(frozen=True, slots=True)
class Consequence:
    """What the cut of one method does.

    Attributes
    ----------
    method : str
    cut : Estimate or TooLittleEvidence
        As given; a bare number has no ends.
    passing : tuple
        Persons with a score at or above the cut.
    share : Estimate or TooLittleEvidence
        Share passing, Wilson's interval: of people like these, at this very cut.
    share_over_cut : tuple of float or None
        Share passing at the upper and at the lower end of the cut's interval.
    """

    method: str
    cut: Estimate | TooLittleEvidence
    passing: tuple[Hashable, ...]
    share: Estimate | TooLittleEvidence
    share_over_cut: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class SideChange:
    """Who passes by one method and fails by another.

    Attributes
    ----------
    lower, higher : str
        Method with the lower and with the higher cut.
    persons : tuple
        Those who pass by the lower and fail by the higher.
    """

    lower: str
    higher: str
    persons: tuple[Hashable, ...]


@dataclass(frozen=True, slots=True)
class SideBySide:
    """All methods and what hangs on the choice.

    Attributes
    ----------
    consequences : tuple of Consequence
        In the order given.
    changes : tuple of SideChange
        One for each pair of methods with a cut.
    undecided : tuple
        Persons whose result depends on the method.
    n : int
        Persons with a score.
    """

    consequences: tuple[Consequence, ...]
    changes: tuple[SideChange, ...]
    undecided: tuple[Hashable, ...]
    n: int


def side_by_side(
    scores: ArrayLike,
    cuts: Mapping[str, Estimate | TooLittleEvidence | float],
    *,
    persons: Sequence[Hashable] | None = None,
    confidence: float = CONFIDENCE,
) -> SideBySide:
    """Return what each method's cut does to these scores.

    Parameters
    ----------
    scores : array-like, shape (persons,)
        Missing scores are left out.
    cuts : mapping from method to cut
        In the unit of the scores: what the methods returned (`angoff(...).cut`, say), or numbers.
    persons : sequence, optional
        Names; otherwise numbers from 1.
    confidence : float
        Between 0 and 1.

    Notes
    -----
    A person passes with a score at or above the cut. Scores within a billionth of the cut are at
    it, so that sums of binary fractions fail nobody.
    """
    check_confidence(confidence)
    score = numbers(scores, "score", missing=True)
    who = names_of(persons, len(score), "persons")
    known = ~np.isnan(score)
    kept = [name for name, there in zip(who, known, strict=True) if there]
    score = score[known]
    n = len(kept)
    consequences, passed = [], {}
    for method, given in cuts.items():
        cut: Estimate | TooLittleEvidence
        if isinstance(given, Estimate | TooLittleEvidence):
            cut = given
        else:
            value = float(given)
            if not np.isfinite(value):
                raise DataError(f"cut of {method}", value, "a finite number")
            cut = Estimate(value, None, None, n, confidence)
        if isinstance(cut, TooLittleEvidence):
            consequences.append(Consequence(method, cut, (), cut, None))
            continue
        up = score >= _edge(cut.value)
        passed[method] = (cut.value, up)
        over = None
        if cut.low is not None and cut.high is not None and n:
            over = tuple(float((score >= _edge(end)).mean()) for end in (cut.high, cut.low))
        consequences.append(
            Consequence(
                method,
                cut,
                tuple(name for name, there in zip(kept, up, strict=True) if there),
                proportion_interval(float(up.sum()), n, confidence),
                None if over is None else (over[0], over[1]),
            )
        )
    changes = []
    methods = list(passed)
    for at, one in enumerate(methods):
        for other in methods[at + 1 :]:
            lower, higher = (one, other) if passed[one][0] <= passed[other][0] else (other, one)
            moved = passed[lower][1] & ~passed[higher][1]
            names = tuple(name for name, there in zip(kept, moved, strict=True) if there)
            changes.append(SideChange(lower, higher, names))
    open_to: NDArray[np.bool_] = np.zeros(n, dtype=np.bool_)
    if passed:
        table = np.vstack([up for _, up in passed.values()])
        open_to = np.asarray(table.any(axis=0) & ~table.all(axis=0), dtype=np.bool_)
    undecided = tuple(name for name, there in zip(kept, open_to, strict=True) if there)
    return SideBySide(tuple(consequences), tuple(changes), undecided, n)


def _edge(cut: float) -> float:
    return cut - 1e-9 * max(1.0, abs(cut))
