"""Where and when more goes wrong: site and shift by step and by kind of mistake.

Each place is set against all others at the same decisions, so that harder scenarios
do not count against it. Operators are the units: one careless person on a small shift
is no habit of the shift. Many places are looked at, so the share of false findings
is kept to what was promised.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
from scipy.stats import binom  # type: ignore[import-untyped]
from scipy.stats import t as student

from scoring.catalogue import Mistake
from scoring.cohort.answers_in_time import AnswersInTime, Floats, Ints
from scoring.cohort.table import CohortTable
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.model import STATIONS, Station
from scoring.variation.false_discovery import RATE, adjusted_p
from scoring.variation.intervals import wilson

LEAST_EXPECTED = 1.0
"""Wrong decisions that a place would have at everybody's rates, from which on it is compared. Fewer
could be outweighed by one bad day. A working judgement, no source."""

LEAST_OPERATORS = 3
"""Operators a place needs to be told from one person's habit. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Place:
    """One place at one kind of decision, against all other places.

    Attributes
    ----------
    place : str
        Site and shift.
    station : Station
    topic : str
        Kind of mistake, as the catalogue names it; empty for the whole step.
    wrong, decisions, operators : int
        Wrong decisions (with a mistake of this kind), decisions at which it can be made, and
        operators behind them.
    rate : Estimate
        With an interval widened for differences between operators; `n` decisions.
    others : float
        Rate of all other places at the same decisions, in the same mix.
    p, q : float or None
        One-sided p value for more than elsewhere, and the smallest rate of false findings at
        which it would be named; None where there is too little.
    named : bool
        Whether it stands out.
    mistake : str
        Id of the mistake most often made there; empty if none.
    """

    place: str
    station: Station
    topic: str
    wrong: int
    decisions: int
    operators: int
    rate: Estimate
    others: float
    p: float | None
    q: float | None
    named: bool
    mistake: str


@dataclass(frozen=True, slots=True)
class WhereAndWhen:
    """All comparisons.

    Attributes
    ----------
    places : tuple of str
        Sites with shifts, sorted.
    compared : int
        Comparisons with enough behind them.
    too_little : int
        Comparisons without.
    rate : float
        Accepted share of false ones among those named.
    rows : tuple of Place
        Every comparison: steps first, in the order of the work, then kinds of mistake.
    """

    places: tuple[str, ...]
    compared: int
    too_little: int
    rate: float
    rows: tuple[Place, ...]

    def named(self) -> tuple[Place, ...]:
        """Return what stands out, the clearest first."""
        return tuple(
            sorted(
                (row for row in self.rows if row.named),
                key=lambda row: (row.p, row.place, row.station, row.topic),
            )
        )


@dataclass(frozen=True, slots=True)
class _Met:
    """Operators in their places, and which scenarios each met how often.

    `unit` says of each row of `answers` which operator in which place it is, -1 where its
    scenario was sat in one place only; `group` gives the place of each unit, `sat` the number
    of times that each unit sat each scenario.
    """

    unit: Ints
    group: Ints
    sat: Floats


@dataclass(frozen=True, slots=True)
class _Kinds:
    """Decisions by kind: a whole step, or where a kind of mistake is made.

    `scenario`, `kind` and `number` say of each item where it is, what it belongs to and how
    many decisions it stands for. `observed` counts wrong ones by unit and kind, `by_place` by
    place and item; `most` is the mistake most often made, by place and kind.
    """

    names: list[tuple[Station, str]]
    scenario: Ints
    kind: Ints
    number: Floats
    observed: Floats
    by_place: Floats
    most: list[list[str]]


def where_and_when(
    table: CohortTable,
    answers: AnswersInTime,
    catalogue: Mapping[str, Mistake],
    rate: float = RATE,
) -> WhereAndWhen | TooLittleEvidence:
    """Compare each site and shift with all others, at each step and kind of mistake.

    Parameters
    ----------
    table : CohortTable
    answers : AnswersInTime
        Of the same table.
    catalogue : mapping of str to Mistake
    rate : float
        Accepted share of false findings among all named, between 0 and 1.

    Returns
    -------
    WhereAndWhen or TooLittleEvidence
        ``places``: fewer than two sites or shifts.

    Notes
    -----
    For operator o, ``e = observed - expected`` from the pooled rates of the same decisions,
    with variance V if people were alike. A place's difference is ``sum(e) / sum(V)`` (one
    step of logistic regression), set against that of the others; what operators vary beyond
    chance is the mean of ``(e - difference V)^2 / V`` within places, at least 1, on as many
    degrees of freedom as operators less places, and the test is Student's t. All
    p values together go through Benjamini and Hochberg's procedure.
    """
    places = answers.places
    if len(places) < 2:
        said = "Only one site and shift is known; there is nothing to compare it with."
        return TooLittleEvidence("places", said, len(places))
    met = _met(answers)
    rows = _compared(_steps(answers, met), met, places)
    rows += _compared(_by_mistake(table, answers, catalogue, met), met, places)
    p = np.array([np.nan if row.p is None else row.p for row in rows], dtype=float)
    q = adjusted_p(p)
    little = np.isnan(p)
    judged = tuple(
        row if none else replace(row, q=float(value), named=bool(value <= rate))
        for row, value, none in zip(rows, q, little, strict=True)
    )
    return WhereAndWhen(places, int((~little).sum()), int(little.sum()), rate, judged)


