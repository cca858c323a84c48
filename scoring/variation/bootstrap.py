"""Any statistic of a long table with its interval, by drawing operators anew, on all cores.

Answers of one person belong together, so whole persons are drawn, not answers. Each replicate has
a random stream of its own, so the result does not depend on how many processes share the work.
"""

from __future__ import annotations

import math
import os
import pickle
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from multiprocessing import get_context
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from scipy.stats import norm  # type: ignore[import-untyped]

from scoring.evidence import CONFIDENCE, DataError, Estimate, TooLittleEvidence, check_confidence
from scoring.variation.own_process import Held, one_core, start

Table = dict[str, npt.NDArray[Any]]
Statistic = Callable[
    [Table], "float | Sequence[float] | npt.NDArray[np.float64] | TooLittleEvidence"
]
Floats = npt.NDArray[np.float64]

REPLICATES = 1000
"""Usual for the ends of a 95 % interval (Efron B, Tibshirani R (1993), An Introduction to the
Bootstrap, from memory)."""

LEAST_CLUSTERS = 5
"""Fewest people drawn from: with fewer the same few samples come up again and again. A working
judgement, no source."""

MOST_WITHOUT = 0.1
"""Share of replicates without a figure above which there is no interval: what is left would be
a chosen part. A working judgement, no source."""

CHUNKS = 8
"""Pieces of work a process gets, so that progress is seen and no process waits long for the
last. An assumption."""

START = 3.0
"""Seconds that a further process needs before its first job, for loading numpy and scipy: 2 of
processor time were measured, and somewhat more passes. A working judgement."""

LOOK = 0.3
"""Seconds of jobs done here first, from which it is judged whether further processes pay. An
assumption."""

BUSY = 0.6
"""Share of a core below which this process is taken to have got less than it could use: others
want the cores too, and further processes would only wait. A working judgement."""


class CancelledError(Exception):
    """The caller asked to stop."""


@dataclass(frozen=True, slots=True)
class Bootstrap:
    """What came of it.

    Attributes
    ----------
    estimates : tuple of Estimate
        One for each figure of the statistic: its value on the table as given, and the
        interval; n: people. An interval is None where its figure does not vary.
    replicates : ndarray, shape (kept, figures)
        Figures of the drawn tables, in the order of the draws.
    without : int
        Replicates whose statistic gave no figure.
    workers : int
        Processes that did the work; 1 is this one alone.
    """

    estimates: tuple[Estimate, ...]
    replicates: Floats
    without: int
    workers: int


