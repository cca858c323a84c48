"""A page's HTML as a tree of plain values, for the maker of the PDF.

The pages use few tags (see `TAGS`). Any other is an error, so that no sentence
is lost in print without anybody noticing.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any

BLOCKS = frozenset(
    {"article", "section", "header", "h1", "h2", "h3", "p", "ul", "ol", "li", "table", "caption",
     "thead", "tbody", "tr", "th", "td", "dl", "dt", "dd", "figure", "figcaption", "div"}
)  # fmt: skip
INLINE = frozenset({"strong", "em", "span", "a", "br"})
TAGS = BLOCKS | INLINE
"""The tags of the pages; drawings (svg) are taken whole."""

VOID = frozenset({"br"})
SVG = re.compile(r"(<svg\b.*?</svg>)", re.DOTALL)
"""A drawing. Text from files cannot look like one: templates escape it."""

SPACES = re.compile(r"[ \t\r\n\f]+")
"""White space that HTML takes as one space; a no-break space is not among it."""

Node = dict[str, Any]
"""``tag``, ``class`` (list of str), ``kids`` (list of str or Node); where the tag has them
``columns``, ``rows``, ``href``; a drawing has ``tag`` svg, ``svg`` and ``alt``."""


def page_tree(html: str) -> Node:
    """Return the tree of a page's article.

    Parameters
    ----------
    html : str
        One ``<article>`` element as the templates make it.

    Returns
    -------
    dict
        The article; white space is as a browser shows it.

    Raises
    ------
    ValueError
        A tag that is not known, tags not closed in order, or a drawing without a text
        for those who do not see it.
    """
    reader = _Reader()
    for number, part in enumerate(SVG.split(html)):
        if number % 2:
            reader.draw(part)
        else:
            reader.feed(part)
    reader.close()
    return reader.article()


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root: Node = {"tag": "", "class": [], "kids": []}
        self.open: list[Node] = [self.root]
        self.alts: list[str] = [""]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in TAGS:
            raise ValueError(f"<{tag}> is not a tag that the printed page knows")
        given = {name: value or "" for name, value in attrs}
        node: Node = {"tag": tag, "class": given.get("class", "").split(), "kids": []}
        for name, key in (("colspan", "columns"), ("rowspan", "rows")):
            if name in given:
                node[key] = int(given[name])
        if tag == "a":
            node["href"] = given.get("href", "")
        self.open[-1]["kids"].append(node)
        if tag not in VOID:
            self.open.append(node)
            self.alts.append(given.get("aria-label", "") if given.get("role") == "img" else "")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        if self.open[-1]["tag"] != tag:
            raise ValueError(f"</{tag}> closes <{self.open[-1]['tag']}>")
        node = self.open.pop()
        self.alts.pop()
        node["kids"] = _tidy(node["kids"], node["tag"] in BLOCKS)

    def handle_data(self, data: str) -> None:
        kids = self.open[-1]["kids"]
        if kids and isinstance(kids[-1], str):
            kids[-1] += data
        elif data:
            kids.append(data)

    def draw(self, svg: str) -> None:
        """Take a drawing; what it shows is said by the nearest element around it."""
        alt = next((alt for alt in reversed(self.alts) if alt), "")
        if not alt:
            raise ValueError("a drawing without a text for those who do not see it")
        self.open[-1]["kids"].append({"tag": "svg", "class": [], "svg": svg, "alt": alt})

    def article(self) -> Node:
        """Return the one article."""
        if len(self.open) > 1:
            raise ValueError(f"<{self.open[-1]['tag']}> is not closed")
        found = list(_tidy(self.root["kids"], True))
        if len(found) != 1 or isinstance(found[0], str) or found[0]["tag"] != "article":
            raise ValueError("a page is one <article>, with nothing beside it")
        article: Node = found[0]
        return article


def _tidy(kids: list[Any], block: bool) -> list[Any]:
    """Collapse white space; at the edges of a block, and beside one, there is none."""
    tidied: list[Any] = []
    for number, kid in enumerate(kids):
        if not isinstance(kid, str):
            tidied.append(kid)
            continue
        text = SPACES.sub(" ", kid)
        if _edge(kids, number - 1, block):
            text = text.lstrip(" ")
        if _edge(kids, number + 1, block):
            text = text.rstrip(" ")
        if text:
            tidied.append(text)
    return tidied


def _edge(kids: list[Any], at: int, block: bool) -> bool:
    if not 0 <= at < len(kids):
        return block
    kid = kids[at]
    return not isinstance(kid, str) and (kid["tag"] in BLOCKS or kid["tag"] in ("br", "svg"))


def text_of(node: Node | str) -> str:
    """Return all text below a node, drawings left out."""
    if isinstance(node, str):
        return node
    if node["tag"] == "br":
        return " "
    return "".join(text_of(kid) for kid in node.get("kids", ()))
