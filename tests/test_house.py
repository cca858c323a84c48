"""The rules of the house that no single module can keep by itself."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

ROOT = Path(__file__).parent.parent
PACKAGES = ("scoring", "lessons", "assessments", "sample_cohort")

MAY_IMPORT = {
    "scoring": {"scoring"},
    "lessons": {"lessons", "scoring"},
    "assessments": {"assessments", "lessons", "scoring"},
    "sample_cohort": {"sample_cohort", "scoring"},
}
COMPOSES_ALL = ROOT / "assessments" / "command"
"""The command line is where the parts are put together, so it alone may import every package."""

TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "requirements.lock",
    "lessons",
    "assessments",
    "scoring",
    "sample_cohort",
    "tests",
}

MADE_BY_USE = {"sinkside-demo", "sinkside.egg-info", "build", "dist"}
"""Folders that using the kit leaves behind; git ignores them."""

NOTEBOOKS = sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.ipynb"))


def modules() -> list[Path]:
    return sorted(path for package in PACKAGES for path in (ROOT / package).rglob("*.py"))


def imported(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names.add(node.module.split(".")[0])
    return names


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(ROOT)))
def test_imports_run_one_way(path: Path) -> None:
    package = path.relative_to(ROOT).parts[0]
    allowed = set(PACKAGES) if COMPOSES_ALL in path.parents else MAY_IMPORT[package]
    assert imported(path) & (set(PACKAGES) | {"tests"}) <= allowed


def test_top_level_is_the_fixed_one() -> None:
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert found - MADE_BY_USE <= TOP_LEVEL


def test_no_module_grows_past_reading() -> None:
    long = {
        str(path.relative_to(ROOT)): lines
        for path in modules()
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > 400
    }
    assert not long


def test_lock_file_names_no_address() -> None:
    assert "://" not in (ROOT / "requirements.lock").read_text(encoding="utf-8")


def test_there_are_notebooks() -> None:
    assert NOTEBOOKS


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_notebooks_are_stored_without_outputs(path: Path) -> None:
    for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
        if cell["cell_type"] == "code":
            assert cell["outputs"] == []
            assert cell["execution_count"] is None


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_notebooks_run_top_to_bottom(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SINKSIDE_RECORDS", str(tmp_path / "records"))
    notebook = nbformat.read(path, as_version=4)
    NotebookClient(
        notebook, timeout=60, kernel_name="python3", resources={"metadata": {"path": str(tmp_path)}}
    ).execute()


@pytest.mark.parametrize(
    "module",
    ["lessons.page.lesson", "assessments.exam", "scoring.marking.sitting", "scoring.records.log"],
)
def test_trainees_path_stays_light(module: str) -> None:
    heavy = ("pandas", "matplotlib", "scipy", "numpy", "sqlalchemy", "rich", "typer", "nbgrader")
    code = (
        f"import sys, importlib; importlib.import_module({module!r}); "
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert ran.stdout.strip() == "[]"
