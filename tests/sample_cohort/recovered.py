"""Every planted truth beside its estimate with interval, and beside what a plain figure would say.

The table of them is made by :mod:`tests.sample_cohort.recovery`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd  # type: ignore[import-untyped]

from sample_cohort.truth import BROKEN, STATIONS
from scoring.checklist import Checklist
from scoring.cohort.first_answers import first_answers
from scoring.cohort.item_study import Item, item_study
from scoring.cohort.observed import observed_items, observed_totals
from scoring.cohort.step_variation import likeliest_to_vary_most
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.form import Form
from scoring.library import Library
from scoring.measurement.rater_severity import rater_severity
from scoring.measurement.severity import RaterSeverity
from scoring.model import Station
from scoring.site import SiteValues
from scoring.variation.adjusted_rates import OperatorRates, Verdict, adjusted_rates
from scoring.variation.between import BetweenShare, between_share
from scoring.variation.binomial_intervals import profile_sd
from scoring.variation.detection_between import DetectionBetween, detection_between
from scoring.variation.learning import LearningCurve, learning_curve
from scoring.variation.retraining import RetrainingEffect, retraining_effect
from scoring.variation.two_way import TwoWay, lay_out
from tests.sample_cohort.recovery_data import (
    TRUTH,
    Data,
    Floats,
    chances,
    drawn_sd,
    fitted,
    fixed_columns,
    planted_sd,
)
from tests.sample_cohort.recovery_population import habit_effect, population, written_done

LIMIT = 0.4
"""Highest rate of wrong decisions for the verdict on operators: an assumption of this comparison,
between the middle operator (about 0.3) and the two worse."""

MOST_MONTHS = 24.0
"""Months in post from which everybody counts as long in post, as on the manager's page."""

WORST = 5
"""How many of a ranking a plain reader looks at. An assumption."""


@dataclass(frozen=True, slots=True)
class Found:
    """One truth.

    Attributes
    ----------
    what : str
    planted : float
        On the scale of `estimate`.
    estimate : Estimate
    naive : str
        What a plain figure says.
    """

    what: str
    planted: float
    estimate: Estimate
    naive: str

    @property
    def held(self) -> bool:
        """Whether the interval holds the planted value."""
        one = self.estimate
        return (one.low is None or one.low <= self.planted) and (
            one.high is None or self.planted <= one.high
        )


@dataclass(frozen=True)
class Recovery:
    """All of it.

    Attributes
    ----------
    found : dict of str to Found
        By a short name.
    rates : OperatorRates
        Against `LIMIT`, everybody as one who has learnt.
    true_rates : Series
        The planted ones, by code.
    raw_rates : Series
        Wrong over answered, by code.
    most : dict of Station to float
        Probability of being the step that depends most on who.
    suspects : tuple of str
        Decisions of all stations whose key the item study suspects.
    items : int
        Decisions it looked at.
    shares : dict of Station to BetweenShare
    """

    found: dict[str, Found]
    rates: OperatorRates
    true_rates: pd.Series
    raw_rates: pd.Series
    most: Mapping[Station, float]
    suspects: tuple[str, ...]
    items: int
    shares: Mapping[Station, BetweenShare]


def recover(
    data: Data,
    forms: Sequence[Form],
    library: Library,
    sites: Mapping[str, SiteValues],
    checklists: Mapping[Station, Checklist],
) -> Recovery:
    """Work everything out, for the seed of the data."""
    brush = TRUTH.retraining.station
    layouts = {station: _layout(data, station) for station in STATIONS}
    shares = {
        station: share
        for station, layout in layouts.items()
        for share in [between_share(layout)]
        if isinstance(share, BetweenShare)
    }
    many = population(forms, library, sites["Ostrevale"], brush, data.seed)
    items = item_study(first_answers(data.table)).items
    found = dict(_spreads(data))
    found["share"] = _share(data, shares[brush], many.share.share)
    rates, true, raw = operator_rates(data)
    for code in sorted(TRUTH.worse):
        one = next(one for one in rates.operators if one.operator == code)
        place = int((raw > raw[code]).sum()) + 1
        found[code] = Found(
            f"{code}, worse everywhere: rate of wrong decisions",
            float(true[code]),
            Estimate(one.rate, one.low, one.high, one.answers, rates.confidence),
            f"raw {raw[code]:.2f}, place {place} from the worst",
        )
    found["learning"] = _learning(data)
    found["night"] = _night(data)
    found["retraining"] = _retraining(data)
    found["key"] = _key(data, items, many.discrimination)
    found["lenient"] = _lenient(data, checklists)
    found |= dict(_looking(data))
    for habit in TRUTH.habits:
        planted = habit_effect(data, habit, library, sites, forms)
        rows = data.answers
        rows = rows[rows["topic"] == habit.topic]
        own = (rows["operator"] == habit.operator).to_numpy()
        fit = fitted(rows, {"lack": rows["lack"].tolist(), "habit": own.astype(float).tolist()})
        everything = data.answers.groupby("operator")["right"].mean().rank()
        found[habit.operator] = Found(
            f"{habit.operator} {habit.said}: log odds at {habit.topic}",
            planted,
            fit.coefficient("habit"),
            f"over all decisions place {everything[habit.operator]:.0f} of {len(everything)} from "
            "the worst",
        )
    suspects = tuple(one.name for one in items if one.code == "key_suspect")
    most = likeliest_to_vary_most(layouts)
    return Recovery(found, rates, true, raw, most, suspects, len(items), shares)


