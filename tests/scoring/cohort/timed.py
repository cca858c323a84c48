"""Cohorts of any size as tables, with months, sites, shifts and chosen rates, for the tests."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd  # type: ignore[import-untyped]

from scoring.cohort.table import (
    MISTAKE_COLUMNS,
    SCENARIO_COLUMNS,
    SITTING_COLUMNS,
    STATION_COLUMNS,
    CohortTable,
)
from scoring.model import Station

DECISIONS = 5
KIND: dict[Station, tuple[str, ...]] = {
    "ready": ("M01", "M05", "M06", "M11", "M14"),
    "soak": ("M20", "M21", "M22", "M24", "M26"),
    "brush": ("M40", "M41", "M44", "M47", "M50"),
    "rinse": ("M63", "M60", "M65", "M67", "M69"),
    "inspect": ("M70", "M72", "M74", "M75", "M76"),
}
"""Which mistake a wrong answer to each of a scenario's decisions is."""


@dataclass
class Timed:
    """A cohort in the making: one sitting a month, a scenario of each station in each.

    `habit` adds to the log odds of a wrong answer to the first decision at one place and
    station; `learn` is what somebody new lacks at the start, fading by e in three months.
    """

    operators: int = 24
    months: Sequence[int] = tuple(range(12))
    places: Sequence[tuple[str, str]] = (
        ("North", "early"), ("North", "night"), ("South", "early"), ("South", "night"),
    )  # fmt: skip
    stations: Sequence[Station] = ("soak", "brush", "rinse")
    level: float = -1.0
    spread: float = 0.5
    pool: int = 3
    seed: int = 1
    habit: tuple[tuple[str, str], Station, float] | None = None
    new: int = 0
    learn: float = 2.0
    worse_month: tuple[int, Station, float] | None = None
    harder_month: tuple[int, float] | None = None
    since_known: bool = True
    scenarios_by_month: bool = False
    wrong: float | None = None
    away: Sequence[int] = field(default_factory=tuple)
    forget: float = 0.0

    def table(self) -> CohortTable:
        rng = np.random.default_rng(self.seed)
        who, when, step = (
            part.ravel()
            for part in np.meshgrid(
                np.arange(self.operators),
                np.arange(len(self.months)),
                np.arange(len(self.stations)),
                indexing="ij",
            )
        )
        month = np.asarray(self.months)[when]
        turn = (month if self.scenarios_by_month else (who + month)) % max(
            self.pool, len(self.months) if self.scenarios_by_month else 1
        )
        hard = 0.6 * rng.normal(size=(len(self.stations), int(turn.max(initial=0)) + 1))
        if self.harder_month is not None:
            hard[:, self.harder_month[0]] += self.harder_month[1]
        place = who % len(self.places)
        in_post = np.where(who < self.new, 0.5, 40.0) + month
        logit = (
            self.level
            + self.spread * rng.normal(size=(self.operators, len(self.stations)))[who, step]
            + hard[step, turn]
            + np.where(who < self.new, self.learn * np.exp(-in_post / 3.0), 0.0)
        )
        if self.worse_month is not None:
            at, station, by = self.worse_month
            logit += by * ((month == at) & (step == list(self.stations).index(station)))
        if self.forget:
            gap = np.diff(np.asarray(self.months), prepend=self.months[0])[when]
            logit += self.forget * gap
        each = np.repeat(logit[:, None], DECISIONS, axis=1)
        if self.habit is not None:
            there, station, by = self.habit
            mine = place == list(self.places).index(there)
            each[mine & (step == list(self.stations).index(station)), 0] += by
        chance = 1 / (1 + np.exp(-each)) if self.wrong is None else np.full_like(each, self.wrong)
        wrong = rng.random(each.shape) < chance
        return self._frames(who, when, month, step, turn, place, in_post, wrong)

    def _frames(
        self,
        who: npt.NDArray[np.int64],
        when: npt.NDArray[np.int64],
        month: npt.NDArray[np.int64],
        step: npt.NDArray[np.int64],
        turn: npt.NDArray[np.int64],
        place: npt.NDArray[np.int64],
        in_post: npt.NDArray[np.float64],
        wrong: npt.NDArray[np.bool_],
    ) -> CohortTable:
        codes = np.array([f"OP-{number + 1:04d}" for number in range(self.operators)], dtype=object)
        at = who * len(self.months) + when
        first = np.flatnonzero(step == 0)
        named = [f"{2024 + m // 12:04d}-{m % 12 + 1:02d}" for m in self.months]
        days = np.array([f"{name}-15" for name in named], dtype=object)
        sat = pd.DataFrame(
            {
                "sitting": [f"s{number}" for number in range(len(first))],
                "operator": codes[who[first]],
                "form": "form_v1",
                "site": np.array([site for site, _ in self.places], dtype=object)[place[first]],
                "shift": np.array([shift for _, shift in self.places], dtype=object)[place[first]],
                "started": pd.to_datetime(pd.Series(days[when[first]]), utc=True),
                "day": days[when[first]],
                "month": np.array(named, dtype=object)[when[first]],
                "months_in_post": in_post[first] if self.since_known else np.nan,
                "complete": True,
            }
        )[list(SITTING_COLUMNS)]
        stations = np.array(self.stations, dtype=object)
        names = np.array(
            [f"{station}-{number:02d}" for station in self.stations
             for number in range(int(turn.max(initial=0)) + 1)], dtype=object,
        )  # fmt: skip
        scenario = names[step * (int(turn.max(initial=0)) + 1) + turn]
        rows = {"sitting": sat["sitting"].to_numpy()[at], "operator": codes[who], "form": "form_v1",
                "at": at, "scenario": scenario, "station": stations[step]}  # fmt: skip
        right = DECISIONS - wrong.sum(axis=1)
        scenarios = pd.DataFrame(
            dict.fromkeys(SCENARIO_COLUMNS, 0)
            | rows
            | {"decisions": DECISIONS, "assessed": DECISIONS, "right": right}
        )[list(SCENARIO_COLUMNS)]
        row, decision = np.nonzero(wrong)
        kinds = np.array([KIND[station] for station in self.stations], dtype=object)
        mistakes = pd.DataFrame(
            {name: values[row] if isinstance(values, np.ndarray) else values
             for name, values in rows.items()}
            | {"decision": np.array([f"d{k}" for k in range(DECISIONS)], dtype=object)[decision],
               "mistake": kinds[step[row], decision]}
        )[list(MISTAKE_COLUMNS)]  # fmt: skip
        results = pd.DataFrame(columns=list(STATION_COLUMNS))
        return CohortTable(sat, scenarios, results, mistakes, lambda: pd.DataFrame())
