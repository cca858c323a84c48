"""The answer log: the only truth about what a person did in one sitting.

JSON Lines, one line an answer, appended, flushed and fsynced before the page may
say "saved". Each line carries the digest of the one before. See
:mod:`scoring.records.reading` for what reading back finds.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, Literal, Self, TypeVar

from filelock import FileLock, Timeout
from pydantic import ValidationError
from pydantic_core import PydanticSerializationError

from scoring.attempt import Answer, AnswerValue, Close, Event, Header
from scoring.records import disk
from scoring.records.chain import line_digest, receipt_code, to_bytes
from scoring.records.reading import ReadLog, read_log
from scoring.records.troubles import LogRefused, RecordsError, StaleLog

__all__ = [
    "AnswerLog",
    "LogRefused",
    "ReadLog",
    "RecordsError",
    "StaleLog",
    "local_now",
    "read_log",
    "receipt_code",
]

LOCK_SECONDS = 10.0
"""An append takes milliseconds; who waits longer should be told. A working judgement."""

Clock = Callable[[], datetime]

Added = TypeVar("Added", Answer, Event, Close)


def local_now() -> datetime:
    """Return the time now with the offset of this machine's time zone."""
    return datetime.now().astimezone()


class AnswerLog:
    """One sitting's log, open for writing. Made by `start` or `resume`.

    Parameters
    ----------
    path : Path
        The file.
    read : ReadLog
        What stands in it.
    clock : callable
        Gives the time written into the next line, with its offset.
    """

    def __init__(self, path: Path, read: ReadLog, clock: Clock) -> None:
        self.path = path
        self.header = read.header
        self._answers = list(read.answers)
        self._events = list(read.events)
        self._closed = read.close is not None
        self._receipt = read.receipt
        self._next_seq = read.lines
        self._size = read.whole
        self._tail = read.tail
        self._clock = clock
        self._lock = FileLock(path.with_name(f"{path.name}.lock"), timeout=LOCK_SECONDS)

    @classmethod
    def start(cls, path: Path, header: Header, clock: Clock = local_now) -> Self:
        """Begin a new log.

        Raises
        ------
        RecordsError
            The file is there already or cannot be written.
        """
        raw = to_bytes(header)
        disk.create(path, raw + b"\n")
        read = ReadLog(header, (), (), None, None, len(raw) + 1, line_digest(raw))
        return cls(path, read, clock)

    @classmethod
    def resume(cls, path: Path, detail: str = "", clock: Clock = local_now) -> Self:
        """Open a log again after a reload or a dead kernel, and record that it was.

        A torn last line is moved to ``<file>.damaged-N`` first. A log that was
        handed in is opened as it is; nothing is added.

        Raises
        ------
        LogRefused
            A line was changed, moved or removed.
        RecordsError
            The file cannot be read or written.
        """
        with _held(FileLock(path.with_name(f"{path.name}.lock"), timeout=LOCK_SECONDS), path):
            read = read_log(path)
            if read.damage is not None:
                aside = disk.set_aside(path, read.whole)
                detail = f"{detail} torn last line set aside in {aside.name if aside else '-'}"
            log = cls(path, read, clock)
            if read.ends_open:
                disk.append(path, b"\n", read.whole)
                log._size += 1
        if not log.closed:
            log.event("resumed", detail.strip())
        return log

    @property
    def answers(self) -> tuple[Answer, ...]:
        """Every answer saved so far, in the order given."""
        return tuple(self._answers)

    @property
    def events(self) -> tuple[Event, ...]:
        """What else happened to the sitting, in the order written."""
        return tuple(self._events)

    @property
    def closed(self) -> bool:
        """Whether the sitting was handed in."""
        return self._closed

    @property
    def receipt(self) -> str:
        """The receipt code; empty until the closing line was written and read back."""
        return self._receipt

    def answer(self, scenario: str, decision: str, value: AnswerValue, seconds: float) -> Answer:
        """Save one answer; when this returns it is on the disk.

        Parameters
        ----------
        scenario, decision : str
            What was answered.
        value : str, tuple of str or dict
            The answer; check it first with `scoring.marking.credit.check_answer`.
        seconds : float
            Time taken. A clock that was set back gives a negative number; it is
            written as 0, because the answer matters more than the time.

        Raises
        ------
        StaleLog
            The sitting was opened elsewhere since.
        RecordsError
            The answer could not be written; the file is as it was.
        """
        taken = float(seconds) if math.isfinite(seconds) and seconds > 0 else 0.0
        line = self._add(Answer, scenario=scenario, decision=decision, value=value, seconds=taken)
        self._answers.append(line)
        return line

    def event(self, what: Literal["resumed", "hint"], detail: str = "") -> Event:
        """Save that something happened besides an answer; raises as `answer` does."""
        printable = detail.encode("utf-8", "replace").decode("utf-8")
        line = self._add(Event, what=what, detail=printable)
        self._events.append(line)
        return line

    def close(self) -> str:
        """Hand the sitting in: write the closing line, read everything back, give the code.

        Returns
        -------
        str
            The receipt code.

        Raises
        ------
        RecordsError
            What was read back is not what was written.
        """
        self._add(Close, answers=len(self._answers))
        self._closed = True
        read = read_log(self.path)
        if (read.answers, read.tail, read.damage) != (self.answers, self._tail, None):
            raise RecordsError.one(
                self.path,
                "the whole file",
                found="other lines than were written",
                wanted="the log as it was written",
                remedy="Keep the file, tell the trainer, and check this disk.",
            )
        self._receipt = read.receipt
        return self._receipt

    def _add(self, kind: type[Added], **fields: Any) -> Added:
        if self.closed:
            raise RecordsError.one(
                self.path,
                "the whole file",
                found="a sitting that was handed in",
                wanted="an open sitting",
                remedy="Nothing more can be added. Start a new sitting.",
            )
        try:
            line = kind(seq=self._next_seq, at=self._clock(), previous=self._tail, **fields)
            raw = to_bytes(line)
        except ValidationError as error:
            misfit = error.errors(include_url=False)[0]
            raise RecordsError.one(
                self.path,
                ".".join(str(part) for part in misfit["loc"]),
                found=misfit["input"],
                wanted=misfit["msg"],
                remedy="This answer cannot be stored. Answer again.",
            ) from error
        except PydanticSerializationError as error:
            # Half of a character pair, as only a broken page can send it.
            raise RecordsError.one(
                self.path,
                "value",
                found=repr(fields),
                wanted="text that can be written as UTF-8",
                remedy="This answer cannot be stored. Answer again.",
            ) from error
        with _held(self._lock, self.path):
            self._check_tail()
            disk.append(self.path, raw + b"\n", self._size)
        self._size += len(raw) + 1
        self._tail = line_digest(raw)
        self._next_seq += 1
        return line

    def _check_tail(self) -> None:
        """Another window, or another kernel, may have written since."""
        try:
            content = self.path.read_bytes()
        except OSError as error:
            raise RecordsError.one(
                self.path,
                "the whole file",
                found=error.strerror or type(error).__name__,
                wanted="the log of this sitting",
                remedy="Check that the records folder is there, then open the sitting again.",
            ) from error
        last = content[:-1].rpartition(b"\n")[2]
        if len(content) != self._size or line_digest(last) != self._tail:
            raise StaleLog.one(
                self.path,
                f"line {self._next_seq + 1}",
                found="lines written by another window",
                wanted="the file as this window left it",
                remedy="This sitting is open elsewhere. Go on there, or open it again here.",
            )


@contextmanager
def _held(lock: FileLock, path: Path) -> Iterator[None]:
    try:
        lock.acquire()
    except Timeout as error:
        raise RecordsError.one(
            path,
            "the whole file",
            found="a file that another program holds",
            wanted=f"a file that is free within {LOCK_SECONDS:.0f} s",
            remedy="Close the other window of this sitting, then try again.",
        ) from error
    except OSError as error:
        raise RecordsError.one(
            path,
            "the folder it is in",
            found=error.strerror or type(error).__name__,
            wanted="a folder that can be written",
            remedy=disk.FULL,
        ) from error
    try:
        yield
    finally:
        lock.release()
