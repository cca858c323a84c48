"""What is left besides soil: each is drawn, said, and grows with its amount."""

from __future__ import annotations

import itertools
import re
from typing import Any

import pytest

from lessons.drawing import draw, marks
from lessons.drawing.outlines import outline
from lessons.drawing.steel import STEEL
from lessons.drawing.words import Mark, picture_words
from scoring.instrument import Instrument
from tests.lessons.drawing.drawn import INSTRUMENTS, alt_of, svg_of, with_soil
from tests.scoring.bench.case import handled, instrument, played

WET: tuple[tuple[Mark, dict[str, Any]], ...] = (
    ("foam", {"residue_mg": 30.0}),
    ("salts", {"ions_mg": 1.0}),
    ("water", {"water_ml": 5.0}),
    ("scratches", {"damage": 0.3}),
    ("drops", {"above": 200.0}),
    ("oil", {"oil_mg": 15.0}),
)


def has_joint(one: Instrument) -> bool:
    return any(place.kind == "joint" for place in one.places.values())


@pytest.mark.parametrize(("mark", "left"), WET)
@pytest.mark.parametrize("name", INSTRUMENTS)
def test_each_mark_is_drawn_said_and_in_the_legend(
    name: str, mark: Mark, left: dict[str, Any]
) -> None:
    clean, marked = with_soil(name), with_soil(name).changed(**left)
    said, shown = getattr(picture_words(), mark), picture_words().legend[mark]
    assert said in alt_of(name, marked)
    assert said not in alt_of(name, clean)
    legend = re.findall(r"<text[^>]*>([^<]*)</text>", svg_of(name, marked))
    assert shown in legend
    assert svg_of(name, marked) != svg_of(name, clean)


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_drops_are_shown_for_work_above_the_water_and_never_for_work_below_it(name: str) -> None:
    said = picture_words().drops
    long_below = handled(strokes=200.0, flush_ml=5000.0)
    below = played(name, long_below, with_soil(name), steps=("soak", "brush", "flush", "rinse"))
    assert below.droplets > 0
    assert said not in alt_of(name, below)
    assert svg_of(name, below) == svg_of(name, below.changed(droplets=0.0))
    assert marks.drops(below.above) == "" != marks.drops(0.5)
    little_above = handled(under_water=False, strokes=1.0)
    assert said in alt_of(name, played(name, little_above, below, steps=("brush",)))
    mixed = handled(mixed=True, minutes=1.0)
    assert said in alt_of(name, played(name, mixed, below, steps=("soak",)))


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_a_lubricated_joint_bears_a_sign_and_nothing_else_does(name: str) -> None:
    said = picture_words().lubricated
    assert (said in alt_of(name, with_soil(name).changed(lubricated=1.0))) == has_joint(
        instrument(name)
    )
    assert said not in alt_of(name, with_soil(name).changed(lubricated=0.3))


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_water_inside_shows_only_in_a_device_that_must_stay_dry(name: str) -> None:
    wet = with_soil(name).changed(inside_ml=2.0)
    assert (picture_words().inside in alt_of(name, wet)) == (not instrument(name).immersible)


def test_water_inside_stands_higher_the_more_there_is() -> None:
    levels = []
    for amount in (0.1, 1.0, 5.0, 20.0):
        drawn = marks.water_inside((100.0, 100.0), amount)
        surface = re.search(r'd="M[-0-9.]+ ([-0-9.]+)A', drawn)
        assert surface
        levels.append(float(surface[1]))
    assert all(higher < lower for lower, higher in itertools.pairwise(levels))
    assert min(levels) > 100.0 - 26.0
    assert marks.water_inside((100.0, 100.0), 0.0) == ""


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_endotoxin_cannot_be_seen(name: str) -> None:
    rinsed = with_soil(name)
    assert draw(instrument(name), rinsed, handled(), title="") == draw(
        instrument(name), rinsed.changed(endotoxin_eu=500.0), handled(), title=""
    )


@pytest.mark.parametrize(
    ("what", "amounts"),
    [
        ("foam", (0.0, 2.0, 10.0, 50.0, 200.0)),
        ("salts", (0.0, 0.4, 1.0, 2.5)),
        ("water", (0.0, 0.1, 0.4, 1.0)),
        ("scratches", (0.0, 0.1, 0.3)),
    ],
)
@pytest.mark.parametrize("name", INSTRUMENTS)
def test_more_of_it_is_more_of_the_same_marks(
    name: str, what: str, amounts: tuple[float, ...]
) -> None:
    wet = outline(instrument(name).drawing, True).wet
    counts = [getattr(marks, what)(wet, amount).count("M") for amount in amounts]
    assert counts[0] == 0
    assert all(more > less for less, more in itertools.pairwise(counts))


@pytest.mark.parametrize("name", [n for n in INSTRUMENTS if instrument(n).immersible])
def test_twice_the_dose_leaves_visibly_more_cleaner_than_the_right_one(name: str) -> None:
    wet = outline(instrument(name).drawing, True).wet
    right, double = (
        marks.foam(
            wet,
            played(name, handled(dose_ml=dose, rinses=0.0, last_water="none")).residue_mg,
        ).count("M")
        for dose in (50.0, 100.0)
    )
    assert 0 < right < marks.MOST_FOAM
    assert double >= 1.15 * right


@pytest.mark.parametrize("name", [n for n in INSTRUMENTS if instrument(n).immersible])
def test_cleaner_and_salts_within_limits_leave_no_mark(name: str) -> None:
    alt = alt_of(name, played(name, handled()))
    assert picture_words().foam not in alt
    assert picture_words().salts not in alt


def luminance(colour: str) -> float:
    """Relative luminance as in the open accessibility guidelines (WCAG 2, restated)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_water_spots_stand_out_from_steel_by_three_to_one() -> None:
    drawn = marks.salts(outline("clamp", True).wet, 1.0)
    edges = re.findall(r'stroke="(#[0-9a-f]{6})"', drawn)
    assert edges
    for edge in edges:
        light, dark = sorted((luminance(edge), luminance(STEEL)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 3.0


def test_no_region_is_left_out_and_none_is_crowded() -> None:
    wet = outline("needle_holder", True).wet
    foam = marks.foam(wet, 60.0)
    circles = [(float(x), float(y)) for x, y in re.findall(r"M(-?[0-9.]+) (-?[0-9.]+)a", foam)]
    counts = [0] * len(wet)
    for x, y in circles:
        nearest = min(
            range(len(wet)),
            key=lambda number: min(
                (x - px) ** 2 + (y - py) ** 2
                for px, py in (wet[number].along(step / 20, 0.0) for step in range(21))
            ),
        )
        counts[nearest] += 1
    densities = [count / region.length for count, region in zip(counts, wet, strict=True)]
    assert min(densities) > 0
    assert max(densities) < 4 * min(densities)
