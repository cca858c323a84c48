"""The lines of an answer log as bytes, each bound to the one before by a digest."""

from __future__ import annotations

import hashlib

from pydantic import TypeAdapter

from scoring.attempt import Answer, Close, Event, Header, LogLine

Line = Header | Answer | Event | Close

_LINE: TypeAdapter[Line] = TypeAdapter(LogLine)

CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base-32 symbols: no I, L, O, U, so nobody misreads one (from memory)."""


def to_bytes(line: Line) -> bytes:
    """Return the line as it stands in the file, without the newline."""
    return line.model_dump_json().encode("utf-8")


def from_bytes(raw: bytes) -> Line:
    """Read one line; `pydantic.ValidationError` when it is none."""
    return _LINE.validate_json(raw)


def line_digest(raw: bytes) -> str:
    """Return the SHA-256 of a line's bytes, without the newline; 64 hexadecimal digits."""
    return hashlib.sha256(raw).hexdigest()


def receipt_code(digest: str) -> str:
    """Return the code a candidate takes home, like ``7K3Q-M2XP``.

    Parameters
    ----------
    digest : str
        Digest of the closing line, 64 hexadecimal digits.

    Returns
    -------
    str
        Its first 40 bits in Crockford's base 32. A log changed afterwards gives
        the same code with a chance of 1 in 2**40.
    """
    number = int(digest[:10], 16)
    symbols = "".join(CROCKFORD[number >> shift & 31] for shift in range(35, -5, -5))
    return f"{symbols[:4]}-{symbols[4:]}"
