"""What the planted truth means on scales of its own: large invented populations, and other seeds.

A share of the score, a discrimination, a rater's share of "done" are not planted as such. So a
population far larger than any department goes through the same answering and marking.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
from scipy.special import expit  # type: ignore[import-untyped]

from sample_cohort.answering import Operator
from sample_cohort.circumstances import circumstances
from sample_cohort.observing import occasions
from sample_cohort.truth import BROKEN, STATIONS, Habit, normal
from scoring.checklist import Checklist
from scoring.evidence import TooLittleEvidence
from scoring.form import Form
from scoring.library import Library
from scoring.marking.credit import rule_of
from scoring.model import Station
from scoring.site import SiteValues
from scoring.variation.between import BetweenShare, between_share
from scoring.variation.binomial_intervals import profile_sd
from scoring.variation.two_way import lay_out
from tests.sample_cohort.recovery_data import (
    TRUTH,
    Data,
    Floats,
    chances,
    fitted,
    fixed_columns,
    planted_sd,
)

PEOPLE = 500
"""People of the population: the share of the score is then known to about four points."""

DAYS = 100
"""Days on which a person with a habit answers again: the effect is then known to about 0.1."""

SEEDS = tuple(range(2, 22))
"""Seeds of the departments beside the sample cohort's own, which is 1."""


@dataclass(frozen=True)
class Population:
    """One station answered by many people, who sit all forms.

    Attributes
    ----------
    share : BetweenShare
        Of the score, between operators.
    discrimination : dict of str to float
        Item-rest correlation of each decision (scenario/decision), right or wrong.
    """

    share: BetweenShare
    discrimination: dict[str, float]


def population(
    forms: Sequence[Form], library: Library, site: SiteValues, station: Station, seed: int
) -> Population:
    """Send people long in post through a station of all forms, the broken scenario too."""
    people = [Operator(f"POP-{number}", TRUTH, seed) for number in range(PEOPLE)]
    right: dict[str, Floats] = {}
    shares: list[Floats] = []
    names = []
    for form in forms:
        points, most = np.zeros(PEOPLE), 0.0
        for part in form.scenarios:
            marked = library.instance(part.id, site, part.seed or 0)
            if marked.scenario.station != station:
                continue
            met = library.instance(BROKEN.get(part.id, part.id), site, part.seed or 0)
            asked = {decision.id: decision for decision in met.scenario.decisions}
            for decision in marked.scenario.decisions:
                rule = rule_of(decision, marked)
                given = [one.answer(met, asked[decision.id], form.name) for one in people]
                credit = np.array([rule(value).credit for value in given])
                right.setdefault(f"{part.id}/{decision.id}", (credit == 1.0).astype(float))
                points += decision.weight * credit
                most += decision.weight
        if most:
            shares.append(points / most)
            names.append(form.name)
    codes = [one.code for _ in names for one in people]
    share = between_share(
        lay_out(codes, [name for name in names for _ in people], np.concatenate(shares).tolist())
    )
    if isinstance(share, TooLittleEvidence):
        raise AssertionError(share.said)
    total = np.sum(list(right.values()), axis=0)
    return Population(
        share,
        {item: float(np.corrcoef(one, total - one)[0, 1]) for item, one in right.items()},
    )


def written_done(
    checklists: Mapping[Station, Checklist], retrained: Collection[str], seed: int
) -> dict[str, float]:
    """Return the share of items that each rater would write as done, had each seen everything.

    People are as able as at the occasions of the plan but for what is drawn of them, which is
    replaced by the whole population (2,000 drawn).
    """
    others = np.array([normal(0, "other", str(k)) for k in range(2000)])
    done = []
    for one in occasions(checklists, TRUTH, seed):
        there = circumstances(one.operator, one.at, TRUTH, retrained)
        station = STATIONS[one.station]
        own = TRUTH.ability(seed, one.operator, one.station, there)
        own -= station.spread * normal(seed, "ability", one.operator, one.station)
        checklist = checklists[one.station]
        for item in checklist.items:
            hard = TRUTH.rating.item_spread * normal(seed, "item", checklist.id, item.id)
            at = own - hard + TRUTH.item_shift(item.mistakes, there)
            done.append(float(expit(at + station.spread * others).mean()))
    rate, sharp = float(np.mean(done)), TRUTH.rating.sharp
    return {
        rater: float(rate * expit(sharp + lenient) + (1 - rate) * expit(lenient - sharp))
        for rater, lenient in TRUTH.raters.items()
    }


