"""A measurement design in the field's notation, and the effects that it has.

``p x i`` crosses persons with items; ``p x (r:i)`` has other raters for each item;
``r:(p x i)`` other raters for each person and item.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import combinations

from scoring.evidence import DataError

Effect = frozenset[str]
"""An effect as the set of all facets that index it: ``r:i`` is {r, i}."""

CROSSING = frozenset({"x", "X", "\N{MULTIPLICATION SIGN}", "*", "\N{BULLET}"})
TOKEN = re.compile("\\s*([A-Za-z_][A-Za-z0-9_]*|[():*\N{MULTIPLICATION SIGN}\N{BULLET}])")
USUAL_OBJECTS = ("p", "person", "persons", "operator")
"""Names that stand for the object of measurement if none is named; the first is the field's."""


@dataclass(frozen=True, slots=True)
class Design:
    """A design with its effects.

    Attributes
    ----------
    text : str
        As it was written.
    facets : tuple of str
        In the order written.
    nested_in : dict of str to frozenset of str
        For each facet all facets that it is nested in.
    effects : tuple of frozenset of str
        Every effect of the design without the mean, fewer facets first. The last is the
        residual: with one score in each cell it holds all that is left.
    """

    text: str
    facets: tuple[str, ...]
    nested_in: dict[str, frozenset[str]]
    effects: tuple[Effect, ...]

    def name(self, effect: Effect) -> str:
        """Return an effect as it is written: ``pi``, ``r:i``, ``person x rater:item``."""
        outer = {held for facet in effect for held in self.nested_in[facet]}
        short = all(len(facet) == 1 for facet in self.facets)
        first = [facet for facet in self.facets if facet in effect and facet not in outer]
        second = [facet for facet in self.facets if facet in outer]
        join = "" if short else " x "
        return join.join(first) + (":" + join.join(second) if second else "")

    def effect(self, written: str) -> Effect:
        """Return the effect that a text names, in any order: ``pi``, ``i x p``, ``r:i``, ``ri``.

        Raises
        ------
        DataError
            The design has no such effect.
        """
        words = set(re.findall(r"[A-Za-z_][A-Za-z0-9_]*", written))
        sought = frozenset(words - CROSSING)
        if not sought <= set(self.facets):
            sought = frozenset("".join(words))
        found = self.closed(sought) if sought and sought <= set(self.facets) else frozenset()
        if found not in self.effects:
            names = ", ".join(self.name(effect) for effect in self.effects)
            raise DataError("effect", written, f"one of {names}")
        return found

    def closed(self, facets: Effect) -> Effect:
        """Return facets together with all that they are nested in."""
        return facets.union(*(self.nested_in[facet] for facet in facets))

    def object_facet(self, named: str | None = None) -> str:
        """Return the object of measurement: as named, or the facet usually meant.

        That is ``p``, ``person``, ``persons`` or ``operator`` if there, otherwise the
        first facet nested in no other.
        """
        if named is not None:
            if named not in self.facets:
                raise DataError("object of measurement", named, f"one of {list(self.facets)}")
            return named
        for usual in USUAL_OBJECTS:
            if usual in self.facets:
                return usual
        return next(facet for facet in self.facets if not self.nested_in[facet])


def read_design(text: str) -> Design:
    """Return a design from its text.

    Parameters
    ----------
    text : str
        Facets joined by ``x`` (or a multiplication sign, a bullet or ``*``) where crossed and by
        ``:`` where nested, inner before outer, with blanks around ``x``. A colon binds closer
        than a cross: ``p x i:h`` is ``p x (i:h)``. Any number of facets.

    Returns
    -------
    Design

    Raises
    ------
    DataError
        The text is no design, or names a facet twice.

    Notes
    -----
    Notation of Cronbach et al. 1972 and Brennan 2001 (from memory). The effects are the
    sets of facets that hold, with each facet, all that it is nested in.
    """
    reader = _Reader(text)
    reader.crossed()
    if reader.at != len(reader.tokens):
        raise DataError("design", text, "facets joined by x and :, with matching brackets")
    facets = tuple(reader.facets)
    nested = {facet: frozenset(reader.nested[facet]) for facet in facets}
    effects = [
        frozenset(chosen)
        for size in range(1, len(facets) + 1)
        for chosen in combinations(facets, size)
        if all(nested[facet] <= set(chosen) for facet in chosen)
    ]
    return Design(text, facets, nested, tuple(effects))


class _Reader:
    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens: list[str] = []
        at = 0
        stripped = text.rstrip()
        while at < len(stripped):
            found = TOKEN.match(stripped, at)
            if found is None:
                raise DataError("design", text, "facets joined by x and :, such as 'p x (r:i)'")
            self.tokens.append(found[1])
            at = found.end()
        self.at = 0
        self.facets: list[str] = []
        self.nested: dict[str, set[str]] = {}

    def peek(self) -> str:
        return self.tokens[self.at] if self.at < len(self.tokens) else ""

    def crossed(self) -> list[str]:
        held = self.chain()
        while self.peek() in CROSSING:
            self.at += 1
            held += self.chain()
        return held

    def chain(self) -> list[str]:
        groups = [self.unit()]
        while self.peek() == ":":
            self.at += 1
            groups.append(self.unit())
        for place, inner in enumerate(groups):
            outer = {facet for group in groups[place + 1 :] for facet in group}
            for facet in inner:
                self.nested[facet] |= outer
        return [facet for group in groups for facet in group]

    def unit(self) -> list[str]:
        read = self.peek()
        self.at += 1
        if read == "(":
            held = self.crossed()
            if self.peek() != ")":
                raise DataError("design", self.text, "a closing bracket")
            self.at += 1
            return held
        if not read or read in CROSSING or read in "():":
            raise DataError("design", self.text, "a facet between the signs, such as 'p x (r:i)'")
        if read in self.nested:
            raise DataError("design", self.text, f"each facet once, {read} is there twice")
        self.facets.append(read)
        self.nested[read] = set()
        return [read]
