"""Where the risk sits: the severity of the mistakes made, over the decisions taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd  # type: ignore[import-untyped]
from scipy.stats import t as t_distribution  # type: ignore[import-untyped]

from scoring.catalogue import Mistake
from scoring.cohort.answer_cells import by_operator, handed_in
from scoring.cohort.frequent import MIDDLE_SEVERITY
from scoring.cohort.sampled import fitted_rows
from scoring.cohort.table import CohortTable
from scoring.evidence import CONFIDENCE, Estimate
from scoring.model import Station
from scoring.variation.binomial import BinomialFit, fit_binomial
from scoring.variation.binomial_intervals import profile_sd
from scoring.variation.large_sample import is_large, large_sample_sd
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
    made = table.made
    names = made["mistake"].cat.categories
    weights = np.array([whole.get(str(name), MIDDLE_SEVERITY) for name in names], dtype=float)
    severe = weights[made["mistake"].cat.codes.to_numpy()] if len(names) else np.zeros(0)
    return tuple(_risk(table, station, made, severe) for station in table.stations_met())


def _risk(
    table: CohortTable, station: Station, made: pd.DataFrame, severe: npt.NDArray[np.float64]
) -> StepRisk:
    decisions = by_operator(handed_in(table, station))["assessed"]
    here = (made["station"] == station).to_numpy()
    operator = made["operator"].cat
    sums = np.bincount(operator.codes.to_numpy()[here], severe[here], len(operator.categories))
    weight = pd.Series(sums, index=operator.categories).reindex(decisions.index).fillna(0)
    found = _ratio(weight.to_numpy(dtype=float), decisions.to_numpy(dtype=float))
    return StepRisk(station, found, int(here.sum()), int(decisions.sum()))


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
    made = table.made
    made = made[made["station"] == station]
    names = made["mistake"].cat.categories
    topic = pd.Series(
        [entry.topic if (entry := catalogue.get(str(name))) else None for name in names],
        index=names,
        dtype=object,
    )
    times = pd.Series(np.bincount(made["mistake"].cat.codes, minlength=len(names)), index=names)
    counted = times.groupby(topic).sum()
    often = sorted(counted[counted >= LEAST_MISTAKES].items(), key=lambda pair: (-pair[1], pair[0]))
    rows = handed_in(table, station)
    return tuple(
        _kind(name, made[made["mistake"].isin(names[topic == name])], rows)
        for name, _ in often[:MOST_KINDS]
    )


def _kind(topic: str, made: pd.DataFrame, rows: pd.DataFrame) -> Kind:
    # Two mistakes of one kind at one decision are one wrong decision.
    once = made.drop_duplicates(["at", "scenario", "decision"])
    places = once.drop_duplicates(["scenario", "decision"])["scenario"].value_counts()
    whole = _wrong_of(once, rows, places)
    fitted = _wrong_of(once, fitted_rows(rows), places)
    fit = fit_binomial(
        fitted["wrong"],
        fitted["trials"],
        groups={"operator": fitted["operator"], "scenario": fitted["scenario"]}
        if fitted["scenario"].nunique() > 1
        else {"operator": fitted["operator"]},
        least_levels=2,
    )
    ratio = None
    if isinstance(fit, BinomialFit):
        sd = large_sample_sd(fit) if is_large(fit) else profile_sd(fit, "operator")
        ends = [None if end is None else median_odds_ratio(end**2) for end in (sd.low, sd.high)]
        ratio = Estimate(median_odds_ratio(sd.value**2), ends[0], ends[1], sd.n)
    return Kind(
        topic, len(once), int(whole["trials"].sum()), int(once["operator"].nunique()), ratio
    )


def _wrong_of(once: pd.DataFrame, rows: pd.DataFrame, places: pd.Series) -> pd.DataFrame:
    """Return the wrong decisions of one kind, and trials, of each operator at each scenario."""
    operator = rows["operator"].cat.remove_unused_categories()
    scenario = rows["scenario"].cat.remove_unused_categories()
    people, across = operator.cat.categories, scenario.cat.categories
    who = once["operator"].cat.set_categories(people).cat.codes.to_numpy(dtype=np.int64)
    what = once["scenario"].cat.set_categories(across).cat.codes.to_numpy(dtype=np.int64)
    known = (who >= 0) & (what >= 0)
    size = len(people) * len(across)
    wrong = np.bincount((who * len(across) + what)[known], minlength=size)
    sat = np.bincount(
        operator.cat.codes.to_numpy(dtype=np.int64) * len(across) + scenario.cat.codes,
        minlength=size,
    )
    trials = sat * np.tile(places.reindex(across).fillna(0).to_numpy(dtype=np.int64), len(people))
    met = np.flatnonzero(trials)
    return pd.DataFrame(
        {
            "operator": pd.Categorical.from_codes(met // len(across), categories=people),
            "scenario": pd.Categorical.from_codes(met % len(across), categories=across),
            "wrong": wrong[met],
            "trials": trials[met],
        }
    )
