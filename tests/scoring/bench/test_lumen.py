"""What a flush and its pressure, its line and its brush do to a lumen."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.bench import lumen
from scoring.bench.arrays import ARRAYS
from scoring.bench.flow import shares
from scoring.bench.operations import SCALAR
from tests.scoring.bench.case import handled, instrument

CHANNELS = (
    ("suction_tube", "lumen"), ("reamer", "cannulation"), ("flexible_tube", "fine_channel"),
    ("cannula_set", "cannula_fine"), ("shaft_grasper", "shaft_lumen"),
)  # fmt: skip


def left(name: str, place: str, **changes: Any) -> dict[str, Any]:
    device, handling = instrument(name), handled(**changes)
    line = lumen.line_shares(device, handling, SCALAR)[place]
    return lumen.left_after_flush(device.places[place], handling, SCALAR, line)


@pytest.mark.parametrize(("name", "place"), CHANNELS)
def test_pressure_sweeps_moderately_better(name: str, place: str) -> None:
    at = [left(name, place, flush_ml=5.0, flush_kpa=kpa)["dried"] for kpa in (0.0, 5.0, 20.0, 80.0)]
    assert at == sorted(at, reverse=True)
    assert at[0] == 1.0
    exponent = [-np.log(one) for one in at[1:]]
    # Four times the pressure: at most 4^0.75 in laminar flow, about 4^(0.75 / 1.75) in turbulent.
    assert 1.5 < exponent[2] / exponent[1] < 4**0.75 * (1 + 1e-9)


def test_at_the_reference_pressure_only_bore_and_volume_count() -> None:
    alone = left("suction_tube", "lumen", flush_ml=50.0, flush_kpa=lumen.PRESSURE.value)
    volume = 50.0 * (lumen.BORE.value / 4.0) ** 3
    assert alone["fresh"] == pytest.approx(np.exp(-lumen.FLUSH["fresh"].value * volume), rel=1e-12)


def test_like_lumens_on_one_line_are_flushed_as_if_each_were_alone() -> None:
    device = instrument("cannula_set")
    alike = {name: place for name, place in device.places.items() if name != "cannula_fine"}
    device = device.model_copy(update={"places": alike})
    together = lumen.line_shares(device, handled(manifold=True), SCALAR)
    assert together == {f"cannula_{which}": pytest.approx(1.0) for which in "abc"}


@pytest.mark.parametrize(
    ("name", "fine", "wide"),
    [
        ("cannula_set", "cannula_fine", "cannula_a"),
        ("flexible_tube", "fine_channel", "suction_channel"),
    ],
)
def test_a_fine_lumen_among_wide_ones_gets_next_to_nothing(name: str, fine: str, wide: str) -> None:
    line = lumen.line_shares(instrument(name), handled(manifold=True), SCALAR)
    assert sum(line.values()) == pytest.approx(len(line))
    assert line[fine] < 0.12
    assert line[wide] > 10 * line[fine]
    alone, among = left(name, fine, manifold=False), left(name, fine, manifold=True)
    assert among["dried"] > 0.7 > 0.2 > alone["dried"]
    assert among["fresh"] > 1000 * alone["fresh"]
    assert left(name, wide, manifold=True)["dried"] <= left(name, wide, manifold=False)["dried"]


def test_a_single_lumen_does_not_notice_the_line() -> None:
    one = left("suction_tube", "lumen", manifold=True)
    assert one == left("suction_tube", "lumen", manifold=False)


def test_slow_flow_divides_as_the_fourth_power_of_the_bore() -> None:
    # At 0.05 kPa the flow is laminar in all four cannulas.
    slow = lumen.line_shares(
        instrument("cannula_set"), handled(manifold=True, flush_kpa=0.05), SCALAR
    )
    assert slow["cannula_a"] / slow["cannula_fine"] == pytest.approx(2.5**4, rel=1e-9)
    assert shares([(1.0, 120.0), (2.5, 120.0)], 0.05, 20.0, SCALAR)[0] == pytest.approx(
        1 / (1 + 2.5**4), rel=1e-9
    )


def test_how_far_a_flush_is_over_the_highest_pressure() -> None:
    channel = instrument("flexible_tube").places["fine_channel"]
    for kpa, over in ((20.0, 0.0), (100.0, 0.0), (150.0, 0.5), (400.0, 3.0)):
        found = lumen.over_pressure(channel, handled(flush_kpa=kpa), SCALAR)
        assert found == pytest.approx(over)
    without = channel.model_copy(update={"pressure_max_kpa": None})
    assert lumen.over_pressure(without, handled(flush_kpa=900.0), SCALAR) == 0.0


def test_a_brush_that_does_not_come_out_leaves_the_far_part() -> None:
    assert lumen.brushed_share(handled(brush_through=True), SCALAR) == 1.0
    assert lumen.brushed_share(handled(brush_through=False), SCALAR) == lumen.REACHED.value < 1.0


def test_only_a_lumen_can_be_flushed() -> None:
    with pytest.raises(ValueError, match="only a lumen"):
        lumen.left_after_flush(instrument("clamp").places["jaw_left"], handled(), SCALAR)


@given(
    st.sampled_from(CHANNELS),
    st.lists(
        st.tuples(
            st.floats(0, 500), st.floats(0, 800), st.booleans(), st.booleans(), st.booleans()
        ),
        min_size=1,
        max_size=4,
    ),
)
def test_arrays_equal_floats(
    which: tuple[str, str], rows: list[tuple[float, float, bool, bool, bool]]
) -> None:
    name, place = which
    names = ("flush_ml", "flush_kpa", "manifold", "lumen_filled", "brush_through")
    columns = {key: np.array([row[at] for row in rows]) for at, key in enumerate(names)}
    device, many = instrument(name), handled(**columns)
    line = lumen.line_shares(device, many, ARRAYS)[place]
    together = lumen.left_after_flush(device.places[place], many, ARRAYS, line)
    over = lumen.over_pressure(device.places[place], many, ARRAYS)
    reach = lumen.brushed_share(many, ARRAYS)
    for at, row in enumerate(rows):
        one = handled(**dict(zip(names, row, strict=True)))
        alone = left(name, place, **dict(zip(names, row, strict=True)))
        for kind, share in alone.items():
            assert 0 <= share <= 1
            found = np.broadcast_to(together[kind], (len(rows),))[at]
            assert found == pytest.approx(share, rel=1e-10, abs=1e-15)
        assert over[at] == pytest.approx(lumen.over_pressure(device.places[place], one, SCALAR))
        assert reach[at] == lumen.brushed_share(one, SCALAR)


def test_a_wide_lumen_on_the_line_gets_more_water_and_no_more_pressure() -> None:
    device, handling = instrument("flexible_tube"), handled(manifold=True, flush_ml=10.0)
    share = lumen.line_shares(device, handling, SCALAR)["suction_channel"]
    assert share > 1
    on_line = left("flexible_tube", "suction_channel", manifold=True, flush_ml=10.0)
    alone = left("flexible_tube", "suction_channel", flush_ml=10.0 * share)
    assert on_line["dried"] == pytest.approx(alone["dried"], rel=1e-12)
