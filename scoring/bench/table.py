"""The one table of every constant of the bench, generated from the code.

``python -m scoring.bench.table`` writes it into ``README.md`` beside this file;
a test fails when the two differ.
"""

from __future__ import annotations

from scoring.bench import (
    brushing,
    chemistry,
    contact,
    drying,
    exposure,
    inspecting,
    lubricating,
    lumen,
    machines,
    rinsing,
    soiling,
    steaming,
    temperature,
    testing,
    wearing,
    wetness,
    wiping,
)
from scoring.bench.constants import Constant
from scoring.readme_part import with_part, write_part

PART = "table of constants"
"""Name of the generated part of the README, as its marks say it."""

EFFECTS: dict[str, tuple[Constant, ...]] = {
    module.__name__.rpartition(".")[2]: module.CONSTANTS
    for module in (
        drying, contact, temperature, chemistry, soiling, brushing, lumen, rinsing, wiping, wetness,
        lubricating, steaming, machines, inspecting, testing, exposure, wearing,
    )
}  # fmt: skip
"""The constants by the module that uses them, in the order of the work."""


def markdown() -> str:
    """Return the table as Markdown."""
    rows = [
        "| effect | constant | value | unit | plausible range | source | status |",
        "|---|---|---|---|---|---|---|",
    ]
    for effect, constants in EFFECTS.items():
        for constant in constants:
            rows.append(
                f"| {effect} | {constant.name} | {constant.value:.6g} | {constant.unit} | "
                f"{constant.low:.6g} to {constant.high:.6g} | {constant.source} | "
                f"{constant.status} |"
            )
    return "\n".join(rows)


def with_table(readme: str) -> str:
    """Return the README with the table between its marks brought up to date.

    Raises
    ------
    ValueError
        The marks are missing.
    """
    return with_part(readme, PART, markdown())


if __name__ == "__main__":
    write_part(PART, markdown())
