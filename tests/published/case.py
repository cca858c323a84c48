"""One published figure beside what the kit computes, and when the two agree."""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

DATA = Path(__file__).parents[1] / "data" / "published"

ORACLE_RELATIVE = 1e-4
"""How far the kit may be from an independently computed value: those were computed by other
programs to about six digits. A case with a tighter or looser tolerance says so."""


@dataclass(frozen=True)
class Case:
    """One figure of one example.

    Attributes
    ----------
    example, source, quantity, status : str
        Which example, where it was published, which figure of it, and how the
        value was found (READ, REMEMBERED, COMPUTED, CONSTRUCTED).
    compute : callable
        Computes the figure with the kit's own public functions.
    published : float or None
        As printed; None where only an independent program gave a value.
    digits : int
        Decimals that were printed.
    oracle : float or None
        The same from an independent program, with more digits.
    relative : float
        Relative tolerance against the oracle.
    misprint : str
        Not empty: why the printed value is not reproduced; then the oracle decides.
    """

    example: str
    source: str
    quantity: str
    status: str
    compute: Callable[[], float]
    published: float | None = None
    digits: int = 0
    oracle: float | None = None
    relative: float = ORACLE_RELATIVE
    misprint: str = ""

    def agrees(self) -> bool:
        """Whether the kit gives the printed digits, or the oracle where none are printed."""
        found = self.compute()
        if not math.isfinite(found):
            return False
        if self.published is not None and not self.misprint:
            # Half a unit of the last digit, and what adding it in binary loses.
            return abs(found - self.published) <= 0.5 * 10.0**-self.digits * (1 + 1e-9) + 1e-12
        assert self.oracle is not None, f"{self.example}, {self.quantity}: nothing to compare with"
        return math.isclose(found, self.oracle, rel_tol=self.relative, abs_tol=1e-9)


@cache
def block(file: str, name: str) -> dict[str, Any]:
    """Return one example of a file of ``tests/data/published``."""
    loaded: dict[str, Any] = json.loads((DATA / f"{file}.json").read_text(encoding="utf-8"))
    found: dict[str, Any] = loaded[name]
    return found


def rows(file: str) -> list[dict[str, str]]:
    """Return the rows of a data file of ``tests/data/published``."""
    with (DATA / file).open(encoding="utf-8", newline="") as opened:
        return list(csv.DictReader(opened))


def cases(
    file: str,
    name: str,
    computed: dict[str, Callable[[], float]],
    *,
    relative: float = ORACLE_RELATIVE,
    misprints: dict[str, str] | None = None,
    elsewhere: Sequence[str] = (),
    key: Callable[[dict[str, Any]], str] = lambda value: str(value["quantity"]),
) -> list[Case]:
    """Make the cases of one example, one for each figure that the data file holds.

    Parameters
    ----------
    file, name : str
        Which example of which data file.
    computed : dict of str to callable
        The kit's figure for each quantity.
    relative : float
        Tolerance against the oracle.
    misprints : dict of str to str, optional
        Quantities whose printed value is not reproduced by the independent program
        either, each with the reason.
    elsewhere : sequence of str
        Quantities that are no figure of a cohort (another program's approximation, say) and are
        left out on purpose.
    key : callable
        What a quantity is called, where the name alone is not unique.

    Raises
    ------
    AssertionError
        A quantity is missing, or one is computed that the data file does not hold.
    """
    example = block(file, name)
    held = {key(value): value for value in example["values"]}
    wrong = misprints or {}
    assert set(held) == set(computed) | set(elsewhere), (
        f"{name}: not computed {sorted(set(held) - set(computed) - set(elsewhere))}, "
        f"not in the data {sorted(set(computed) - set(held))}"
    )
    return [
        Case(
            example=example["title"],
            source=example["source"],
            quantity=quantity,
            status=held[quantity]["status"],
            compute=compute,
            published=held[quantity].get("published"),
            digits=int(held[quantity].get("published_digits", 0)),
            oracle=held[quantity].get("computed"),
            relative=relative,
            misprint=wrong.get(quantity, ""),
        )
        for quantity, compute in computed.items()
    ]
