"""Figures of the bench as words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessons import DEFAULT_SITE, lesson_library
from lessons.page.figures import changed_figures, said_amount
from lessons.page.interface import interface
from scoring.play import opening
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (0, "0"),
        (0.004, "below 0.01"),
        (0.0312, "0.031"),
        (2.14, "2.1"),
        (99.4, "99"),
        (312.4, "310"),
        (24130.0, "24 000"),
    ],
)
def test_two_digits_and_no_more(value: float, said: str) -> None:
    assert said_amount(value).replace("\u202f", " ").replace("\u00a0", " ") == said


def test_a_part_of_a_droplet_is_never_shown() -> None:
    site = read_yaml(DEFAULT_SITE, SiteValues)
    instance = lesson_library().instance("soak-clamp-dried", site, 5)
    before = opening(instance)
    after = replace(before, state=before.state.changed(droplets=0.4, exposure=0.1))
    shown = {
        row["label"]: row["after"]
        for row in changed_figures(instance, before, after, interface("en"), "en")
    }
    assert shown["Droplets and vapour let loose so far"] == "fewer than 1"
    assert shown["Of 100 droplets, so many met bare skin, eyes or mouth"] == "25"


def test_only_what_changed_is_shown_with_its_limit() -> None:
    site = read_yaml(DEFAULT_SITE, SiteValues)
    instance = lesson_library().instance("soak-clamp-dried", site, 5)
    before = opening(instance)
    assert changed_figures(instance, before, before, interface("en"), "en") == []
    after = replace(before, state=before.state.changed(residue_mg=5.0))
    (row,) = changed_figures(instance, before, after, interface("en"), "en")
    assert (row["label"], row["before"], row["after"]) == ("Cleaner left", "0", "5")
    assert (row["limit"], row["before_is"], row["after_is"]) == ("1 mg", "", "above the limit")
    clean = replace(before, state=before.state.changed(residue_mg=0.5))
    (row,) = changed_figures(instance, before, clean, interface("en"), "en")
    assert (row["before_is"], row["after_is"]) == ("", "")
    (row,) = changed_figures(instance, after, clean, interface("en"), "en")
    assert (row["before_is"], row["after_is"]) == ("above the limit", "")
