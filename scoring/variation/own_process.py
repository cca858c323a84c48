"""The first thing a started process does: keep to one core, then take up its work.

Standard library only: the limits below are read when numpy is first loaded, and so must
be set before.
"""

from __future__ import annotations

import os
import pickle
from typing import Any

LIMITS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""Names by which the libraries beneath numpy are told how many cores to use. Were each process to
use all cores, they would wait for each other: measured 3 times as slow as one process."""


class Held:
    """Holds the work of this process, so that the table travels here once."""

    work: Any = None


def start(pickled: bytes) -> None:
    """Keep this process to one core and unpack its work."""
    for name in LIMITS:
        os.environ[name] = "1"
    Held.work = pickle.loads(pickled)  # noqa: S301  # made by this program a moment before
