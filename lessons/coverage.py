"""What a folder of scenarios covers, written into its README: `python -m lessons.coverage X`."""

from __future__ import annotations

import sys
from pathlib import Path

from scoring.coverage import coverage, coverage_tables
from scoring.readme_part import write_part
from scoring.scenario import Scenario
from scoring.words import Words
from scoring.yaml_file import read_yaml

PART = "coverage"
"""Name of the part of the README that is written here."""


def scenarios_in(folder: Path) -> list[Scenario]:
    """Return the scenarios of a folder and those below it, by id.

    Raises
    ------
    FaultError
        A file does not fit the schema; `sinkside check` says more.
    """
    paths = [path for path in folder.rglob("*.yaml") if path.stem.count(".") == 0]
    return sorted((read_yaml(path, Scenario) for path in paths), key=lambda one: one.id)


def covered_by(folder: Path) -> str:
    """Return the tables of a folder: each scenario, then subjects and mistakes."""
    scenarios = scenarios_in(folder)
    lines = ["| scenario | title | station | instrument | decisions |", "|---|---|---|---|---|"]
    for one in scenarios:
        path = next(folder.rglob(f"{one.id}.en.yaml"))
        title = read_yaml(path, Words).title
        lines.append(
            f"| {one.id} | {title} | {one.station} | {one.instrument} | {len(one.decisions)} |"
        )
    return "\n".join(lines) + "\n\n" + coverage_tables(coverage(scenarios)).rstrip()


def main(folders: list[str]) -> None:
    """Write the tables of each folder into its README."""
    for name in folders:
        write_part(PART, covered_by(Path(name)), Path(name) / "README.md")


if __name__ == "__main__":
    main(sys.argv[1:])
