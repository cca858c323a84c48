"""Observations at the real sink as long tables: one row a rated item, one row an observation."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd  # type: ignore[import-untyped]

from scoring.observation import Observation

RATED: dict[str, float] = {"done": 1.0, "not_done": 0.0}
"""What a rating counts; an item that was not seen counts neither way and becomes NaN."""

WATCH_COLUMNS = ("id", "occasion", "operator", "rater", "station", "checklist", "site", "at")
ITEM_COLUMNS = (*WATCH_COLUMNS, "item", "done")
TOTAL_COLUMNS = (*WATCH_COLUMNS, "items", "seen", "share", "overall")


def observed_items(observations: Sequence[Observation]) -> pd.DataFrame:
    """Return one row an item of an observation, by id and item; `ITEM_COLUMNS`.

    ``checklist`` is the name with its version, ``item`` the checklist's item with the
    checklist before it (``sink-soak_v1/dose``), since two versions may mean two things by
    one name; ``done`` is 1, 0, or NaN where the item could not be watched.
    """
    rows = [
        (*_watch(one), f"{_checklist(one)}/{item}", RATED.get(rating))
        for one in sorted(observations, key=lambda one: one.id)
        for item, rating in sorted(one.ratings.items())
    ]
    found = pd.DataFrame(rows, columns=list(ITEM_COLUMNS))
    return found.assign(done=pd.to_numeric(found["done"]).astype(float))


def observed_totals(observations: Sequence[Observation]) -> pd.DataFrame:
    """Return one row an observation, by id; `TOTAL_COLUMNS`.

    ``share`` is done over seen, 0 to 1, NaN where nothing was seen; ``overall`` the
    grade from 1 to 5, NaN where none was given.
    """
    rows = []
    for one in sorted(observations, key=lambda one: one.id):
        rated = [RATED[rating] for rating in one.ratings.values() if rating in RATED]
        share = sum(rated) / len(rated) if rated else None
        rows.append((*_watch(one), len(one.ratings), len(rated), share, one.overall))
    found = pd.DataFrame(rows, columns=list(TOTAL_COLUMNS))
    for name in ("share", "overall"):
        found[name] = pd.to_numeric(found[name]).astype(float)
    return found


def _checklist(one: Observation) -> str:
    return f"{one.checklist}_v{one.checklist_version}"


def _watch(one: Observation) -> tuple[object, ...]:
    return (
        one.id,
        one.occasion,
        one.operator,
        one.rater,
        one.station,
        _checklist(one),
        one.site,
        one.at,
    )
