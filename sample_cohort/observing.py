"""Observed stations of the invented year: who is watched when, by whom, and what is written."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sample_cohort.circumstances import circumstances
from sample_cohort.plan import MONTHS, ON_LEAVE, OPERATORS, PEOPLE, SITES, working_day
from sample_cohort.truth import Circumstances, Truth, normal
from scoring import KIT_VERSION
from scoring.checklist import Checklist
from scoring.cohort.invented import INVENTED
from scoring.instance import draw
from scoring.model import Station, digest
from scoring.observation import ItemRating, Observation
from scoring.records.observations import write_observation
from scoring.settings import Settings

TIMES_A_YEAR = 2
"""How often each person is watched at each station. An assumption."""

DOUBLE = 0.4
"""Part of the occasions that two raters watch at once. An assumption."""


def write_observations(
    settings: Settings,
    checklists: Mapping[Station, Checklist],
    retrained: Collection[str],
    seed: int,
    truth: Truth | None = None,
    progress: Callable[[int], None] | None = None,
) -> tuple[Path, ...]:
    """Write every observation of the invented year into the records.

    Writing again with the same arguments changes nothing.

    Parameters
    ----------
    settings : Settings
    checklists : mapping of Station to Checklist
        The stations that are watched.
    retrained : collection of str
        Who was chosen for the retraining, as
        :attr:`sample_cohort.generate.CohortSummary.retrained` says.
    seed : int
        The cohort's, at least 0.
    truth : Truth, optional
        The planted truth; the kit's own when left out.
    progress : callable, optional
        Called with the number of observations written so far.

    Returns
    -------
    tuple of Path
        One an observation, by operator, station and time.

    Raises
    ------
    FaultError
        An observation of the same id says something else, or cannot be written.
    """
    planted = truth or Truth()
    written: list[Path] = []
    for occasion in occasions(checklists, planted, seed):
        at = circumstances(occasion.operator, occasion.at, planted, retrained)
        for one in observed(occasion, checklists[occasion.station], planted, seed, at):
            written.append(write_observation(settings, one))
            if progress is not None:
                progress(len(written))
    return tuple(written)


@dataclass(frozen=True, slots=True)
class Occasion:
    """One person at one station of the sink, watched by one or two raters."""

    id: str
    operator: str
    station: Station
    at: datetime
    raters: tuple[str, ...]


def occasions(
    checklists: Mapping[Station, Checklist], truth: Truth, seed: int
) -> Iterator[Occasion]:
    """Give every occasion of the year, by operator, station and time.

    Parameters
    ----------
    checklists : mapping of Station to Checklist
        The stations that are watched.
    truth : Truth
    seed : int
    """
    raters = tuple(sorted(truth.raters))
    for rank, operator in enumerate(OPERATORS):
        since = PEOPLE[operator].since
        for order, station in enumerate(checklists):
            for time in range(TIMES_A_YEAR):
                between = MONTHS // TIMES_A_YEAR
                month = (rank + 2 * order) % between + time * between
                luck = (operator, station, str(time))
                day = working_day(month, 12 + int(draw(seed, "watched", *luck) * 6))
                at = day + timedelta(minutes=int(draw(seed, "watched at", *luck) * 420))
                if month in ON_LEAVE.get(operator, ()):
                    continue
                if since is not None and at.date() < since:
                    continue
                first = int(draw(seed, "rater", *luck) * len(raters))
                step = 1 + int(draw(seed, "second rater", *luck) * (len(raters) - 1))
                seen_by = [raters[first]]
                if draw(seed, "double", *luck) < DOUBLE:
                    seen_by.append(raters[(first + step) % len(raters)])
                name = f"{INVENTED}{station}-{operator.lower()}-{time + 1}"
                yield Occasion(name, operator, station, at, tuple(seen_by))


def observed(
    occasion: Occasion, checklist: Checklist, truth: Truth, seed: int, at: Circumstances
) -> Iterator[Observation]:
    """Give what each rater writes of one occasion.

    What the person does is drawn once for the occasion; each rater sees it with an own
    error, and a lenient one writes "done" more readily.

    Parameters
    ----------
    occasion : Occasion
    checklist : Checklist
    truth : Truth
    seed : int
    at : Circumstances
        The person's, on that day.
    """
    ability = truth.ability(seed, occasion.operator, occasion.station, at)
    done: dict[str, bool] = {}
    for item in checklist.items:
        hard = truth.rating.item_spread * normal(seed, "item", checklist.id, item.id)
        chance = _logistic(ability - hard + truth.item_shift(item.mistakes, at))
        done[item.id] = draw(seed, "does", occasion.id, item.id) < chance
    share = sum(done.values()) / len(done)
    for rater in occasion.raters:
        lenient = truth.raters[rater]
        noise = truth.rating.overall_noise * normal(seed, "overall", occasion.id, rater)
        grade = min(5, max(1, round(1 + 4 * share + lenient / 2 + noise)))
        yield Observation.model_validate(
            {
                "kit": KIT_VERSION,
                "id": f"{occasion.id}-{rater.lower()}",
                "occasion": occasion.id,
                "operator": occasion.operator,
                "rater": rater,
                "station": occasion.station,
                "checklist": checklist.id,
                "checklist_version": checklist.version,
                "checklist_digest": digest(checklist),
                "site": SITES[PEOPLE[occasion.operator].site],
                "at": occasion.at,
                "ratings": {
                    item: _rating(truth, seed, occasion.id, rater, item, was_done, lenient)
                    for item, was_done in done.items()
                },
                "overall": grade,
            }
        )


def _rating(
    truth: Truth, seed: int, occasion: str, rater: str, item: str, done: bool, lenient: float
) -> ItemRating:
    luck = (occasion, rater, item)
    if draw(seed, "unseen", *luck) < truth.rating.unseen:
        return "not_seen"
    chance = _logistic((truth.rating.sharp if done else -truth.rating.sharp) + lenient)
    return "done" if draw(seed, "writes", *luck) < chance else "not_done"


def _logistic(value: float) -> float:
    return 1.0 / (1.0 + math.exp(-value))
