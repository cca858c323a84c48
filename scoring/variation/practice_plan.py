"""Which few scenarios, for whom, buy the most: the practice plan.

Risk is severity times the probability of failure. A plan that ranks by raw failures sends
people to practise what chance gave them; here the probability comes from the
binomial model, drawn towards what all operators and scenarios show.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import expit, logit  # type: ignore[import-untyped]
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.variation.adjusted_rates import LEAST_ANSWERS, averaged, row_at
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.binomial_cells import count_rows
from scoring.variation.laplace import Vector
from scoring.variation.logit_at import logit_at

CLOSED_BY_ONE = 0.3
"""Share of the failure probability that one practice of a scenario takes away. An assumption:
no study was found; the order of the lines does not depend on it while each is practised once."""

EACH = 3
"""Most practices of one person in one plan, so that it can be done beside the
work. A working judgement, no source."""

TIES = 12
"""Decimals to which gains are compared: further ones are rounding. An assumption."""


@dataclass(frozen=True, slots=True)
class Gain:
    """What one practice is taken to do.

    Attributes
    ----------
    share : float
        Part of the failure probability taken away, 0 to 1, where `odds` is None.
    odds : float or None
        Factor of the odds of success instead, at least 1; from a learning curve.
    source : str
        ``assumption`` or where it comes from.
    """

    share: float = CLOSED_BY_ONE
    odds: float | None = None
    source: str = "assumption"

    def __post_init__(self) -> None:
        """Refuse what no practice does."""
        if not 0 <= self.share <= 1:
            raise ValueError(f"share {self.share!r}: wanted 0 to 1")
        if self.odds is not None and not 1 <= self.odds < np.inf:
            raise ValueError(f"odds {self.odds!r}: wanted a finite number from 1 up")

    def after(self, failure: Vector, practices: int) -> Vector:
        """Return the failure probability that is left after so many practices."""
        if self.odds is None:
            return np.asarray(failure * (1.0 - self.share) ** practices)
        return np.asarray(expit(logit(failure) - practices * np.log(self.odds)))


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One line: who practises what, and why.

    Attributes
    ----------
    operator, scenario : str
        Codes.
    practices : int
        How often, at least 1.
    failure : Estimate
        Probability of failure now, shrunken, with its interval; n: own answers at it.
    failures : int
        Own failures among them.
    severity : float
        Of the mistakes that the scenario can show.
    mistakes : tuple of str
        Their ids.
    risk, reduction : float
        Severity times failure now, and how much of it all `practices` are expected to
        take away.
    said : str
        The reason, for the reader.
    """

    operator: str
    scenario: str
    practices: int
    failure: Estimate
    failures: int
    severity: float
    mistakes: tuple[str, ...]
    risk: float
    reduction: float
    said: str


@dataclass(frozen=True, slots=True)
class UnseenLine:
    """Practise anyway: here nothing, or too little, is known of the person.

    Attributes
    ----------
    operator, scenario : str
        Codes.
    answers : int
        Own answers at this scenario (0: never assessed here).
    answers_in_all : int
        Own answers at all scenarios given.
    severity : float
        Of the mistakes that the scenario can show.
    mistakes : tuple of str
        Their ids.
    said : str
        The reason, for the reader.
    """

    operator: str
    scenario: str
    answers: int
    answers_in_all: int
    severity: float
    mistakes: tuple[str, ...]
    said: str


@dataclass(frozen=True, slots=True)
class PracticePlan:
    """The plan.

    Attributes
    ----------
    lines : tuple of PlanLine
        Greatest expected reduction first; ties by operator, then scenario.
    unseen : tuple of UnseenLine
        Practise anyway: most severe first, then by operator and scenario.
    risk, reduction : float
        Sum over all pairs with own answers, and what the lines take away of it.
    gain : Gain
        What one practice was taken to do.
    too_little : TooLittleEvidence or None
        Why there are no lines, where no model could be fitted.
    answers : int
        Answers behind it.
    """

    lines: tuple[PlanLine, ...]
    unseen: tuple[UnseenLine, ...]
    risk: float
    reduction: float
    gain: Gain
    too_little: TooLittleEvidence | None
    answers: int


