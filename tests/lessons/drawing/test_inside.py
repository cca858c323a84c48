"""Lumens: cut open to teach, down a borescope, and not seen at all without one."""

from __future__ import annotations

import itertools
import re

import pytest

from lessons.drawing import draw
from lessons.drawing.inside import caption, way_of_seeing
from lessons.drawing.outline import Lumen
from lessons.drawing.outlines import outline
from lessons.drawing.words import instrument_words, picture_words
from scoring.bench.state import State
from tests.lessons.drawing.drawn import HOLLOW, ink, svg_of, with_soil
from tests.scoring.bench.case import handled, instrument


def only_inside(name: str, ug_per_cm2: float) -> State:
    """Dried soil in the lumens and nowhere else."""
    state = with_soil(name)
    for place, shape in instrument(name).places.items():
        if shape.kind == "lumen":
            state.soil[place]["dried"] = ug_per_cm2 * shape.area_cm2
    return state


@pytest.mark.parametrize(
    ("borescope", "tell_soil", "view"),
    [
        (True, True, "scope"),
        (True, False, "scope"),
        (False, True, "cut"),
        (False, False, "unseen"),
    ],
)
def test_only_a_borescope_shows_what_is_to_be_found(
    borescope: bool, tell_soil: bool, view: str
) -> None:
    assert way_of_seeing(borescope, tell_soil) == view


@pytest.mark.parametrize("name", HOLLOW)
def test_without_a_borescope_an_inspection_cannot_tell_a_soiled_lumen(name: str) -> None:
    looked = handled(light_lux=1500.0, magnification=6.0)
    clean, dirty = (
        draw(instrument(name), state, looked, title="Look", tell_soil=False)
        for state in (only_inside(name, 0.0), only_inside(name, 200.0))
    )
    assert clean == dirty
    assert picture_words().looked_inside["unseen"] in clean.alt


@pytest.mark.parametrize("name", HOLLOW)
def test_a_borescope_shows_soil_on_the_wall_and_nowhere_else(name: str) -> None:
    looked = handled(light_lux=1500.0, borescope=True)
    dirty = draw(instrument(name), only_inside(name, 60.0), looked, title="Look")
    assert ink(dirty.svg) > 0
    assert picture_words().looked_inside["scope"] in dirty.alt
    form = outline(instrument(name).drawing, True, True)
    where = re.findall(r'<g opacity="[0-9.]+">(.*?)</g>', dirty.svg)
    starts = [
        (float(x), float(y))
        for group in where
        for x, y in re.findall(r"M(-?[0-9.]+) ?(-?[0-9.]+)", group)
    ]
    assert starts
    for x, y in starts:
        nearest = min(
            ((x - lumen.eye[0]) ** 2 + (y - lumen.eye[1]) ** 2) ** 0.5 / lumen.view
            for lumen in form.lumens
        )
        assert nearest <= 1.2


@pytest.mark.parametrize("name", HOLLOW)
def test_more_soil_in_a_lumen_is_more_ink_down_the_borescope(name: str) -> None:
    inks = [
        ink(svg_of(name, only_inside(name, amount), borescope=True))
        for amount in (0.0, 1.0, 3.0, 10.0, 40.0, 200.0)
    ]
    assert inks[0] == 0
    assert all(more > less for less, more in itertools.pairwise(inks))


@pytest.mark.parametrize("name", HOLLOW)
def test_the_borescope_brings_its_own_light_and_lens(name: str) -> None:
    inks = {
        ink(svg_of(name, only_inside(name, 8.0), borescope=True, light_lux=lux, magnification=lens))
        for lux, lens in ((300.0, 1.0), (1000.0, 1.0), (300.0, 4.0))
    }
    assert len(inks) == 1


@pytest.mark.parametrize("name", HOLLOW)
def test_every_lumen_is_named_with_its_bore(name: str) -> None:
    labels = instrument_words(name).places
    for borescope in (True, False):
        svg = svg_of(name, with_soil(name), borescope=borescope)
        said = " ".join(re.findall(r"<text[^>]*>([^<]*)</text>", svg))
        for place, shape in instrument(name).places.items():
            if shape.kind == "lumen":
                assert labels[place] in said
                assert f"bore {shape.bore_mm:g} mm" in said


@pytest.mark.parametrize("name", HOLLOW)
def test_air_is_shown_in_every_lumen_that_is_drawn_cut_open(name: str) -> None:
    lumens = sum(place.kind == "lumen" for place in instrument(name).places.values())
    full = svg_of(name, with_soil(name))
    air = svg_of(name, with_soil(name), lumen_filled=False)
    pocket = 'fill="#fff" stroke="#35617f" stroke-width="1.6"'
    assert air.count(pocket) - full.count(pocket) == lumens


def test_a_caption_breaks_where_the_view_is_too_narrow_for_one_line() -> None:
    words = picture_words()
    wide = Lumen("lumen", 50.0, 600.0, 200.0, 240.0, 40.0, 50.0, 180.0)
    narrow = Lumen("lumen", 50.0, 220.0, 200.0, 240.0, 40.0, 50.0, 180.0)
    assert caption(wide, "lumen", 3.2, "cut", words).count("<text") == 1
    assert caption(narrow, "suction channel", 3.2, "cut", words).count("<text") == 2
    beside = caption(wide, "lumen", 3.2, "scope", words)
    assert f'x="{wide.eye[0] + wide.view + 16:g}"' in beside
