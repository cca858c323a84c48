"""The wheel holds every file of the packages: words, templates, notebooks and tables too."""

from __future__ import annotations

import tomllib

import pathspec
import pytest

from tests.test_house import PACKAGES, ROOT

NEEDED = {
    ".py", ".typed", ".yaml", ".csv", ".ipynb", ".js", ".css", ".html", ".j2", ".md",
    ".typ",
}  # fmt: skip
"""Kinds of files that the kit reads at work, or that its README points to."""


def not_in_the_wheel() -> pathspec.GitIgnoreSpec:
    """What the build leaves out: it takes whole packages but for what git ignores."""
    lines = (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines()
    return pathspec.GitIgnoreSpec.from_lines(lines)


def test_the_wheel_takes_each_package_whole() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    build = project["tool"]["hatch"]["build"]
    assert build == {"targets": {"wheel": {"packages": list(PACKAGES)}}}


@pytest.mark.parametrize("package", PACKAGES)
def test_nothing_that_a_package_needs_is_left_out(package: str) -> None:
    left_out = not_in_the_wheel()
    files = [path for path in (ROOT / package).rglob("*") if path.suffix in NEEDED]
    assert files
    names = [path.relative_to(ROOT).as_posix() for path in files]
    assert [name for name in left_out.match_files(names) if "checkpoints" not in name] == []


def test_each_kind_of_file_is_known() -> None:
    """A new kind of file must be named here, so that somebody asks whether it is shipped."""
    left_out = not_in_the_wheel()
    found = {
        path.suffix
        for package in PACKAGES
        for path in (ROOT / package).rglob("*")
        if path.suffix
        and path.is_file()
        and not left_out.match_file(path.relative_to(ROOT).as_posix())
    }
    assert found == NEEDED
