"""How a further process is started: kept to one core, and handed its work once.

Standard library only: the limits below are read when numpy is first loaded, and so must
be set before. A process that is started afresh loads the program's own script before anything
else, and that may load numpy; so the limits stand already in what the process inherits.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

LIMITS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""Names by which the libraries beneath numpy are told how many cores to use. Were each process to
use all cores, they would wait for each other: measured 3 times as slow as one process."""


class Held:
    """Holds the work of this process, so that the table travels here once."""

    work: Any = None


@contextmanager
def one_core() -> Iterator[None]:
    """Let processes that are started meanwhile keep to one core each."""
    before = {name: os.environ.get(name) for name in LIMITS}
    os.environ.update(dict.fromkeys(LIMITS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def start(pickled: bytes) -> None:
    """Unpack the work of this process."""
    Held.work = pickle.loads(pickled)  # noqa: S301  # made by this program a moment before
