"""The tables of facts, mistakes and subjects that scenarios and marks point to."""

from scoring.catalogue.basis import SaidBasis, disputed, said_basis
from scoring.catalogue.tables import (
    Dispute,
    Fact,
    Mistake,
    Subject,
    disputes,
    facts,
    mistakes,
    subjects,
)

__all__ = [
    "Dispute",
    "Fact",
    "Mistake",
    "SaidBasis",
    "Subject",
    "disputed",
    "disputes",
    "facts",
    "mistakes",
    "said_basis",
    "subjects",
]
