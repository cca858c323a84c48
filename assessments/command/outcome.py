"""What the command's exit codes mean, and how a fault is said on the terminal."""

from __future__ import annotations

import sys
import tempfile
import traceback
from collections.abc import Callable
from datetime import datetime
from enum import IntEnum
from pathlib import Path

from rich.console import Console
from rich.markup import escape

from scoring.faults import Fault, FaultError


class Outcome(IntEnum):
    """Exit codes of `sinkside`.

    `FAULTS` says that a file needs mending; `USAGE` that the command line does;
    `PORT_TAKEN` that another program holds the port; `STORAGE` that records
    could not be written; `BROKEN` that the kit itself is at fault.
    """

    DONE = 0
    FAULTS = 1
    USAGE = 2
    PORT_TAKEN = 4
    STORAGE = 5
    BROKEN = 70


errors = Console(stderr=True, highlight=False, soft_wrap=True)
"""Where faults are said; standard output stays clean for results."""


def say_faults(faults: tuple[Fault, ...] | list[Fault]) -> None:
    """Print every fault: file and item first, then found, wanted, remedy."""
    for fault in faults:
        errors.print(f"[bold]{escape(fault.file)}[/bold]: {escape(fault.item)}")
        errors.print(f"    found:  {escape(fault.found)}")
        errors.print(f"    wanted: {escape(fault.wanted)}")
        errors.print(f"    remedy: {escape(fault.remedy)}")
    count = len(faults)
    errors.print(f"{count} {'fault' if count == 1 else 'faults'} found.")


def guarded(run: Callable[[], None]) -> int:
    """Run a command and turn whatever goes wrong into a message and an exit code.

    Parameters
    ----------
    run : callable
        The command; it may raise `FaultError`, `OSError` or `SystemExit`.

    Returns
    -------
    int
        The exit code. No traceback is shown; the one of an unexpected error is
        written to a file, and the file is named.
    """
    from lessons.serving.port import PortInUseError
    from scoring.records.troubles import RecordsError

    try:
        run()
    except PortInUseError as error:
        say_faults(error.faults)
        return Outcome.PORT_TAKEN
    except RecordsError as error:
        say_faults(error.faults)
        return Outcome.STORAGE
    except FaultError as error:
        say_faults(error.faults)
        return Outcome.FAULTS
    except KeyboardInterrupt:
        errors.print("Stopped.")
        return Outcome.DONE
    except OSError as error:
        where = error.filename if error.filename is not None else "the records"
        errors.print(f"{escape(str(where))}: {escape(error.strerror or str(error))}")
        errors.print("    remedy: Check that the folder exists, is not full, and may be written.")
        return Outcome.STORAGE
    except Exception as error:  # the last net: a trainer must never meet a traceback
        errors.print(f"The kit itself is at fault: {escape(type(error).__name__)}.")
        errors.print(f"    Nothing was lost. {_write_down(error)}")
        return Outcome.BROKEN
    return Outcome.DONE


def _write_down(error: Exception) -> str:
    name = f"sinkside-{datetime.now().astimezone():%Y%m%d-%H%M%S}.txt"
    path = Path(tempfile.gettempdir()) / name
    try:
        path.write_text("".join(traceback.format_exception(error)), encoding="utf-8")
    except OSError as full:
        why = full.strerror or type(full).__name__
        return f"The details could not be written ({escape(why)}). Free some space, then try again."
    return f"The details are in {escape(str(path))}. Show them to whoever looks after the kit."


def stop(outcome: Outcome) -> None:
    """End the command with this code."""
    sys.exit(outcome)
