"""Which score on one form is worth which score on another, through the items they share.

Either all forms are calibrated at once (`concurrent`), or each by itself and the scales
are moved together by the items in common (`linking.link`, then `linking.linked`). Then
every score of one form has its equivalent on the other (`score_equivalents`), and a cut score too
(`equal_cut`). After Kolen MJ, Brennan RL (2014), Test Equating, Scaling, and Linking
(from memory).
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.measurement.linking import Calibration, CommonScale
from scoring.measurement.rasch import RaschFit, rasch
from scoring.measurement.rasch_persons import ability_at, expected_score
from scoring.measurement.right_wrong import Answers, Floats, answers
from scoring.values_given import labels_given, numbers_given


@dataclass(frozen=True, slots=True)
class EqualCut:
    """The cut score of a second form that asks as much as the cut of the first.

    Attributes
    ----------
    cut : Estimate
        In items right on the second form; `n` counts persons. The interval is from the errors of
        the difficulties.
    whole : int
        The least whole score that asks at least as much: `cut` rounded up.
    ability : float
        What both ask, in logits.
    """

    cut: Estimate
    whole: int
    ability: float


def concurrent(
    forms: Mapping[Hashable, ArrayLike | Answers],
    *,
    items: Mapping[Hashable, Sequence[Hashable]] | None = None,
    randomly_equivalent: bool = False,
    confidence: float = CONFIDENCE,
) -> RaschFit | TooLittleEvidence:
    """Calibrate all forms at once.

    Parameters
    ----------
    forms : mapping of form to array-like, shape (persons, items)
        1 right, 0 wrong, missing where not asked. Items of one name are one item.
    items : mapping of form to sequence, optional
        Names of the columns of each form, where the tables have none.
    randomly_equivalent : bool
        False: persons of each form are a population of its own, with a mean and a
        spread, tied together by the common items alone. True: persons got their form at
        random, so they are one population; forms then need no item in common.
    confidence : float

    Returns
    -------
    RaschFit or TooLittleEvidence
        The mean ability of the first form's persons (of all, if randomly equivalent) is 0.
        Too little: as `rasch.rasch`; above all, forms that share no item.

    Raises
    ------
    DataError
        As `right_wrong.answers`; no names for the columns.
    """
    if not forms:
        raise DataError("forms", "none", "at least one form")
    read: dict[Hashable, Answers] = {}
    for form, table in forms.items():
        named = None if items is None else items[form]
        known = isinstance(table, Answers) or hasattr(table, "columns")
        if named is None and not known:
            raise DataError(f"form {form}", "a table without names", "items, or a DataFrame")
        read[form] = answers(table, items=named)
    names = list(dict.fromkeys(item for one in read.values() for item in one.items))
    place = {item: at for at, item in enumerate(names)}
    whole = np.full((sum(len(one.counts) for one in read.values()), len(names)), np.nan)
    row, groups = 0, list[Hashable]()
    for form, one in read.items():
        columns = [place[item] for item in one.items]
        size = len(one.counts)
        whole[row : row + size, columns] = np.where(one.given > 0, one.right, np.nan)
        row += size
        groups += [form] * size
    return rasch(
        whole,
        counts=np.concatenate([one.counts for one in read.values()]),
        items=names,
        groups=None if randomly_equivalent else groups,
        reference=None if randomly_equivalent else next(iter(read)),
        randomly_equivalent=randomly_equivalent,
        confidence=confidence,
    )


def score_equivalents(difficulty_from: ArrayLike, difficulty_to: ArrayLike) -> Floats:
    """Return what each whole score of one form is worth on another (true-score equating).

    Parameters
    ----------
    difficulty_from, difficulty_to : array-like, shape (items,)
        Difficulties of the items of each form, on one scale.

    Returns
    -------
    ndarray of float, shape (items of the first form + 1,)
        For the scores 0, 1, …, full: the score to be expected on the second form at the ability
        at which the first expects this score. 0 and full score go to 0 and full score.
    """
    one, other = _finite(difficulty_from), _finite(difficulty_to)
    inner = np.arange(1, len(one), dtype=np.float64)
    middle = expected_score(ability_at(inner, one), other) if inner.size else np.zeros(0)
    return np.concatenate([[0.0], middle, [float(len(other))]])


def equal_cut(
    scale: Calibration | CommonScale,
    first: Sequence[Hashable],
    second: Sequence[Hashable],
    cut: float,
    *,
    confidence: float = CONFIDENCE,
) -> EqualCut | TooLittleEvidence:
    """Find the cut score of a second form that asks as much as a cut of the first.

    Parameters
    ----------
    scale : RaschFit, ConditionalFit or CommonScale
        Difficulties of both forms' items on one scale: of `concurrent` or `linked`.
    first, second : sequence
        Items of each form.
    cut : float
        Of the first form, in items right: above 0 and below its number of items.
    confidence : float

    Returns
    -------
    EqualCut or TooLittleEvidence
        Too little: an item of a form has no difficulty. The interval is by the delta
        method from the covariance of the difficulties.

    Raises
    ------
    DataError
        A cut outside its range.
    """
    check_confidence(confidence)
    first, second = labels_given(first, "first"), labels_given(second, "second")
    if not 0 < cut < len(first):
        raise DataError("cut", cut, f"above 0 and below {len(first)}, the items of the first form")
    place = {item: at for at, item in enumerate(scale.items)}
    absent = [item for item in (*first, *second) if item not in place]
    if absent or not second:
        names = ", ".join(str(item) for item in dict.fromkeys(absent)) or "the second form"
        return TooLittleEvidence("items", f"There is no difficulty for {names}.", scale.n)
    at_one, at_two = [place[item] for item in first], [place[item] for item in second]
    one, two = scale.difficulty[at_one], scale.difficulty[at_two]
    ability = float(ability_at(np.array([cut]), one)[0])
    value = float(expected_score(ability, two)[0])
    slope_one, slope_two = _slope(ability, one), _slope(ability, two)
    slope = np.zeros(len(scale.items))
    np.add.at(slope, at_one, slope_one * slope_two.sum() / slope_one.sum())
    np.add.at(slope, at_two, -slope_two)
    half = float(np.sqrt(max(0.0, float(slope @ scale.covariance @ slope))))
    half *= NormalDist().inv_cdf(0.5 + confidence / 2)
    low, high = max(0.0, value - half), min(float(len(second)), value + half)
    # The same form twice gives the cut back but for rounding, which must not add a point.
    whole = ceil(value - 1e-6)
    return EqualCut(Estimate(value, low, high, scale.n, confidence), whole, ability)


def _slope(ability: float, difficulty: Floats) -> Floats:
    chance: Floats = expit(ability - difficulty)
    return chance * (1 - chance)


def _finite(difficulty: ArrayLike) -> Floats:
    found = numbers_given(difficulty, "difficulty")
    if found.ndim != 1 or not found.size or not np.isfinite(found).all():
        raise DataError("difficulty", difficulty, "a list of finite logits")
    return found
