"""Who chose which option of an item: an option that better people prefer hints at a wrong key."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike
from scipy.stats import t as student  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.measurement.credit_table import Floats, numbers
from scoring.measurement.discrimination import correlation
from scoring.measurement.rating_grid import in_order
from scoring.values_given import is_missing, unmasked
from scoring.variation.proportion_intervals import proportion_interval


@dataclass(frozen=True, slots=True)
class OptionUse:
    """How an option was used.

    Attributes
    ----------
    option : hashable
    key : bool
        Whether it is a right answer.
    count : int
        Persons who chose it.
    share : Estimate or TooLittleEvidence
        Of those who chose any option; Wilson's interval.
    mean_rest : float or None
        Mean rest score of those who chose it; None where nobody did.
    point_biserial : Estimate or TooLittleEvidence
        Choosing it, with the rest score.
    better_than_key : Estimate or TooLittleEvidence
        For a wrong option: mean rest score of its choosers less that of the key's, with Welch's
        interval. Wholly above 0: abler people prefer it.
    probability : float
        Two-sided probability of a difference so large; 1 where it is not above 0 or unknown.
    """

    option: Hashable
    key: bool
    count: int
    share: Estimate | TooLittleEvidence
    mean_rest: float | None
    point_biserial: Estimate | TooLittleEvidence
    better_than_key: Estimate | TooLittleEvidence
    probability: float

    @property
    def unused(self) -> bool:
        """Whether nobody chose it."""
        return self.count == 0


def distractor_use(
    choices: Iterable[Any],
    key: Hashable | Sequence[Hashable],
    rest: ArrayLike,
    *,
    options: Sequence[Hashable] | None = None,
    confidence: float = CONFIDENCE,
) -> list[OptionUse]:
    """Return how each option of one item was used.

    Parameters
    ----------
    choices : sequence, shape (persons,)
        Option chosen; None, NaN and the empty word: none chosen.
    key : hashable or sequence
        The right option, or a list, tuple or set of right options.
    rest : array-like, shape (persons,)
        Score on the other items; NaN where unknown (the person then counts as a
        chooser, but not in means).
    options : sequence, optional
        All options that were offered, so that unused ones show. Otherwise those chosen
        and the key, sorted.
    confidence : float
        Between 0 and 1.

    Raises
    ------
    DataError
        A choice or key that is none of `options`, lengths that differ.
    """
    check_confidence(confidence)
    chosen = [None if is_missing(choice) else choice for choice in unmasked(choices)]
    for row, choice in enumerate(chosen):
        if not isinstance(choice, Hashable):
            raise DataError(f"choices, row {row + 1}", choice, "one option")
    score = numbers(rest, "rest", missing=True)
    if len(score) != len(chosen):
        raise DataError("lengths", (len(chosen), len(score)), "as many of each")
    keys = set(key) if isinstance(key, list | tuple | set | frozenset) else {key}
    met = {choice for choice in chosen if choice is not None}
    offered = in_order(met | keys) if options is None else tuple(options)
    for name in in_order((met | keys) - set(offered)):
        raise DataError("option", name, f"one of {', '.join(map(str, offered))}")
    place = {name: at for at, name in enumerate(offered)}
    code = np.array([-1 if choice is None else place[choice] for choice in chosen], dtype=np.int64)
    answered = code >= 0
    n = int(answered.sum())
    right = np.isin(code, [place[name] for name in keys])
    found = []
    for at, name in enumerate(offered):
        mine = code == at
        known = score[mine & ~np.isnan(score)]
        gap: Estimate | TooLittleEvidence = TooLittleEvidence("wrong option", "This is the key.")
        probability = 1.0
        if name not in keys:
            gap, probability = welch(known, score[right & ~np.isnan(score)], confidence)
        found.append(
            OptionUse(
                option=name,
                key=name in keys,
                count=int(mine.sum()),
                share=proportion_interval(float(mine.sum()), n, confidence),
                mean_rest=float(known.mean()) if len(known) else None,
                point_biserial=correlation(
                    mine[answered].astype(np.float64), score[answered], confidence=confidence
                ),
                better_than_key=gap,
                probability=probability,
            )
        )
    return found


def welch(
    one: Floats, other: Floats, confidence: float
) -> tuple[Estimate | TooLittleEvidence, float]:
    """Return the difference of two means with Welch's interval, and its probability if above 0."""
    n = len(one) + len(other)
    if min(len(one), len(other)) < 2:
        said = "Fewer than 2 people chose one of the two."
        return TooLittleEvidence("persons", said, n), 1.0
    parts = float(one.var(ddof=1)) / len(one), float(other.var(ddof=1)) / len(other)
    square = sum(parts)
    gap = float(one.mean() - other.mean())
    if square < 1e-20:
        return Estimate(gap, None, None, n, confidence), 1.0
    free = square**2 / (parts[0] ** 2 / (len(one) - 1) + parts[1] ** 2 / (len(other) - 1))
    error = math.sqrt(square)
    half = float(student.ppf((1 + confidence) / 2, free)) * error
    probability = min(1.0, 2 * float(student.sf(gap / error, free)))
    return Estimate(gap, gap - half, gap + half, n, confidence), probability
