"""The trainer's page of curves, at every department's own values."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pytest

from lessons.curves.page import Curves, as_csv
from lessons.curves.saying import outcome_names, over_names
from scoring.settings import Settings
from tests.lessons.players import SITES


def page(path: Path, tmp_path: Path) -> Curves:
    return Curves(Settings(tmp_path, path))


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
def test_the_window_shown_is_the_departments_own(path: Path, tmp_path: Path) -> None:
    curves = page(path, tmp_path)
    low, high = curves.site.cleaner.contact_min, curves.site.cleaner.contact_max
    assert f"window, {low:g} min to {high:g} min" in curves.shown.value
    assert curves.site.name in curves.page.children[0].value


def test_every_choice_gives_a_picture_or_says_why_not(tmp_path: Path) -> None:
    curves = page(SITES[0], tmp_path)
    pictures = 0
    for _, over in over_names():
        curves.over.value = over
        for _, which in outcome_names()[:4]:
            curves.outcome.value = which
            shown = curves.shown.value
            assert ("<svg" in shown) != ("There is no such step" in shown)
            pictures += "<svg" in shown
    assert pictures >= 24


def test_a_quantity_that_no_step_uses_is_told(tmp_path: Path) -> None:
    curves = page(SITES[0], tmp_path)
    curves.instrument.value = "powered_drill"
    curves.over.value = "minutes"
    assert "There is no such step" in curves.shown.value


def test_the_table_has_the_units_and_every_point(tmp_path: Path) -> None:
    curve = page(SITES[0], tmp_path).curve()
    rows = list(csv.reader(io.StringIO(as_csv(curve))))
    assert rows[0] == ["minutes [min]", "protein [ug/cm2]"]
    assert len(rows) == 1 + curve.x.size
    assert float(rows[-1][1]) == curve.y[-1]


def test_the_picture_has_its_finding_as_text(tmp_path: Path) -> None:
    shown = page(SITES[0], tmp_path).shown.value
    alt = re.search(r'aria-label="([^"]+)"', shown)
    caption = re.search(r"<figcaption[^>]*>([^<]+)<", shown)
    assert alt
    assert caption
    assert alt.group(1) == caption.group(1)
