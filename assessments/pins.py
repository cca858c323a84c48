"""One-time PINs and page tokens: how they are drawn, kept and compared."""

from __future__ import annotations

import hashlib
import hmac
import secrets

from pydantic import Field

from scoring.model import Model

PIN_DIGITS = 6
"""With :data:`WRONG_TRIES_ALLOWED` tries a guess is right once in 200,000. Working judgement."""

WRONG_TRIES_ALLOWED = 5
"""Wrong tries for one operator code before it is locked. Working judgement, no source."""

_COST, _BLOCK, _LANES = 2**14, 8, 1
"""scrypt N, r, p: 16 MB and about 50 ms a try, the interactive setting of C. Percival, "Stronger
key derivation via sequential memory-hard functions" (2009) (memory)."""


class KeptSecret(Model):
    """A PIN as it is kept: its salt and its scrypt hash, both hexadecimal."""

    salt: str = Field(pattern=r"^[0-9a-f]{32}$")
    hash: str = Field(pattern=r"^[0-9a-f]{64}$")


NOBODYS = KeptSecret(salt="0" * 32, hash="0" * 64)
"""Compared with when a code has no seat, so that an unknown code takes as long as a wrong PIN."""


def new_pin() -> str:
    """Return a PIN of :data:`PIN_DIGITS` digits from the operating system's random source."""
    return f"{secrets.randbelow(10**PIN_DIGITS):0{PIN_DIGITS}d}"


def keep(pin: str) -> KeptSecret:
    """Return what may be stored of `pin`."""
    salt = secrets.token_bytes(16)
    return KeptSecret(salt=salt.hex(), hash=_scrypt(pin, salt).hex())


def is_pin(pin: str, kept: KeptSecret) -> bool:
    """Tell whether `pin` is the kept one; the comparison takes the same time either way."""
    return hmac.compare_digest(_scrypt(pin, bytes.fromhex(kept.salt)), bytes.fromhex(kept.hash))


def new_token() -> str:
    """Return a page token: 256 random bits, so a plain digest of it is safe to store."""
    return secrets.token_urlsafe(32)


def token_digest(token: str) -> str:
    """Return the SHA-256 of a page token."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def is_token(token: str, kept: str) -> bool:
    """Tell whether `token` is the one whose digest is `kept`."""
    return hmac.compare_digest(token_digest(token), kept)


def _scrypt(pin: str, salt: bytes) -> bytes:
    return hashlib.scrypt(
        pin.encode("utf-8", "surrogatepass"), salt=salt, n=_COST, r=_BLOCK, p=_LANES, dklen=32
    )
