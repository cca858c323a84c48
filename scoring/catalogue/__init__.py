"""The tables of facts and of mistakes that scenarios and marks point to."""

from scoring.catalogue.basis import SaidBasis, said_basis
from scoring.catalogue.tables import Fact, Mistake, facts, mistakes

__all__ = ["Fact", "Mistake", "SaidBasis", "facts", "mistakes", "said_basis"]
