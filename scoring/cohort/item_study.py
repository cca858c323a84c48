"""Every decision of the exams as a measuring tool: how hard, how telling, whether its key is right.

The figures come from the statistics of measurement; here they are put together over all
stations, and the share of false alarms is held over all decisions at once.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Literal

import numpy as np
import pandas as pd  # type: ignore[import-untyped]
from scipy.special import ndtr  # type: ignore[import-untyped]
from scipy.stats import ttest_ind  # type: ignore[import-untyped]

from scoring.cohort.first_answers import StationAnswers, levelled
from scoring.evidence import CONFIDENCE, Estimate, TooLittleEvidence
from scoring.measurement.differential import Differential, rasch_differential
from scoring.measurement.discrimination import below_zero
from scoring.measurement.distractors import OptionUse
from scoring.measurement.items import LEAST_PERSONS, TELLS_LITTLE, ItemFigures, item_analysis
from scoring.measurement.rasch import RaschFit, rasch
from scoring.measurement.rasch_fit import Fit, Residuals, item_fit, residuals
from scoring.model import Station
from scoring.variation.false_discovery import adjusted_p
from scoring.variation.proportion_intervals import proportion_interval

Code = Literal["key_suspect", "site", "too_hard", "misfit", "too_easy", "fine", "too_little"]

ACT_FIRST: tuple[Code, ...] = (
    "key_suspect", "site", "too_hard", "misfit", "too_easy", "fine", "too_little",
)  # fmt: skip
"""What needs action first: a wrong key fails the able and passes the unable."""

FALSE_ALARMS = 1 - CONFIDENCE
"""Part of the decisions named that may be named for nothing. The usual convention."""

FEWEST_CHOOSERS = 5
"""People who must have given a wrong answer before they are compared with those who gave the key:
two or three may be able by chance and alike by chance. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Item:
    """One decision.

    Attributes
    ----------
    station : Station
    scenario, decision : str
    critical : bool
    n : int
        People who answered it; each counts once, with the first answer.
    right : Estimate or TooLittleEvidence
        Share with full credit.
    mean_credit : float
    discrimination : Estimate or TooLittleEvidence
        Correlation with the rest of the station, which is made equally hard for everybody.
    rasch : Estimate or TooLittleEvidence
        Difficulty in logits; the middle person of the station at 0; above 0 is harder.
    error : float or None
        Its standard error.
    fit : Fit or TooLittleEvidence
    options : tuple of OptionUse
        What was answered, the most frequent first.
    preferred : tuple of str
        Answers that are not the key, given by at least 5 people who do better on the rest of the
        station, on average, than those who gave the key.
    probability : float
        Of answers so far out of order where nothing is wrong, adjusted for all decisions.
    sites : tuple of (str, Differential)
        Where the decision functions differently: site, and how it differs from all others.
    code : Code
    """

    station: Station
    scenario: str
    decision: str
    critical: bool
    n: int
    right: Estimate | TooLittleEvidence
    mean_credit: float
    discrimination: Estimate | TooLittleEvidence
    rasch: Estimate | TooLittleEvidence
    error: float | None
    fit: Fit | TooLittleEvidence
    options: tuple[OptionUse, ...]
    preferred: tuple[str, ...]
    probability: float
    sites: tuple[tuple[str, Differential], ...]
    code: Code

    @property
    def name(self) -> str:
        """Scenario and decision in one word."""
        return f"{self.scenario}/{self.decision}"


@dataclass(frozen=True)
class ItemStudy:
    """All decisions.

    Attributes
    ----------
    items : tuple of Item
        What needs action first; within that by how sure it is, then by name.
    scales : dict of Station to RaschFit or TooLittleEvidence
    sites : tuple of str
        Sites that were compared.
    not_compared : tuple of str
        Why sites were not compared, a sentence each.
    """

    items: tuple[Item, ...]
    scales: dict[Station, RaschFit | TooLittleEvidence]
    sites: tuple[str, ...]
    not_compared: tuple[str, ...]