def _layout(data: Data, station: Station) -> TwoWay:
    rows = data.table.finished(station)
    return lay_out(rows["operator"].tolist(), rows["form"].tolist(), rows["share"].tolist())


def _spreads(data: Data) -> Iterator[tuple[str, Found]]:
    for station in STATIONS:
        rows = data.plain(station)
        sd = profile_sd(fitted(rows, fixed_columns(rows, station)), "operator")
        by = rows.groupby("operator")["right"].agg(["sum", "count"])
        # Half an answer of each kind keeps those who were always right finite.
        odds = np.log((by["sum"] + 0.5) / (by["count"] - by["sum"] + 0.5))
        planted = planted_sd(station, sorted(set(rows["operator"])))
        yield (
            f"sd {station}",
            Found(
                f"{station}: sd between operators, log odds",
                planted,
                sd,
                f"sd of raw log odds {odds.std(ddof=1):.2f} (drawn here: "
                f"{drawn_sd(data, station):.2f})",
            ),
        )


def _share(data: Data, share: BetweenShare, planted: float) -> Found:
    means = data.table.finished("brush").groupby("operator")["share"].mean()
    return Found(
        "brush: share of the score's variance between operators",
        planted,
        Estimate(share.share, share.low, share.high, share.operators, share.confidence),
        f"sd of operators' means {100 * means.std(ddof=1):.0f} points, no share and no interval",
    )


def operator_rates(data: Data) -> tuple[OperatorRates, pd.Series, pd.Series]:
    """Return adjusted rates against `LIMIT`, the planted ones, and the raw ones.

    All are of wrong decisions at all stations together. Adjusted and planted ones are those of
    somebody who has learnt; raw ones know nothing of that.
    """
    rows = data.plain()
    fit = fitted(rows, {"lack": rows["lack"].tolist()})
    rates = adjusted_rates(fit, LIMIT, at={"lack": 0.0})
    odds = np.log(1 / (1 / chances(data, rows) - 1)) + TRUTH.learning.below * rows["lack"]
    wrong = 1 / (1 + np.exp(odds))
    return (
        rates,
        wrong.groupby(rows["operator"]).mean(),
        1 - rows.groupby("operator")["right"].mean(),
    )


def _learning(data: Data) -> Found:
    rows = data.plain()
    curve = learning_curve(
        rows["right"].to_numpy(),
        np.ones(len(rows)),
        practice=np.minimum(rows["months"].to_numpy(), MOST_MONTHS),
        operators=rows["operator"].tolist(),
        scenarios=rows["item"].tolist(),
    )
    assert isinstance(curve, LearningCurve)
    new = rows[rows["months"] < MOST_MONTHS]
    old = rows[rows["months"] >= MOST_MONTHS]
    gap = 100 * (old["right"].mean() - new["right"].mean())
    return Found(
        "new starters: log odds gained with time in post",
        TRUTH.learning.below * (1 - float(np.exp(-MOST_MONTHS / TRUTH.learning.months))),
        curve.change,
        f"over the year {gap:.0f} right in 100 fewer than the others, as if they were all alike",
    )


def _night(data: Data) -> Found:
    habit = TRUTH.shift_habit
    rows = data.plain("rinse")
    fit = fitted(rows, fixed_columns(rows, "rinse"))
    everything = data.plain()
    here = (everything["site"] == habit.site) & (everything["shift"] == habit.shift)
    one, others = (100 * everything[part]["right"].mean() for part in (here, ~here))
    return Found(
        f"{habit.site}, {habit.shift}: log odds at {habit.topic}",
        habit.by,
        fit.coefficient("night"),
        f"over all decisions {one:.0f} right in 100, all others {others:.0f}",
    )


def _retraining(data: Data) -> Found:
    training = TRUTH.retraining
    rows = data.plain(training.station)
    effect = retraining_effect(
        rows["right"].to_numpy(),
        np.ones(len(rows)),
        operators=rows["operator"].tolist(),
        scenarios=rows["item"].tolist(),
        times=rows["day"].str[5:7].astype(float).to_numpy(),
        retrained=data.retrained,
        at=float(training.day.month),
        seed=1,
        fixed={"lack": rows["lack"].tolist()},
    )
    assert isinstance(effect, RetrainingEffect)
    assert isinstance(effect.chance_alone, Estimate)
    return Found(
        "retraining in brushing: log odds",
        training.effect,
        effect.effect,
        f"after less before {effect.naive.value:+.0f} right in 100; with no retraining at all "
        f"{effect.chance_alone.value:+.0f} was to be expected",
    )


