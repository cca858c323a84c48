"""A page as a PDF for the printer and the files: A4, tagged for screen readers, offline.

The page's own HTML becomes a tree, and a fixed program of the typesetter (``page.typ``)
draws it. Text travels as data and is never read as markup, whatever a file, a code or a
title holds.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Final

import typst

from scoring.cohort.column_widths import FONTS, GAP_EM, column_widths
from scoring.cohort.page_tree import Node, page_tree

PROGRAM = Path(__file__).with_name("page.typ")

MARGIN_MM = 16.0
WIDTH_MM = 210.0 - 2 * MARGIN_MM
"""Width of the text on A4, mm."""

TEXT_PT = 9.0
TABLE_PT = 8.0
"""Sizes of letters, points. DejaVu Sans has large letters: 9 pt of it reads like 10 pt of a common
text font. A working judgement."""

ONE_SHEET = 0.93
"""Letters of a page that is to fit one sheet, as a share of the usual: 8.4 pt and 7.4 pt. A working
judgement."""

FIGURE_SHARE = 0.86
"""A drawing's width as a share of the text's: its own 9.5 pt letters then stand at about 8 pt."""

MM_A_POINT = 25.4 / 72

STANDARD: Final = "ua-1"
"""PDF/UA-1 (ISO 14289-1): tags, language, title and alt texts, checked by the typesetter."""

INVENTED = "Invented data"


def pdf_bytes(
    article: str, title: str, made: date, *, invented: bool, one_sheet: bool = False
) -> bytes:
    """Return a page as PDF; the same page always gives the same bytes.

    Parameters
    ----------
    article : str
        The page's ``<article>`` as HTML.
    title : str
        Title of the document, also at the head of each sheet.
    made : date
        Date at the foot of each sheet.
    invented : bool
        "Invented data" stands at the head of each sheet.
    one_sheet : bool
        Set closer, for a page that is to fit one sheet; a longer one still goes on on the next.

    Raises
    ------
    ValueError
        The HTML has a part that the printed page does not know.
    """
    table_pt = TABLE_PT * (ONE_SHEET if one_sheet else 1)
    data = {
        "title": title,
        "language": "en",
        "running": INVENTED if invented else "",
        "made": f"{made.day} {made:%B %Y}",
        "page_word": "Page",
        "of_word": "of",
        "margin_mm": MARGIN_MM,
        "text_pt": TEXT_PT * (ONE_SHEET if one_sheet else 1),
        "table_pt": table_pt,
        "one_sheet": one_sheet,
        "article": _laid_out(page_tree(article), table_pt),
    }
    midnight = datetime(made.year, made.month, made.day, tzinfo=UTC)
    made_pdf: bytes = typst.compile(
        str(PROGRAM),
        root=str(PROGRAM.parent),
        font_paths=[str(FONTS)],
        ignore_system_fonts=True,
        format="pdf",
        pdf_standards=[STANDARD],
        sys_inputs={"page": json.dumps(data)},
        timestamp=int(midnight.timestamp()),
    )
    return made_pdf


def _laid_out(node: Any, table_pt: float) -> Any:
    """Give tables, lists of terms and figures the shape in which they are set."""
    if isinstance(node, str):
        return node
    if node["tag"] == "svg":
        return node | {"width_mm": FIGURE_SHARE * WIDTH_MM}
    if node["tag"] == "table":
        return _table(node, table_pt)
    made: Node = node | {"kids": [_laid_out(kid, table_pt) for kid in node["kids"]]}
    if node["tag"] == "figure":
        drawings = [kid for kid in made["kids"] if kid["tag"] != "figcaption"]
        captions = [kid for kid in made["kids"] if kid["tag"] == "figcaption"]
        if len(drawings) != 1 or len(captions) > 1:
            raise ValueError("a figure is one drawing and at most one caption")
        return made | {"drawing": drawings[0], "caption": captions[0] if captions else None}
    if node["tag"] == "dl":
        kids = made["kids"]
        pairs = [kids[at : at + 2] for at in range(0, len(kids), 2)]
        if any([kid["tag"] for kid in pair] != ["dt", "dd"] for pair in pairs):
            raise ValueError("a list of terms is dt, dd, dt, dd")
        return made | {"pairs": pairs}
    return made


def _table(table: Node, table_pt: float) -> Node:
    size, widths = column_widths(table, WIDTH_MM / MM_A_POINT / table_pt)
    parts: dict[str, list[Any]] = {"caption": [], "thead": [], "tbody": []}
    for kid in table["kids"]:
        if isinstance(kid, str) or kid["tag"] not in parts:
            raise ValueError("a table is a caption, a thead and tbodies")
        parts[kid["tag"]].append(kid)
    rows = {
        name: [
            [_laid_out(cell, table_pt) for cell in row["kids"]]
            for part in parts[name]
            for row in part["kids"]
        ]
        for name in ("thead", "tbody")
    }
    return table | {
        "kids": [],
        "size": size,
        "widths": widths,
        "gap": GAP_EM,
        "head": rows["thead"],
        "body": rows["tbody"],
        "caption": _laid_out(parts["caption"][0], table_pt) if parts["caption"] else None,
    }