def item_study(answers: Sequence[StationAnswers]) -> ItemStudy:
    """Return the figures of every decision that somebody answered.

    Parameters
    ----------
    answers : sequence of StationAnswers
        Of :func:`scoring.cohort.first_answers.first_answers`.

    Notes
    -----
    The probability is Bonferroni's over the signs of one decision, then Benjamini and
    Hochberg's over all decisions of all stations. The signs: weaker people do better
    (:func:`scoring.measurement.discrimination.below_zero`); abler people prefer one wrong answer
    to the key (t test with one variance, wrong answers of 5 people or more); right answers rise
    less with ability than at the other decisions (score test of an own slope in the Rasch model,
    whose deviates spread by 1.1 where nothing is wrong, not by 1). The last alone says that
    something is wrong; the key is suspected where also one of the other two points to it.
    """
    figures: list[tuple[StationAnswers, pd.DataFrame, ItemFigures]] = []
    scales: dict[Station, RaschFit | TooLittleEvidence] = {}
    fits: dict[str, Fit | TooLittleEvidence] = {}
    slopes: dict[str, float] = {}
    for part in answers:
        level = levelled(part.credit)
        figures += [(part, level, one) for one in _figures(part, level)]
        scales[part.station] = scale = rasch(part.right)
        if isinstance(scale, RaschFit):
            left = residuals(scale)
            fits |= {str(name): fit for name, fit in item_fit(left).items()}
            slopes |= _slopes(left)
    raw = [
        _out_of_order(part, level, one, slopes.get(str(one.item))) for part, level, one in figures
    ]
    judged = adjusted_p(raw) if raw else np.zeros(0)
    differ, sites, not_compared = _sites(answers)
    items = [
        _item(part, one, float(q), scales[part.station], fits, differ.get(str(one.item), ()))
        for (part, _, one), q in zip(figures, judged, strict=True)
    ]
    return ItemStudy(tuple(sorted(items, key=_urgent)), scales, sites, not_compared)


def _figures(part: StationAnswers, level: pd.DataFrame) -> list[ItemFigures]:
    keys = {item: _key(part, str(item)) for item in part.credit.columns}
    return item_analysis(level, choices=part.reason.to_numpy(dtype=object), keys=keys)


def _key(part: StationAnswers, item: str) -> list[Hashable]:
    """Return the answers that earn most: the key as the marks show it."""
    credit, reason = part.credit[item].dropna(), part.reason[item].dropna()
    best = credit.max()
    return sorted(set(reason[credit >= best - 1e-9]))


def _out_of_order(
    part: StationAnswers,
    level: pd.DataFrame,
    figures: ItemFigures,
    slope: float | None,
) -> float:
    found = figures.discrimination
    signs = [] if isinstance(found, TooLittleEvidence) else [below_zero(found)]
    signs += _preference(part, level, figures)
    if slope is not None:
        signs.append(float(ndtr(slope)))
    return min(1.0, len(signs) * min(signs)) if signs else 1.0


def _slopes(left: Residuals) -> dict[str, float]:
    """Return how far each item's slope is from the common one, as normal deviates."""
    found = {}
    for column, item in enumerate(left.items):
        there = ~np.isnan(left.residual[:, column])
        variance, ability = left.variance[there, column], left.ability[there]
        if variance.sum() > 0:
            off = ability - float((variance * ability).sum() / variance.sum())
            spread = float((variance * off**2).sum())
            if spread > 0:
                found[str(item)] = float((left.residual[there, column] * off).sum()) / spread**0.5
    return found


def _preference(part: StationAnswers, level: pd.DataFrame, figures: ItemFigures) -> list[float]:
    """Return, for each wrong answer of enough people, how likely so able choosers are by chance."""
    own = level[figures.item]
    others = level.count(axis=1) - own.notna()
    rest = (level.sum(axis=1) - own.fillna(0.0))[others > 0] / others[others > 0]
    answer = part.reason[figures.item].reindex(rest.index)
    by_key = rest[answer.isin([use.option for use in figures.options if use.key])]
    found = []
    for use in figures.options:
        chosen = rest[answer == use.option]
        enough = min(len(chosen), len(by_key)) >= FEWEST_CHOOSERS
        if not use.key and enough and np.ptp(np.concatenate([chosen, by_key])) > 0:
            found.append(float(ttest_ind(chosen, by_key, alternative="greater").pvalue))
    return found


