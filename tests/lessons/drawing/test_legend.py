"""The legend: words in the picture, clear of each other, as large as they fit."""

from __future__ import annotations

import itertools
import re
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.drawing.blotch import FAINTEST
from lessons.drawing.legend import legend
from lessons.drawing.lettering import width
from lessons.drawing.marks import SAMPLES
from lessons.drawing.words import Mark, picture_words
from tests.lessons.drawing.drawn import INSTRUMENTS, svg_of, with_soil, words_in

MARKS: tuple[Mark, ...] = get_args(Mark)


def placed(marks: tuple[Mark, ...]) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg">{legend(marks, picture_words())}</svg>'


def test_every_mark_has_a_sample_and_a_word() -> None:
    assert set(SAMPLES) == set(MARKS) == set(picture_words().legend)
    assert len(set(picture_words().legend.values())) == len(MARKS)


@given(st.sets(st.sampled_from(MARKS)))
def test_words_stay_inside_and_apart(chosen: set[Mark]) -> None:
    found = words_in(placed(tuple(mark for mark in MARKS if mark in chosen)))
    assert len(found) == len(chosen)
    for words in found:
        assert words.left >= 18
        assert words.right <= 636
        assert words.bottom <= 360
        assert words.top >= 290
    for one, other in itertools.combinations(found, 2):
        assert not one.meets(other)


def test_few_marks_are_written_larger() -> None:
    few, many = words_in(placed(MARKS[:2])), words_in(placed(MARKS))
    assert few[0].bottom - few[0].top > 1.3 * (many[0].bottom - many[0].top)


@given(st.text(alphabet="abcimw .,", max_size=30), st.text(alphabet="abcimw .,", max_size=30))
def test_width_adds_up_and_grows_with_the_size(one: str, other: str) -> None:
    together = width(one + other, 16.0)
    assert abs(together - width(one, 16.0) - width(other, 16.0)) < 1e-9
    assert width(one, 32.0) == 2 * width(one, 16.0)
    assert width("m", 16.0) > width("n", 16.0) > width("i", 16.0) > 0


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_soil_too_pale_for_the_eye_is_not_named(name: str) -> None:
    pale = with_soil(name, fresh=1.01 * FAINTEST)
    shown = re.findall(r"<text[^>]*>([^<]*)</text>", svg_of(name, pale, light_lux=300))
    assert picture_words().legend["fresh"] not in shown
    thick = re.findall(r"<text[^>]*>([^<]*)</text>", svg_of(name, with_soil(name, fresh=90.0)))
    assert picture_words().legend["fresh"] in thick