def practice_plan(
    successes: npt.ArrayLike,
    trials: npt.ArrayLike | None = None,
    *,
    operators: Sequence[Any],
    scenarios: Sequence[Any],
    severities: Mapping[str, float],
    mistakes: Mapping[str, Sequence[str]] | None = None,
    everybody: Iterable[str] = (),
    gain: Gain | None = None,
    each: int = EACH,
    budget: int | None = None,
    repeats: int = 1,
    least_answers: int = LEAST_ANSWERS,
    confidence: float = CONFIDENCE,
) -> PracticePlan:
    """Return the practices that take away most risk, and what to practise for lack of evidence.

    Parameters
    ----------
    successes, trials : array_like, shape (rows,)
        Successes and answers of each row; 0/1 answers where `trials` is None. NaN is missing.
    operators, scenarios : sequence of labels, shape (rows,)
        Who, and which scenario (or decision). Rows of a pair are added up.
    severities : mapping of str to float
        Of each scenario, above 0; 1 to 4 or the site's own. Scenarios without any
        row belong here too: nobody was assessed at them.
    mistakes : mapping of str to sequence of str, optional
        Ids of the mistakes of each scenario.
    everybody : iterable of str
        Codes of people who may have no row.
    gain : Gain, optional
        What one practice does; an assumption (`CLOSED_BY_ONE`) unless given.
    each : int
        Most practices of one person; also most `unseen` lines of one person.
    budget : int, optional
        Most practices of all together.
    repeats : int
        Most practices of one scenario by one person. Each takes away less than the one before.
    least_answers : int
        Own answers in all below which a person's lines are `unseen`.
    confidence : float
        Of each interval, between 0 and 1, both excluded.

    Raises
    ------
    DataError
        Counts that are no counts, lengths that differ, a scenario without severity, a
        severity that is no number above 0.
    ValueError
        A parameter outside its range.

    Notes
    -----
    Failure of a pair: operator effect plus scenario effect of one binomial mixed model (none
    of the pair itself), posterior mean and interval, :func:`scoring.variation.logit_at.logit_at`:
    95 % intervals covered 94 % of the truth with 30 operators and 10 scenarios. Practices are
    taken greedily; as each further one of a pair brings less, that is the best plan there is.
    """
    check_confidence(confidence)
    _check(each, budget, repeats)
    gain = Gain() if gain is None else gain
    table = _table(successes, trials, operators, scenarios, severities, everybody)
    listed = {name: tuple(map(str, (mistakes or {}).get(name, ()))) for name in table.scenarios}
    own = table.trials.sum(axis=1)
    known = (table.trials > 0) & (own >= least_answers)[:, None]
    unseen = _unseen(table, listed, known, each)
    fit = fit_binomial(
        successes,
        trials,
        groups={"operator": list(map(str, operators)), "scenario": list(map(str, scenarios))},
    )
    answers = int(own.sum())
    if isinstance(fit, TooLittleEvidence):
        return PracticePlan((), unseen, 0.0, 0.0, gain, fit, answers)
    pairs = np.argwhere(known)
    failure, low, high = _failure(fit, table, pairs, confidence)
    severity = np.array([table.severities[s] for s in pairs[:, 1]])
    left = np.array([gain.after(failure, k) for k in range(repeats + 1)])
    gains = severity * (left[:-1] - left[1:])
    chosen = _chosen(gains, pairs[:, 0], each, budget)
    lines = []
    for k, times in chosen.items():
        o, s = pairs[k]
        count = int(table.trials[o, s])
        found = Estimate(float(failure[k]), float(low[k]), float(high[k]), count, confidence)
        failures = count - int(table.successes[o, s])
        risk, reduction = float(severity[k] * failure[k]), float(gains[:times, k].sum())
        name = table.scenarios[s]
        lines.append(
            PlanLine(
                operator=table.operators[o],
                scenario=name,
                practices=times,
                failure=found,
                failures=failures,
                severity=float(severity[k]),
                mistakes=listed[name],
                risk=risk,
                reduction=reduction,
                said=_said(found, failures, float(severity[k]), times, reduction / risk),
            )
        )
    lines.sort(key=lambda at: (-round(at.reduction, TIES), at.operator, at.scenario))
    total = float(np.sum(severity * failure))
    reduced = float(sum(line.reduction for line in lines))
    return PracticePlan(tuple(lines), unseen, total, reduced, gain, None, answers)


@dataclass(frozen=True, slots=True)
class _Table:
    operators: list[str]
    scenarios: list[str]
    severities: Vector
    successes: Vector
    trials: Vector


def _check(each: int, budget: int | None, repeats: int) -> None:
    for name, value in (("each", each), ("budget", budget), ("repeats", repeats)):
        if value is not None and value < 1:
            raise ValueError(f"{name} {value!r}: wanted 1 or more")


