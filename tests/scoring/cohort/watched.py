"""Observations made by hand for the tests: who was watched by whom, and what was written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta

import numpy as np

from scoring import KIT_VERSION
from scoring.model import Station
from scoring.observation import ItemRating, Observation

START = datetime(2025, 4, 1, 9, 0, tzinfo=UTC)


def observation(
    occasion: str,
    rater: str,
    ratings: Mapping[str, ItemRating],
    *,
    operator: str = "OP-101",
    overall: int | None = 3,
    station: Station = "brush",
    day: int = 0,
) -> Observation:
    return Observation.model_validate(
        {
            "kit": KIT_VERSION,
            "id": f"{occasion}-{rater.lower()}",
            "occasion": occasion,
            "operator": operator,
            "rater": rater,
            "station": station,
            "checklist": f"sink-{station}",
            "checklist_version": 1,
            "checklist_digest": "c" * 64,
            "site": "invented-bays",
            "at": START + timedelta(days=day),
            "ratings": dict(ratings),
            "overall": overall,
        }
    )


def watched(
    raters: Mapping[str, float],
    *,
    performances: int = 60,
    items: Sequence[str] = ("one", "two", "three", "four", "five", "six", "seven", "eight"),
    sharp: float = 2.6,
    hard: Mapping[str, float] | None = None,
    station: Station = "brush",
    seed: int = 1,
) -> list[Observation]:
    """Performances that two raters watched; `raters` says how readily each writes "done" (logits).

    `hard` says how sharply (logits) the raters see an item, where not as sharply as the others.
    """
    rng = np.random.default_rng(seed)
    names = sorted(raters)
    found = []
    for number in range(performances):
        ability = rng.normal(0.8, 1.2)
        did = {item: rng.random() < 1 / (1 + np.exp(-ability)) for item in items}
        grade = 1 + 4 * sum(did.values()) / len(did)
        for rater in rng.choice(names, size=2, replace=False):
            seen: dict[str, ItemRating] = {}
            for item, done in did.items():
                sees = (hard or {}).get(item, sharp)
                chance = 1 / (1 + np.exp(-((sees if done else -sees) + raters[rater])))
                seen[item] = "done" if rng.random() < chance else "not_done"
            overall = int(np.clip(round(grade + raters[rater] / 2 + rng.normal(0, 0.5)), 1, 5))
            found.append(
                observation(
                    f"made-performance-{number:03d}",
                    str(rater),
                    seen,
                    operator=f"OP-{101 + number % 24}",
                    overall=overall,
                    station=station,
                    day=number,
                )
            )
    return found
