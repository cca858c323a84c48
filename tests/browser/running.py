"""The real server in a process of its own, as `sinkside learn` would run it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psutil

from lessons import DEFAULT_SITE

ROOT = Path(__file__).parents[2]
START_S = 60
STOP_S = 20

PROGRAM = """
import json, sys
from pathlib import Path
from lessons.serving.server import serve
from scoring.settings import Settings
asked = json.loads(sys.argv[1])
settings = Settings(Path(asked["records"]), Path(asked["site"]))
doors = {door: Path(path) for door, path in asked["doors"].items()}
serve(settings, doors, port=asked["port"], when_ready=lambda url: print(url, flush=True))
"""


@dataclass(frozen=True)
class Running:
    """A server that listens: its start page's URL, its process id, its records."""

    url: str
    pid: int
    records: Path

    def kernel(self, kernel_id: str) -> psutil.Process | None:
        """Return the process of a kernel; None once it has ended."""
        for process in psutil.Process(self.pid).children(recursive=True):
            try:
                if kernel_id in " ".join(process.cmdline()):
                    return process
            except (psutil.NoSuchProcess, psutil.ZombieProcess):
                continue
        return None


@contextmanager
def running_server(
    records: Path, doors: Mapping[str, Path], *, site: Path = DEFAULT_SITE, port: int = 0
) -> Iterator[Running]:
    """Run the server until the block ends; 0 takes any free port."""
    asked = {
        "records": str(records),
        "site": str(site),
        "doors": {door: str(path) for door, path in doors.items()},
        "port": port,
    }
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, json.dumps(asked)],
        cwd=ROOT,
        env={**os.environ, "JUPYTER_PREFER_ENV_PATH": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stderr is not None
    complaints: list[str] = []
    listener = threading.Thread(target=lambda: complaints.extend(process.stderr or ()), daemon=True)
    listener.start()
    timer = threading.Timer(START_S, process.kill)
    timer.start()
    try:
        url = process.stdout.readline().strip()
        timer.cancel()
        if not url:
            listener.join(5)
            raise RuntimeError("the server did not start:\n" + "".join(complaints))
        yield Running(url, process.pid, records)
    finally:
        timer.cancel()
        process.terminate()
        try:
            process.wait(STOP_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        process.stdout.close()
        listener.join(5)
        process.stderr.close()