def _met(answers: AnswersInTime) -> _Met:
    places = len(answers.places)
    # An operator who changed site or shift is one unit in each.
    units, unit = np.unique(answers.operator * places + answers.place, return_inverse=True)
    group = (units % places).astype(np.int64)
    sat = _table(unit, answers.scenario, (len(units), len(answers.scenarios)))
    shared = (_by_group(sat, group, places) > 0).sum(axis=0) > 1
    sat[:, ~shared] = 0.0
    return _Met(np.where(shared[answers.scenario], unit, -1).astype(np.int64), group, sat)


def _table(row: Ints, column: Ints, shape: tuple[int, int], weights: Ints | None = None) -> Floats:
    """Count pairs of numbers into a table."""
    flat = np.bincount(row * shape[1] + column, weights, minlength=shape[0] * shape[1])
    counted: Floats = flat.astype(float).reshape(shape)
    return counted


def _by_group(rows: Floats, group: Ints, groups: int) -> Floats:
    summed = np.zeros((groups, rows.shape[1]))
    np.add.at(summed, group, rows)
    return summed


def _steps(answers: AnswersInTime, met: _Met) -> _Kinds:
    """Return whole steps as kinds; the decisions of one scenario are taken together."""
    stations = answers.stations()
    number = {STATIONS.index(name): place for place, name in enumerate(stations)}
    used = met.unit >= 0
    scenario, first, item = np.unique(
        answers.scenario[used], return_index=True, return_inverse=True
    )
    kind_of = np.array([number.get(code, 0) for code in range(len(STATIONS))], dtype=np.int64)
    kind = kind_of[answers.station[used]]
    unit, wrong = met.unit[used], answers.wrong[used]
    places = len(answers.places)
    return _Kinds(
        names=[(name, "") for name in stations],
        scenario=scenario,
        kind=kind[first],
        number=answers.decisions[used][first].astype(float),
        observed=_table(unit, kind, (len(met.group), len(stations)), wrong),
        by_place=_table(met.group[unit], item, (places, len(scenario)), wrong),
        most=[[""] * len(stations) for _ in range(places)],
    )


def _by_mistake(
    table: CohortTable, answers: AnswersInTime, catalogue: Mapping[str, Mistake], met: _Met
) -> _Kinds:
    """Return kinds of mistake, each with the decisions at which anybody made one of it."""
    rows, scenarios = table.mistakes, len(answers.scenarios)
    mistake, mistakes = pd.factorize(rows["mistake"], sort=True)
    topics = [(entry.station, entry.topic) if (entry := catalogue.get(str(name))) else None
              for name in mistakes]  # fmt: skip
    names = sorted({name for name in topics if name}, key=lambda n: (STATIONS.index(n[0]), n[1]))
    kind_of = np.array([names.index(name) if name else -1 for name in topics], dtype=np.int64)
    place_of = pd.Series(np.arange(scenarios), index=list(answers.scenarios))
    code, met_names = pd.factorize(rows["scenario"])
    where = place_of.reindex(met_names).fillna(-1).to_numpy(dtype=np.int64)
    scenario = where[code] if len(where) else np.zeros(0, dtype=np.int64)
    decision, _ = pd.factorize(rows["decision"], sort=True)
    # Which row of the answers a mistake belongs to; none where that scenario was left out.
    keys = answers.at * scenarios + answers.scenario
    order = np.argsort(keys, kind="stable")
    wanted = rows["at"].to_numpy(dtype=np.int64) * scenarios + scenario
    found = order[np.clip(np.searchsorted(keys, wanted, sorter=order), 0, max(len(keys) - 1, 0))]
    kind = kind_of[mistake] if len(kind_of) else np.zeros(0, dtype=np.int64)
    used = (keys[found] == wanted) & (met.unit[found] >= 0) & (kind >= 0) & (scenario >= 0)
    found, kind, scenario, decision, mistake = (
        part[used].astype(np.int64) for part in (found, kind, scenario, decision, mistake)
    )
    items, item = np.unique(
        (kind * scenarios + scenario) * (int(decision.max(initial=0)) + 1) + decision,
        return_inverse=True,
    )
    first = np.zeros(len(items), dtype=np.int64)
    first[item] = np.arange(len(item))
    # Two mistakes of one kind at one decision are one wrong decision.
    once = np.unique(found * max(len(items), 1) + item, return_index=True)[1]
    unit = met.unit[found]
    places = len(answers.places)
    made = _table(met.group[unit], mistake, (places, len(mistakes)))
    return _Kinds(
        names=list(names),
        scenario=scenario[first],
        kind=kind[first],
        number=np.ones(len(items)),
        observed=_table(unit[once], kind[once], (len(met.group), len(names))),
        by_place=_table(met.group[unit[once]], item[once], (places, len(items))),
        most=[
            [_most(made[place], kind_of == number, mistakes) for number in range(len(names))]
            for place in range(places)
        ],
    )


