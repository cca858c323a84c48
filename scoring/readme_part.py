"""The parts of a README that are generated from the code."""

from __future__ import annotations

from pathlib import Path

BENCH_README = Path(__file__).resolve().parent / "bench" / "README.md"


def with_part(readme: str, part: str, body: str) -> str:
    """Return the README with one generated part brought up to date.

    Parameters
    ----------
    readme : str
        The text, with the lines ``<!-- part: start -->`` and ``<!-- part: end -->``.
    part : str
        Name of the part, as in its marks.
    body : str
        Markdown to stand between the marks.

    Raises
    ------
    ValueError
        The marks are missing.
    """
    first, last = f"<!-- {part}: start -->", f"<!-- {part}: end -->"
    before, start, rest = readme.partition(first)
    _, end, after = rest.partition(last)
    if not start or not end:
        raise ValueError(f"the README needs the lines {first!r} and {last!r}")
    return f"{before}{first}\n\n{body}\n\n{last}{after}"


def write_part(part: str, body: str, readme: Path = BENCH_README) -> None:
    """Write one generated part into a README; into the bench's when none is named.

    Raises
    ------
    ValueError
        The marks are missing.
    """
    text = readme.read_text(encoding="utf-8")
    readme.write_text(with_part(text, part, body), encoding="utf-8")
