"""Where the risk sits: the severity of the mistakes made, over the decisions taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd  # type: ignore[import-untyped]
from scipy.stats import t as t_distribution  # type: ignore[import-untyped]

from scoring.catalogue import Mistake
from scoring.cohort.answer_cells import handed_in
from scoring.cohort.frequent import MIDDLE_SEVERITY
from scoring.cohort.table import CohortTable
from scoring.evidence import CONFIDENCE, Estimate
from scoring.model import Station
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.binomial_intervals import profile_sd
from scoring.variation.odds import median_odds_ratio

PER = 100
"""Decisions to which risk is referred, so that it reads as a number beside per cent."""

LEAST_RISK_OPERATORS = 5
"""Fewer operators than this give no interval of a risk. A working judgement, no source."""

LEAST_MISTAKES = 30
"""A kind of mistake that was made less often is not looked at alone: who made it would be
mostly chance. A working judgement, no source."""

MOST_KINDS = 6
"""Kinds shown: those made most often. A working judgement; more tire the reader."""


@dataclass(frozen=True, slots=True)
class StepRisk:
    """Risk of one step.

    Attributes
    ----------
    station : Station
    weighted : Estimate or None
        Severity (1 to 4) of all mistakes, summed, per 100 decisions; n is operators. The
        interval is over operators. None without a decision.
    mistakes, decisions : int
        What it is made of.
    """

    station: Station
    weighted: Estimate | None
    mistakes: int
    decisions: int


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of mistake within a step.

    Attributes
    ----------
    topic : str
        As the catalogue calls it.
    mistakes, decisions : int
        Times made, and decisions at which it could be made.
    operators : int
        People who made it.
    odds_ratio : Estimate or None
        Median odds ratio between operators; None where too little is known.
    """

    topic: str
    mistakes: int
    decisions: int
    operators: int
    odds_ratio: Estimate | None


def step_risks(
    table: CohortTable, catalogue: Mapping[str, Mistake], severity: Mapping[str, int]
) -> tuple[StepRisk, ...]:
    """Return the risk of each step met, in the order of the work.

    Parameters
    ----------
    table : CohortTable
    catalogue : mapping of str to Mistake
    severity : mapping of str to int
        The site's own severities, which overrule the catalogue's.
    """
    whole = {**{name: entry.severity for name, entry in catalogue.items()}, **severity}
    made = table.mistakes[table.mistakes["at"].map(table.sittings["complete"]).astype(bool)]
    made = made.assign(severity=made["mistake"].map(whole).fillna(MIDDLE_SEVERITY))
    return tuple(_risk(table, station, made) for station in table.stations_met())


def _risk(table: CohortTable, station: Station, made: pd.DataFrame) -> StepRisk:
    rows = handed_in(table, station)
    decisions = rows.groupby("operator", observed=True)["assessed"].sum()
    own = made[made["station"] == station]
    weight = own.groupby("operator")["severity"].sum().reindex(decisions.index).fillna(0)
    found = _ratio(weight.to_numpy(dtype=float), decisions.to_numpy(dtype=float))
    return StepRisk(station, found, len(own), int(decisions.sum()))


def _ratio(
    above: npt.NDArray[np.float64],
    below: npt.NDArray[np.float64],
    confidence: float = CONFIDENCE,
) -> Estimate | None:
    """Return `PER` times the ratio of sums; one row an operator.

    The interval is that of a ratio estimated from clusters (Cochran WG (1977), Sampling
    Techniques, 3rd ed., chapter 6, from memory) with Student's t: one person's mistakes come
    together and are not counted as independent.
    """
    size, total = len(below), float(below.sum())
    if total == 0:
        return None
    ratio = float(above.sum()) / total
    if size < LEAST_RISK_OPERATORS or ratio == 0:
        return Estimate(PER * ratio, None, None, size, confidence)
    spread = float(np.sqrt(size / (size - 1) * np.sum((above - ratio * below) ** 2))) / total
    half = float(t_distribution.ppf(0.5 + confidence / 2, size - 1)) * spread
    return Estimate(
        PER * ratio, PER * max(0.0, ratio - half), PER * (ratio + half), size, confidence
    )


def kinds_within(
    table: CohortTable, station: Station, catalogue: Mapping[str, Mistake]
) -> tuple[Kind, ...]:
    """Return the kinds of mistake of one step made most, with how much each depends on who.

    A decision counts for a kind when anybody made a mistake of that kind at it.
    """
    made = table.mistakes[
        (table.mistakes["station"] == station)
        & table.mistakes["at"].map(table.sittings["complete"]).astype(bool)
    ]
    topics = {name: entry.topic for name, entry in catalogue.items()}
    made = made.assign(topic=made["mistake"].map(topics)).dropna(subset=["topic"])
    counted = made["topic"].value_counts()
    often = sorted(counted[counted >= LEAST_MISTAKES].items(), key=lambda pair: (-pair[1], pair[0]))
    rows = handed_in(table, station)
    sat = rows.groupby(["operator", "scenario"], observed=True).size().rename("sat").reset_index()
    return tuple(_kind(topic, made[made["topic"] == topic], sat) for topic, _ in often[:MOST_KINDS])


def _kind(topic: str, made: pd.DataFrame, sat: pd.DataFrame) -> Kind:
    places = made.drop_duplicates(["scenario", "decision"]).groupby("scenario").size()
    cells = sat.assign(trials=sat["sat"] * sat["scenario"].astype(str).map(places).fillna(0))
    cells = cells[cells["trials"] > 0]
    # Two mistakes of one kind at one decision are one wrong decision.
    once = made.drop_duplicates(["sitting", "scenario", "decision"])
    wrong = once.groupby(["operator", "scenario"]).size().rename("wrong").reset_index()
    merged = cells.astype({"operator": str, "scenario": str}).merge(
        wrong.astype({"operator": str, "scenario": str}), how="left", on=["operator", "scenario"]
    )
    events = merged["wrong"].fillna(0)
    fit = fit_binomial(
        events,
        merged["trials"],
        groups={"operator": merged["operator"], "scenario": merged["scenario"]}
        if merged["scenario"].nunique() > 1
        else {"operator": merged["operator"]},
        least_levels=2,
    )
    ratio = None
    if isinstance(fit, BinomialFit):
        sd = profile_sd(fit, "operator")
        ends = [None if end is None else median_odds_ratio(end**2) for end in (sd.low, sd.high)]
        ratio = Estimate(median_odds_ratio(sd.value**2), ends[0], ends[1], sd.n)
    return Kind(
        topic, len(once), int(merged["trials"].sum()), int(once["operator"].nunique()), ratio
    )
