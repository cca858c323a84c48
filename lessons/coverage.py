"""What a folder of scenarios covers, written into its README: `python -m lessons.coverage X`."""

from __future__ import annotations

import sys
from pathlib import Path

from scoring.coverage import coverage, coverage_tables
from scoring.scenario import Scenario
from scoring.words import Words
from scoring.yaml_file import read_yaml

START = "<!-- coverage: start -->"
END = "<!-- coverage: end -->"


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
    return "\n".join(lines) + "\n\n" + coverage_tables(coverage(scenarios))


def with_tables(text: str, tables: str) -> str:
    """Return a README with the tables between its two marks put in anew.

    Raises
    ------
    ValueError
        The marks are missing.
    """
    if START not in text or END not in text:
        raise ValueError(f"the README needs the lines {START} and {END}")
    before, _, rest = text.partition(START)
    _, _, after = rest.partition(END)
    return f"{before}{START}\n\n{tables}\n{END}{after}"


def main(folders: list[str]) -> None:
    """Write the tables of each folder into its README."""
    for name in folders:
        readme = Path(name) / "README.md"
        text = readme.read_text(encoding="utf-8")
        readme.write_text(with_tables(text, covered_by(Path(name))), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
