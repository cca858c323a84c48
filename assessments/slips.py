"""PIN slips: what a trainer prints and hands to each candidate, one slip a person."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from assessments.printing import render
from assessments.seating import Slip


def slips_text(slips: Sequence[Slip], title: str) -> str:
    """Return the slips as plain text, for a screen or a simple printer.

    Parameters
    ----------
    slips : sequence of Slip
        As the seating returned them.
    title : str
        Title of the exam.
    """
    return "\n\n".join(
        f"{title}\n  code  {slip.operator}\n  PIN   {_spaced(slip.pin)}\n"
        "  The PIN is yours alone and works for one sitting."
        for slip in slips
    )


def slips_html(slips: Sequence[Slip], title: str, names: Mapping[str, str] | None = None) -> str:
    """Return the slips as one printable page.

    Parameters
    ----------
    slips : sequence of Slip
        As the seating returned them.
    title : str
        Title of the exam.
    names : mapping of str to str, optional
        Names by operator code, from the roster. Without it no name is printed.
    """
    known = names or {}
    return render(
        "slips.html.j2",
        title=title,
        slips=[
            {"code": slip.operator, "pin": _spaced(slip.pin), "name": known.get(slip.operator, "")}
            for slip in slips
        ],
    )


def _spaced(pin: str) -> str:
    """Return the PIN in groups of three: easier to read and to type."""
    return " ".join(pin[place : place + 3] for place in range(0, len(pin), 3))
