"""Who practises what: the plan, and at each step whether everybody or only some should."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd  # type: ignore[import-untyped]

from scoring.catalogue import Mistake
from scoring.cohort.answer_cells import answer_cells, by_operator, handed_in
from scoring.cohort.frequent import MIDDLE_SEVERITY
from scoring.cohort.step_variation import StepVariation
from scoring.cohort.table import CohortTable
from scoring.model import Station
from scoring.variation.practice_plan import PracticePlan, practice_plan

By = Literal["everybody", "some", "both", "nobody", "unknown"]

NAMED = 2
"""Mistakes named for each scenario: those made most often. A working judgement."""

MOST_TOGETHER = 3
"""Scenarios of one step that everybody practises. A working judgement, no source."""

MOST_PLANNED = 500
"""Operators up to whom a plan is made for all of them; of more, only for those whose raw rate
of wrong decisions is highest, since nobody reads a longer plan. A working judgement."""


@dataclass(frozen=True, slots=True)
class Together:
    """One scenario that everybody practises.

    Attributes
    ----------
    scenario : str
    station : Station
    wrong, answers : int
        Decisions of all operators.
    severity : float
        Mean of the mistakes made at it.
    """

    scenario: str
    station: Station
    wrong: int
    answers: int
    severity: float


@dataclass(frozen=True, slots=True)
class Practice:
    """The plan of a cohort.

    Attributes
    ----------
    together : tuple of Together
        What everybody practises, most risk first, at most `MOST_TOGETHER` a step.
    plan : PracticePlan
        Who practises what of the other steps.
    station : dict of str to Station
        Step of each scenario.
    texts : dict of str to tuple of str
        Its most frequent mistakes in words, the most frequent first.
    people : int
        Operators planned for; fewer than there are in a large cohort.
    """

    together: tuple[Together, ...]
    plan: PracticePlan
    station: dict[str, Station]
    texts: dict[str, tuple[str, ...]]
    people: int


def practice(
    table: CohortTable,
    catalogue: Mapping[str, Mistake],
    severity: Mapping[str, int],
    everybody: Collection[Station] = (),
) -> Practice:
    """Return the plan of a cohort.

    Parameters
    ----------
    table : CohortTable
    catalogue : mapping of str to Mistake
    severity : mapping of str to int
        The site's own severities.
    everybody : collection of Station
        Steps that everybody practises; nobody is named for them.

    Notes
    -----
    The severity of a scenario is the mean of the mistakes that were made at it.
    """
    rows = handed_in(table)
    first = rows.drop_duplicates("scenario")
    station = {
        str(name): place for name, place in zip(first["scenario"], first["station"], strict=True)
    }
    made = table.made
    whole = {**{name: entry.severity for name, entry in catalogue.items()}, **severity}
    times = made.groupby(["scenario", "mistake"], observed=True, sort=False).size()
    times = times.rename("times").reset_index().astype({"scenario": str, "mistake": str})
    weights = times["mistake"].map(whole).fillna(MIDDLE_SEVERITY).astype(float) * times["times"]
    sums = pd.DataFrame({"weight": weights, "times": times["times"]}).groupby(times["scenario"])
    mean = {name: sum_.weight / sum_.times for name, sum_ in sums.sum().iterrows()}
    times = times.sort_values(["times", "mistake"], ascending=[False, True], kind="stable")
    ids = {name: tuple(some["mistake"]) for name, some in times.groupby("scenario")}
    weight = {str(name): round(mean.get(name, MIDDLE_SEVERITY), 1) for name in station}
    apart = rows["station"].isin(list(everybody))
    kept = _kept(answer_cells(rows[~apart]))
    scenarios = sorted(str(name) for name, place in station.items() if place not in everybody)
    plan = practice_plan(
        kept["right"].to_numpy(),
        kept["assessed"].to_numpy(),
        operators=kept["operator"].tolist(),
        scenarios=kept["scenario"].tolist(),
        severities={name: weight[name] for name in scenarios},
        mistakes=ids,
    )
    return Practice(
        together=_together(rows[apart], weight),
        plan=plan,
        station={str(name): place for name, place in station.items()},
        texts={
            name: tuple(
                catalogue[one].mistake if one in catalogue else one for one in found[:NAMED]
            )
            for name, found in ids.items()
        },
        people=int(kept["operator"].nunique()),
    )


def _together(rows: pd.DataFrame, severity: Mapping[str, float]) -> tuple[Together, ...]:
    summed = rows.groupby(["station", "scenario"], observed=True)[["assessed", "right"]].sum()
    every = [
        Together(str(scenario), station, int(n - right), int(n), severity[str(scenario)])
        for (station, scenario), n, right in zip(
            summed.index, summed["assessed"], summed["right"], strict=True
        )
        if n > right
    ]
    every.sort(key=lambda one: (-one.severity * one.wrong / one.answers, one.scenario))
    seen: dict[Station, int] = {}
    kept = []
    for one in every:
        seen[one.station] = seen.get(one.station, 0) + 1
        if seen[one.station] <= MOST_TOGETHER:
            kept.append(one)
    return tuple(kept)


def _kept(cells: pd.DataFrame) -> pd.DataFrame:
    people = by_operator(cells)
    if len(people) <= MOST_PLANNED:
        return cells
    share = (people["right"] / people["assessed"]).sort_values(kind="stable")
    return cells[cells["operator"].isin(share.index[:MOST_PLANNED])]


def for_everybody(steps: Sequence[StepVariation], limit: float | None) -> tuple[Station, ...]:
    """Return the steps that everybody practises."""
    return tuple(step.station for step in steps if by_whom(step, limit) == "everybody")


def by_whom(step: StepVariation, limit: float | None) -> By:
    """Return who should practise a step.

    Even a strong operator above the limit: everybody. A strong one below and a weak one
    above: some. Both where the strong one's interval holds the limit.
    """
    if step.range is None or limit is None:
        return "unknown"
    strong, weak = step.range.lower, step.range.upper
    if weak.value <= limit:
        return "nobody"
    if strong.low is not None and strong.high is not None and strong.low <= limit <= strong.high:
        return "both"
    return "everybody" if strong.value > limit else "some"


def risk_by_step(practice: Practice, steps: Sequence[StepVariation]) -> dict[Station, float]:
    """Return each step's share of what the plan is expected to take away, 0 to 1."""
    sums = {step.station: 0.0 for step in steps}
    for line in practice.plan.lines:
        sums[practice.station[line.scenario]] += line.reduction
    total = float(np.sum(list(sums.values())))
    return {station: value / total if total else 0.0 for station, value in sums.items()}
