"""The course folder: where it lies, how nbgrader is set up for it, releasing a form."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout
from nbgrader.api import Gradebook, MissingEntry  # type: ignore[import-untyped]
from nbgrader.apps import NbGraderAPI  # type: ignore[import-untyped]
from sqlalchemy import Engine, create_engine, event, text
from traitlets.config import Config

from assessments.gradebook.folders import remove_folder
from assessments.gradebook.notebooks import (
    NO_ANSWER,
    damaged,
    read_notebook,
    source_notebook,
    write_notebook,
)
from assessments.gradebook.plan import NOTEBOOK, plan_cells
from assessments.gradebook.quiet import must_succeed, quiet
from scoring.faults import FaultError
from scoring.form import Form
from scoring.library import Library
from scoring.settings import Settings

LOCK_SECONDS = 60.0
"""Longest wait for another marking run on the same records. Working judgement, no source."""


class Course:
    """The nbgrader course below one records folder.

    Parameters
    ----------
    settings : Settings
        The course lies in ``<records>/course``.
    gradebook_url : str
        SQLAlchemy URL of the gradebook; empty means SQLite in the course folder.
    """

    def __init__(self, settings: Settings, gradebook_url: str = "") -> None:
        self.root = (settings.records / "course").absolute()
        self.url = gradebook_url or f"sqlite:///{(self.root / 'gradebook.db').as_posix()}"
        self.log_file = self.root / "nbgrader.log"

    def released(self, assignment: str) -> Path:
        """Return the released notebook of an assignment."""
        return self.root / "release" / assignment / f"{NOTEBOOK}.ipynb"

    def submitted(self, assignment: str, operator: str) -> Path:
        """Return the folder of one candidate's submission."""
        return self.root / "submitted" / operator / assignment

    def feedback(self, assignment: str, operator: str) -> Path:
        """Return nbgrader's own feedback page of one candidate."""
        return self.root / "feedback" / operator / assignment / f"{NOTEBOOK}.html"

    @contextmanager
    def nbgrader(self, extra: Config | None = None) -> Iterator[NbGraderAPI]:
        """Give nbgrader's API on this course, quiet, with one marking run at a time.

        Raises
        ------
        FaultError
            Another run holds the course, or the folder cannot be written.
        """
        try:
            self.root.mkdir(parents=True, exist_ok=True)
            lock = FileLock(self.root / "course.lock", timeout=LOCK_SECONDS)
            lock.acquire()
        except (OSError, Timeout) as error:
            raise FaultError.one(
                self.root,
                "course folder",
                found=error.strerror or type(error).__name__,
                wanted="a folder that can be written and that no other marking run holds",
                remedy="Wait for the other run to end, or check space and rights, then try again.",
            ) from error
        try:
            with quiet(self.log_file) as logger, _few_flushes():
                config = self._config()
                config.merge(extra or Config())
                yield NbGraderAPI(config=config, log=logger)
        finally:
            lock.release()

    def release(self, form: Form, library: Library, language: str = "en") -> str:
        """Make the assignment of a form unless it is there, and return its name.

        Raises
        ------
        FaultError
            The form or a scenario was changed after release, or nbgrader failed.
        """
        assignment = form.name
        form_digest = library.form_digest(form)
        source = self.root / "source" / assignment / f"{NOTEBOOK}.ipynb"
        if source.exists():
            _unchanged(source, form, form_digest)
            if self.released(assignment).exists() and self._knows(assignment):
                return assignment
        title = form.title.get(language, form.title["en"])
        notebook = source_notebook(title, form_digest, plan_cells(form, library))
        write_notebook(notebook, source)
        with self.nbgrader() as api:
            must_succeed(
                api.generate_assignment(assignment), f"releasing {assignment}", self.log_file
            )
        if self.url.startswith("sqlite"):
            self._let_readers_read()
        return assignment

    def withdraw(self, assignment: str, operator: str) -> None:
        """Take the marks of one operator out of the gradebook, if there are any.

        For a log that was marked once and is refused now: marks that nothing
        vouches for any more must not stand.
        """
        with self.nbgrader(), Gradebook(self.url) as gradebook:
            for kind in ("submitted", "autograded", "feedback"):
                remove_folder(self.root / kind / operator / assignment)
            try:
                gradebook.remove_submission(assignment, operator)
            except MissingEntry:
                return

    def _config(self) -> Config:
        config = Config()
        config.CourseDirectory.root = str(self.root)
        config.CourseDirectory.db_url = self.url
        config.CourseDirectory.course_id = "default_course"
        config.ClearSolutions.code_stub = {"python": NO_ANSWER}
        return config

    def _knows(self, assignment: str) -> bool:
        with quiet(self.log_file), Gradebook(self.url) as gradebook:
            try:
                gradebook.find_notebook(NOTEBOOK, assignment)
            except MissingEntry:
                return False
            return True

    def _let_readers_read(self) -> None:
        """Switch the SQLite gradebook to a write-ahead log; the file remembers it.

        nbgrader leaves it in rollback mode, where a writer that takes longer than
        five seconds makes every reader fail.
        """
        engine = create_engine(self.url)
        with engine.connect() as connection:
            connection.execute(text("PRAGMA journal_mode=WAL"))
        engine.dispose()


@contextmanager
def _few_flushes() -> Iterator[None]:
    """Let SQLite flush at its checkpoints and not at every commit, as long as this lasts.

    nbgrader commits twice a cell. With the write-ahead log the file stays whole
    whatever happens (sqlite.org, "PRAGMA synchronous"; memory); a power cut may
    take the last marks, which are made again from the answer logs.
    """

    def prepare(connection: Any, _record: object) -> None:
        if isinstance(connection, sqlite3.Connection):
            connection.execute("PRAGMA synchronous=NORMAL")

    event.listen(Engine, "connect", prepare)
    try:
        yield
    finally:
        event.remove(Engine, "connect", prepare)


def _unchanged(source: Path, form: Form, form_digest: str) -> None:
    try:
        kept: Any = read_notebook(source).metadata["sinkside"]["form_digest"]
    except (AttributeError, LookupError, TypeError) as error:
        raise damaged(source) from error
    if kept != form_digest:
        raise FaultError.one(
            f"form {form.name}",
            "form and scenarios",
            found="a form, scenario or instrument that was changed after the exam was released",
            wanted="the form as released: a form that was sat is never edited",
            remedy="Undo the change, or write it as a new version of the form.",
        )
