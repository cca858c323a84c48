"""What a retraining did, beside what chance and everybody's drift would have shown anyway.

People sent to retraining are those who just scored low. Part of a low score is bad luck, and
luck does not last: their next scores rise without any retraining. A plain difference
of before and after credits that rise to the retraining.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from scoring.evidence import (
    CONFIDENCE,
    DataError,
    Estimate,
    TooLittleEvidence,
    check_confidence,
    counted,
)
from scoring.values_given import numbers_given
from scoring.variation.adjusted_rates import averaged
from scoring.variation.before_after import (
    People,
    Truth,
    adjusted_difference,
    by_chance_alone,
    plain_difference,
    sums,
)
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.binomial_cells import count_rows
from scoring.variation.binomial_intervals import profile_coefficient
from scoring.variation.laplace import Vector
from scoring.variation.logit_at import logit_at

LEAST_PEOPLE = 3
"""Fewest retrained people, and fewest others, with answers on both sides of the date. With fewer
the difference is that between single people. A working judgement, no source."""

Calendar = Literal["step_and_trend", "step", "periods"]

EFFECT, AFTER, TIME = "retrained", "after", "time"


@dataclass(frozen=True, slots=True)
class RetrainingEffect:
    """What a retraining did.

    Attributes
    ----------
    effect : Estimate
        On the logit scale, above 0 where it helped. n: retrained people with answers on both
        sides of the date.
    odds_ratio : Estimate
        The same as a factor of the odds of success.
    points : Estimate
        The same as a change of the success rate of the retrained after the date, in points of
        per cent (-100 to 100).
    everybody : Estimate or None
        Step of everybody at the date, logit scale; None where `calendar` has no step.
    naive : Estimate
        After minus before of the retrained, points of per cent: what a plain comparison says.
    chance_alone : Estimate or TooLittleEvidence
        What that plain comparison would have shown, on average, had nothing been done and
        nothing else changed; its interval is that of the plain comparison without
        any effect.
    adjusted : Estimate or TooLittleEvidence
        The after-rate adjusted for the before-rate by regression (analysis of covariance),
        retrained minus others, points of per cent. A second opinion without a model of chance.
    retrained, others : int
        People with answers on both sides of the date.
    fit : BinomialFit
        The model.
    """

    effect: Estimate
    odds_ratio: Estimate
    points: Estimate
    everybody: Estimate | None
    naive: Estimate
    chance_alone: Estimate | TooLittleEvidence
    adjusted: Estimate | TooLittleEvidence
    retrained: int
    others: int
    fit: BinomialFit


def retraining_effect(
    successes: npt.ArrayLike,
    trials: npt.ArrayLike | None = None,
    *,
    operators: Sequence[Any],
    scenarios: Sequence[Any],
    times: npt.ArrayLike,
    retrained: Collection[Any],
    at: float,
    seed: int,
    fixed: Mapping[str, Sequence[Any]] | None = None,
    calendar: Calendar = "step_and_trend",
    interval: Literal["profile", "wald"] = "profile",
    confidence: float = CONFIDENCE,
) -> RetrainingEffect | TooLittleEvidence:
    """Return the effect of one retraining from a model with everybody's answers.

    Parameters
    ----------
    successes, trials : array_like, shape (rows,)
        Successes and answers of each row; 0/1 answers where `trials` is None. NaN is missing.
    operators, scenarios : sequence of labels, shape (rows,)
        Who, and which scenario. Give everybody's rows, not only those of the retrained.
    times : array_like, shape (rows,)
        When, as a number in any unit (months of the year, say).
    retrained : collection of labels
        Who was retrained.
    at : float
        When, in the unit of `times`. Rows at or after it are "after".
    seed : int
        Of the simulated comparison without effect.
    fixed : mapping of str to sequence, optional
        Further columns that explain success, such as the logarithm of months in post.
    calendar : {"step_and_trend", "step", "periods"}
        What of time is everybody's: a straight line and a step at the date; the step
        alone; or a level of its own for each whole unit of time.
    interval : {"profile", "wald"}
        Profile likelihood, or plus and minus standard errors (quicker, nearly the same).
    confidence : float
        Of each interval, between 0 and 1, both excluded.

    Returns
    -------
    RetrainingEffect or TooLittleEvidence
        ``missing`` is ``retrained`` or ``others`` (too few on both sides of the
        date) or what :func:`scoring.variation.binomial.fit_binomial` says.

    Raises
    ------
    DataError
        Counts that are no counts, lengths that differ, a time that is no number, nobody of
        `retrained` among the operators.

    Notes
    -----
    Binomial mixed model (Laplace) with crossed operator and scenario effects, columns for
    calendar time, and one column that is 1 for retrained people after the date. There is
    on purpose no column for "was chosen": given the answers before, which are in the model,
    being chosen by them says nothing more, and such a column would credit bad luck to the
    retraining. So all answers by which people were chosen must be among the rows; people
    chosen by something else (a complaint, say) that the answers do not show can bias it.
    In 1,000 simulated departments of 24 people where the lowest quarter by the answers before was
    chosen, the 95 % interval of `effect` covered the truth in 93.5 %, that of `adjusted` in 93 %,
    the plain comparison in 54 %. That of `points` carries the effect over to the people's rates as
    estimated and covered 92 %: somewhat short.
    """
    check_confidence(confidence)
    rows = _rows(successes, trials, operators, scenarios, times, retrained, at)
    found = _too_few(rows.people) or _fitted(rows, fixed, calendar)
    if isinstance(found, TooLittleEvidence):
        return found
    people = rows.people

    def told(name: str) -> Estimate:
        if interval == "wald":
            return found.coefficient(name, confidence)
        return profile_coefficient(found, name, confidence)

    count = int(np.sum(people.both & people.chosen))
    effect = replace(told(EFFECT), n=count)
    return RetrainingEffect(
        effect=effect,
        odds_ratio=_mapped(effect, np.exp),
        points=_points(found, effect),
        everybody=told(AFTER) if AFTER in found.names else None,
        naive=plain_difference(people, confidence),
        chance_alone=by_chance_alone(
            people, rows.right, rows.answers, rows.groups, rows.after, seed, confidence
        ),
        adjusted=adjusted_difference(people, confidence),
        retrained=count,
        others=int(np.sum(people.both & ~people.chosen)),
        fit=found,
    )


def retraining_model(
    successes: npt.ArrayLike,
    trials: npt.ArrayLike | None = None,
    *,
    operators: Sequence[Any],
    scenarios: Sequence[Any],
    times: npt.ArrayLike,
    retrained: Collection[Any],
    at: float,
    fixed: Mapping[str, Sequence[Any]] | None = None,
    calendar: Calendar = "step_and_trend",
) -> BinomialFit | TooLittleEvidence:
    """Return the model alone: ``coefficient("retrained")`` is the effect.

    Parameters
    ----------
    successes, trials, operators, scenarios, times, retrained, at, fixed, calendar
        As :func:`retraining_effect` documents them.
    """
    rows = _rows(successes, trials, operators, scenarios, times, retrained, at)
    return _too_few(rows.people) or _fitted(rows, fixed, calendar)


@dataclass(frozen=True, slots=True)
class _Rows:
    right: Vector
    answers: Vector
    groups: dict[str, list[str]]
    when: Vector
    after: Truth
    mine: Truth
    at: float
    people: People


def _rows(
    successes: npt.ArrayLike,
    trials: npt.ArrayLike | None,
    operators: Sequence[Any],
    scenarios: Sequence[Any],
    times: npt.ArrayLike,
    retrained: Collection[Any],
    at: float,
) -> _Rows:
    """Return the rows, checked."""
    y, m = count_rows(successes, trials)
    when = _times(times, len(y))
    groups = {"operator": list(map(str, operators)), "scenario": list(map(str, scenarios))}
    for name, labels in groups.items():
        if len(labels) != len(y):
            raise DataError(f"{name}s", len(labels), f"as many as successes, {len(y)}")
    chosen = set(map(str, retrained))
    if not chosen & set(groups["operator"]):
        raise DataError("retrained", sorted(chosen), "codes among the operators")
    after = when >= at
    right = np.where(m > 0, y, 0.0)
    people = sums(right, m, groups["operator"], after, chosen)
    mine = np.array([code in chosen for code in groups["operator"]])
    return _Rows(right, m, groups, when, after, mine, at, people)


def _too_few(people: People) -> TooLittleEvidence | None:
    for missing, who, said in (
        ("retrained", people.chosen, ("retrained person", "retrained people")),
        (
            "others",
            ~people.chosen,
            ("person who was not retrained", "people who were not retrained"),
        ),
    ):
        number = int(np.sum(people.both & who))
        if number < LEAST_PEOPLE:
            text = (
                f"Only {counted(number, *said)} with answers before and after; "
                f"at least {LEAST_PEOPLE} are needed."
            )
            return TooLittleEvidence(missing, text, number)
    return None


def _fitted(
    rows: _Rows, fixed: Mapping[str, Sequence[Any]] | None, calendar: str
) -> BinomialFit | TooLittleEvidence:
    columns: dict[str, Any] = {EFFECT: (rows.mine & rows.after).astype(float)}
    columns |= _calendar(calendar, rows.when, rows.after, rows.answers > 0, rows.at)
    return fit_binomial(
        rows.right,
        rows.answers,
        groups=rows.groups,
        fixed=columns | ({} if fixed is None else dict(fixed.items())),
    )


def _times(times: npt.ArrayLike, rows: int) -> Vector:
    when = numbers_given(times, "times")
    if when.shape != (rows,):
        raise DataError("times", when.shape, f"as many as successes, {rows}")
    wrong = np.flatnonzero(~np.isfinite(when))
    if wrong.size:
        raise DataError(f"times, row {wrong[0] + 1}", float(when[wrong[0]]), "a number")
    return when


def _calendar(
    calendar: str,
    when: Vector,
    after: npt.NDArray[np.bool_],
    used: npt.NDArray[np.bool_],
    at: float,
) -> dict[str, Any]:
    """Return the columns of calendar time; those that would not differ are left out."""
    if calendar == "periods":
        # Periods are counted from the date, so that none lies on both sides of it.
        names = [f"{int(k):+06d}" for k in np.floor(when - at)]
        return {TIME: names}
    columns: dict[str, Any] = {AFTER: after.astype(float)}
    # On each side one moment only: the line and the step would say the same.
    sides = [np.unique(when[used & side]) for side in (after, ~after)]
    if calendar == "step_and_trend" and any(len(moments) > 1 for moments in sides):
        scale = float(np.ptp(when[used]))
        columns[TIME] = (when - at) / scale
    return columns


def _mapped(found: Estimate, onto: Any) -> Estimate:
    ends = [None if end is None else float(onto(end)) for end in (found.low, found.high)]
    return Estimate(float(onto(found.value)), ends[0], ends[1], found.n, found.confidence)


def _points(fit: BinomialFit, effect: Estimate) -> Estimate:
    """Return the effect as a change of the rate of the retrained after the date."""
    cells = fit.problem.gathered.cells
    place = fit.names.index(EFFECT)
    mine = cells.design[:, place] > 0
    design = cells.design[mine].copy()
    design[:, place] = 0.0
    at = {g: index[mine] for g, index in zip(fit.groups, cells.index, strict=True)}
    without = logit_at(fit, design, at)
    weights = cells.trials[mine] / cells.trials[mine].sum()
    spread = without.sds**2
    base = averaged(without.means, spread)

    def points(logit: float) -> float:
        return float(100.0 * weights @ (averaged(without.means + logit, spread) - base))

    return _mapped(effect, points)