def habit_effect(
    data: Data,
    habit: Habit,
    library: Library,
    sites: Mapping[str, SiteValues],
    forms: Sequence[Form],
) -> float:
    """Return what a habit takes from the log odds of a right answer, amounts and all.

    The person answers every decision of the topic on many days, with the habit and without.
    """
    place = data.answers.loc[data.answers["operator"] == habit.operator, "site"].iloc[0]
    odds = []
    for truth in (replace(TRUTH, habits=()), TRUTH):
        who = Operator(habit.operator, truth, data.seed)
        right = []
        for part in {part.id: part for form in forms for part in form.scenarios}.values():
            if part.id in BROKEN:
                continue
            instance = library.instance(part.id, sites[place], part.seed or 0)
            for decision in instance.scenario.decisions:
                if decision.topic == habit.topic:
                    rule = rule_of(decision, instance)
                    right += [
                        rule(who.answer(instance, decision, f"day-{day}")).credit == 1.0
                        for day in range(DAYS)
                    ]
        rate = float(np.mean(right))
        odds.append(np.log(rate / (1 - rate)))
    return float(odds[1] - odds[0])


@dataclass(frozen=True)
class Coverage:
    """How often intervals held the planted value over `SEEDS`.

    Attributes
    ----------
    held, tried : dict of str to int
        By what was planted.
    """

    held: dict[str, int]
    tried: dict[str, int]

    def share(self, *names: str) -> float:
        return sum(self.held[n] for n in names) / sum(self.tried[n] for n in names)


def over_seeds(data: Data) -> Coverage:
    """Draw right and wrong of the sample cohort's own plan anew, from the planted chances.

    People, difficulties and luck are drawn anew; who sits what when stays, and the retrained are
    again the twelve lowest before. Answers are drawn as right or wrong at once, without pages,
    logs and marking: those are the sample cohort's own way, tried on seed 1.
    """
    held: dict[str, int] = {}
    tried: dict[str, int] = {}

    def note(name: str, low: float | None, truth: float, high: float | None) -> None:
        tried[name] = tried.get(name, 0) + 1
        inside = (low is None or low <= truth) and (high is None or truth <= high)
        held[name] = held.get(name, 0) + inside

    parts: dict[Station, pd.DataFrame] = {}
    for station in STATIONS:
        rows = data.plain(station)
        parts[station] = rows.assign(centre=_centre(data, rows, station))
    for seed in SEEDS:
        rng = np.random.default_rng(seed)
        for station, rows in parts.items():
            drawn = _drawn(rows, station, rng)
            fit = fitted(drawn, fixed_columns(drawn, station))
            sd = profile_sd(fit, "operator")
            codes = sorted(set(rows["operator"]))
            note(f"sd {station}", sd.low, planted_sd(station, codes), sd.high)
            for name, truth in (
                ("lack", -TRUTH.learning.below),
                ("retrained", TRUTH.retraining.effect),
                ("night", TRUTH.shift_habit.by),
            ):
                if name in fit.names:
                    one = fit.coefficient(name)
                    note(name, one.low, truth, one.high)
    return Coverage(held, tried)


def _centre(data: Data, rows: pd.DataFrame, station: Station) -> Floats:
    """Return the planted log odds of each row without person, decision and retraining."""
    chance = chances(data, rows)
    centre: Floats = np.log(chance / (1 - chance))
    spread = STATIONS[station].spread
    own = {c: spread * normal(data.seed, "ability", c, station) for c in set(rows["operator"])}
    centre -= rows["operator"].map(own).to_numpy(dtype=float)
    centre += [
        TRUTH.difficulty(data.seed, scenario, decision)
        for scenario, decision in zip(rows["scenario"], rows["decision"], strict=True)
    ]
    if station == TRUTH.retraining.station:
        centre -= TRUTH.retraining.effect * rows["retrained"].to_numpy(dtype=float)
    return centre


def _drawn(rows: pd.DataFrame, station: Station, rng: np.random.Generator) -> pd.DataFrame:
    who, people = pd.factorize(rows["operator"], sort=True)
    item, items = pd.factorize(rows["item"], sort=True)
    odds = rows["centre"].to_numpy(dtype=float)
    odds = odds + STATIONS[station].spread * rng.standard_normal(len(people))[who]
    odds -= TRUTH.difficulty_spread * rng.standard_normal(len(items))[item]
    luck = rng.random(len(rows))
    if station != TRUTH.retraining.station:
        return rows.assign(right=(luck < expit(odds)).astype(float))
    training = TRUTH.retraining
    month = rows["day"].str[5:7].astype(int).to_numpy()
    first = training.day.month - training.months_before
    before = (month >= first) & (month < training.day.month)
    scored = pd.Series((luck < expit(odds)).astype(float))[before].groupby(who[before]).mean()
    chosen = scored.sort_values(kind="stable").index[: training.chosen]
    after = np.isin(who, chosen) & (month >= training.day.month)
    odds += training.effect * after
    return rows.assign(right=(luck < expit(odds)).astype(float), retrained=after.astype(float))
