from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from sample_cohort.generate import CohortSummary, write_cohort
from scoring.faults import FaultError
from scoring.form import Form
from scoring.library import Library
from scoring.marking.marks import SittingMarks
from scoring.model import digest
from scoring.records.log import read_log
from scoring.settings import Settings
from scoring.site import SiteValues

GOLDEN = "67e1d809959aecf05bf48dca3f88df6cff75b4cd99afa982537b7647e128ad85"
"""Digest of every answer of the cohort. Computed by this code: it tells that the data changed,
not that they are right. It changes with the exam scenarios; then look at the report again."""


def test_the_answers_have_not_drifted(cohort: CohortSummary) -> None:
    content = [
        [read.header.operator, read.header.form, read.header.started.isoformat()]
        + [
            [answer.at.isoformat(), answer.scenario, answer.decision, answer.value, answer.seconds]
            for answer in read.answers
        ]
        for read in map(read_log, cohort.logs)
    ]
    assert digest(content) == GOLDEN


def test_again_gives_the_same_bytes(
    cohort: CohortSummary, tmp_path: Path, library: Library, site: SiteValues, forms: Sequence[Form]
) -> None:
    again = write_cohort(Settings(tmp_path, tmp_path), forms, library, site)
    assert [path.name for path in again.logs] == [path.name for path in cohort.logs]
    for one, other in zip(cohort.logs, again.logs, strict=True):
        assert one.read_bytes() == other.read_bytes()
    assert again.receipts == cohort.receipts


def test_writing_over_it_keeps_what_is_there(
    tmp_path: Path, library: Library, site: SiteValues, forms: Sequence[Form]
) -> None:
    settings = Settings(tmp_path, tmp_path)
    counted: list[int] = []
    first = write_cohort(settings, forms, library, site, progress=counted.append)
    assert counted == list(range(1, 93))
    before = {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in first.logs}
    assert write_cohort(settings, forms, library, site) == first
    assert before == {path: (path.stat().st_mtime_ns, path.read_bytes()) for path in first.logs}


def test_another_cohort_in_the_same_folder_is_refused(
    tmp_path: Path, library: Library, site: SiteValues, forms: Sequence[Form]
) -> None:
    settings = Settings(tmp_path, tmp_path)
    first = write_cohort(settings, forms, library, site)
    content = first.logs[0].read_bytes()
    with pytest.raises(FaultError, match="empty records folder"):
        write_cohort(settings, forms, library, site, seed=2)
    assert first.logs[0].read_bytes() == content


def test_the_summary_counts_what_is_on_the_disk(cohort: CohortSummary) -> None:
    reads = [read_log(path) for path in cohort.logs]
    assert cohort.planned == 96
    assert cohort.missing == 4
    assert len(cohort.operators) == 24
    assert cohort.answers == sum(len(read.answers) for read in reads)
    assert {r.header.sitting: r.receipt for r in reads if r.close} == cohort.receipts
    assert [r.header.sitting for r in reads if not r.close] == list(cohort.unfinished)
    assert len(cohort.unfinished) == 2


def test_times_run_forward_and_sittings_last_as_long_as_real_ones(cohort: CohortSummary) -> None:
    for read in map(read_log, cohort.logs):
        times = [read.header.started, *(answer.at for answer in read.answers)]
        assert times == sorted(times)
        if read.close is not None:
            assert read.close.at >= times[-1]
            assert 4 < (read.close.at - read.header.started).total_seconds() / 60 < 40


def test_every_answer_was_marked(marks: Sequence[SittingMarks]) -> None:
    reasons = {m.reason for s in marks for m in s.decisions if not m.assessed}
    assert reasons == {"unanswered"}
    unanswered = sum(not m.assessed for s in marks for m in s.decisions)
    # Two sittings that stopped after 8 and 13 of 20 answers, one with its last 5 left blank.
    assert unanswered == 12 + 7 + 5
