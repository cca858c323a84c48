"""The exam forms as measuring tools: do they repeat themselves, are they equally hard."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
from scipy.special import ndtr, ndtri  # type: ignore[import-untyped]

from scoring.cohort.item_study import ItemStudy
from scoring.cohort.table import CohortTable
from scoring.evidence import CONFIDENCE, Estimate, TooLittleEvidence
from scoring.measurement.d_numbers import Needed, levels_needed
from scoring.measurement.d_study import d_study
from scoring.measurement.decision_consistency import DecisionConsistency, livingston_lewis
from scoring.measurement.equating import equal_cut
from scoring.measurement.generalizability import GStudy, g_study
from scoring.measurement.linking import CommonScale
from scoring.measurement.measurement_error import measurement_error
from scoring.measurement.rasch import RaschFit
from scoring.measurement.reliability import cronbach_alpha
from scoring.model import Station
from scoring.variation.false_discovery import adjusted_p

WANTED = 0.8
"""Dependability from which a score may decide about a person alone. Common practice for exams with
consequences (0.8), no source."""

MOST_SCENARIOS = 60
"""More scenarios of one step than this nobody can be asked to sit. A working judgement."""

SEED = 1
"""Of the simulated intervals of incomplete tables, so that the same data print the same page."""

SAMPLES = 400
"""Bootstrap samples of people; the ends of intervals then move by about a tenth of their width."""


@dataclass(frozen=True, slots=True)
class FormFigures:
    """One form.

    Attributes
    ----------
    form : str
    people, decisions : int
        People who answered every decision of it in their sitting that counts, and decisions.
    mean : float or None
        Mean share of points, 0 to 1.
    alpha : Estimate or TooLittleEvidence
        Of the points over all decisions.
    error : Estimate or TooLittleEvidence
        Standard error of measurement as a share of all points.
    kind : str
        How many decisions of each step: forms of one kind are parallel.
    base : str
        The form of its kind that it is compared with; its own name where it is that form.
    same_as : Estimate or TooLittleEvidence or None
        Share of decisions right on this form that asks as much as the cut on the base; None for
        the base.
    differs : bool
        Sure over all comparisons (false discovery rate 5 %).
    """

    form: str
    people: int
    decisions: int
    mean: float | None
    alpha: Estimate | TooLittleEvidence
    error: Estimate | TooLittleEvidence
    kind: str
    base: str
    same_as: Estimate | TooLittleEvidence | None
    differs: bool


@dataclass(frozen=True, slots=True)
class StationFigures:
    """What one scenario of a step tells of a person.

    Attributes
    ----------
    station : Station
    people, scenarios : int
    phi : Estimate or TooLittleEvidence
        Dependability of the score of one scenario, which is what a form holds.
    phi_all : Estimate or TooLittleEvidence
        Of the mean over all scenarios a person sat (rounded mean number).
    sat : int
        That number.
    needed : Needed or TooLittleEvidence
    decision : DecisionConsistency or TooLittleEvidence
        At the cut, for one scenario.
    wrong_pass : Estimate or TooLittleEvidence
        Of those who pass, the share that is below the cut in truth; the interval is the widest
        that the two figures behind it allow.
    """

    station: Station
    people: int
    scenarios: int
    phi: Estimate | TooLittleEvidence
    phi_all: Estimate | TooLittleEvidence
    sat: int
    needed: Needed | TooLittleEvidence
    decision: DecisionConsistency | TooLittleEvidence
    wrong_pass: Estimate | TooLittleEvidence


def form_figures(
    table: CohortTable, study: ItemStudy, cut: float | Mapping[str, float]
) -> tuple[FormFigures, ...]:
    """Return the figures of each form, by name.

    Parameters
    ----------
    table : CohortTable
    study : ItemStudy
        With the Rasch scales of the steps.
    cut : float or mapping of form to float
        Share of points that passes, above 0 and below 1.

    Notes
    -----
    Forms are compared through the Rasch difficulties of their decisions: whoever sat two
    forms, and every scenario that stands in both, ties them together. The scales of the
    steps are put side by side (the middle person of each step at 0). The standard error
    is that of the difficulties.
    """
    rows = table.decisions()
    rows = rows.assign(item=rows["scenario"].astype(str) + "/" + rows["decision"].astype(str))
    parts = {str(form): mine for form, mine in rows.groupby("form", sort=True)}
    kinds = {form: _kind(mine) for form, mine in parts.items()}
    bases: dict[str, str] = {}
    for form, kind in kinds.items():
        bases.setdefault(kind, form)
    scale = _one_scale(study)
    compared = {
        form: None if bases[kinds[form]] == form
        else _same_as(scale, parts[bases[kinds[form]]], mine, _cut(cut, form))
        for form, mine in parts.items()
    }  # fmt: skip
    sure = _sure({form: (one, _cut(cut, form)) for form, one in compared.items()})
    return tuple(
        _form(form, mine, kinds[form], bases[kinds[form]], compared[form], form in sure)
        for form, mine in parts.items()
    )


def _cut(cut: float | Mapping[str, float], form: str) -> float:
    return cut[form] if isinstance(cut, Mapping) else cut


def _kind(rows: pd.DataFrame) -> str:
    counts = rows.groupby("station")["item"].nunique()
    return ", ".join(f"{station} {number}" for station, number in counts.items())


def _form(
    form: str,
    rows: pd.DataFrame,
    kind: str,
    base: str,
    same_as: Estimate | TooLittleEvidence | None,
    differs: bool,
) -> FormFigures:
    answered = rows[rows["assessed"]]
    points = answered.pivot(index="sitting", columns="item", values="points").astype(float)
    whole = points.dropna()
    most = float(rows.drop_duplicates("item")["maximum"].sum())
    error = measurement_error(points)
    if isinstance(error, Estimate) and error.low is not None and error.high is not None:
        error = Estimate(error.value / most, error.low / most, error.high / most, error.n)
    return FormFigures(
        form=form,
        people=len(whole),
        decisions=points.shape[1],
        mean=float(whole.sum(axis=1).mean()) / most if len(whole) and most else None,
        alpha=cronbach_alpha(points),
        error=error,
        kind=kind,
        base=base,
        same_as=same_as,
        differs=differs,
    )


def _one_scale(study: ItemStudy) -> CommonScale | TooLittleEvidence:
    fits = [fit for fit in study.scales.values() if isinstance(fit, RaschFit)]
    if not fits:
        return TooLittleEvidence("scales", "No step has difficulties on a Rasch scale.")
    items = tuple(name for fit in fits for name in fit.items)
    covariance = np.zeros((len(items), len(items)))
    at = 0
    for fit in fits:
        end = at + len(fit.items)
        covariance[at:end, at:end] = fit.covariance
        at = end
    return CommonScale(
        items, np.concatenate([fit.difficulty for fit in fits]), covariance,
        max(fit.n for fit in fits),
    )  # fmt: skip


def _same_as(
    scale: CommonScale | TooLittleEvidence, base: pd.DataFrame, other: pd.DataFrame, cut: float
) -> Estimate | TooLittleEvidence:
    if isinstance(scale, TooLittleEvidence):
        return scale
    known = set(scale.items)
    sides = [sorted(set(rows["item"]) & known) for rows in (base, other)]
    lost = [rows["item"].nunique() - len(side) for rows, side in zip((base, other), sides,
                                                                     strict=True)]  # fmt: skip
    if sum(lost) or not all(sides):
        said = (
            f"Decisions of the two forms that have no difficulty: {sum(lost)}. "
            "They were never answered, or all answers were alike."
        )
        return TooLittleEvidence("difficulties", said)
    found = equal_cut(scale, sides[0], sides[1], cut * len(sides[0]))
    if isinstance(found, TooLittleEvidence):
        return found
    many, answer = len(sides[1]), found.cut
    low = None if answer.low is None else max(0.0, answer.low / many)
    high = None if answer.high is None else min(1.0, answer.high / many)
    return Estimate(answer.value / many, low, high, answer.n)


def _sure(compared: Mapping[str, tuple[Estimate | TooLittleEvidence | None, float]]) -> set[str]:
    from_z = []
    for form, (one, cut) in compared.items():
        if isinstance(one, Estimate) and one.low is not None and one.high is not None:
            error = (one.high - one.low) / 2 / float(ndtri((1 + CONFIDENCE) / 2))
            if error > 0:
                from_z.append((form, 2 * float(ndtr(-abs(one.value - cut) / error))))
    if not from_z:
        return set()
    adjusted = adjusted_p([p for _, p in from_z])
    return {form for (form, _), q in zip(from_z, adjusted, strict=True) if q <= 1 - CONFIDENCE}


def station_figures(table: CohortTable, cut: float) -> tuple[StationFigures, ...]:
    """Return, by step, how far a score holds for other scenarios, and how many are needed.

    Parameters
    ----------
    table : CohortTable
    cut : float
        Share of points that passes.

    Notes
    -----
    Person x scenario, first sitting of each pair. A step's verdict rests on one scenario,
    so Livingston and Lewis's figures take each person's first score at the step, and
    the dependability of one scenario as their reliability, known without error. People
    whom a critical mistake fails whatever their points are not taken out.
    """
    rows = table.scenarios
    done = table.sittings["complete"].to_numpy(dtype=bool)
    rows = rows[(rows["decisions"] > 0) & (rows["assessed"] == rows["decisions"])]
    rows = rows[done[rows["at"].to_numpy(dtype=int)]]
    rows = rows.assign(share=rows["points"] / rows["maximum"].where(rows["maximum"] > 0))
    when = table.sittings["started"].to_numpy()
    rows = rows.assign(started=when[rows["at"].to_numpy(dtype=int)]).sort_values(
        "started", kind="stable"
    )
    return tuple(
        _station(station, rows[rows["station"] == station], cut) for station in table.stations_met()
    )


def _station(station: Station, rows: pd.DataFrame, cut: float) -> StationFigures:
    first = rows.drop_duplicates(["operator", "scenario"]).dropna(subset=["share"])
    people, scenarios = first["operator"].nunique(), first["scenario"].nunique()
    sat = round(len(first) / people) if people else 0
    facets = {"p": first["operator"].tolist(), "s": first["scenario"].tolist()}
    study: GStudy | TooLittleEvidence
    if not people:
        study = TooLittleEvidence("sittings", "Nobody has finished this step.")
    else:
        study = g_study(first["share"].tolist(), facets, "p x s", seed=SEED)
    if isinstance(study, TooLittleEvidence):
        return StationFigures(station, people, scenarios, study, study, sat, study, study, study)
    phi = d_study(study, {"s": 1}).phi
    decision: DecisionConsistency | TooLittleEvidence
    if isinstance(phi, TooLittleEvidence):
        decision = phi
    elif not 0 < phi.value < 1:
        said = "People do not differ beyond chance at this step, so no share can be told."
        decision = TooLittleEvidence("reliability", said, people)
    else:
        scores = first.drop_duplicates("operator")["share"].to_numpy(dtype=float)
        decision = livingston_lewis(
            scores, cut, reliability=phi.value, maximum=1.0, samples=SAMPLES, seed=SEED
        )
    return StationFigures(
        station=station,
        people=people,
        scenarios=scenarios,
        phi=phi,
        phi_all=d_study(study, {"s": max(1, sat)}).phi,
        sat=sat,
        needed=levels_needed(study, "s", WANTED, most=MOST_SCENARIOS),
        decision=decision,
        wrong_pass=_wrong_pass(decision),
    )


def _wrong_pass(decision: DecisionConsistency | TooLittleEvidence) -> Estimate | TooLittleEvidence:
    if isinstance(decision, TooLittleEvidence):
        return decision
    wrong, passing = decision.false_pass, decision.passing
    if isinstance(wrong, TooLittleEvidence):
        return wrong
    if isinstance(passing, TooLittleEvidence):
        return passing
    if passing.value <= 0:
        return TooLittleEvidence("passes", "Nobody is expected to pass.", decision.n)
    share = min(1.0, wrong.value / passing.value)
    if wrong.low is None or wrong.high is None or not passing.low or not passing.high:
        return Estimate(share, None, None, decision.n)
    low, high = wrong.low / passing.high, min(1.0, wrong.high / passing.low)
    return Estimate(share, min(low, share), max(high, share), decision.n)
