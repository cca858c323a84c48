"""How many scenarios and raters a wanted dependability takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any, Literal

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.d_study import DStudy, d_study
from scoring.measurement.generalizability import GStudy

Wanted = Literal["erho2", "phi", "phi_lambda"]

MOST = 10_000
"""Levels of a facet beyond which nobody would go: an answer above it is given as not
reachable. A working judgement, no source."""


@dataclass(frozen=True, slots=True)
class Needed:
    """The smallest number of levels that gives a wanted coefficient.

    Attributes
    ----------
    facet : str
    n : int
        Smallest number of levels; one fewer does not reach.
    study : DStudy
        With that number.
    """

    facet: str
    n: int
    study: DStudy


def levels_needed(
    study: GStudy,
    facet: str,
    wanted: float,
    *,
    coefficient: Wanted = "phi",
    n: Mapping[str, float] | None = None,
    most: int = MOST,
    **planned: Any,
) -> Needed | TooLittleEvidence:
    """Return the fewest levels of one facet that reach a wanted coefficient.

    Parameters
    ----------
    study : GStudy
    facet : str
        The facet to take more or fewer of, such as scenarios.
    wanted : float
        Above 0 and below 1.
    coefficient : {"phi", "erho2", "phi_lambda"}
        ``phi_lambda`` needs `cut`.
    n : mapping of str to float, optional
        Levels of the other facets; the G study's own where not given.
    most : int
        Most levels that are thought of.
    **planned
        `design`, `object_of_measurement`, `fixed`, `within`, `cut`, `mean_from` of `d_study`.

    Returns
    -------
    Needed or TooLittleEvidence
        Too little (``not reachable``) where even `most` levels do not reach it, because the
        other facets err too much or persons do not differ.

    Raises
    ------
    DataError
        `wanted` is outside its range, or as for `d_study`.
    """
    if not 0 < wanted < 1:
        raise DataError("wanted", wanted, "a coefficient between 0 and 1")
    if facet in tuple(planned.get("fixed", ())):
        raise DataError("facet", facet, "a facet that is not fixed")

    def tried(levels: int) -> tuple[float | None, DStudy]:
        made = d_study(study, {**(n or {}), facet: levels}, **planned)
        found = getattr(made, coefficient)
        if found is None:
            raise DataError("cut", None, "a cut score for phi_lambda")
        return (None if isinstance(found, TooLittleEvidence) else found.value), made

    reached, made = tried(most)
    if reached is None or reached < wanted:
        best = "nothing" if reached is None else f"{reached:.2f}"
        said = f"{wanted:.2f} is not reachable: {most} levels of {facet} would give {best}."
        return TooLittleEvidence("not reachable", said, most)
    low, high = 0, most
    while high - low > 1:
        middle = (low + high) // 2
        reached, tried_study = tried(middle)
        if reached is not None and reached >= wanted:
            high, made = middle, tried_study
        else:
            low = middle
    return Needed(facet, high, made)


def d_table(
    study: GStudy, levels: Mapping[str, Sequence[int]], **planned: Any
) -> tuple[DStudy, ...]:
    """Return D studies for every combination of numbers of levels.

    Parameters
    ----------
    study : GStudy
    levels : mapping of str to sequence of int
        Such as ``{"i": [4, 8, 12], "r": [1, 2]}``; the last facet changes fastest.
    **planned
        As for `levels_needed`.
    """
    return tuple(
        d_study(study, dict(zip(levels, chosen, strict=True)), **planned)
        for chosen in product(*levels.values())
    )
