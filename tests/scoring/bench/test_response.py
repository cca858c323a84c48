"""Curves at a site's own values: each point is what one trajectory alone gives."""

from __future__ import annotations

from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest

from scoring.bench.outcomes import UNITS, Outcome, limit_of, outcome
from scoring.bench.response import USUAL_SOIL, Over, Response, response
from scoring.bench.state import SOIL_KINDS, State
from scoring.bench.steps import run_step
from scoring.finishing import by_the_book
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.scoring.bench.case import ROOT, instrument, site

SITES = sorted((ROOT / "lessons" / "sites").glob("*.yaml"))
WITH: dict[Over, str] = {
    "minutes": "clamp", "temperature_c": "clamp", "dose_ml": "clamp", "loads_before": "clamp",
    "strokes": "clamp", "brush_mm": "suction_tube", "flush_ml": "suction_tube",
    "flush_kpa": "flexible_tube", "rinses": "clamp", "wipes": "powered_drill",
}  # fmt: skip
INSTRUMENTS = sorted(
    path.stem for path in (ROOT / "lessons" / "instruments").glob("*.yaml") if "." not in path.stem
)
STEP: dict[Over, str] = {
    "minutes": "soak", "dose_ml": "soak", "loads_before": "soak", "strokes": "brush",
    "brush_mm": "brush", "flush_ml": "flush", "flush_kpa": "flush", "rinses": "rinse",
    "wipes": "wipe",
}  # fmt: skip


def shipped(path: Path) -> SiteValues:
    return read_yaml(path, SiteValues)


def curve(which: Outcome, over: Over, **more: Any) -> Response:
    return response(which, over, site(), instrument(WITH[over]), **more)


def test_every_quantity_is_tried() -> None:
    assert set(WITH) == set(get_args(Over))
    assert set(UNITS) == set(get_args(Outcome))


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("over", WITH)
def test_the_window_lies_on_the_curve_and_inside_it_all_is_well(over: Over, path: Path) -> None:
    values = shipped(path)
    for which in ("protein", "residue_mg", "ions_mg"):
        found = response(which, over, values, instrument(WITH[over]))
        assert found.x.shape == found.y.shape
        assert (np.diff(found.x) > 0).all()
        assert np.isfinite(found.y).all()
        assert (found.y >= 0).all()
        assert found.limit == limit_of(which, values)
        if found.window is None:
            assert over in ("loads_before", "wipes")
            continue
        low, high = found.window
        assert found.x[0] <= low <= high <= found.x[-1]
        inside = found.y[(found.x >= low) & (found.x <= high)]
        assert inside.size
        assert found.limit is not None
        assert (inside <= found.limit).all(), (which, over, inside.max())


@pytest.mark.parametrize("over", STEP)
def test_each_point_is_one_trajectory(over: Over) -> None:
    found = curve("protein", over, points=5)
    device = instrument(WITH[over])
    for at in (0, len(found.x) // 2, len(found.x) - 1):
        state = State(
            soil={
                name: dict.fromkeys(SOIL_KINDS, 0.0)
                | {kind: amount * place.area_cm2 for kind, amount in USUAL_SOIL.items()}
                for name, place in device.places.items()
            }
        )
        for task in by_the_book(device, site(), 10.0):
            changes = {over: float(found.x[at])} if task.step == STEP[over] else {}
            state = run_step(task.step, state, task.handling.changed(**changes), device, site())
        alone = outcome("protein", state, device)
        assert found.y[at] == pytest.approx(alone, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("which", "over"),
    [
        ("protein", "minutes"), ("protein", "strokes"), ("protein", "dose_ml"),
        ("protein", "flush_ml"), ("residue_mg", "rinses"), ("protein", "wipes"),
    ],
)  # fmt: skip
def test_more_of_a_good_thing_never_leaves_more(which: Outcome, over: Over) -> None:
    found = curve(which, over)
    assert (np.diff(found.y) <= 1e-9 * found.y.max()).all()
    assert found.y[0] > 1.05 * found.y[-1]


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
@pytest.mark.parametrize("name", INSTRUMENTS)
@pytest.mark.parametrize("over", ["brush_mm", "flush_kpa"])
def test_a_window_is_right_in_every_lumen_or_there_is_none(
    over: Over, name: str, path: Path
) -> None:
    device, values = instrument(name), shipped(path)
    lumens = [place for place in device.places.values() if place.kind == "lumen"]
    if not lumens:
        return
    window = response("protein", over, values, device).window
    if over == "flush_kpa":
        assert window is not None
        assert window[1] == min(place.pressure_max_kpa or 0.0 for place in lumens)
        assert response("damage", over, values, device, span=window).y.max() == 0.0
    else:
        assert (window is None) == (len({place.bore_mm for place in lumens}) > 1)


def test_too_hot_too_cold_too_strong_and_too_wide_are_seen() -> None:
    heat = curve("protein", "temperature_c")
    best = heat.x[np.argmin(heat.y)]
    assert heat.window is not None
    assert heat.window[0] <= best <= heat.window[1]
    assert heat.y[0] > 1.5 * heat.y.min()
    assert heat.y[-1] > 10 * heat.y.min()
    dose = curve("residue_mg", "dose_ml")
    assert (np.diff(dose.y) >= 0).all()
    width = curve("protein", "brush_mm", settings={"flush_ml": 5.0})
    assert width.x[np.argmin(width.y)] == pytest.approx(4.0, rel=0.15)
    burst = curve("damage", "flush_kpa")
    assert burst.y[0] == 0.0 < burst.y[-1]
    assert burst.limit is None


def test_settings_and_soil_that_are_not_usual_count() -> None:
    usual = curve("protein", "minutes")
    closed = curve("protein", "minutes", settings={"opened": False})
    assert (closed.y > usual.y).all()
    clean = curve("protein", "minutes", soil={"fat": 10.0})
    assert (clean.y == 0).all()


def test_a_span_is_kept_and_counted_things_are_whole() -> None:
    assert curve("protein", "minutes", span=(2.0, 8.0), points=7).x.tolist() == [
        2,
        3,
        4,
        5,
        6,
        7,
        8,
    ]
    assert curve("protein", "strokes", span=(0.5, 4.2)).x.tolist() == [1, 2, 3, 4]


@pytest.mark.parametrize(
    ("device", "over", "more", "said"),
    [
        ("clamp", "flush_ml", {}, "uses flush_ml"),
        ("clamp", "brush_mm", {}, "uses brush_mm"),
        ("clamp", "wipes", {}, "uses wipes"),
        ("powered_drill", "rinses", {}, "uses rinses"),
        ("clamp", "minutes", {"span": (9.0, 3.0)}, "no length"),
        ("clamp", "minutes", {"points": 1}, "no length"),
        ("clamp", "strokes", {"span": (4.1, 4.9)}, "no length"),
        ("powered_drill", "temperature_c", {}, "uses temperature_c"),
        ("clamp", "minutes", {"soil": {"mud": 1.0}}, "no soil is called mud"),
    ],
)
def test_what_cannot_be_drawn_is_refused(
    device: str, over: Over, more: dict[str, Any], said: str
) -> None:
    with pytest.raises(ValueError, match=said):
        response("protein", over, site(), instrument(device), **more)
