"""A sitting's results in three packed columns, so that a cohort of any size is read in one pass.

The tables of decisions and stations answer questions about one sitting; a cohort needs a few
numbers of each of very many. They lie beside the sitting as fixed-width records that
:func:`unpacked` turns into arrays at once: no row becomes a Python object. Like the
rest of the index they are made again from the answer logs.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scoring.marking.marks import DecisionMark, Verdict
from scoring.model import STATIONS
from scoring.records.rows import Marked

VERDICTS: tuple[Verdict, ...] = ("not assessed", "not yet", "borderline", "competent")
"""By the number that stands for each."""

SUMS = np.dtype(
    [
        ("scenario", "<i4"),
        ("station", "i1"),
        ("decisions", "<i2"),
        ("assessed", "<i2"),
        ("right", "<i2"),
        ("points", "<f8"),
        ("maximum", "<f8"),
        ("unsafe", "<i2"),
        ("failed_critical", "<i2"),
        ("hits", "<i2"),
        ("misses", "<i2"),
        ("false_alarms", "<i2"),
        ("correct_rejections", "<i2"),
        ("seconds", "<f8"),
        ("residual", "<f8"),
    ]
)
"""One record a scenario. ``right`` counts decisions of full credit, ``residual`` is NaN where
nobody asked the bench; scenarios go by their number in the index's table of names."""

RESULTS = np.dtype(
    [
        ("station", "i1"),
        ("verdict", "i1"),
        ("points", "<f8"),
        ("maximum", "<f8"),
        ("share", "<f8"),
        ("decisions", "<i2"),
        ("unanswered", "<i2"),
        ("failed_critical", "<i2"),
    ]
)
"""One record a station's result."""

SLIPS = np.dtype([("station", "i1"), ("scenario", "<i4"), ("decision", "<i4"), ("mistake", "<i4")])
"""One record a mistake made; all but the station by their number in the table of names."""

NumberOf = Callable[[str], int]
"""From a scenario's, decision's or mistake's id to its number in the index."""


def packed(marked: Marked, number_of: NumberOf) -> dict[str, bytes]:
    """Return the packed columns of one sitting, by name."""
    marks = marked.marks
    return {
        "sums": np.array(_sums(marked, number_of), dtype=SUMS).tobytes(),
        "results": np.array(
            [
                (STATIONS.index(one.station), VERDICTS.index(one.verdict), one.points, one.maximum,
                 one.share, one.decisions, one.unanswered, len(one.failed_critical))
                for one in marks.stations
            ],
            dtype=RESULTS,
        ).tobytes(),
        "slips": np.array(
            [
                (STATIONS.index(mark.station), number_of(mark.scenario), number_of(mark.decision),
                 number_of(mistake))
                for mark in marks.decisions
                for mistake in mark.mistakes
            ],
            dtype=SLIPS,
        ).tobytes(),
    }  # fmt: skip


def unpacked(blobs: Sequence[bytes], kind: np.dtype[Any]) -> tuple[NDArray[Any], NDArray[np.intp]]:
    """Return the records of many sittings, and for each the place of its sitting.

    Parameters
    ----------
    blobs : sequence of bytes
        One packed column, in the order of the sittings.
    kind : dtype
        `SUMS`, `RESULTS` or `SLIPS`.

    Returns
    -------
    tuple of (ndarray of `kind`, ndarray of int)

    Raises
    ------
    ValueError
        A column does not hold whole records.
    """
    sizes = np.fromiter((len(blob) for blob in blobs), dtype=np.intp, count=len(blobs))
    records = np.frombuffer(b"".join(blobs), dtype=kind)
    return records, np.repeat(np.arange(len(blobs)), sizes // kind.itemsize)


def _sums(marked: Marked, number_of: NumberOf) -> list[tuple[float, ...]]:
    by_scenario: dict[str, list[DecisionMark]] = {}
    for mark in marked.marks.decisions:
        by_scenario.setdefault(mark.scenario, []).append(mark)
    seconds: dict[str, float] = {}
    for answer in marked.log.answers:
        seconds[answer.scenario] = seconds.get(answer.scenario, 0.0) + answer.seconds
    found: list[tuple[float, ...]] = []
    for scenario, marks in by_scenario.items():
        looked = [mark.looked for mark in marks if mark.looked is not None]
        found.append(
            (
                number_of(scenario),
                STATIONS.index(marks[0].station),
                len(marks),
                sum(mark.assessed for mark in marks),
                sum(mark.assessed and mark.credit == 1.0 for mark in marks),
                sum(mark.points for mark in marks),
                sum(mark.maximum for mark in marks),
                sum(mark.unsafe for mark in marks),
                sum(mark.unsafe and mark.critical for mark in marks),
                sum(look.hits for look in looked),
                sum(look.misses for look in looked),
                sum(look.false_alarms for look in looked),
                sum(look.correct_rejections for look in looked),
                seconds.get(scenario, 0.0),
                marked.residual.get(scenario, np.nan),
            )
        )
    return found
