"""Run every test, the ones in a real browser too: ``python -m tests``.

Without arguments the tests run on several cores, and then the benchmarks, which
compare times, on a machine that does nothing else. Arguments are handed to
pytest, which then runs once. The browser is brought when it is missing, so that
no test is skipped for lack of one.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping, Sequence

from tests.chromium import NoBrowserError, bring_chromium

EXIT_NO_BROWSER = 3

MOST_WORKERS = 4
"""Each worker may have a browser and a server with kernels: about 1 GB. A working judgement."""

BENCHMARKS = "tests/benchmarks"


def main(arguments: Sequence[str]) -> int:
    try:
        bring_chromium()
    except NoBrowserError as error:
        print(error, file=sys.stderr)
        return EXIT_NO_BROWSER
    if arguments:
        return _pytest(*arguments)
    workers = min(MOST_WORKERS, os.cpu_count() or 1)
    # A file stays on one worker: what its tests share is made once.
    spread = ["-n", str(workers), "--dist", "loadfile", f"--ignore={BENCHMARKS}"]
    # Each worker has a core; linear algebra on several threads would only make them wait.
    one_thread = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    return _pytest(*spread, environment=one_thread) or _pytest(BENCHMARKS)


def _pytest(*arguments: str, environment: Mapping[str, str] | None = None) -> int:
    command = [sys.executable, "-m", "pytest", *arguments]
    return subprocess.run(command, check=False, env=environment).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
