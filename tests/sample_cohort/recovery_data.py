"""The sample cohort as the statistics meet it, with each answer's planted chance beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd  # type: ignore[import-untyped]
from scipy.special import expit  # type: ignore[import-untyped]

from sample_cohort.circumstances import circumstances
from sample_cohort.truth import BROKEN, STATIONS, Truth
from scoring.cohort.reading import read_decisions, read_sittings, read_table
from scoring.cohort.table import CohortTable
from scoring.evidence import TooLittleEvidence
from scoring.library import Library
from scoring.marking.marks import SittingMarks
from scoring.model import Station
from scoring.observation import Observation
from scoring.records.index import Index, Marked
from scoring.records.people import read_people
from scoring.records.reading import ReadLog
from scoring.settings import Settings
from scoring.variation.binomial import BinomialFit, fit_binomial

Floats = npt.NDArray[np.float64]

TRUTH = Truth()

PLAIN = ("choose_one", "choose_several", "order")
"""Kinds of decision whose right answer has exactly the planted chance. A wrong amount may fall into
the right window by luck, and places are looked at by signal detection: both have another scale."""

LONG = 240.0
"""Months in post of somebody who has learnt what there is to learn. An assumption."""


@dataclass(frozen=True)
class Data:
    """What the statistics are given.

    Attributes
    ----------
    table : CohortTable
        Read from an index, as the manager's page reads it.
    answers : DataFrame
        One row an answered decision of a sound scenario or of the broken one, with kind, topic,
        site, shift, day, `item` (scenario/decision), `right` (0 or 1), `months` in post, `lack`
        (1 on the first day, falling by the factor e in the planted months), `retrained` (0 or 1).
    retrained : tuple of str
        Codes, from the file of events.
    observations : tuple of Observation
    seed : int
    """

    table: CohortTable
    answers: pd.DataFrame
    retrained: tuple[str, ...]
    observations: tuple[Observation, ...]
    seed: int

    def plain(self, station: Station | None = None) -> pd.DataFrame:
        """Return the answers to decisions of `PLAIN` kinds, without the broken scenario."""
        rows = self.answers
        keep = rows["kind"].isin(PLAIN) & ~rows["scenario"].isin(list(BROKEN))
        if station is not None:
            keep &= rows["station"] == station
        return rows[keep].reset_index(drop=True)


def data_of(
    settings: Settings,
    logs: Sequence[ReadLog],
    marks: Sequence[SittingMarks],
    library: Library,
    retrained: tuple[str, ...],
    observations: Sequence[Observation],
    seed: int,
) -> Data:
    """Bring logs and marks through an index into tables, and join what the scenarios say."""
    people = read_people(settings)
    index = Index("sqlite://")
    index.store(Marked(log, one) for log, one in zip(logs, marks, strict=True))
    rows = read_sittings(index)
    table = read_table(index, rows, people)
    decisions = read_decisions(index, rows)
    index.close()
    table = replace(table, read_decisions=lambda: decisions)
    answers = decisions[decisions["assessed"]].reset_index(drop=True)
    asked = {
        (name, decision.id): (decision.kind, decision.topic)
        for name in answers["scenario"].unique()
        for decision in library.scenario(name).decisions
    }
    keys = list(zip(answers["scenario"], answers["decision"], strict=True))
    at = answers["at"].to_numpy()
    day = table.sittings["day"].to_numpy()[at]
    months = table.sittings["months_in_post"].to_numpy(dtype=float)[at]
    months = np.where(np.isnan(months), LONG, np.maximum(months, 0.0))
    operators = answers["operator"].astype(str)
    after = day >= TRUTH.retraining.day.isoformat()
    answers = answers.assign(
        operator=operators,
        station=answers["station"].astype(str),
        scenario=answers["scenario"].astype(str),
        kind=[asked[key][0] for key in keys],
        topic=[asked[key][1] for key in keys],
        item=[f"{scenario}/{decision}" for scenario, decision in keys],
        right=(answers["credit"] == 1.0).astype(float),
        site=[people[code].site for code in operators],
        shift=[people[code].shift for code in operators],
        day=day,
        months=months,
        lack=np.exp(-months / TRUTH.learning.months),
        retrained=(after & operators.isin(retrained)).astype(float),
    )
    return Data(table, answers, retrained, tuple(observations), seed)


def chances(data: Data, rows: pd.DataFrame) -> Floats:
    """Return the planted chance of a right answer of each row of a `PLAIN` kind."""
    started = data.table.sittings["started"]
    abilities: dict[tuple[str, str, str, int], float] = {}
    found = np.empty(len(rows))
    columns = ("operator", "station", "topic", "scenario", "decision", "at")
    for place, (who, station, topic, scenario, decision, at) in enumerate(
        zip(*(rows[name] for name in columns), strict=True)
    ):
        key = (who, station, topic, at)
        if key not in abilities:
            there = circumstances(who, started[at], TRUTH, data.retrained)
            abilities[key] = TRUTH.ability(data.seed, who, station, there)
            abilities[key] += TRUTH.shift(who, topic, there)
        found[place] = abilities[key] - TRUTH.difficulty(data.seed, scenario, decision)
    chance: Floats = expit(found)
    return chance


def planted_sd(station: Station, operators: Sequence[str]) -> float:
    """Return the standard deviation between operators with the two worse among them."""
    worse = np.array([TRUTH.worse.get(code, 0.0) for code in operators])
    return float(np.sqrt(STATIONS[station].spread ** 2 + worse.var()))


def drawn_sd(data: Data, station: Station) -> float:
    """Return the standard deviation of the abilities that this cohort's people happen to have."""
    codes = sorted(set(data.answers["operator"]))
    return float(np.std([TRUTH.ability(data.seed, code, station) for code in codes], ddof=1))


def fixed_columns(rows: pd.DataFrame, station: Station) -> dict[str, list[float]]:
    """Return what is known of a row beside who and which decision: the model's fixed columns."""
    fixed = {"lack": rows["lack"].tolist()}
    if station == TRUTH.retraining.station:
        fixed["retrained"] = rows["retrained"].tolist()
    habit = TRUTH.shift_habit
    here = (
        (rows["site"] == habit.site)
        & (rows["shift"] == habit.shift)
        & (rows["topic"] == habit.topic)
    )
    if here.any():
        fixed["night"] = here.astype(float).tolist()
    return fixed


def fitted(
    rows: pd.DataFrame, fixed: Mapping[str, Sequence[float]] | None = None, right: str = "right"
) -> BinomialFit:
    """Fit operator and decision as crossed groups; too little evidence is an error here."""
    fit = fit_binomial(
        rows[right].to_numpy(dtype=float),
        np.ones(len(rows)),
        groups={"operator": rows["operator"].tolist(), "decision": rows["item"].tolist()},
        fixed=fixed,
    )
    if isinstance(fit, TooLittleEvidence):
        raise AssertionError(fit.said)
    return fit
