"""Reading an answer log back, with every line checked against the one before."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from scoring.attempt import Answer, Close, Event, Header
from scoring.faults import Fault, FaultError
from scoring.records.chain import Line, from_bytes, line_digest, receipt_code
from scoring.records.troubles import LogRefused, RecordsError

LARGEST_BYTES = 20_000_000
"""A long sitting writes some 50 kB; a file this large is no answer log. A working judgement."""

READABLE_SCHEMAS = (1,)
"""Versions of the log's schema that this kit reads: every one ever released."""

ASK = "Do not repair the file by hand. Keep it, and let the trainer decide about this sitting."


@dataclass(frozen=True, slots=True)
class ReadLog:
    """A whole answer log as read.

    Attributes
    ----------
    header : Header
    answers : tuple of Answer
        In the order they were given. A decision may stand twice; the later counts.
    events : tuple of Event
    close : Close or None
        None while the sitting is not handed in.
    damage : Fault or None
        Set when the last line is torn; everything before it is kept.
    whole : int
        Bytes of the file that hold whole lines.
    tail : str
        Digest of the last whole line.
    ends_open : bool
        The last whole line lacks its newline.
    """

    header: Header
    answers: tuple[Answer, ...]
    events: tuple[Event, ...]
    close: Close | None
    damage: Fault | None
    whole: int
    tail: str
    ends_open: bool = False

    @property
    def lines(self) -> int:
        """How many whole lines there are; also the `seq` of the next one."""
        return 1 + len(self.answers) + len(self.events) + (self.close is not None)

    @property
    def receipt(self) -> str:
        """The receipt code, empty while the sitting is not handed in."""
        return receipt_code(self.tail) if self.close else ""


def read_log(path: Path) -> ReadLog:
    """Read and verify an answer log.

    Raises
    ------
    LogRefused
        A line was changed, moved or removed, or is written in a schema this kit
        does not know. The last line of a log that is not handed in has no later
        line to vouch for it; once handed in, the receipt code vouches for the
        closing line.
    RecordsError
        The file cannot be read.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise _refused(
                path, "the whole file", f"{size} bytes", f"at most {LARGEST_BYTES} bytes"
            )
        content = path.read_bytes()
    except OSError as error:
        raise RecordsError.one(
            path,
            "the whole file",
            found=error.strerror or type(error).__name__,
            wanted="an answer log that can be read",
            remedy="Check the name and that you may read the file.",
        ) from error
    return verify(path, content)


def verify(path: Path, content: bytes) -> ReadLog:
    """Check the bytes of a log; `path` is only named in faults.

    Raises
    ------
    LogRefused
        As in `read_log`.
    """
    raws = content.split(b"\n")
    rest = raws.pop()
    ends_open = False
    torn = rest
    if rest and _is_json(rest):
        raws.append(rest)
        ends_open, torn = True, b""
    if not raws or (len(raws) == 1 and not _is_json(raws[0])):
        raise LogRefused.one(
            path,
            "line 1",
            found="nothing" if not content else "a first line that breaks off",
            wanted="the header of an answer log",
            remedy="No answer was stored in this file. Rename it and start the sitting again.",
        )
    digests = [line_digest(raw) for raw in raws]
    lines = [_line(path, number, raw) for number, raw in enumerate(raws, start=1)]
    _check_chain(path, lines, digests)
    answers = tuple(line for line in lines if isinstance(line, Answer))
    close = lines[-1] if isinstance(lines[-1], Close) else None
    if close is not None and close.answers != len(answers):
        raise _refused(
            path,
            f"line {len(lines)}",
            f"a closing line that counts {close.answers} answers",
            f"{len(answers)}, as many as the log holds",
        )
    header = lines[0]
    if not isinstance(header, Header):
        raise _refused(path, "line 1", f"a line of kind {header.line!r}", "the header")
    return ReadLog(
        header=header,
        answers=answers,
        events=tuple(line for line in lines if isinstance(line, Event)),
        close=close,
        damage=_damage(path, len(lines), torn),
        whole=len(content) - len(torn),
        tail=digests[-1],
        ends_open=ends_open,
    )


def _is_json(raw: bytes) -> bool:
    try:
        return isinstance(json.loads(raw), dict)
    except (ValueError, RecursionError):
        return False


def _line(path: Path, number: int, raw: bytes) -> Line:
    if number == 1:
        _check_schema(path, raw)
    try:
        return from_bytes(raw)
    except ValidationError as error:
        misfit = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in misfit["loc"][1:]) or "the line"
        raise _refused(
            path, f"line {number}", f"{where}: {misfit['msg']}", "a line as the kit wrote it"
        ) from error


def _check_schema(path: Path, raw: bytes) -> None:
    """Say "newer kit" before saying anything about the single items of a newer header."""
    try:
        version = json.loads(raw).get("schema_version")
    except (ValueError, AttributeError, RecursionError):
        return
    if version is not None and version not in READABLE_SCHEMAS:
        known = ", ".join(str(number) for number in READABLE_SCHEMAS)
        raise LogRefused.one(
            path,
            "line 1, schema_version",
            found=version,
            wanted=f"one of: {known}",
            remedy="A newer kit wrote this log. Update this kit, then open the log again.",
        )


def _check_chain(path: Path, lines: list[Line], digests: list[str]) -> None:
    for place in range(1, len(lines)):
        line = lines[place]
        if isinstance(line, Header):
            raise _refused(path, f"line {place + 1}", "a second header", "one header, in line 1")
        if isinstance(lines[place - 1], Close):
            raise _refused(
                path, f"line {place + 1}", "a line after the closing line", "nothing after it"
            )
        if line.previous == digests[place - 1] and line.seq == place:
            continue
        after = lines[place + 1] if place + 1 < len(lines) else None
        itself = after is not None and getattr(after, "previous", "") != digests[place]
        if itself or line.seq == place:
            number = place + 1 if itself else place
            raise _refused(
                path,
                f"line {number}",
                "a line that was changed after it was written",
                "the line whose digest the next line carries",
            )
        raise _refused(
            path,
            f"line {place + 1}",
            f"line {line.seq} of the sitting: a line before it was moved or removed",
            f"line {place} of the sitting",
        )


def _damage(path: Path, lines: int, torn: bytes) -> Fault | None:
    if not torn:
        return None
    return FaultError.one(
        path,
        f"line {lines + 1}",
        found=f"a line that breaks off after {len(torn)} bytes",
        wanted="a whole line",
        remedy=(
            f"The {lines} lines before it are kept. Resuming sets the broken bytes aside in a "
            "file of their own. Give the last answer again."
        ),
    ).faults[0]


def _refused(path: Path, item: str, found: str, wanted: str) -> LogRefused:
    return LogRefused.one(path, item, found=found, wanted=wanted, remedy=ASK)
