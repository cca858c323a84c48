"""What a person's answers say of the person, and how exactly the test can say it."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import expit  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.ability_grid import ability_grid
from scoring.measurement.rasch import RaschFit
from scoring.measurement.rasch_conditional import ConditionalFit
from scoring.measurement.right_wrong import Answers, Floats, answers, forms_of
from scoring.values_given import numbers_given

Method = Literal["wle", "mle", "eap"]
Difficulties = RaschFit | ConditionalFit | Mapping[Hashable, float] | ArrayLike

FAR = 60.0
"""No finite measure lies beyond this, in logits, from the hardest or easiest item."""


@dataclass(frozen=True, slots=True, eq=False)
class PersonMeasures:
    """Ability of each person on the scale of the items.

    Attributes
    ----------
    persons : tuple
        Names of the rows.
    ability : ndarray of float, shape (persons,)
        In logits; NaN where there is none: nothing answered, or (``mle`` only) all
        wrong or all right.
    standard_error : ndarray of float, shape (persons,)
        Of the measure (for ``eap``: standard deviation of the ability given the answers).
    score, maximum : ndarray of float, shape (persons,)
        Right answers, and items met.
    method : str
        ``wle``, ``mle`` or ``eap``.
    confidence : float
    """

    persons: tuple[Hashable, ...]
    ability: Floats
    standard_error: Floats
    score: Floats
    maximum: Floats
    method: Method
    confidence: float = CONFIDENCE

    def of(self, person: Hashable) -> Estimate | TooLittleEvidence:
        """Return one person's measure with its interval; `n` counts the items met."""
        if person not in self.persons:
            raise DataError("person", person, "a person of these measures")
        at = self.persons.index(person)
        n = round(float(self.maximum[at]))
        if np.isnan(self.ability[at]):
            said = (
                f"All {n} answers are alike (right or wrong); this way of measuring needs both."
                if n
                else "There is no answer to a usable item."
            )
            return TooLittleEvidence("answers", said, n)
        half = float(self.standard_error[at]) * NormalDist().inv_cdf(0.5 + self.confidence / 2)
        value = float(self.ability[at])
        return Estimate(value, value - half, value + half, n, self.confidence)


def person_measures(
    responses: ArrayLike | Answers,
    difficulty: Difficulties,
    *,
    method: Method = "wle",
    mean: float = 0.0,
    spread: float | None = None,
    items: Sequence[Hashable] | None = None,
    confidence: float = CONFIDENCE,
) -> PersonMeasures:
    """Measure persons with items of known difficulty.

    Parameters
    ----------
    responses : array-like, shape (persons, items)
        1 right, 0 wrong, missing where not asked. Items without a difficulty are not used.
    difficulty : RaschFit, ConditionalFit, mapping of item to logits, or array-like
        Taken as known: its own error is not in the persons' standard errors.
    method : {"wle", "mle", "eap"}
        Warm's weighted likelihood (Warm TA (1989), Psychometrika 54:427-450, from memory;
        finite for every score, with almost no bias); maximum likelihood; or the mean given
        the answers and a normal population.
    mean, spread : float
        Of the population, for ``eap``; spread may be left out with a `RaschFit`.
    items : sequence, optional
        Names of the columns.
    confidence : float
        Of the intervals.

    Returns
    -------
    PersonMeasures
        A row for each row of `responses`, in the same order.

    Raises
    ------
    DataError
        Difficulties that do not fit or are not finite; ``eap`` without a spread.

    Notes
    -----
    The standard error of ``wle`` and ``mle`` is 1 over the root of the test information at
    the measure.
    """
    check_confidence(confidence)
    if method not in ("wle", "mle", "eap"):
        raise DataError("method", method, "'wle', 'mle' or 'eap'")
    read = answers(responses, items=items)
    known = difficulties(difficulty, read.items)
    usable = ~np.isnan(known)
    read = read.part(columns=usable)
    known = known[usable]
    forms, form = forms_of(read.given) if known.size else (np.zeros((1, 0)), None)
    form = np.zeros(len(read.counts), dtype=np.int64) if form is None else form
    score = read.right.sum(axis=1)
    met = forms.sum(axis=1)[form]
    keys, of = np.unique(np.stack([form, score]), axis=1, return_inverse=True)
    at, of = keys[0].astype(np.int64), of.reshape(-1)
    if method == "eap":
        if spread is None:
            if not isinstance(difficulty, RaschFit):
                raise DataError("spread", spread, "the standard deviation of the population")
            spread = difficulty.spread
        ability, error = _expected(forms[at], keys[1], known, mean, spread)
    else:
        ability, error = _likeliest(forms[at], keys[1], known, method)
    return PersonMeasures(read.persons, ability[of], error[of], score, met, method, confidence)


