"""What the server gives out, and what it never does."""

from __future__ import annotations

import http.client
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from lessons import DEFAULT_SITE, HERE
from lessons.serving.port import PortInUseError, open_socket
from scoring.faults import FaultError
from tests.browser.running import PROGRAM, ROOT, Running, running_server

DOOR = "/learn/soak"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    records = tmp_path_factory.mktemp("served") / "records"
    with running_server(records, {DOOR: HERE / "soak.ipynb"}) as running:
        yield running


def ask(
    server: Running, path: str, method: str = "GET", **headers: str
) -> tuple[int, dict[str, str], str]:
    """Ask without tidying the path, as a hostile program would."""
    parts = urlsplit(server.url)
    connection = http.client.HTTPConnection(parts.hostname or "", parts.port, timeout=30)
    connection.request(method, path, headers=headers)
    answer = connection.getresponse()
    body = answer.read().decode("utf-8", "replace")
    connection.close()
    return answer.status, {name.lower(): value for name, value in answer.getheaders()}, body


@pytest.mark.parametrize("path", ["/", DOOR, "/nothing", "/look/tokens.css", "/look/frame.js"])
def test_every_answer_is_guarded(server: Running, path: str) -> None:
    _, headers, _ = ask(server, path)
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert "unsafe-eval" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize(
    "path",
    [
        "/voila/static/../../../../pyvenv.cfg",
        "/voila/static/..%2f..%2f..%2f..%2fpyvenv.cfg",
        "/voila/static/",
        "/voila/static/.",
        "/voila/labextensions/@jupyter/nbgrader/package.json",
        "/voila/labextensions/anywidget/../@jupyter/nbgrader/package.json",
        "/voila/labextensions/anywidget/",
        "/voila/labextensions/anywidget/static",
        "/voila/files/soak.ipynb",
        "/voila/tree/",
        "/voila/render/soak.ipynb",
        "/voila/api/contents/",
        "/voila/query/00000000-0000-0000-0000-000000000000",
        "/look/../server.py",
        "/look/server.py",
        "/learn/soak/",
        "/learn/soak.ipynb",
        "/soak.ipynb",
        "/api/contents",
        "/api/kernelspecs",
        "/api/sessions",
        "/api/status",
        "/login",
        "//",
    ],
)
def test_no_way_to_any_other_file_or_service(server: Running, path: str) -> None:
    status, _, body = ask(server, path)
    assert status in (403, 404)
    assert "Traceback" not in body
    assert "def " not in body


def test_a_page_names_no_other_host(server: Running) -> None:
    status, _, body = ask(server, DOOR)
    assert status == 200
    assert "kernelId" in body
    named = set(re.findall(r"https?://([^/\"'\s<>\\]+)", body))
    assert named <= {"www.w3.org"}
    assert "from lessons.page" not in body


def test_the_frame_comes_before_the_kernel_is_there(server: Running) -> None:
    parts = urlsplit(server.url)
    with socket.create_connection((parts.hostname or "", parts.port or 0), timeout=30) as line:
        line.sendall(f"GET {DOOR} HTTP/1.1\r\nHost: {parts.netloc}\r\n\r\n".encode())
        first = b""
        while b'id="opening"' not in first:
            heard = line.recv(4096)
            assert heard
            first += heard
    assert b"kernelId" not in first


def test_another_name_for_this_machine_is_refused(server: Running) -> None:
    status, _, body = ask(server, DOOR, Host="kit.example:80")
    assert status == 403
    assert "Traceback" not in body


def test_a_kernel_that_is_not_there_is_told_plainly(server: Running) -> None:
    nobody = "/api/kernels/00000000-0000-0000-0000-000000000000"
    assert ask(server, nobody)[0] == 404
    assert ask(server, nobody, "DELETE")[0] in (404, 405)


def test_a_query_is_dropped_not_handed_to_the_kernel(server: Running) -> None:
    status, headers, _ = ask(server, f"{DOOR}?template=lab")
    assert status == 302
    assert headers["location"] == DOOR


def test_a_port_in_use_is_told_with_its_remedy() -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(PortInUseError) as told:
            open_socket(port, "127.0.0.1")
    assert f"127.0.0.1:{port}" in str(told.value)
    assert "--port" in told.value.faults[0].remedy


def test_an_address_of_another_machine_is_told() -> None:
    with pytest.raises(FaultError) as told:
        open_socket(0, "192.0.2.1")
    assert not isinstance(told.value, PortInUseError)


def test_starting_twice_on_one_port_ends_with_the_message(tmp_path: Path, server: Running) -> None:
    asked = (
        f'{{"records": "{tmp_path.as_posix()}", "site": "{DEFAULT_SITE.as_posix()}", '
        f'"doors": {{}}, "port": {urlsplit(server.url).port}}}'
    )
    ran = subprocess.run(
        [sys.executable, "-c", PROGRAM, asked],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ran.returncode != 0
    assert "another program uses it" in ran.stderr
