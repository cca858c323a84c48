"""Scores in long form, coded by the facets of a design: one row for each cell that was scored."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scoring.evidence import DataError, TooLittleEvidence
from scoring.measurement.g_design import Design, Effect
from scoring.values_given import labels_given, numbers_given

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class ScoreCells:
    """What was scored, with the cell of each effect that a score belongs to.

    Attributes
    ----------
    design : Design
        Facets and effects.
    scores : ndarray, shape (n,)
        Finite scores, missing ones left out.
    codes : dict of effect to ndarray, shape (n,)
        Level of each effect, 0 to ``levels - 1``.
    levels : dict of effect to int
        Levels of each effect that were scored at all.
    sizes : dict of str to float
        Levels of each facet, within a level of what it is nested in; a mean where these
        differ.
    balanced : bool
        Whether every cell of the design was scored, with equal numbers within each level.
    """

    design: Design
    scores: Floats
    codes: dict[Effect, Codes]
    levels: dict[Effect, int]
    sizes: dict[str, float]
    balanced: bool


def long_form(
    table: ArrayLike, axes: Sequence[str] = ("p", "i")
) -> tuple[Floats, dict[str, list[int]]]:
    """Return the scores and facets of a fully crossed table, for `g_study`.

    Parameters
    ----------
    table : array-like
        One axis for each facet; persons x items for the default. NaN is a missing cell.
    axes : sequence of str
        Names of the facets, in the order of the axes.

    Returns
    -------
    scores : ndarray, shape (cells,)
    facets : dict of str to list of int
        Levels, counted from 1.
    """
    held = numbers_given(table, "table")
    if held.ndim != len(axes):
        raise DataError("table", held.shape, f"{len(axes)} axes: {', '.join(axes)}")
    places = np.indices(held.shape).reshape(held.ndim, -1) + 1
    return held.ravel(), {axis: [int(k) for k in places[d]] for d, axis in enumerate(axes)}


def score_cells(
    scores: ArrayLike, facets: Mapping[str, Sequence[Any]], design: Design
) -> ScoreCells | TooLittleEvidence:
    """Return scores coded by the effects of a design.

    Parameters
    ----------
    scores : array-like, shape (rows,)
        NaN or None where a cell was not scored.
    facets : mapping of str to sequence
        For each facet of the design the level of each row; other columns are not looked at.
        Levels of a nested facet may be numbered anew within each level of the outer one.
    design : Design

    Returns
    -------
    ScoreCells or TooLittleEvidence
        Too little where a facet has one level or no score is left.

    Raises
    ------
    DataError
        Lengths differ, a column or label is missing, a score is infinite or no number, or a
        cell is there twice.
    """
    values = numbers_given(scores, "scores", "numbers, or nothing where missing").ravel()
    if np.isinf(values).any():
        raise DataError(f"row {int(np.argmax(np.isinf(values)))}", np.inf, "a finite score")
    kept = ~np.isnan(values)
    single: dict[str, Codes] = {}
    for facet in design.facets:
        if facet not in facets:
            raise DataError("facets", sorted(map(str, facets)), f"a column {facet}")
        labels = labels_given(facets[facet], facet)
        if len(labels) != len(values):
            raise DataError(facet, len(labels), f"{len(values)} labels, one for each score")
        single[facet] = _coded(facet, labels)[kept]
    values = values[kept]
    if not len(values):
        return TooLittleEvidence("scores", "There is no score.", 0)
    codes = {effect: _joined([single[f] for f in sorted(effect)]) for effect in design.effects}
    whole = codes[design.effects[-1]]
    levels = {effect: int(code.max()) + 1 for effect, code in codes.items()}
    if levels[design.effects[-1]] < len(values):
        twice = int(np.argmax(np.bincount(whole) > 1))
        row = np.flatnonzero(kept)[np.flatnonzero(whole == twice)[1]]
        raise DataError(
            f"row {row}", "a cell that is there already", "one score a cell, or a facet for repeats"
        )
    sizes: dict[str, float] = {}
    for facet in design.facets:
        outer = design.nested_in[facet]
        below = levels[design.closed(frozenset({facet}))]
        sizes[facet] = below / (levels[outer] if outer else 1)
        if sizes[facet] <= 1:
            said = f"Facet {facet} has only one level; at least 2 are needed."
            return TooLittleEvidence(facet, said, 1)
    full = float(np.prod(list(sizes.values())))
    even = all(len(set(np.bincount(code))) == 1 for code in codes.values())
    return ScoreCells(design, values, codes, levels, sizes, even and abs(full - len(values)) < 1e-6)


def _coded(facet: str, labels: Sequence[Any]) -> Codes:
    for row, label in enumerate(labels):
        if label is None or label != label:
            raise DataError(f"{facet}, row {row}", label, "a label")
    named = {
        label: code
        for code, label in enumerate(sorted(set(labels), key=lambda held: (str(type(held)), held)))
    }
    return np.array([named[label] for label in labels], dtype=np.int64)


def _joined(codes: Sequence[Codes]) -> Codes:
    joined = codes[0]
    for code in codes[1:]:
        joined = joined * (int(code.max()) + 1) + code
        joined = np.unique(joined, return_inverse=True)[1].astype(np.int64).ravel()
    return np.unique(joined, return_inverse=True)[1].astype(np.int64).ravel()
