"""Outlines: every place lies in the picture, can be marked, and moves when a joint opens."""

from __future__ import annotations

import itertools
import math

import pytest

from lessons.drawing import spots
from lessons.drawing.inside import View
from lessons.drawing.outlines import outline
from scoring.bench.handling import Handling
from tests.lessons.drawing.drawn import HOLLOW, INSTRUMENTS, svg_of, with_soil, words_in
from tests.scoring.bench.case import handled, instrument

MOVING = frozenset({"joint", "ratchet"})
LEGEND_TOP = 300.0
"""Above this line stands the instrument, below it the legend."""


@pytest.mark.parametrize("borescope", [False, True])
@pytest.mark.parametrize("opened", [False, True])
@pytest.mark.parametrize("name", INSTRUMENTS)
def test_every_place_lies_in_the_picture(name: str, opened: bool, borescope: bool) -> None:
    form = outline(instrument(name).drawing, opened, borescope)
    assert set(form.regions) == set(instrument(name).places)
    for place, regions in form.regions.items():
        assert regions, place
        for region in regions:
            for step in range(11):
                for aside in (-region.half_width, region.half_width):
                    x, y = region.along(step / 10, aside)
                    assert 8 <= x <= 632, place
                    assert 2 <= y <= LEGEND_TOP, place


@pytest.mark.parametrize("borescope", [False, True])
@pytest.mark.parametrize("name", INSTRUMENTS)
def test_targets_of_an_opened_instrument_are_a_finger_apart(name: str, borescope: bool) -> None:
    marks = spots(instrument(name), Handling(opened=True, borescope=borescope))
    for one, other in itertools.combinations(marks, 2):
        gap = math.hypot(one.x - other.x, one.y - other.y)
        assert gap >= 44.0, (one.place, other.place)


@pytest.mark.parametrize("borescope", [False, True])
@pytest.mark.parametrize("name", HOLLOW)
def test_a_lumen_is_marked_where_it_is_shown(name: str, borescope: bool) -> None:
    handling = handled(borescope=borescope)
    where = {mark.place: mark for mark in spots(instrument(name), handling)}
    for lumen in outline(instrument(name).drawing, True, borescope).lumens:
        mark = where[lumen.place]
        if borescope:
            assert (mark.x, mark.y) == lumen.eye
            assert mark.r <= lumen.view + 2
        else:
            assert lumen.left <= mark.x <= lumen.right
            assert lumen.top <= mark.y <= lumen.bottom


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_what_can_open_looks_different_opened_and_what_cannot_looks_the_same(name: str) -> None:
    moves = any(place.kind in MOVING for place in instrument(name).places.values())
    opened, closed = (outline(instrument(name).drawing, each) for each in (True, False))
    assert (opened.steel != closed.steel) == moves
    assert (opened.spots != closed.spots) == moves


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_signs_belong_to_what_the_instrument_has(name: str) -> None:
    form = outline(instrument(name).drawing, True)
    places = instrument(name).places
    assert bool(form.joints) == any(place.kind == "joint" for place in places.values())
    assert (form.dry is not None) == (not instrument(name).immersible)
    lumens = [place_id for place_id, place in places.items() if place.kind == "lumen"]
    assert [lumen.place for lumen in form.lumens] == lumens
    for place_id in form.regions:
        assert form.regions[place_id], place_id


@pytest.mark.parametrize("view", ["cut", "scope"])
@pytest.mark.parametrize("name", INSTRUMENTS)
def test_words_stand_clear_of_each_other_and_of_the_round_views(name: str, view: View) -> None:
    soiled = with_soil(name, fresh=20.0, dried=20.0, fat=20.0).changed(residue_mg=9.0, ions_mg=0.0)
    scope = view == "scope"
    found = words_in(svg_of(name, soiled, borescope=scope))
    for one, other in itertools.combinations(found, 2):
        assert not one.meets(other), (one, other)
    for words in found:
        assert words.left >= 8, words
        assert words.right <= 640, words
        assert words.top >= 4, words
        assert words.bottom <= 360, words
        for lumen in outline(instrument(name).drawing, True, scope).lumens if scope else ():
            x, y = lumen.eye
            near_x = min(max(x, words.left), words.right)
            near_y = min(max(y, words.top), words.bottom)
            assert math.hypot(near_x - x, near_y - y) >= lumen.view, (words, lumen.place)
