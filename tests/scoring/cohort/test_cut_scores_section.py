from __future__ import annotations

import numpy as np
import pytest

from scoring.cohort.cut_scores_section import cut_scores_section
from scoring.cohort.cut_study import BORDER, SITE, station_cuts
from scoring.cohort.observed import observed_totals
from scoring.evidence import Estimate
from scoring.measurement.standard_setting import SideBySide
from tests.scoring.cohort.watched import observation, watched

RATERS = {"AS-1": 0.0, "AS-2": 0.0, "AS-3": 0.0}


def test_the_cut_is_the_line_at_the_borderline_grade_over_performances_not_records() -> None:
    made = watched(RATERS, performances=80)
    totals = observed_totals(made)
    (one,) = station_cuts(totals, 0.8)
    each = totals.groupby("occasion")[["share", "overall"]].mean()
    slope, start = np.polyfit(each["overall"], each["share"], 1)
    cut = one.cuts[BORDER]
    assert isinstance(cut, Estimate)
    assert cut.value == pytest.approx(start + 2 * slope)
    assert one.performances == 80


def test_consequences_are_counts_and_name_nobody() -> None:
    made = watched(RATERS, performances=80)
    (one,) = station_cuts(observed_totals(made), 0.8)
    assert isinstance(one.beside, SideBySide)
    site = next(each for each in one.beside.consequences if each.method == SITE)
    section = cut_scores_section(made, 0.8)
    assert f"{len(site.passing)} of 80" in section.html
    everything = section.html + str(section.findings) + str(section.sheets)
    assert "OP-" not in everything
    assert "made-performance" not in everything


def test_few_or_no_grades_get_sentences() -> None:
    assert "Nobody has been watched" in cut_scores_section([], 0.8).html
    plain = [observation("made-occasion-1", "AS-1", {"a": "done"}, overall=None)]
    assert "No record has an overall grade yet" in cut_scores_section(plain, 0.8).html
    few = watched(RATERS, performances=5)
    assert "at least 20 are needed" in cut_scores_section(few, 0.8).html
    alike = [
        observation(f"made-occasion-{n:02d}", "AS-1", {"a": "done"}, overall=3) for n in range(30)
    ]
    assert "Too little evidence" in cut_scores_section(alike, 0.8).html