def difficulties(difficulty: Difficulties, items: Sequence[Hashable]) -> Floats:
    """Return the difficulty of each item, NaN where it has none.

    Raises
    ------
    DataError
        An array of another length, or a difficulty that is infinite.
    """
    if isinstance(difficulty, RaschFit | ConditionalFit):
        difficulty = dict(zip(difficulty.items, difficulty.difficulty.tolist(), strict=True))
    if isinstance(difficulty, Mapping):
        found = np.array([float(difficulty.get(item, np.nan)) for item in items])
    else:
        found = numbers_given(difficulty, "difficulty")
    if found.shape != (len(items),):
        raise DataError("difficulty", found.shape, f"{len(items)} numbers, one for each item")
    if np.isinf(found).any():
        raise DataError("difficulty", "an infinite value", "finite logits")
    return found


def information(ability: ArrayLike, difficulty: ArrayLike) -> Floats:
    """Return how much the items tell at each ability: the sum of P (1 - P).

    Parameters
    ----------
    ability : array-like, shape (k,)
    difficulty : array-like, shape (items,)

    Returns
    -------
    ndarray of float, shape (k,)
        The conditional standard error of measurement in logits is 1 over its root; the
        one of the score, in items, is its root (`conditional_error`).
    """
    chance = _chance(ability, difficulty)
    found: Floats = (chance * (1 - chance)).sum(axis=1)
    return found


def conditional_error(
    ability: ArrayLike, difficulty: ArrayLike, *, scale: Literal["logit", "score"] = "logit"
) -> Floats:
    """Return the standard error of measurement at each ability, in logits or in items right."""
    if scale not in ("logit", "score"):
        raise DataError("scale", scale, "'logit' or 'score'")
    root = np.sqrt(information(ability, difficulty))
    return root if scale == "score" else 1.0 / np.maximum(root, np.finfo(float).tiny)


def expected_score(ability: ArrayLike, difficulty: ArrayLike) -> Floats:
    """Return the test characteristic curve: items right to be expected at each ability."""
    found: Floats = _chance(ability, difficulty).sum(axis=1)
    return found


def ability_at(score: ArrayLike, difficulty: ArrayLike) -> Floats:
    """Return the ability at which each score is expected: the test characteristic curve inverted.

    Parameters
    ----------
    score : array-like, shape (k,)
        Above 0 and below the number of items; need not be whole.
    difficulty : array-like, shape (items,)

    Raises
    ------
    DataError
        A score that no finite ability expects.
    """
    wanted, known = _row(score, "score"), _row(difficulty, "difficulty")
    if not ((wanted > 0) & (wanted < len(known))).all():
        raise DataError("score", score, f"above 0 and below {len(known)}")
    return _likeliest(np.ones((len(wanted), len(known))), wanted, known, "mle")[0]