def _most(made: Floats, of_kind: np.ndarray, mistakes: pd.Index) -> str:
    counted = np.where(of_kind, made, 0.0)
    return str(mistakes[int(counted.argmax())]) if counted.any() else ""


def _compared(kinds: _Kinds, met: _Met, places: tuple[str, ...]) -> list[Place]:
    """Set each place against all others, kind by kind."""
    if not len(kinds.scenario):
        return []
    shape = (met.sat.shape[1], len(kinds.names))
    sat = _by_group(met.sat, met.group, len(places))[:, kinds.scenario] * kinds.number
    wrong, total = kinds.by_place.sum(axis=0), sat.sum(axis=0)
    pooled = wrong / total
    expected, variance = (
        met.sat @ np.bincount(
            kinds.scenario * shape[1] + kinds.kind, each * kinds.number, shape[0] * shape[1]
        ).reshape(shape)
        for each in (pooled, pooled * (1 - pooled))
    )  # fmt: skip
    difference = kinds.observed - expected
    moved, weight, met_by = (
        _by_group(each, met.group, len(places))
        for each in (difference, variance, (variance > 0).astype(float))
    )
    step = np.divide(moved, weight, out=np.zeros_like(moved), where=weight > 0)
    apart = (difference - step[met.group] * variance) ** 2
    beyond = np.divide(apart, variance, out=np.zeros_like(apart), where=variance > 0).sum(axis=0)
    free = met_by.sum(axis=0) - (weight > 0).sum(axis=0)
    spread = np.maximum(beyond / np.maximum(free, 1), 1.0)
    elsewhere = total - sat
    of_others = np.divide(
        wrong - kinds.by_place, elsewhere, out=np.zeros_like(sat), where=elsewhere > 0
    )
    into = np.zeros((len(kinds.kind), len(kinds.names)))
    into[np.arange(len(kinds.kind)), kinds.kind] = 1.0
    count, size = kinds.by_place @ into, sat @ into
    share = np.divide((of_others * sat) @ into, size, out=np.zeros_like(size), where=size > 0)
    chance = _chances(count, moved, weight, spread, free, met_by)
    rows = []
    for kind, place in np.argwhere(size.T > 0):
        widened = float(spread[kind])
        made = wilson(count[place, kind] / widened, size[place, kind] / widened)
        p = float(chance[place, kind])
        station, topic = kinds.names[kind]
        rows.append(
            Place(
                place=places[place],
                station=station,
                topic=topic,
                wrong=int(count[place, kind]),
                decisions=int(size[place, kind]),
                operators=int(met_by[place, kind]),
                rate=Estimate(
                    float(made.estimate), float(made.low), float(made.high), int(size[place, kind])
                ),
                others=float(share[place, kind]),
                p=None if np.isnan(p) else p,
                q=None,
                named=False,
                mistake=kinds.most[place][kind],
            )
        )
    return rows


def _chances(
    count: Floats, moved: Floats, weight: Floats, spread: Floats, free: Floats, met_by: Floats
) -> Floats:
    """Return the p values, NaN where there is too little; all but `spread` and `free` by place.

    The larger of two: Student's t, which allows for differences between operators, and the
    exact binomial tail of the place's part in all wrong decisions, which allows for few.
    """
    whole = weight.sum(axis=0)
    others = whole - weight
    expected = count - moved
    total = count.sum(axis=0)
    enough = (
        (expected >= LEAST_EXPECTED) & (met_by >= LEAST_OPERATORS) & (others > 0) & (free > 0)
        & (weight > 0)
    )  # fmt: skip
    ratio = np.divide(whole, weight * others, out=np.ones_like(weight), where=enough)
    normal = student.sf(moved * ratio / np.sqrt(spread * ratio), np.maximum(free, 1))
    part = np.divide(expected, total, out=np.zeros_like(expected), where=total > 0)
    exact = binom.sf(count - 1, total, np.clip(part, 0, 1))
    return np.where(enough, np.maximum(normal, exact), np.nan)
