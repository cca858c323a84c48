"""The PDF: every word of the page, on A4, tagged, and nothing in it is run."""

from __future__ import annotations

import io
import re
from datetime import date

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from scoring.cohort.page_tree import page_tree, text_of
from scoring.cohort.pdf import INVENTED, pdf_bytes

DAY = date(2026, 1, 15)
SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 70 30"><path d="M0 0h70v30z"/></svg>'
PAGE = (
    "<header><h1>A department</h1><p class='when'>15 January</p></header>"
    "<section><h2>Steps</h2><p class='headline'>In brushing most.</p>"
    "<ul><li><strong>One</strong> thing</li><li>another, see <a href='x.csv'>file</a></li></ul>"
    f"<figure><div role='img' aria-label='Brushing stands out.'>{SVG}</div>"
    "<figcaption>Largest first.</figcaption></figure>"
    "<dl><dt>Method</dt><dd>As said.</dd></dl></section>"
)
ATTACKS = (
    '#panic("boom")', "$ 1/0 $", "*bold* _it_ `raw`", "@ref <label>", '#read("/etc/passwd")',
    "\\u{41}", '"; #panic()', "// comment", "[x] #link", "= heading", "\\",
)  # fmt: skip


def made(html: str, title: str = "A department", *, invented: bool = False) -> PdfReader:
    content = pdf_bytes(f"<article>{html}</article>", title, DAY, invented=invented)
    return PdfReader(io.BytesIO(content))


def squeezed(text: str) -> str:
    """Without white space: where lines are broken is the sheet's business."""
    return re.sub(r"\s", "", text)


def text(reader: PdfReader) -> str:
    return squeezed("".join(page.extract_text() for page in reader.pages))


def blocks(html: str) -> list[str]:
    """The text of each paragraph, cell, term and caption."""
    found = []

    def walk(node: object) -> None:
        if isinstance(node, dict):
            kids = node.get("kids", [])
            if kids and all(isinstance(kid, str) or kid["tag"] in
                            ("strong", "em", "span", "a", "br") for kid in kids):  # fmt: skip
                found.append(text_of(node))
            for kid in kids:
                walk(kid)

    walk(page_tree(html))
    return found


def test_every_word_of_the_page_is_in_print() -> None:
    printed = text(made(PAGE))
    said = blocks(f"<article>{PAGE}</article>")
    assert len(said) > 8
    for one in said:
        assert squeezed(one) in printed


def test_it_is_a4_with_numbers_title_and_language() -> None:
    reader = made(PAGE + "<p>again</p>" * 120)
    assert len(reader.pages) > 1
    for number, page in enumerate(reader.pages, start=1):
        assert [float(side) for side in page.mediabox[2:]] == pytest.approx([595.3, 841.9], abs=0.1)
        assert f"Page{number}of{len(reader.pages)}" in squeezed(page.extract_text())
        assert "15January2026" in squeezed(page.extract_text())
    assert reader.metadata is not None
    assert reader.metadata.title == "A department"
    root = reader.root_object
    assert str(root["/Lang"]) == "en"


def test_invented_data_stands_on_each_sheet_and_only_then() -> None:
    long = PAGE + "<p>again</p>" * 120
    assert all(INVENTED in page.extract_text() for page in made(long, invented=True).pages)
    assert INVENTED not in "".join(page.extract_text() for page in made(long).pages)


def test_a_screen_reader_finds_headings_tables_and_what_a_figure_shows() -> None:
    content = pdf_bytes(f"<article>{PAGE}{table(3)}</article>", "t", DAY, invented=False)
    root = PdfReader(io.BytesIO(content)).root_object
    marked = root["/MarkInfo"]
    assert isinstance(marked, DictionaryObject)
    assert marked["/Marked"]
    kinds: list[str] = []
    alts: list[str] = []

    def walk(node: object) -> None:
        one = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(one, list):
            for kid in one:
                walk(kid)
        elif isinstance(one, dict):
            kinds.append(str(one.get("/S", "")))
            if "/Alt" in one:
                alts.append(str(one["/Alt"]))
            if "/K" in one:
                walk(one["/K"])

    walk(root["/StructTreeRoot"])
    assert alts == ["Brushing stands out."]
    assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/Figure", "/L", "/LI"} <= set(kinds)


def table(rows: int, words: str = "word " * 20) -> str:
    body = "".join(f"<tr><th>R{number}!</th><td>{words}.</td></tr>" for number in range(rows))
    return (
        "<table><caption>Rows</caption><thead><tr><th>Headrow</th><th>Text</th></tr></thead>"
        f"<tbody>{body}</tbody></table>"
    )


def test_a_long_table_repeats_its_head_and_keeps_rows_whole() -> None:
    pages = [squeezed(page.extract_text()) for page in made("<h1>t</h1>" + table(150)).pages]
    assert len(pages) > 2
    for page in pages:
        assert page.count("Headrow") == 1
        rows = re.findall(r"R\d+!((?:word)*)(\.?)", page)
        assert rows
        assert all(words == "word" * 20 and end == "." for words, end in rows)


def test_heads_of_two_rows_keep_their_columns() -> None:
    html = (
        "<table><thead><tr><th rowspan='2'>Step</th><th colspan='2'>Sittings</th></tr>"
        "<tr><th>yes</th><th>no</th></tr></thead>"
        "<tbody><tr><th>Soak</th><td>7</td><td>8</td></tr></tbody></table>"
    )
    printed = text(made("<h1>t</h1>" + html))
    assert "yesnoSoak78" in printed
    assert printed.count("Sittings") == printed.count("Step") == 1


@pytest.mark.parametrize("attack", ATTACKS)
def test_nothing_is_run_or_dressed_up(attack: str) -> None:
    html = attack.replace("&", "&amp;").replace("<", "&lt;")
    reader = made(
        f"<h1>{html}</h1><p>{html}</p><table><tbody><tr><td>{html}</td></tr></tbody></table>"
        f"<figure><div role='img' aria-label='{html.replace(chr(39), '')}'>{SVG}</div></figure>",
        title=attack,
    )
    assert text(reader).count(squeezed(attack)) >= 4
    assert reader.metadata is not None
    assert reader.metadata.title == attack


def test_the_same_page_gives_the_same_bytes() -> None:
    one, two = (pdf_bytes(f"<article>{PAGE}</article>", "t", DAY, invented=True) for _ in "ab")
    assert one == two


@pytest.mark.parametrize(
    "html",
    [
        "<figure><p>a</p><p>b</p></figure>",
        "<dl><dt>a</dt><dt>b</dt></dl>",
        "<table><tr><td>a</td></tr></table>",
        "<iframe></iframe>",
    ],
)
def test_a_part_that_print_does_not_know_is_an_error(html: str) -> None:
    with pytest.raises(ValueError, match=r"figure|terms|table|iframe"):
        made(html)
