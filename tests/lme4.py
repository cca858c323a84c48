"""Finding R with lme4, which the benchmarks fit beside the kit, and bringing it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

ANSWER = "answer.json"
"""File that a script leaves its answer in."""


def find_lme4() -> str | None:
    """Return the path of an ``Rscript`` that has lme4, or None."""
    rscript = shutil.which("Rscript")
    if rscript is None:
        return None
    asked = subprocess.run(
        [rscript, "-e", 'quit(status = !requireNamespace("lme4", quietly = TRUE))'],
        capture_output=True,
        check=False,
    )
    return rscript if asked.returncode == 0 else None


def bring_lme4() -> str | None:
    """Return the path of ``Rscript`` with lme4, installing Debian's package when there is none.

    None, and a printed sentence, where this machine has no ``apt-get`` that may be used.
    """
    found = find_lme4()
    if found:
        return found
    apt, sudo = shutil.which("apt-get"), shutil.which("sudo")
    root = apt is not None and os.geteuid() == 0
    if apt is None or not (root or sudo):
        print("R with lme4 is not here and cannot be installed; the comparison is left out.")
        return None
    asking = [] if root or sudo is None else [sudo, "--non-interactive"]
    print("Installing R with lme4 for the comparison (Debian's r-cran-lme4) …", flush=True)
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for arguments in (["update", "-qq"], ["install", "-y", "-qq", "r-cran-lme4"]):
        done = subprocess.run(
            [*asking, apt, *arguments], env=environment, capture_output=True, text=True, check=False
        )
        if done.returncode != 0:
            print(f"R with lme4 could not be installed: {done.stderr.strip()[-400:]}")
            return None
    found = find_lme4()
    if found is None:
        print("R with lme4 was installed but does not start; the comparison is left out.")
    return found


def run_r(script: str, *, folder: Path, rscript: str | None = None) -> dict[str, Any]:
    """Run an R script in a folder and return what it gave to ``answer(list(...))``.

    Parameters
    ----------
    script : str
        R code. ``lme4`` is loaded; ``answer(x)`` writes a named list of number vectors
        (17 digits) and ends the talk. Data lie in the folder, as CSV say.
    folder : Path
        Working folder of the script.
    rscript : str, optional
        Path of ``Rscript``; looked for when not given.

    Returns
    -------
    dict
        Name to number, or to list of numbers where the vector is longer than one.

    Raises
    ------
    FileNotFoundError
        There is no R with lme4, or the script gave no answer.
    RuntimeError
        R stopped with an error, with what it said.
    """
    program = rscript or find_lme4()
    if program is None:
        raise FileNotFoundError("R with lme4")
    # jsonlite is not part of r-cran-lme4's dependencies, so the answer is written by hand.
    whole = f"""
suppressPackageStartupMessages(library(lme4))
answer <- function(x) {{
  one <- function(v) if (length(v) == 1) sprintf("%.17g", v) else
    paste0("[", paste(sprintf("%.17g", v), collapse = ", "), "]")
  writeLines(paste0("{{", paste(sprintf('"%s": %s', names(x), sapply(x, one)),
    collapse = ", "), "}}"), "{ANSWER}")
}}
{script}
"""
    file = folder / "script.R"
    file.write_text(whole, encoding="utf-8")
    answer = folder / ANSWER
    answer.unlink(missing_ok=True)
    done = subprocess.run(
        [program, "--vanilla", file.name], cwd=folder, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        raise RuntimeError(f"R stopped: {done.stderr.strip()[-800:]}")
    loaded: dict[str, Any] = json.loads(answer.read_text(encoding="utf-8"))
    return loaded