def _table(
    successes: npt.ArrayLike,
    trials: npt.ArrayLike | None,
    operators: Sequence[Any],
    scenarios: Sequence[Any],
    severities: Mapping[str, float],
    everybody: Iterable[str],
) -> _Table:
    """Return counts by operator and scenario, checked."""
    y, m = count_rows(successes, trials)
    who, what = list(map(str, operators)), list(map(str, scenarios))
    for name, labels in (("operators", who), ("scenarios", what)):
        if len(labels) != len(y):
            raise DataError(name, len(labels), f"as many as successes, {len(y)}")
    weights = {str(name): float(value) for name, value in severities.items()}
    for name in sorted(set(what) - set(weights)):
        raise DataError(f"severities, {name}", None, "a severity for each scenario")
    for name, value in sorted(weights.items()):
        if not 0 < value < np.inf:
            raise DataError(f"severities, {name}", value, "a number above 0")
    people, names = sorted(set(who) | set(map(str, everybody))), sorted(weights)
    place = {code: k for k, code in enumerate(people)}
    spot = {name: k for k, name in enumerate(names)}
    flat = np.array(
        [place[o] * len(names) + spot[s] for o, s in zip(who, what, strict=True)], dtype=np.int64
    )
    shape, size = (len(people), len(names)), len(people) * len(names)
    return _Table(
        people,
        names,
        np.array([weights[name] for name in names]),
        np.bincount(flat, np.where(m > 0, y, 0.0), size).astype(float).reshape(shape),
        np.bincount(flat, m, size).astype(float).reshape(shape),
    )


def _failure(
    fit: BinomialFit, table: _Table, pairs: npt.NDArray[np.int64], confidence: float
) -> tuple[Vector, Vector, Vector]:
    """Return the failure probability of each pair with its interval."""
    if not len(pairs):
        return np.zeros(0), np.zeros(0), np.zeros(0)
    operator = {code: k for k, code in enumerate(fit.levels["operator"])}
    scenario = {name: k for k, name in enumerate(fit.levels["scenario"])}
    rows = np.tile(row_at(fit, None), (len(pairs), 1))
    found = logit_at(
        fit,
        rows,
        {
            "operator": [operator[table.operators[o]] for o in pairs[:, 0]],
            "scenario": [scenario[table.scenarios[s]] for s in pairs[:, 1]],
        },
    )
    half = norm.ppf(0.5 + confidence / 2.0) * found.sds
    failure = averaged(-found.means, found.sds**2)
    return failure, expit(-found.means - half), expit(-found.means + half)


def _chosen(
    gains: Vector, people: npt.NDArray[np.int64], each: int, budget: int | None
) -> dict[int, int]:
    """Return how often each pair is practised, for those that are.

    Pairs come sorted by operator and scenario, so that a stable sort breaks ties by code.
    """
    repeats, count = gains.shape
    flat = np.round(gains.T.ravel(), TIES)
    order = np.argsort(-flat, kind="stable")
    order = order[flat[order] > 0]
    mine = people[order // repeats]
    by_person = np.argsort(mine, kind="stable")
    sorted_people = mine[by_person]
    starts = np.searchsorted(sorted_people, sorted_people)
    rank = np.empty(len(order), dtype=np.int64)
    rank[by_person] = np.arange(len(order)) - starts
    taken = order[rank < each][:budget] // repeats
    times = np.bincount(taken, minlength=count)
    return {int(k): int(times[k]) for k in dict.fromkeys(taken.tolist())}


def _unseen(
    table: _Table,
    mistakes: Mapping[str, tuple[str, ...]],
    known: npt.NDArray[np.bool_],
    each: int,
) -> tuple[UnseenLine, ...]:
    """Return, of each person, the most severe scenarios of which too little is known."""
    order = sorted(range(len(table.scenarios)), key=lambda s: (-table.severities[s], s))
    lines = []
    for o, code in enumerate(table.operators):
        in_all = int(table.trials[o].sum())
        for s in [s for s in order if not known[o, s]][:each]:
            count, severity = int(table.trials[o, s]), float(table.severities[s])
            said = f"Never assessed here; severity {severity:g}."
            if count:
                said = f"Answers in all: only {in_all}; severity {severity:g}."
            name = table.scenarios[s]
            lines.append(UnseenLine(code, name, count, in_all, severity, mistakes[name], said))
    lines.sort(key=lambda at: (-at.severity, at.operator, at.scenario))
    return tuple(lines)


def _said(failure: Estimate, failures: int, severity: float, times: int, share: float) -> str:
    """Return the reason of a line as sentences."""
    often = {1: "once", 2: "twice"}.get(times, f"{times} times")
    low, high = failure.low or 0.0, failure.high or 0.0
    return (
        f"Failed {failures} of {failure.n} here; expected to fail about "
        f"{100 * failure.value:.0f} in 100 [{100 * low:.0f} to {100 * high:.0f}], "
        f"severity {severity:g}. Practising it {often} is expected to take away "
        f"{100 * share:.0f} % of this risk."
    )
