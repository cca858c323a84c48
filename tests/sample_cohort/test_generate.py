from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest

from sample_cohort.generate import CohortSummary, write_cohort
from sample_cohort.truth import BROKEN
from scoring.faults import FaultError
from scoring.form import Form
from scoring.library import Library
from scoring.marking.marks import SittingMarks
from scoring.model import digest
from scoring.records.people import read_events, read_people
from scoring.records.reading import ReadLog
from scoring.settings import Settings
from scoring.site import SiteValues
from tests.sample_cohort.conftest import ROOT

GOLDEN = "33edd592088154aa77712dd49c33d4cbb971ec8ae732ace283e1bedbe34e0035"
"""Digest of every answer of the cohort. Computed by this code: it tells that the data changed,
not that they are right. It changes with the exam scenarios; then look at the report again."""


def test_the_answers_have_not_drifted(logs: Sequence[ReadLog]) -> None:
    content = [
        [read.header.operator, read.header.form, read.header.started.isoformat()]
        + [
            [answer.at.isoformat(), answer.scenario, answer.decision, answer.value, answer.seconds]
            for answer in read.answers
        ]
        for read in logs
    ]
    assert digest(content) == GOLDEN


def test_again_gives_the_same_answers_and_changes_nothing(
    cohort: CohortSummary,
    settings: Settings,
    library: Library,
    sites: Mapping[str, SiteValues],
    forms: Sequence[Form],
) -> None:
    before = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in cohort.logs}
    counted: list[int] = []
    assert write_cohort(settings, forms, library, sites, progress=counted.append) == cohort
    assert counted == list(range(1, len(cohort.logs) + 1))
    assert before == {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in cohort.logs}


def test_another_cohort_in_the_same_folder_is_refused(
    cohort: CohortSummary,
    settings: Settings,
    library: Library,
    sites: Mapping[str, SiteValues],
    forms: Sequence[Form],
) -> None:
    content = cohort.logs[0].read_bytes()
    with pytest.raises(FaultError, match="empty records folder"):
        write_cohort(settings, forms, library, sites, seed=2)
    assert cohort.logs[0].read_bytes() == content


def test_the_summary_counts_what_is_on_the_disk(
    cohort: CohortSummary, logs: Sequence[ReadLog]
) -> None:
    assert cohort.planned == 576
    assert cohort.missing == 28
    assert len(cohort.operators) == 48
    assert cohort.answers == sum(len(read.answers) for read in logs)
    assert all(read.damage is None for read in logs)
    assert {r.header.sitting: r.receipt for r in logs if r.close} == cohort.receipts
    assert [r.header.sitting for r in logs if not r.close] == list(cohort.unfinished)
    assert len(cohort.unfinished) == 2


def test_times_run_forward_and_sittings_last_as_long_as_real_ones(logs: Sequence[ReadLog]) -> None:
    for read in logs:
        times = [read.header.started, *(answer.at for answer in read.answers)]
        assert times == sorted(times)
        if read.close is not None:
            assert read.close.at >= times[-1]
            assert 4 < (read.close.at - read.header.started).total_seconds() / 60 < 40


def test_every_answer_was_marked(marks: Sequence[SittingMarks]) -> None:
    reasons = {m.reason for s in marks for m in s.decisions if not m.assessed}
    assert reasons == {"unanswered"}
    unanswered = sum(not m.assessed for s in marks for m in s.decisions)
    # Two sittings of 25 that stopped after 8 and 13 answers, one with its last 5 left blank.
    assert unanswered == 17 + 12 + 5


def test_people_and_the_retraining_can_be_read_back(
    settings: Settings, cohort: CohortSummary
) -> None:
    assert tuple(read_people(settings)) == cohort.operators
    (event,) = read_events(settings)
    assert (event.kind, event.station, event.operators) == (
        "retraining", "brush", cohort.retrained,
    )  # fmt: skip
    assert len(cohort.retrained) == 12


def test_no_broken_scenario_stands_in_the_shipped_bank_or_forms() -> None:
    shipped = [
        path
        for folder in (ROOT / "assessments", ROOT / "lessons")
        for path in folder.rglob("*.yaml")
    ]
    assert len(shipped) > 100
    for path in shipped:
        for broken, sound in BROKEN.items():
            assert broken not in path.read_text(encoding="utf-8"), path
            assert sound != broken
