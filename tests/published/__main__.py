"""Print every published figure beside the kit's own: ``python -m tests.published``."""

from __future__ import annotations

import importlib
import pkgutil
import sys

import tests.published
from tests.published.case import Case

NOT_AREAS = {"__main__", "case", "test_published"}


def areas() -> dict[str, list[Case]]:
    """Return the cases of each area, by the name of its module."""
    return {
        found.name: importlib.import_module(f"tests.published.{found.name}").CASES
        for found in pkgutil.iter_modules(tests.published.__path__)
        if found.name not in NOT_AREAS
    }


def main() -> int:
    """Print the table; return 1 if a figure does not agree."""
    wrong = 0
    print("| example | figure | published | status | independent | kit | agrees |")
    print("|---|---|---|---|---|---|---|")
    for held in areas().values():
        for case in held:
            agrees = case.agrees()
            wrong += not agrees
            printed = "" if case.published is None else f"{case.published:.{case.digits}f}"
            oracle = "" if case.oracle is None else f"{case.oracle:.7g}"
            said = "yes" if agrees else "NO"
            print(
                f"| {case.example} | {case.quantity} | {printed} | {case.status} | {oracle} | "
                f"{case.compute():.7g} | {said}{'; ' + case.misprint if case.misprint else ''} |"
            )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
