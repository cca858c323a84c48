"""The tables of the index, the same for SQLite and PostgreSQL.

Times are ISO 8601 text with their offset, as in the logs, so that no database
turns them into another zone; lists are JSON.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, String
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

SCHEMA_VERSION = 2
"""Version of these tables. An index of another version is made again from the logs."""


class Base(DeclarativeBase):
    """The tables' common ground."""

    type_annotation_map = {list[str]: JSON, list[int]: JSON}  # noqa: RUF012 - SQLAlchemy reads it


class Info(Base):
    """One row: which version of the tables this is."""

    __tablename__ = "index_info"

    id: Mapped[int] = mapped_column(primary_key=True)
    schema_version: Mapped[int]


class Sitting(Base):
    """One sitting: who, what, when, and under which form, site values and kit.

    The last three columns are its results packed (:mod:`scoring.records.packed`).
    """

    __tablename__ = "sitting"

    sitting: Mapped[str] = mapped_column(String(80), primary_key=True)
    operator: Mapped[str] = mapped_column(String(16), index=True)
    purpose: Mapped[str] = mapped_column(String(8))
    form: Mapped[str] = mapped_column(String(64))
    form_version: Mapped[int]
    form_digest: Mapped[str] = mapped_column(String(64))
    site: Mapped[str] = mapped_column(String(64))
    site_digest: Mapped[str] = mapped_column(String(64))
    language: Mapped[str] = mapped_column(String(16))
    started: Mapped[str] = mapped_column(String(40))
    closed: Mapped[str | None] = mapped_column(String(40))
    log_digest: Mapped[str] = mapped_column(String(64))
    sat_with: Mapped[str] = mapped_column(String(32))
    marked_with: Mapped[str] = mapped_column(String(32))
    unplaced: Mapped[list[str]]
    sums: Mapped[bytes]
    results: Mapped[bytes]
    slips: Mapped[bytes]

    __table_args__ = (Index("sitting_form", "form", "form_version"),)


class DecisionRow(Base):
    """One decision's mark; the fields of :class:`scoring.marking.marks.DecisionMark`."""

    __tablename__ = "decision_mark"

    sitting: Mapped[str] = mapped_column(
        ForeignKey("sitting.sitting", ondelete="CASCADE"), primary_key=True
    )
    number: Mapped[int] = mapped_column(primary_key=True)
    scenario: Mapped[str] = mapped_column(String(64), index=True)
    decision: Mapped[str] = mapped_column(String(64))
    station: Mapped[str] = mapped_column(String(16))
    assessed: Mapped[bool]
    credit: Mapped[float]
    maximum: Mapped[float]
    reason: Mapped[str] = mapped_column(String(64))
    mistakes: Mapped[list[str]]
    unsafe: Mapped[bool]
    critical: Mapped[bool]
    hinted: Mapped[bool]
    looked: Mapped[list[int] | None]
    off: Mapped[float | None]


class Name(Base):
    """The number that stands for the id of a scenario, a decision or a mistake when packed."""

    __tablename__ = "name"

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    text: Mapped[str] = mapped_column(String(64), unique=True)


class StationRow(Base):
    """One station's result; the fields of :class:`scoring.marking.marks.StationResult`."""

    __tablename__ = "station_result"

    sitting: Mapped[str] = mapped_column(
        ForeignKey("sitting.sitting", ondelete="CASCADE"), primary_key=True
    )
    number: Mapped[int] = mapped_column(primary_key=True)
    station: Mapped[str] = mapped_column(String(16), index=True)
    verdict: Mapped[str] = mapped_column(String(16))
    points: Mapped[float]
    maximum: Mapped[float]
    share: Mapped[float]
    low: Mapped[float]
    high: Mapped[float]
    decisions: Mapped[int]
    unanswered: Mapped[int]
    failed_critical: Mapped[list[str]]


Row = dict[str, Any]
