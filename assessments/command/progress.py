"""Saying results, and showing how far a longer piece of work is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

said = Console(highlight=False, soft_wrap=True)
"""Where results are said."""


@contextmanager
def counting(what: str) -> Iterator[Callable[[int, int], None]]:
    """Show a bar with count and time left; yields a function told (done, total)."""
    columns = (
        TextColumn("{task.description}"),
        BarColumn(bar_width=24),
        MofNCompleteColumn(),
        TimeRemainingColumn(compact=True),
    )
    with Progress(*columns, console=said, transient=True, disable=not said.is_terminal) as bars:
        task = bars.add_task(what, total=None)

        def tell(done: int, total: int) -> None:
            bars.update(task, completed=done, total=total)

        yield tell
