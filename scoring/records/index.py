"""The index: marks in tables, for questions about many sittings. Never the truth.

The answer logs are the truth; this can be thrown away and made again from them.
SQLite on a local disk, or PostgreSQL, by the same SQLAlchemy URL.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import (
    Connection,
    Engine,
    Select,
    create_engine,
    delete,
    event,
    insert,
    inspect,
    select,
)
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, SQLAlchemyError

from scoring.faults import Fault, FaultError
from scoring.marking.marks import DecisionMark, SittingMarks, StationResult
from scoring.records.network_path import network_kind
from scoring.records.packed import packed
from scoring.records.reading import ReadLog, read_log
from scoring.records.rows import Marked, part_of, part_rows, sitting_row
from scoring.records.tables import (
    SCHEMA_VERSION,
    Base,
    DecisionRow,
    Info,
    Name,
    Row,
    Sitting,
    StationRow,
)
from scoring.records.troubles import RecordsError

BUSY_MILLISECONDS = 15_000
"""How long a writer waits for another: a whole cohort is stored in a few seconds. A working
judgement."""

BATCH = 5_000
"""Rows handed to the database at once; only speed depends on it."""

CHUNK = 50_000
"""Rows taken from the database at once: some 20 MB of them as Python objects, soon given back.
Only speed and memory depend on it."""

__all__ = ["Index", "Marked"]

REBUILD = (
    "Rename the index (in PostgreSQL drop its tables), then mark each exam again: "
    "the index is made from the answer logs, and nothing else is lost with it."
)
"""`sinkside exam mark FORM` stores every sitting of a form again and makes missing tables."""


class Index:
    """An open index.

    Parameters
    ----------
    url : str
        SQLAlchemy URL: ``sqlite:///<path>`` or ``postgresql+psycopg://…``.

    Raises
    ------
    RecordsError
        The URL is none, its driver is not installed, or SQLite would lie on a
        network drive.
    """

    def __init__(self, url: str) -> None:
        self._said = url
        self._engine = self._open(url)

    def store(self, marked: Iterable[Marked]) -> int:
        """Store sittings, all or none of them; a sitting stored before is replaced.

        Returns
        -------
        int
            How many sittings were stored.

        Raises
        ------
        RecordsError
            The database cannot be written; it is as it was.
        """
        with self._begin() as connection:
            self._check_version(connection)
            return _insert(connection, marked, replace=True)

    def forget(self, sittings: Iterable[str]) -> None:
        """Take sittings out: their logs are refused now, so nothing vouches for their marks.

        Raises
        ------
        RecordsError
            The database cannot be written; it is as it was.
        """
        with self._begin() as connection:
            self._check_version(connection)
            _forget(connection, sittings)

    def rebuild(
        self, logs: Iterable[Path], mark: Callable[[ReadLog], SittingMarks]
    ) -> tuple[Fault, ...]:
        """Throw the index away and make it again, in one transaction.

        Parameters
        ----------
        logs : iterable of Path
            Answer logs.
        mark : callable
            From a log to its marks, such as :meth:`scoring.marking.sitting.Marker.mark`.

        Returns
        -------
        tuple of Fault
            What is wrong with the logs that are therefore not in the index, and
            with those that are in it up to a torn line.

        Raises
        ------
        RecordsError
            The database cannot be written; it is as it was.
        """
        faults: list[Fault] = []
        whole: dict[str, Marked] = {}
        # Marking takes time; other writers should not wait for it.
        for path in logs:
            try:
                log = read_log(path)
                if log.header.sitting in whole:
                    raise _twice(path, log)
                whole[log.header.sitting] = Marked(log, mark(log))
            except FaultError as error:
                faults.extend(error.faults)
            else:
                faults.extend([log.damage] if log.damage else [])
        with self._begin() as connection:
            Base.metadata.drop_all(connection)
            self._check_version(connection)
            _insert(connection, whole.values(), replace=False)
        return tuple(faults)

    def sittings(self) -> tuple[Row, ...]:
        """Return the rows of the table of sittings, by time of start and id."""
        return tuple(self._rows(Sitting, Sitting.started, Sitting.sitting))

    def marks(self) -> tuple[SittingMarks, ...]:
        """Return all marks as they were stored, in the order of `sittings`."""
        decisions: dict[str, list[DecisionMark]] = {}
        for row in self._rows(DecisionRow, DecisionRow.sitting, DecisionRow.number):
            decisions.setdefault(row["sitting"], []).append(part_of(DecisionMark, row))
        stations: dict[str, list[StationResult]] = {}
        for row in self._rows(StationRow, StationRow.sitting, StationRow.number):
            stations.setdefault(row["sitting"], []).append(part_of(StationResult, row))
        return tuple(
            SittingMarks(
                sitting=row["sitting"],
                operator=row["operator"],
                form=f"{row['form']}_v{row['form_version']}",
                complete=row["closed"] is not None,
                decisions=tuple(decisions.get(row["sitting"], ())),
                stations=tuple(stations.get(row["sitting"], ())),
                unplaced=tuple(row["unplaced"]),
            )
            for row in self.sittings()
        )

    def columns(self, query: Select[*tuple[Any, ...]]) -> dict[str, NDArray[Any]]:
        """Return what a query finds, a column an array: for cohorts of any size.

        Text comes as objects, JSON as its text, numbers as numbers; rows never become
        Python objects of their own, which is what makes a large cohort readable.

        Parameters
        ----------
        query : Select
            On the tables of :mod:`scoring.records.tables`; each column with a name.

        Raises
        ------
        RecordsError
            The database cannot be read.
        """
        with self._begin() as connection:
            self._check_version(connection)
            compiled = query.compile(connection, compile_kwargs={"literal_binds": True})
            cursor = connection.connection.cursor()
            try:
                cursor.execute(str(compiled))
                names = [column[0] for column in cursor.description]
                chunks = []
                while rows := cursor.fetchmany(CHUNK):
                    chunks.append([_column(values) for values in zip(*rows, strict=True)])
            finally:
                cursor.close()
        if not chunks:
            return {name: np.empty(0, dtype=object) for name in names}
        return {
            name: np.concatenate([chunk[place] for chunk in chunks])
            for place, name in enumerate(names)
        }

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def _open(self, url: str) -> Engine:
        try:
            parsed = make_url(url)
            path = Path(parsed.database or "") if parsed.get_backend_name() == "sqlite" else None
            if path is not None and parsed.database not in (None, "", ":memory:"):
                self._check_place(path)
            engine = create_engine(parsed)
        except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as error:
            raise self._error(
                str(error), "sqlite:///<path> or postgresql+psycopg://…", _DRIVER
            ) from error
        if path is not None:
            event.listen(engine, "connect", _prepare_sqlite)
        return engine

    def _check_place(self, path: Path) -> None:
        kind = network_kind(path)
        if kind is not None:
            raise self._error(
                f"{path}, on {kind}",
                "a folder on this machine's own disk",
                "Keep the index on a local disk, or use PostgreSQL for several machines. "
                "SQLite over a network loses its locks and with them the data.",
            )
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise self._error(
                error.strerror or type(error).__name__,
                "a folder that can be written",
                "Name another place for the records, or ask for access.",
            ) from error

    @contextmanager
    def _begin(self) -> Iterator[Connection]:
        try:
            with self._engine.begin() as connection:
                yield connection
        except DBAPIError as error:
            raise self._error(str(error.orig), "a database that can be used", _remedy(error)) from (
                error
            )
        except SQLAlchemyError as error:
            raise self._error(str(error), "an index of this kit", REBUILD) from error

    def _check_version(self, connection: Connection) -> None:
        """Make the tables when there are none; refuse those of another version."""
        if not inspect(connection).has_table(Info.__tablename__):
            Base.metadata.create_all(connection)
            connection.execute(insert(Info).values(id=1, schema_version=SCHEMA_VERSION))
        version = connection.execute(select(Info.schema_version)).scalar()
        if version != SCHEMA_VERSION:
            raise self._error(f"an index of version {version}", f"{SCHEMA_VERSION}", REBUILD)

    def _rows(self, table: type[Base], *order: Any) -> list[Row]:
        with self._begin() as connection:
            self._check_version(connection)
            found = connection.execute(select(table.__table__).order_by(*order))
            return [dict(row) for row in found.mappings()]

    def _error(self, found: str, wanted: str, remedy: str) -> RecordsError:
        # A URL may hold a password; the message must not.
        try:
            shown = make_url(self._said).render_as_string(hide_password=True)
        except ArgumentError:
            shown = "the database URL"
        return RecordsError.one(shown, "the index", found=found, wanted=wanted, remedy=remedy)


_DRIVER = "Correct the URL. For PostgreSQL install its driver: pip install psycopg[binary]."


def _remedy(error: DBAPIError) -> str:
    said = str(error.orig).lower()
    if "locked" in said:
        return "Another program is writing. Wait until it has ended, then try again."
    if "malformed" in said or "not a database" in said:
        return f"The file is damaged. {REBUILD}"
    if "full" in said or "readonly" in said or "unable to open" in said:
        return "Free some space or ask for access, then try again."
    return "Check that the database runs and may be written, then try again."


def _prepare_sqlite(connection: Any, _record: object) -> None:
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_MILLISECONDS}")
    cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA synchronous = NORMAL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.close()


def _forget(connection: Connection, sittings: Iterable[str]) -> None:
    for names in _batches(list(sittings)):
        for table in (DecisionRow, StationRow, Sitting):
            connection.execute(delete(table).where(table.sitting.in_(names)))


def _insert(connection: Connection, marked: Iterable[Marked], *, replace: bool) -> int:
    # One sitting twice in one call: the later one counts, as with two calls.
    latest = {one.marks.sitting: one for one in marked}
    if replace:
        _forget(connection, latest)
    numbers = {text: number for number, text in connection.execute(select(Name.number, Name.text))}
    known = len(numbers)

    def number_of(text: str) -> int:
        return numbers.setdefault(text, len(numbers))

    sittings = [{**sitting_row(one), **packed(one, number_of)} for one in latest.values()]
    new = [{"number": number, "text": text} for text, number in numbers.items() if number >= known]
    if new:
        connection.execute(insert(Name), new)
    for table, rows in (
        (Sitting, sittings),
        (DecisionRow, part_rows(latest.values(), "decisions")),
        (StationRow, part_rows(latest.values(), "stations")),
    ):
        for batch in _batches(list(rows)):
            connection.execute(insert(table), batch)
    return len(latest)


def _twice(path: Path, log: ReadLog) -> FaultError:
    return FaultError.one(
        path,
        "line 1, sitting",
        found=log.header.sitting,
        wanted="a sitting that no other log holds",
        remedy="Keep the log that lies where the kit wrote it and move the copy away.",
    )


def _column(values: tuple[Any, ...]) -> NDArray[Any]:
    # Text as objects: an array of fixed-width text costs more to make than it saves.
    if values[0] is None or isinstance(values[0], str | bytes):
        return np.array(values, dtype=object)
    return np.array(values)


def _batches(rows: list[Any]) -> Iterator[list[Any]]:
    for first in range(0, len(rows), BATCH):
        yield rows[first : first + BATCH]