def _key(data: Data, items: Sequence[Item], planted: Mapping[str, float]) -> Found:
    (broken,) = BROKEN
    item = f"{broken}/lever-spring"
    discrimination = next(one for one in items if one.name == item).discrimination
    assert isinstance(discrimination, Estimate)
    rows = data.answers[data.answers["station"] == "brush"]
    with_it = 100 * rows["right"].mean()
    without = 100 * rows[rows["item"] != item]["right"].mean()
    return Found(
        f"wrong key ({item}): correlation with the other decisions",
        planted[item],
        discrimination,
        f"right at brushing {with_it:.1f} in 100 with it, {without:.1f} without",
    )


def _lenient(data: Data, checklists: Mapping[Station, Checklist]) -> Found:
    watched = observed_totals(data.observations).dropna(subset=["share"])
    study = rater_severity(
        watched["share"].to_numpy(), watched["rater"].tolist(), watched["occasion"].tolist()
    )
    assert not isinstance(study, TooLittleEvidence)
    lenient = max(TRUTH.raters, key=lambda rater: TRUTH.raters[rater])
    one = study.raters[lenient]
    assert isinstance(one, RaterSeverity)
    low, high = one.severity.low, one.severity.high
    assert low is not None
    assert high is not None
    # Against the mean of the others, not of all: one in four pulls the mean of all along.
    by = -len(study.raters) / (len(study.raters) - 1)
    written = written_done(checklists, data.retrained, data.seed)
    others = float(np.mean([share for rater, share in written.items() if rater != lenient]))
    return Found(
        f"{lenient}, lenient: share of items written as done, less the others'",
        written[lenient] - others,
        Estimate(
            by * one.severity.value, by * high, by * low, one.severity.n, one.severity.confidence
        ),
        f"{100 * same_rating(data):.0f} % of double ratings agree over all assessors",
    )


def same_rating(data: Data) -> float:
    """Return the share of items on which two assessors of one occasion wrote the same."""
    seen = observed_items(data.observations).dropna(subset=["done"])
    pairs = seen.groupby(["occasion", "item"])["done"].agg(["count", "min", "max"])
    pairs = pairs[pairs["count"] == 2]
    return float((pairs["min"] == pairs["max"]).mean())


def _looking(data: Data) -> Iterator[tuple[str, Found]]:
    rows = data.table.scenarios
    rows = rows[(rows["station"] == "inspect") & (rows["assessed"] > 0)]
    seen = ["hits", "misses", "false_alarms", "correct_rejections"]
    people = rows.groupby("operator", observed=True)[seen].sum()
    study = detection_between(
        people["hits"],
        people["misses"],
        people["false_alarms"],
        people["correct_rejections"],
        list(people.index),
    )
    assert isinstance(study, DetectionBetween)
    looking = TRUTH.looking
    lack = data.plain("inspect").groupby("operator")["lack"].mean().reindex(people.index)
    worse = np.array([TRUTH.worse.get(code, 0.0) for code in people.index])
    shift: Floats = worse - TRUTH.learning.below * lack.to_numpy()
    sd = looking.slope * float(np.sqrt(STATIONS["inspect"].spread ** 2 + shift.var()))
    own = [TRUTH.ability(data.seed, code, "inspect") for code in people.index]
    drawn = looking.slope * float(np.std(own - TRUTH.learning.below * lack.to_numpy(), ddof=1))
    hits = 100 * people["hits"].sum() / (people["hits"].sum() + people["misses"].sum())
    alarms = people["false_alarms"].sum()
    alarms = 100 * alarms / (alarms + people["correct_rejections"].sum())
    yield (
        "d'",
        Found(
            "inspection: mean d' of all operators",
            looking.dprime + looking.slope * float(shift.mean()),
            study.d_prime_mean,
            f"{hits:.0f} % of soiled places found and {alarms:.0f} % of clean ones marked: two "
            "figures that caution moves both",
        ),
    )
    yield (
        "caution",
        Found("inspection: mean caution", looking.caution, study.criterion_mean, "not to be seen"),
    )
    yield (
        "d' sd",
        Found(
            "inspection: sd of d' between operators", sd, study.d_prime_sd,
            f"sd of raw d' {study.raw_d_prime_sd:.2f} (drawn here: {drawn:.2f})",
        ),
    )  # fmt: skip


def truly_worst(found: Recovery) -> tuple[int, int]:
    """Return how many of the `WORST` raw and adjusted rates are truly among the `WORST`."""
    true = set(found.true_rates.nlargest(WORST).index)
    adjusted = pd.Series({one.operator: one.rate for one in found.rates.operators})
    return (
        len(true & set(found.raw_rates.nlargest(WORST).index)),
        len(true & set(adjusted.nlargest(WORST).index)),
    )


def flagged(found: Recovery) -> tuple[str, ...]:
    """Return the codes of whom the evidence says that they are above `LIMIT`."""
    return tuple(o.operator for o in found.rates.operators if o.verdict is Verdict.WORSE)


def covered(found: Recovery) -> int:
    """Return of how many operators the interval holds the planted rate."""
    return sum(o.low <= found.true_rates[o.operator] <= o.high for o in found.rates.operators)