def bootstrap(
    statistic: Statistic,
    table: Mapping[str, npt.ArrayLike],
    *,
    seed: int,
    cluster: str = "operator",
    replicates: int = REPLICATES,
    method: Literal["bca", "percentile"] = "bca",
    confidence: float = CONFIDENCE,
    workers: int | None = None,
    progress: Callable[[int, int], object] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Bootstrap | TooLittleEvidence:
    """Return a statistic with its interval by the cluster bootstrap.

    Parameters
    ----------
    statistic : callable
        Takes a dict of columns as arrays; returns one figure or several, always as many.
        NaN or `TooLittleEvidence` is "no figure". For several processes it must be a function
        of a module (or a `functools.partial` of one); anything else runs in this process.
    table : mapping of str to array_like, shape (rows,)
        A long table by column; a data frame works.
    seed : int
        Of all draws.
    cluster : str
        Column with the people who are drawn. In a drawn table someone drawn twice is two people:
        this column then holds whole numbers from 0.
    replicates : int
        Tables drawn, at least 2.
    method : {"bca", "percentile"}
        Bias corrected and accelerated (one more run of the statistic for each person), or
        plain quantiles.
    confidence : float
        Between 0 and 1, both excluded.
    workers : int, optional
        Processes, this one included, used whether they pay or not. Unless given: as many as
        this process may use cores where the first jobs show that starting them pays, else 1.
    progress : callable, optional
        Called with (done, total) in this process, from time to time and at the end.
    cancelled : callable, optional
        Asked from time to time; True stops.

    Returns
    -------
    Bootstrap or TooLittleEvidence
        ``missing`` is ``rows``, the cluster's name (too few people), ``figure`` (none on the
        table as given) or ``replicates`` (too many without a figure).

    Raises
    ------
    CancelledError
        `cancelled` said so. What was not begun is not done.
    DataError
        Columns of different lengths, no such column, a person without code.
    ValueError
        A parameter outside its range, or a statistic that gives now more, now fewer figures.

    Notes
    -----
    Processes are started afresh ("spawn") on every system, so a script that calls this needs the
    usual ``if __name__ == "__main__":``. The table travels once to each; this process works along
    while they start, which takes about `START` seconds. Where no process can be started the work
    is done in this one, with the same result. BCa: Efron B (1987), J Am Stat Assoc 82:171-185,
    from memory; acceleration by leaving out one person at a time.
    """
    check_confidence(confidence)
    if replicates < 2:
        raise ValueError(f"replicates {replicates!r}: wanted 2 or more")
    if workers is not None and workers < 1:
        raise ValueError(f"workers {workers!r}: wanted 1 or more")
    columns, groups = _grouped(table, cluster)
    if not groups:
        return TooLittleEvidence("rows", "The table has no rows.", 0)
    n = len(groups)
    if n < LEAST_CLUSTERS:
        said = f"Only {n} of “{cluster}”; at least {LEAST_CLUSTERS} are needed."
        return TooLittleEvidence(cluster, said, n)
    value = _figures(statistic, columns)
    if np.isnan(value).any():
        return TooLittleEvidence("figure", "The data as given allow no figure.", n)
    work = _Work(statistic, columns, groups, cluster, seed)
    jobs = list(range(replicates)) + ([-1 - k for k in range(n)] if method == "bca" else [])
    rows, used = _run(work, jobs, workers, progress, cancelled)
    figures = _stacked([rows[k] for k in range(replicates)], len(value))
    kept = figures[~np.isnan(figures).any(axis=1)]
    without = replicates - len(kept)
    if without > MOST_WITHOUT * replicates or len(kept) < 2:
        said = f"{without} of {replicates} drawn tables allow no figure."
        return TooLittleEvidence("replicates", said, n)
    outs = [rows[k] for k in jobs[replicates:]]
    left = _stacked(outs, len(value)) if outs else None
    estimates = tuple(
        _interval(float(value[k]), kept[:, k], None if left is None else left[:, k], n, confidence)
        for k in range(len(value))
    )
    return Bootstrap(estimates, kept, without, used)


@dataclass(frozen=True, slots=True)
class _Work:
    """What one job needs: number 0 and up is a draw, below 0 a person left out."""

    statistic: Statistic
    columns: Table
    groups: list[npt.NDArray[np.int64]]
    cluster: str
    seed: int

    def done(self, job: int) -> Floats:
        """Return the figures of one job."""
        n = len(self.groups)
        if job < 0:
            drawn = np.delete(np.arange(n), -1 - job)
        else:
            stream = np.random.SeedSequence(self.seed, spawn_key=(job,))
            drawn = np.random.default_rng(stream).integers(0, n, n)
        rows = np.concatenate([self.groups[k] for k in drawn])
        table = {name: values[rows] for name, values in self.columns.items()}
        table[self.cluster] = np.repeat(
            np.arange(n - (job < 0)), [len(self.groups[k]) for k in drawn]
        )
        return _figures(self.statistic, table)


def _piece(jobs: list[int]) -> list[Floats]:
    work = Held.work
    if work is None:
        raise RuntimeError("a process was given jobs before its work")
    return [work.done(job) for job in jobs]


Step = Callable[[list[tuple[int, Floats]]], None]


def _run(
    work: _Work,
    jobs: list[int],
    workers: int | None,
    progress: Callable[[int, int], object] | None,
    cancelled: Callable[[], bool] | None,
) -> tuple[dict[int, Floats], int]:
    """Return the figures of every job, and how many processes did them."""
    found: dict[int, Floats] = {}

    def step(pairs: list[tuple[int, Floats]]) -> None:
        found.update(pairs)
        if progress is not None and pairs:
            progress(len(found), len(jobs))
        if cancelled is not None and cancelled():
            raise CancelledError(f"stopped after {len(found)} of {len(jobs)}")

    step([])
    size = max(1, len(jobs) // 100)
    wanted = _paying(work, jobs, size, step) if workers is None else workers
    left = jobs[len(found) :]
    wanted = min(wanted, len(left))
    pickled = _pickled(work) if wanted > 1 else None
    if pickled is not None and _shared(work, pickled, left, wanted, size, step):
        return found, wanted
    _here(work, [job for job in left if job not in found], size, step)
    return found, 1


def _here(work: _Work, jobs: list[int], size: int, step: Step) -> None:
    """Do jobs in this process, `size` between two steps."""
    for first in range(0, len(jobs), size):
        step([(job, work.done(job)) for job in jobs[first : first + size]])


def _paying(work: _Work, jobs: list[int], size: int, step: Step) -> int:
    """Do the first jobs here and return with how many processes the others are done soonest."""
    cores = _cores()
    if cores == 1:
        return 1
    begun, used, done = time.perf_counter(), time.process_time(), 0
    while done < len(jobs) and time.perf_counter() - begun < LOOK:
        _here(work, jobs[done : done + size], size, step)
        done += size
    passed = time.perf_counter() - begun
    if time.process_time() - used < BUSY * passed:
        return 1
    alone = passed / done * max(0, len(jobs) - done)
    return cores if alone * (1.0 - 1.0 / cores) > START else 1


def _shared(
    work: _Work, pickled: bytes, jobs: list[int], workers: int, small: int, step: Step
) -> bool:
    """Do the jobs in several processes, this one too; return False where those cannot be had."""
    size = max(1, -(-len(jobs) // (workers * CHUNKS)))
    pieces = [jobs[first : first + size] for first in range(0, len(jobs), size)]
    try:
        pool = ProcessPoolExecutor(
            workers - 1, mp_context=get_context("spawn"), initializer=start, initargs=(pickled,)
        )
    except (OSError, ImportError, ValueError):  # no semaphores, or no processes, on this system
        return False
    try:
        with one_core():
            open_: dict[Future[list[Floats]], list[int]] = {
                pool.submit(_piece, piece): piece for piece in pieces
            }
        while open_:
            # The last that no other process has begun is done here.
            mine = next((future for future in reversed(open_) if future.cancel()), None)
            if mine is not None:
                _here(work, open_.pop(mine), small, step)
            # Waking now and then lets a request to stop be heard while pieces are long.
            done, _ = wait(open_, 0.5 if mine is None else 0.0, return_when=FIRST_COMPLETED)
            pairs = [
                pair
                for future in sorted(done, key=lambda f: open_[f][0])
                for pair in zip(open_.pop(future), future.result(), strict=True)
            ]
            if pairs or mine is None:
                step(pairs)
    except (BrokenProcessPool, OSError):
        return False
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    return True


def _pickled(work: _Work) -> bytes | None:
    """Return the work for another process, or None where it cannot travel."""
    if getattr(work.statistic, "__module__", None) == "__main__":
        return None
    try:
        return pickle.dumps(work)
    except (pickle.PicklingError, AttributeError, TypeError):  # a lambda, a function inside one
        return None


def _cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _figures(statistic: Statistic, table: Table) -> Floats:
    """Return a statistic's figures; NaN where it has none."""
    found = statistic(table)
    if isinstance(found, TooLittleEvidence):
        return np.full(1, math.nan)
    return np.atleast_1d(np.asarray(found, dtype=float))


def _stacked(found: list[Floats], size: int) -> Floats:
    """Return one row of figures a job; a job without any has NaN throughout."""
    out = np.full((len(found), size), math.nan)
    for k, figures in enumerate(found):
        if len(figures) == size:
            out[k] = figures
        elif not np.isnan(figures).any():
            raise ValueError(f"statistic gave {len(figures)} figures: wanted {size}, as at first")
    return out


def _grouped(
    table: Mapping[str, npt.ArrayLike], cluster: str
) -> tuple[Table, list[npt.NDArray[np.int64]]]:
    """Return the columns as arrays and the rows of each person, people sorted."""
    columns = {str(name): np.asarray(values) for name, values in table.items()}
    if cluster not in columns:
        raise DataError(cluster, sorted(columns), f"a column “{cluster}”")
    rows = len(columns[cluster])
    for name, values in columns.items():
        if values.shape[:1] != (rows,):
            raise DataError(name, values.shape, f"as many rows as “{cluster}”, {rows}")
    codes = columns[cluster].tolist()
    for k, code in enumerate(codes):
        if code is None or code != code:
            raise DataError(f"{cluster}, row {k + 1}", code, "a code")
    people, place = np.unique(np.array(list(map(str, codes)), dtype=str), return_inverse=True)
    order = np.argsort(place, kind="stable")
    ends = np.cumsum(np.bincount(place, minlength=len(people)))
    return columns, np.split(order, ends[:-1]) if len(people) else []


def _interval(
    value: float, drawn: Floats, left: Floats | None, n: int, confidence: float
) -> Estimate:
    """Return one figure with its interval."""
    if np.ptp(drawn) == 0:
        return Estimate(value, None, None, n, confidence)
    tails = np.array([0.5 - confidence / 2.0, 0.5 + confidence / 2.0])
    if left is not None and not np.isnan(left).any():
        # Half of those equal count as below, so that a figure with few values is not biased.
        below = float(np.mean(drawn < value) + np.mean(drawn == value) / 2.0)
        bias = float(norm.ppf(np.clip(below, 0.5 / len(drawn), 1.0 - 0.5 / len(drawn))))
        gaps = left.mean() - left
        scale = float(np.sum(gaps**2))
        acceleration = float(np.sum(gaps**3)) / (6.0 * scale**1.5) if scale > 0 else 0.0
        shifted = bias + norm.ppf(tails)
        tails = norm.cdf(bias + shifted / np.maximum(1e-9, 1.0 - acceleration * shifted))
    low, high = map(float, np.quantile(drawn, tails))
    return Estimate(value, min(low, value), max(high, value), n, confidence)
