"""Columns of printed tables: no word is broken, the sheet is not left."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.cohort.column_widths import GAP_EM, LEAST_SHRUNK, column_widths, width
from scoring.cohort.page_tree import Node, page_tree

ROOM_EM = 60.0


def table(rows: str) -> Node:
    made: Node = page_tree(f"<article><table><tbody>{rows}</tbody></table></article>")["kids"][0]
    return made


def test_letters_are_as_wide_as_the_font_says() -> None:
    # Advance widths of DejaVu Sans Bold, in units of 1/2048 em: M 2038, i 702 (read from the font).
    assert width("M") == pytest.approx(2038 / 2048, abs=2e-3)
    assert width("i") == pytest.approx(702 / 2048, abs=2e-3)
    assert width("Mi") == pytest.approx(width("M") + width("i"))


def test_a_narrow_table_takes_what_it_needs() -> None:
    size, widths = column_widths(table("<tr><th>Step</th><td>12</td></tr>"), ROOM_EM)
    assert size == 1
    assert widths == pytest.approx([width("Step") + GAP_EM, width("12") + GAP_EM])


@given(st.lists(st.lists(st.text("ab ", min_size=1, max_size=90), min_size=3, max_size=3),
                min_size=1, max_size=4))  # fmt: skip
def test_words_fit_and_the_sheet_is_not_left(rows: list[list[str]]) -> None:
    html = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in rows)
    size, widths = column_widths(table(html), ROOM_EM)
    if size > LEAST_SHRUNK:
        assert sum(widths) * size <= ROOM_EM + 1e-6
    for column, given_width in enumerate(widths):
        longest = max(width(word) for row in rows for word in row[column].split(" "))
        assert given_width >= longest + GAP_EM - 1e-6


def test_what_is_kept_together_counts_as_one_word() -> None:
    html = '<tr><td><span class="keep">38 of 47, 81 %</span></td><td>{}</td></tr>'
    _, widths = column_widths(table(html.format("words " * 60)), ROOM_EM)
    assert widths[0] >= width("38 of 47, 81 %")


def test_cells_over_several_rows_and_columns_stand_where_html_puts_them() -> None:
    html = (
        '<tr><th rowspan="2">a</th><th colspan="2">both</th></tr>'
        "<tr><td>second</td><td>thirdthird</td></tr>"
    )
    _, widths = column_widths(table(html), ROOM_EM)
    assert widths[1] == pytest.approx(width("second") + GAP_EM)
    assert widths[2] == pytest.approx(width("thirdthird") + GAP_EM)
