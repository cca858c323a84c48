"""Figures of the bench as words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessons import DEFAULT_SITE, lesson_library
from lessons.drawing.words import instrument_words
from lessons.page.figures import beyond_limits, changed_figures, said_amount
from lessons.page.interface import interface
from scoring.bench.state import SOIL_KINDS
from scoring.finishing import over_limits
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
    assert said_amount(value, interface()).replace("\u202f", " ").replace("\u00a0", " ") == said


def test_a_few_droplets_are_no_news_and_a_part_of_one_is_never_shown() -> None:
    site = read_yaml(DEFAULT_SITE, SiteValues)
    instance = lesson_library().instance("soak-clamp-dried", site, 5)
    before = opening(instance)
    few = replace(before, state=before.state.changed(droplets=0.4, exposure=0.01))
    assert changed_figures(instance, before, few, interface("en"), "en") == []
    many = replace(before, state=before.state.changed(droplets=40.4, exposure=10.1))
    shown = {row["label"]: row for row in changed_figures(instance, few, many, interface(), "en")}
    droplets = shown["Droplets and vapour let loose so far"]
    assert (droplets["before"], droplets["after"]) == ("fewer than 1", "40")
    assert shown["Of 100 droplets, so many met bare skin, eyes or mouth"]["after"] == "25"


def test_a_slight_change_is_no_news_unless_it_crosses_the_limit() -> None:
    site = read_yaml(DEFAULT_SITE, SiteValues)
    instance = lesson_library().instance("rinse-needle-holder-bays", site, 5)
    start = opening(instance)
    limit = site.limits.residue_mg

    def rows(was: float, now: float) -> list[str]:
        before, after = (
            replace(start, state=start.state.changed(residue_mg=limit * share))
            for share in (was, now)
        )
        found = changed_figures(instance, before, after, interface(), "en")
        return [row["after_is"] for row in found]

    assert rows(5.0, 5.2) == []
    assert rows(5.0, 6.0) == ["above the limit"]
    assert rows(0.95, 1.02) == ["above the limit"]


def test_what_the_rinse_takes_off_is_not_held_against_its_limit_before_the_rinse() -> None:
    site = read_yaml(DEFAULT_SITE, SiteValues)
    instance = lesson_library().instance("soak-clamp-dried", site, 5)
    before = opening(instance)
    after = replace(before, state=before.state.changed(residue_mg=75.0, ions_mg=2.7))
    (row,) = changed_figures(instance, before, after, interface(), "en")
    assert (row["label"], row["after_is"]) == ("Cleaner left", "")
    assert row["limit"] == f"{site.limits.residue_mg:g} mg, after the rinse"
    assert [said.partition(":")[0] for said in beyond_limits(instance, after, interface(), "en")][
        -2:
    ] == ["Cleaner left", "Salts left by the water"]


def test_no_water_is_allowed_inside_and_no_oil_on_a_joint() -> None:
    site = read_yaml(DEFAULT_SITE, SiteValues)
    instance = lesson_library().instance("brush-drill-wipe", site, 5)
    before = opening(instance)
    after = replace(before, state=before.state.changed(inside_ml=2.0, oil_mg=15.0))
    rows = changed_figures(instance, before, after, interface(), "en")
    assert {(row["limit"], row["after_is"]) for row in rows} == {
        ("none allowed", "above the limit")
    }
    assert "Water inside, where it must stay dry: 2 mL (limit: none allowed)" in beyond_limits(
        instance, after, interface(), "en"
    )


def test_steam_names_its_place_and_endotoxin_its_limit_where_they_matter() -> None:
    site = read_yaml(DEFAULT_SITE, SiteValues)
    late = lesson_library().instance("rinse-needle-holder-bays", site, 5)
    soaked = replace(opening(late), state=opening(late).state.changed(water_ml=6.0, oil_mg=0.0))
    after = replace(
        soaked, state=soaked.state.changed(oil_mg=15.0, endotoxin_eu=120.0, inside_ml=2.0)
    )
    rows = {
        row["label"]: row for row in changed_figures(late, soaked, after, interface("en"), "en")
    }
    steam = next(row for label, row in rows.items() if label.startswith("Steam could reach"))
    joint = instrument_words("needle_holder", "en").places["box_lock"].lower()
    assert joint in steam["label"].lower()
    assert int(steam["after"]) < int(steam["before"]) <= 100
    endotoxin = rows["Endotoxin left by the water (it comes from germs and can cause fever)"]
    assert (endotoxin["limit"], endotoxin["after_is"]) == ("20 EU", "above the limit")
    assert rows["Oil on the joints (steam cannot pass it)"]["after"] == "15"
    assert rows["Water inside, where it must stay dry"]["after"] == "2"


def test_before_the_rinse_water_and_endotoxin_are_no_news() -> None:
    site = read_yaml(DEFAULT_SITE, SiteValues)
    soak = lesson_library().instance("soak-clamp-dried", site, 5)
    before = opening(soak)
    after = replace(before, state=before.state.changed(water_ml=6.0, endotoxin_eu=90.0))
    assert changed_figures(soak, before, after, interface("en"), "en") == []


def test_only_what_changed_is_shown_with_its_limit() -> None:
    site = read_yaml(DEFAULT_SITE, SiteValues)
    instance = lesson_library().instance("rinse-needle-holder-bays", site, 5)
    start = opening(instance)
    before = replace(start, state=start.state.changed(residue_mg=0.0))
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


def test_what_the_page_calls_left_is_what_the_bench_calls_over() -> None:
    """One rule for both: an instrument that is damaged does not end within the limits."""
    site = read_yaml(DEFAULT_SITE, SiteValues)
    instance = lesson_library().instance("soak-clamp-dried", site, 5)
    clean = opening(instance).state.changed(
        soil={place: dict.fromkeys(SOIL_KINDS, 0.0) for place in instance.instrument.places}
    )
    whole = replace(opening(instance), state=clean)
    worn = replace(whole, state=clean.changed(damage=0.4))
    hardly = replace(whole, state=clean.changed(damage=0.001))
    assert beyond_limits(instance, whole, interface(), "en") == []
    assert set(over_limits(instance, worn)) == {"damage"}
    (said,) = beyond_limits(instance, worn, interface(), "en")
    assert said == "Damage (0 none, 1 unfit for use): 0.4 (limit: none allowed)"
    assert beyond_limits(instance, hardly, interface(), "en") == []