def _item(
    part: StationAnswers,
    figures: ItemFigures,
    probability: float,
    scale: RaschFit | TooLittleEvidence,
    fits: dict[str, Fit | TooLittleEvidence],
    sites: tuple[tuple[str, Differential], ...],
) -> Item:
    name = str(figures.item)
    scenario, _, decision = name.partition("/")
    credit = part.credit[name].dropna()
    n = len(credit)
    right = proportion_interval(float((credit >= 1).sum()), n)
    place: Estimate | TooLittleEvidence
    fit: Fit | TooLittleEvidence
    if isinstance(scale, TooLittleEvidence):
        place, error, fit = scale, None, scale
    else:
        place = scale.of(name)
        error = None
        if name in scale.items:
            error = float(scale.standard_error[scale.items.index(name)])
        fit = fits.get(name, TooLittleEvidence("answers", "Too few answers for its fit.", n))
    preferred = tuple(
        str(use.option)
        for use in figures.options
        if not use.key and use.count >= FEWEST_CHOOSERS and _above(use)
    )
    return Item(
        station=part.station,
        scenario=scenario,
        decision=decision,
        critical=name in part.critical,
        n=n,
        right=right,
        mean_credit=float(credit.mean()),
        discrimination=figures.discrimination,
        rasch=place,
        error=error,
        fit=fit,
        options=tuple(sorted(figures.options, key=lambda use: (-use.count, str(use.option)))),
        preferred=preferred,
        probability=probability,
        sites=sites,
        code=_code(n, right, figures.discrimination, probability, sites, preferred),
    )


def _above(use: OptionUse) -> bool:
    return isinstance(use.better_than_key, Estimate) and use.better_than_key.value > 0


def _code(
    n: int,
    right: Estimate | TooLittleEvidence,
    discrimination: Estimate | TooLittleEvidence,
    probability: float,
    sites: tuple[tuple[str, Differential], ...],
    preferred: tuple[str, ...],
) -> Code:
    if n < LEAST_PERSONS or isinstance(right, TooLittleEvidence):
        return "too_little"
    backwards = isinstance(discrimination, Estimate) and discrimination.value < 0
    if probability <= FALSE_ALARMS and (preferred or backwards):
        return "key_suspect"
    if sites:
        return "site"
    if right.value == 0 or (right.high is not None and right.high < 1 - TELLS_LITTLE):
        return "too_hard"
    if right.value == 1 or (right.low is not None and right.low > TELLS_LITTLE):
        return "too_easy"
    if probability <= FALSE_ALARMS:
        return "misfit"
    return "too_little" if isinstance(discrimination, TooLittleEvidence) else "fine"


def _sites(
    answers: Sequence[StationAnswers],
) -> tuple[dict[str, tuple[tuple[str, Differential], ...]], tuple[str, ...], tuple[str, ...]]:
    """Compare each site with all others; only what is sure over all comparisons comes back."""
    sites = sorted(set(chain.from_iterable(part.site for part in answers)))
    if len(sites) < 2:
        return {}, tuple(sites), ("All answers are from one site, so sites are not compared.",)
    # Of two sites one comparison says both.
    compared = sites[1:] if len(sites) == 2 else sites
    found: list[tuple[str, Differential]] = []
    said: list[str] = []
    for part in answers:
        for site in compared:
            group = ["focal" if home == site else "others" for home in part.site]
            if len(set(group)) < 2:
                said.append(f"{part.station}: everybody or nobody is from {site}.")
                continue
            one = rasch_differential(part.right, group, reference="others")
            if isinstance(one, TooLittleEvidence):
                said.append(f"{part.station}, {site}: {one.said}")
                continue
            found += [(site, each) for each in one.values() if isinstance(each, Differential)]
    if not found:
        return {}, tuple(sites), tuple(said)
    sure = adjusted_p(np.array([each.p_value for _, each in found])) <= FALSE_ALARMS
    differ: dict[str, tuple[tuple[str, Differential], ...]] = {}
    for (site, each), is_sure in zip(found, sure, strict=True):
        if is_sure and each.category == "C":
            differ[str(each.item)] = (*differ.get(str(each.item), ()), (site, each))
    return differ, tuple(sites), tuple(said)


def _urgent(item: Item) -> tuple[int, float, str]:
    return ACT_FIRST.index(item.code), item.probability, item.name
