"""Rings say what became of each place: in shape, in the caption and for those who cannot see."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from lessons import DEFAULT_SITE, lesson_library
from lessons.page import told
from lessons.page.interface import interface
from lessons.page.ringed import APART, apart, outcomes, ringed
from scoring.play import opening
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

SITE = read_yaml(DEFAULT_SITE, SiteValues)
SCENARIOS = ("inspect-clamp-ceiling-lamp", "inspect-rongeur-returned")


@pytest.mark.parametrize("name", SCENARIOS)
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_every_soiled_or_marked_place_gets_one_ring(name: str, seed: int) -> None:
    instance = lesson_library().instance(name, SITE, seed)
    soiled = sorted(instance.soiled)
    clean = sorted(set(instance.instrument.places) - instance.soiled)
    marked = (*soiled[:-1], clean[0])
    became = outcomes(instance, marked)
    assert became == {
        **dict.fromkeys(soiled[:-1], "found"), soiled[-1]: "missed", clean[0]: "clean",
    }  # fmt: skip

    moment = opening(instance)
    plain = told.picture(instance, moment, "as met", tell_soil=False, language="en")
    shown = ringed(plain, instance, moment, marked, interface("en"), "en")
    more = shown["svg"].count("<circle") - plain["svg"].count("<circle")
    assert more == 2 * len(became)
    ET.fromstring(shown["svg"])  # noqa: S314 - our own drawing
    for sentence in ("Missed (exclamation mark):", "Marked, but clean (cross):"):
        assert sentence in shown["caption"]
        assert sentence in shown["alt"]


def test_who_marks_exactly_the_soiled_places_is_told_only_that() -> None:
    instance = lesson_library().instance(SCENARIOS[0], SITE, 0)
    moment = opening(instance)
    plain = told.picture(instance, moment, "as met", tell_soil=False, language="en")
    shown = ringed(plain, instance, moment, instance.soiled, interface("en"), "en")
    assert shown["caption"].startswith("Found (tick):")
    assert "Missed" not in shown["caption"]


def test_rings_on_one_place_are_moved_apart_and_others_stay() -> None:
    moved = apart([(100.0, 180.0), (100.0, 183.0), (400.0, 180.0)])
    assert moved[2] == (400.0, 180.0)
    (x, y), (x2, y2) = moved[:2]
    assert (x, x2) == (100.0, 100.0)
    assert y2 - y == pytest.approx(APART)
    assert (y + y2) / 2 == pytest.approx(181.5)
