"""A cut from how the examiners judged the same performances as a whole: the borderline methods."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import bdtr  # type: ignore[import-untyped]
from scipy.stats import t as student  # type: ignore[import-untyped]

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.measurement.credit_table import Floats, numbers
from scoring.measurement.discrimination import correlation
from scoring.measurement.reliability import SAMPLES

Answer = Estimate | TooLittleEvidence

LEAST_PERSONS = 3
"""A line through two points has no spread to tell its error from."""


@dataclass(frozen=True, slots=True)
class BorderlineRegression:
    """The line of checklist scores on global ratings, and the cut that it gives.

    Attributes
    ----------
    cut : Estimate
        Score on the line at `borderline`; `n` persons.
    se : float
        Standard error of the cut.
    slope, intercept : Estimate
        Points for each grade, and the score at grade 0, with Student's intervals.
    r : Estimate or TooLittleEvidence
        Correlation, with Fisher's interval.
    r_squared : float
    rmse : float
        Standard deviation of the scores about the line (``n - 2``).
    borderline : float
    beyond : bool
        Whether nobody was rated at or below the borderline grade, or nobody at or above it:
        the cut is then read off outside the data.
    n : int
    """

    cut: Estimate
    se: float
    slope: Estimate
    intercept: Estimate
    r: Answer
    r_squared: float
    rmse: float
    borderline: float
    beyond: bool
    n: int


def borderline_regression(
    global_rating: ArrayLike,
    checklist: ArrayLike,
    *,
    borderline: float,
    interval: Literal["delta", "bootstrap"] = "delta",
    confidence: float = CONFIDENCE,
    samples: int = SAMPLES,
    seed: int | np.random.Generator = 0,
) -> BorderlineRegression | TooLittleEvidence:
    """Return the cut of the borderline regression method.

    Parameters
    ----------
    global_rating : array-like, shape (persons,)
        Grade of the whole performance (1 to 5, say); persons with a missing value are left out.
    checklist : array-like, shape (persons,)
        Score.
    borderline : float
        The grade that stands for just competent; may lie between grades.
    interval : {"delta", "bootstrap"}
        Student's interval of the mean at `borderline` (least squares, ``n - 2``), or
        percentiles over persons, which bears spreads that differ from grade to grade.
    confidence : float
        Between 0 and 1.
    samples, seed
        Of the bootstrap.

    Returns
    -------
    BorderlineRegression or TooLittleEvidence
        ``persons`` (fewer than 3), ``grades`` (all the same), ``slope`` (scores do not rise
        with the grade, so the line is no ground for a cut).

    Raises
    ------
    DataError
        Lengths differ, an infinite value.
    """
    check_confidence(confidence)
    if interval not in ("delta", "bootstrap"):
        raise ValueError(f"interval {interval!r}: wanted 'delta' or 'bootstrap'")
    if not math.isfinite(borderline):
        raise DataError("borderline", borderline, "a finite grade")
    x, y = _pairs(global_rating, checklist, "global rating", "checklist score")
    n = len(x)
    if n < LEAST_PERSONS:
        said = f"Only {counted(n, 'person', 'people')}; at least {LEAST_PERSONS} are needed."
        return TooLittleEvidence("persons", said, n)
    if np.ptp(x) == 0:
        return TooLittleEvidence("grades", "Everybody has the same overall grade.", n)
    middle, height = float(x.mean()), float(y.mean())
    width = float(((x - middle) ** 2).sum())
    slope = float(((x - middle) * (y - height)).sum()) / width
    if slope <= 0:
        return TooLittleEvidence("slope", "Scores do not rise with the overall grade.", n)
    left = y - height - slope * (x - middle)
    rmse = math.sqrt(float((left**2).sum()) / (n - 2))
    times = float(student.ppf((1 + confidence) / 2, n - 2))

    def estimate(value: float, error: float) -> Estimate:
        return Estimate(value, value - times * error, value + times * error, n, confidence)

    at = height + slope * (borderline - middle)
    error = rmse * math.sqrt(1 / n + (borderline - middle) ** 2 / width)
    cut = estimate(at, error)
    if interval == "bootstrap":
        drawn = _drawn(x, y, borderline, samples, np.random.default_rng(seed))
        tail = (1 - confidence) / 2
        low, high = (float(end) for end in np.quantile(drawn, (tail, 1 - tail)))
        error = float(drawn.std(ddof=1))
        cut = Estimate(at, min(low, at), max(high, at), n, confidence)
    whole = float(((y - height) ** 2).sum())
    return BorderlineRegression(
        cut=cut,
        se=error,
        slope=estimate(slope, rmse / math.sqrt(width)),
        intercept=estimate(height - slope * middle, rmse * math.sqrt(1 / n + middle**2 / width)),
        r=correlation(x, y, confidence=confidence),
        r_squared=1 - float((left**2).sum()) / whole,
        rmse=rmse,
        borderline=borderline,
        beyond=bool(borderline < x.min() or borderline > x.max()),
        n=n,
    )


def borderline_group(
    global_rating: ArrayLike,
    checklist: ArrayLike,
    *,
    borderline: float,
    method: Literal["median", "mean"] = "median",
    confidence: float = CONFIDENCE,
) -> Answer:
    """Return the median (or mean) score of the persons rated borderline.

    Parameters
    ----------
    global_rating, checklist, confidence
        As `borderline_regression`.
    borderline : float
        The grade, exactly.
    method : {"median", "mean"}
        The median has the exact interval of order statistics (at least `confidence`; no ends with
        too few persons for one: fewer than 6 at 95 %), the mean Student's.

    Returns
    -------
    Estimate or TooLittleEvidence
        `n` persons of the group; ``persons`` where there are none.

    Notes
    -----
    Livingston SA, Zieky MJ (1982), Passing Scores, from memory.
    """
    check_confidence(confidence)
    if method not in ("median", "mean"):
        raise ValueError(f"method {method!r}: wanted 'median' or 'mean'")
    x, y = _pairs(global_rating, checklist, "global rating", "checklist score")
    group = np.sort(y[np.abs(x - borderline) < 1e-9])
    n = len(group)
    if n == 0:
        return TooLittleEvidence("persons", "Nobody was rated borderline.", 0)
    if method == "mean":
        value = float(group.mean())
        if n < 2:
            return Estimate(value, None, None, n, confidence)
        half = float(student.ppf((1 + confidence) / 2, n - 1))
        half *= float(group.std(ddof=1)) / math.sqrt(n)
        return Estimate(value, value - half, value + half, n, confidence)
    value = float(np.median(group))
    below = bdtr(np.arange(n // 2 + 1), n, 0.5)
    kept = int((below <= (1 - confidence) / 2).sum())
    if kept == 0:
        return Estimate(value, None, None, n, confidence)
    return Estimate(value, float(group[kept - 1]), float(group[n - kept]), n, confidence)


def _drawn(x: Floats, y: Floats, at: float, samples: int, random: np.random.Generator) -> Floats:
    rows = random.integers(0, len(x), size=(samples, len(x)))
    one, other = x[rows], y[rows]
    middle, height = one.mean(axis=1), other.mean(axis=1)
    width = ((one - middle[:, None]) ** 2).sum(axis=1)
    kept = width > 1e-12
    both = ((one - middle[:, None]) * (other - height[:, None])).sum(axis=1)
    found: Floats = height[kept] + both[kept] / width[kept] * (at - middle[kept])
    return found


def _pairs(one: ArrayLike, other: ArrayLike, name: str, second: str) -> tuple[Floats, Floats]:
    x, y = numbers(one, name, missing=True), numbers(other, second, missing=True)
    if len(x) != len(y):
        raise DataError("lengths", (len(x), len(y)), "as many of each")
    both = ~(np.isnan(x) | np.isnan(y))
    return x[both], y[both]
