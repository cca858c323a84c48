"""Marking in pure Python: decisions a second, from memory and from the log files.

The target is 100,000 decisions a second for logs in memory. Every sitting has a
seed of its own, as in a real exam. Times are those of this process's own core, so
that other programs do not blur them. The figures with the reading include every
digest of every line.
"""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from scoring.marking.sitting import Marker
from scoring.records.reading import read_log
from tests.scoring.small import sat_log, small_form, small_library, small_site

SITTINGS = 400
TARGET = 100_000


def new_marker() -> Marker:
    library, site = small_library(), small_site()
    return Marker(small_form(), lambda scenario, seed: library.instance(scenario, site, seed))


def test_marking_speed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    logs = [
        sat_log(
            tmp_path,
            f"small-sitting-{number}",
            f"OP-{number}",
            changed={
                ("small-soak", "dose"): {"amount": 10.0 + number / 10, "unit": "mL"},
                ("small-soak", "wear"): ("eyes", "sandals") if number % 3 else ("gloves", "gown"),
                ("small-look", "steps"): ("rinse", "soak", "brush", "look"),
            },
        )
        for number in range(SITTINGS)
    ]
    paths = sorted(tmp_path.glob("*.jsonl"))
    decisions = sum(len(log.answers) for log in logs)

    def rate(marker: Marker, from_files: bool) -> float:
        begin = time.process_time()
        for source in paths if from_files else logs:
            marker.mark(read_log(source) if isinstance(source, Path) else source)
        return decisions / (time.process_time() - begin)

    first = max(rate(new_marker(), from_files=False) for _ in range(5))
    warm = new_marker()
    memory = max(rate(warm, from_files=False) for _ in range(5))
    files = max(rate(warm, from_files=True) for _ in range(3))
    with capsys.disabled():
        print(
            f"\nmarking, {SITTINGS} sittings, {decisions} decisions, one core: "
            f"{memory:,.0f} decisions/s from memory with keys known (target {TARGET:,}), "
            f"{first:,.0f} with every sitting's keys computed first, "
            f"{files:,.0f} with the log files read and verified"
        )
    # Far too slow is a failure; the figures themselves are reported against the target.
    assert memory >= TARGET / 3
    assert files >= TARGET / 10
