"""What holds for every test: a skipped test is a failed run, never a silent gap."""

from __future__ import annotations

import gc

import pytest


def pytest_collection_finish() -> None:
    """Spare the collector what lives until the end: the tests, and the files they have read."""
    gc.collect()
    gc.freeze()


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter else []
    if skipped and exitstatus == pytest.ExitCode.OK:
        reporter.write_line(
            f"{len(skipped)} tests were skipped; a skipped test proves nothing, so this run fails.",
            red=True,
        )
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
