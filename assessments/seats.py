"""Seat files: one candidate's place in one sitting, on disk, shared by every kernel."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

from filelock import FileLock, Timeout
from pydantic import AwareDatetime, Field, TypeAdapter, ValidationError

from assessments.pins import KeptSecret
from scoring.attempt import Digest, SittingId
from scoring.faults import Fault, FaultError
from scoring.model import Identifier, Model, OperatorCode
from scoring.settings import Settings
from scoring.whole_file import write_whole

LOCK_SECONDS = 10.0
"""Longest wait for another kernel: twenty sign-ins of 50 ms queue for one second. A judgement."""

_TRIES: TypeAdapter[dict[str, int]] = TypeAdapter(dict[str, int])


class Seat(Model):
    """One seat. A closed seat has no PIN any more, so a spent PIN opens nothing.

    Attributes
    ----------
    pin : KeptSecret or None
        None once the sitting is closed.
    token : Digest or None
        Digest of the page token given at the last sign-in.
    receipt : str
        The receipt code, written at closing; marking compares it with the log.
    """

    schema_version: Literal[1] = 1
    sitting: SittingId
    operator: OperatorCode
    form: Identifier
    form_version: int = Field(ge=1)
    form_digest: Digest
    seated: AwareDatetime
    pin: KeptSecret | None
    token: Digest | None = None
    opened: AwareDatetime | None = None
    closed: AwareDatetime | None = None
    receipt: str = ""


class Seats:
    """The seats below one records folder.

    Parameters
    ----------
    settings : Settings
        `settings.records` holds the folder ``seats``.
    """

    def __init__(self, settings: Settings) -> None:
        self.folder = settings.records / "seats"

    @contextmanager
    def held(self) -> Iterator[None]:
        """Hold all seats against other kernels; reading and then writing happens inside.

        Raises
        ------
        FaultError
            The folder cannot be written, or another program holds it too long.
        """
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            lock = FileLock(self.folder / "seats.lock", timeout=LOCK_SECONDS)
            lock.acquire()
        except (OSError, Timeout) as error:
            raise self._not_written(error) from error
        try:
            yield
        finally:
            lock.release()

    def read(self) -> tuple[tuple[Seat, ...], tuple[Fault, ...]]:
        """Return every seat, by sitting id, and a fault for each seat file that is damaged.

        One damaged file keeps nobody else from signing in.
        """
        seats: list[Seat] = []
        faults: list[Fault] = []
        for path in sorted(self.folder.glob("*.json")) if self.folder.is_dir() else ():
            if path.name == "wrong_tries.json":
                continue
            try:
                seats.append(self._read(path))
            except FaultError as error:
                faults.extend(error.faults)
        return tuple(seats), tuple(faults)

    def all(self) -> tuple[Seat, ...]:
        """Return every seat that can be read, by sitting id."""
        return self.read()[0]

    def open_for(self, code: str) -> Seat | None:
        """Return the seat of `code` whose sitting is not closed, or None."""
        return next(
            (seat for seat in self.all() if seat.operator == code and seat.closed is None), None
        )

    def get(self, sitting: str) -> Seat:
        """Return the seat of one sitting; `FaultError` when there is none."""
        return self._read(self.folder / f"{sitting}.json")

    def put(self, seat: Seat) -> None:
        """Write a seat, whole or not at all."""
        write_whole(self.folder / f"{seat.sitting}.json", seat.model_dump_json(indent=1) + "\n")

    def wrong_tries(self) -> dict[str, int]:
        """Return the wrong tries since the last right one or seating, by operator code."""
        path = self.folder / "wrong_tries.json"
        try:
            return _TRIES.validate_json(path.read_bytes())
        except FileNotFoundError:
            return {}
        except (OSError, ValidationError) as error:
            raise FaultError.one(
                path,
                "the whole file",
                found="the counts of wrong PINs, which cannot be read",
                wanted="a file as the sign-in wrote it",
                remedy="Move the file away: counting begins anew. A code that was locked is open "
                "again, so give it a new PIN (sinkside exam seat FORM CODE --new-pins).",
            ) from error

    def put_wrong_tries(self, tries: dict[str, int]) -> None:
        """Write the counts of wrong tries; codes without any are left out."""
        kept = {code: count for code, count in sorted(tries.items()) if count}
        write_whole(self.folder / "wrong_tries.json", _TRIES.dump_json(kept) + b"\n")

    def _read(self, path: Path) -> Seat:
        try:
            return Seat.model_validate_json(path.read_bytes())
        except (OSError, ValidationError) as error:
            raise _unreadable(path) from error

    def _not_written(self, error: OSError) -> FaultError:
        return FaultError.one(
            self.folder,
            "seats",
            found=error.strerror or type(error).__name__,
            wanted="a folder that can be written, held by no other program for long",
            remedy="Free some space or check the rights on the folder, then try again.",
        )


def _unreadable(path: Path) -> FaultError:
    return FaultError.one(
        path,
        "the whole file",
        found="a seat file that is missing or damaged",
        wanted="a file as the seating wrote it",
        remedy="Bring the file back from the backup, or move it away and seat the person again.",
    )
