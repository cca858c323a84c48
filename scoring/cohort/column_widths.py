"""How wide the columns of a printed table are: no word broken, the rest shared by need."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from pathlib import Path

import matplotlib as mpl
from matplotlib.ft2font import FT2Font

from scoring.cohort.page_tree import Node, text_of

FONTS = Path(mpl.get_data_path()) / "fonts" / "ttf"
"""DejaVu Sans comes with the plotting library: the same letters on every machine, offline."""

FONT = FONTS / "DejaVuSans-Bold.ttf"
"""Widths are taken from the bold letters, so that a bold head or row name fits too."""

GAP_EM = 0.9
"""Space between two columns, in widths of the letter m. A working judgement."""

LEAST_SHRUNK = 0.72
"""Smallest letters a wide table may get, as a share of the usual ones: 6 pt, which can still be
read on paper. A working judgement."""


def column_widths(table: Node, room_em: float) -> tuple[float, list[float]]:
    """Share out the room of a table among its columns.

    Parameters
    ----------
    table : dict
        A table of :func:`scoring.cohort.page_tree.page_tree`.
    room_em : float
        Width of the sheet in em of the table's letters.

    Returns
    -------
    size : float
        Factor on the letters, 1 where all words fit without.
    widths : list of float
        Width of each column with its gap, in em of those letters; together at most
        the room unless letters at `LEAST_SHRUNK` do not fit either.
    """
    cells = list(_placed(table))
    count = max((at + span for at, span, _ in cells), default=0)
    least, wanted = [0.0] * count, [0.0] * count
    for at, span, cell in sorted(cells, key=lambda placed: placed[1]):
        for widths, need in ((least, _longest(cell)), (wanted, _whole(cell))):
            short = need + GAP_EM - sum(widths[at : at + span])
            for column in range(at, at + span):
                widths[column] += max(short, 0.0) / span
    needed = sum(least)
    size = 1.0 if needed <= room_em else max(room_em / needed, LEAST_SHRUNK)
    room = room_em / size
    spare, asked = room - needed, sum(wanted) - needed
    if asked <= max(spare, 0.0):
        return size, wanted
    part = max(spare, 0.0) / asked
    return size, [low + part * (high - low) for low, high in zip(least, wanted, strict=True)]


def rows_of(table: Node) -> list[Node]:
    """Return the rows of a table, head first."""
    return [row for part in table["kids"] if part["tag"] in ("thead", "tbody")
            for row in part["kids"]]  # fmt: skip


def _placed(table: Node) -> Iterator[tuple[int, int, Node]]:
    """Yield first column, columns and cell, as HTML places them."""
    taken: dict[int, int] = {}
    for row in rows_of(table):
        at = 0
        after: dict[int, int] = {column: left - 1 for column, left in taken.items() if left > 1}
        for cell in row["kids"]:
            while taken.get(at, 0) > 0:
                at += 1
            span = cell.get("columns", 1)
            for column in range(at, at + span):
                if cell.get("rows", 1) > 1:
                    after[column] = cell["rows"] - 1
            yield at, span, cell
            at += span
        taken = after


def _longest(cell: Node) -> float:
    return max((width(word) for word in _words(cell)), default=0.0)


def _whole(cell: Node) -> float:
    return width(text_of(cell))


def _words(node: Node | str) -> Sequence[str]:
    """Return what must not be broken: words, and spans that are to be kept together."""
    if isinstance(node, str):
        return node.split(" ")
    if "keep" in node["class"]:
        return [text_of(node)]
    return [word for kid in node.get("kids", ()) for word in _words(kid)]


def width(text: str) -> float:
    """Return the width of a text in em."""
    return sum(_advance(letter) for letter in text)


@cache
def _advance(letter: str) -> float:
    font = _font()
    glyph = font.load_char(ord(letter))
    return float(glyph.linearHoriAdvance) / 65536 / SIZE


SIZE = 64
"""Size in points at which letters are measured; any will do."""


@lru_cache(maxsize=1)
def _font() -> FT2Font:
    font = FT2Font(str(FONT))
    font.set_size(SIZE, 72)
    return font