def separation_reliability(measures: PersonMeasures) -> Estimate | TooLittleEvidence:
    """Return the share of the variance of the measures that is no error of measurement.

    Parameters
    ----------
    measures : PersonMeasures
        Of any method. Persons without a measure are left out.

    Returns
    -------
    Estimate or TooLittleEvidence
        Without interval. For ``wle`` and ``mle`` ``(variance - mean squared error) / variance``, at
        least 0 (Wright BD, Masters GN (1982), Rating Scale Analysis, from memory; variance
        with n - 1); for ``eap`` ``variance / (variance + mean squared error)``.
        Too little: fewer than 2 persons, or no variance.
    """
    kept = ~np.isnan(measures.ability)
    n = int(kept.sum())
    if n < 2:
        return TooLittleEvidence(
            "persons", f"Only {counted(n, 'person', 'people')} with a measure; 2 are needed.", n
        )
    variance = float(np.var(measures.ability[kept], ddof=1))
    error = float(np.mean(measures.standard_error[kept] ** 2))
    if variance == 0:
        return TooLittleEvidence("variance", "All people have the same measure.", n)
    if measures.method == "eap":
        return Estimate(variance / (variance + error), None, None, n, measures.confidence)
    share = max(0.0, (variance - error) / variance)
    return Estimate(share, None, None, n, measures.confidence)


def _chance(ability: ArrayLike, difficulty: ArrayLike) -> Floats:
    at, known = _row(ability, "ability"), _row(difficulty, "difficulty")
    found: Floats = expit(at[:, None] - known)
    return found


def _row(values: ArrayLike, name: str) -> Floats:
    found = np.atleast_1d(numbers_given(values, name))
    if found.ndim != 1:
        raise DataError(name, f"{found.ndim} dimensions", "one row of numbers")
    if not np.isfinite(found).all():
        raise DataError(name, "a value that is not finite", "finite numbers")
    if name == "difficulty" and not found.size:
        raise DataError(name, "no item", "at least one item")
    return found


def _likeliest(
    forms: Floats, score: Floats, known: Floats, method: Method
) -> tuple[Floats, Floats]:
    """Solve for the ability by Newton's method inside a bracket."""
    met = forms.sum(axis=1)
    none = met == 0
    if method == "mle":
        none |= (score == 0) | (score == met)
    ability, error = np.full(len(score), np.nan), np.full(len(score), np.nan)
    todo = np.flatnonzero(~none)
    if not todo.size:
        return ability, error
    forms, score = forms[todo], score[todo]
    low = np.full(len(todo), float(known.min()) - FAR)
    high = np.full(len(todo), float(known.max()) + FAR)
    share = (score + 0.5) / (forms.sum(axis=1) + 1.0)
    at = forms @ known / forms.sum(axis=1) + np.log(share / (1 - share))
    for _ in range(200):
        chance = expit(at[:, None] - known)
        spread = chance * (1 - chance)
        known_much = (forms * spread).sum(axis=1)
        miss = score - (forms * chance).sum(axis=1)
        if method == "wle":
            miss += (forms * spread * (1 - 2 * chance)).sum(axis=1) / (2 * known_much)
        low, high = np.where(miss > 0, at, low), np.where(miss > 0, high, at)
        step = at + miss / known_much
        # Outside its bracket Newton has lost the way: halve instead.
        step = np.where((step > low) & (step < high), step, (low + high) / 2)
        moved = float(np.abs(step - at).max())
        at = step
        if moved < 1e-10:
            break
    chance = expit(at[:, None] - known)
    ability[todo] = at
    error[todo] = 1 / np.sqrt((forms * chance * (1 - chance)).sum(axis=1))
    return ability, error


def _expected(
    forms: Floats, score: Floats, known: Floats, mean: float, spread: float
) -> tuple[Floats, Floats]:
    if not (np.isfinite(mean) and np.isfinite(spread) and spread > 0):
        raise DataError("mean, spread", (mean, spread), "finite, spread above 0")
    nodes, log_weights = ability_grid(len(known), spread)
    ability = mean + spread * nodes
    log_post = score[:, None] * ability - forms @ np.logaddexp(0.0, ability - known[:, None])
    log_post += log_weights
    post = np.exp(log_post - log_post.max(axis=1)[:, None])
    post /= post.sum(axis=1)[:, None]
    middle: Floats = post @ ability
    return middle, np.sqrt(((ability - middle[:, None]) ** 2 * post).sum(axis=1))
