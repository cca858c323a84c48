"""A page becomes a tree without a word lost, or the test says what is not known."""

from __future__ import annotations

import re
from html import escape

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring.cohort.page_tree import Node, page_tree, text_of


def inside(html: str) -> list[Node | str]:
    kids: list[Node | str] = page_tree(f"<article>{html}</article>")["kids"]
    return kids


def test_white_space_is_as_a_browser_shows_it() -> None:
    (p,) = inside("\n<p>\n A  <strong>b</strong>\n c&nbsp;% <br> d </p>\n")
    assert isinstance(p, dict)
    assert text_of(p) == "A b c\N{NO-BREAK SPACE}% d"


def test_tables_keep_spans_and_classes() -> None:
    (table,) = inside(
        '<table class="short"><thead><tr><th colspan="2" rowspan="3">a</th></tr></thead></table>'
    )
    assert isinstance(table, dict)
    cell = table["kids"][0]["kids"][0]["kids"][0]
    assert (table["class"], cell["columns"], cell["rows"]) == (["short"], 2, 3)


def test_a_drawing_is_taken_whole_with_its_text() -> None:
    svg = '<svg viewBox="0 0 1 1"><linearGradient id="a"/><g><path d="M0 0"/></g></svg>'
    (figure,) = inside(
        f'<figure><div role="img" aria-label="rises &amp; falls">\n{svg}\n</div></figure>'
    )
    assert isinstance(figure, dict)
    (drawing,) = figure["kids"][0]["kids"]
    assert (drawing["svg"], drawing["alt"]) == (svg, "rises & falls")


@pytest.mark.parametrize(
    ("html", "said"),
    [
        ("<p>a <button>b</button></p>", "<button> is not a tag"),
        ("<script>x</script>", "<script> is not a tag"),
        ("<figure><svg></svg></figure>", "without a text"),
        ("<p>a<strong>b</p>", "closes <strong>"),
        ("<p>a", "closes <p>"),
    ],
)
def test_what_is_not_known_is_an_error(html: str, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        inside(html)


def test_words_beside_the_article_are_an_error() -> None:
    with pytest.raises(ValueError, match="one <article>"):
        page_tree("<article></article>lost")


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1))
def test_any_text_stays_text(text: str) -> None:
    (p,) = inside(f"<p>.{escape(text)}.</p>")
    assert isinstance(p, dict)
    assert text_of(p) == re.sub(" +", " ", f".{text}.")
