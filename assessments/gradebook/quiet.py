"""Running nbgrader in this process without its noise on the trainer's screen."""

from __future__ import annotations

import logging
import os
import re
import sys
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from nbformat.warnings import DuplicateCellId, MissingIDFieldWarning

from scoring.faults import FaultError


@contextmanager
def quiet(log_file: Path) -> Iterator[logging.Logger]:
    """Let nbgrader run inside; what it says goes to `log_file`.

    nbgrader starts ``alembic`` by name when it makes a gradebook, so the folder
    of this Python comes first on the search path for as long as this lasts.
    """
    log_file.parent.mkdir(parents=True, exist_ok=True)
    handler = logging.FileHandler(log_file, encoding="utf-8", delay=True)
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    logger = logging.getLogger(f"sinkside.gradebook.{log_file.parent}")
    logger.propagate = False
    logger.addHandler(handler)
    path_before = os.environ.get("PATH", "")
    os.environ["PATH"] = os.pathsep.join([str(Path(sys.executable).parent), path_before])
    try:
        with warnings.catch_warnings():
            _filter_known_warnings()
            yield logger
    finally:
        os.environ["PATH"] = path_before
        logger.removeHandler(handler)
        handler.close()


def _filter_known_warnings() -> None:
    """Silence what nbgrader's and nbconvert's own code sets off; ours still speaks."""
    # nbgrader builds submissions before adding them to the session; SQLAlchemy remarks on it.
    warnings.filterwarnings("ignore", message="Object of type <Submitted", module="nbgrader")
    # A submitted notebook with odd cell ids is read all the same, and none of it is kept.
    warnings.filterwarnings("ignore", category=DuplicateCellId)
    warnings.filterwarnings("ignore", category=MissingIDFieldWarning)


_ERROR = re.compile(r"[\w.]*(Error|Exception)\b.*: ")
"""How the line of a traceback begins that says what happened."""


def must_succeed(result: Mapping[str, Any], what: str, log_file: Path) -> None:
    """Raise when nbgrader says that something failed.

    Raises
    ------
    FaultError
        With the last line of nbgrader's error and where its log lies.
    """
    if result["success"]:
        return
    # A traceback ends with the name of the error; nbgrader's own last line only points back to it.
    lines = [line.strip() for line in str(result.get("error", "")).splitlines()]
    lines = [line for line in lines if _ERROR.match(line) and "above traceback" not in line]
    raise FaultError.one(
        log_file,
        what,
        found=lines[-1] if lines else "a step of nbgrader that failed",
        wanted="nbgrader to finish without an error",
        remedy="Check that the disk is not full, then mark again: marking may be repeated. If it "
        "stays so, show this log file to whoever looks after the kit.",
    )
