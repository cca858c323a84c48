"""What a rule rests on, in words a trainee can read."""

from __future__ import annotations

from dataclasses import dataclass

from scoring.catalogue.tables import FACTS_FILE, disputes, facts
from scoring.faults import FaultError
from scoring.scenario import Basis


@dataclass(frozen=True, slots=True)
class SaidBasis:
    """One ground of a rule.

    Attributes
    ----------
    text : str
        The fact; empty when the basis gives a source of its own and no sentence.
    source : str
        Who says so.
    status : str
        How it is known: read, restated, calculated, common practice or memory.
    """

    text: str
    source: str
    status: str


def said_basis(basis: Basis) -> tuple[SaidBasis, ...]:
    """Return each ground of `basis`, facts first.

    Raises
    ------
    FaultError
        The basis names a fact that the table does not have; `sinkside check`
        finds this before anybody sits the scenario.
    """
    table = facts()
    said = []
    for name in basis.facts:
        if name not in table:
            raise FaultError.one(
                FACTS_FILE,
                f"fact {name}",
                found="no such row",
                wanted="a row of the table of facts",
                remedy="Correct the id in the scenario's basis.",
            )
        said.append(SaidBasis(table[name].fact, table[name].source, table[name].status))
    if basis.source and basis.status is not None:
        said.append(SaidBasis("", basis.source, basis.status))
    return tuple(said)


def disputed(basis: Basis) -> tuple[str, ...]:
    """Return a sentence for each disagreement between published findings that `basis` touches."""
    named = set(basis.facts)
    return tuple(one.said for one in disputes().values() if named & set(one.fact_ids))
