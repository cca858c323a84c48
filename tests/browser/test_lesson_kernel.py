"""What the page can and cannot do to its kernel, and what survives the kernel."""

from __future__ import annotations

import json
import time
from pathlib import Path

from playwright.sync_api import Page

from tests.browser import hands
from tests.browser.running import Running
from tests.browser.test_lesson import begin, logs_of

SEND = """
async ([kernelId, channel, type, content, waitMs]) => {
  const path = `/api/kernels/${kernelId}/channels?session_id=probe`;
  const socket = new WebSocket(`ws://${location.host}${path}`);
  const heard = [];
  await new Promise((resolve, reject) => { socket.onopen = resolve; socket.onerror = reject; });
  socket.onmessage = ({ data }) => { if (typeof data === "string") heard.push(JSON.parse(data)); };
  const header = {msg_id: "probe-1", username: "", session: "probe",
                  date: new Date().toISOString(), msg_type: type, version: "5.4"};
  const rest = {parent_header: {}, metadata: {}, buffers: []};
  socket.send(JSON.stringify({header, content, channel, ...rest}));
  await new Promise((resolve) => setTimeout(resolve, waitMs));
  socket.close();
  const answers = heard.filter((each) => each.parent_header?.msg_id === "probe-1");
  return answers.map((each) => each.msg_type);
}
"""


def test_a_killed_kernel_loses_nothing_confirmed(server: Running, page: Page) -> None:
    begin(page, server, "soak")
    hands.press_main(page)
    hands.wait_for(page, "decision")
    for _ in range(2):
        hands.answer_by_mouse(page)
        assert page.inner_text(".saved").startswith("saved ")
        hands.press_main(page)
        hands.wait_for(page, "decision")
    question = page.inner_text("h1")
    hands.kill_kernel(server, page)
    page.expected_complaints.append(".*")  # type: ignore[attr-defined]
    hands.choose_by_mouse(page)
    hands.press_main(page)
    page.wait_for_selector(".lost")
    assert "is saved" in page.inner_text(".lost")
    chosen = page.evaluate("[...document.querySelectorAll('input')].map(i => i.checked || i.value)")
    page.click(".lost button")
    hands.wait_for(page, "decision")
    page.wait_for_selector("h1")
    assert page.inner_text("h1") == question
    kept = page.evaluate("[...document.querySelectorAll('input')].map(i => i.checked || i.value)")
    assert kept == chosen
    (log,) = logs_of(server)
    assert len(log.answers) == 2
    while hands.wait_for(page, "decision", "summary") == "decision":
        hands.answer_by_mouse(page)
        hands.press_main(page)
        hands.wait_for(page, "decision", "summary")
    (log,) = logs_of(server)
    assert log.close is not None


def test_a_slow_kernel_is_said_and_a_draft_does_not_reach_the_next_person(
    server: Running, page: Page
) -> None:
    begin(page, server, "soak")
    hands.press_main(page)
    hands.wait_for(page, "decision")
    hands.choose_by_mouse(page)
    kernel = server.kernel(page.evaluate(hands.KERNEL_ID))
    assert kernel is not None
    kernel.suspend()
    hands.press_main(page)
    page.wait_for_function("() => document.querySelector('.saved').textContent === 'One moment …'")
    page.wait_for_selector(".lost")
    assert page.inner_text(".saved") == ""
    assert "draft" in page.evaluate("JSON.stringify(sessionStorage)")
    kernel.resume()
    hands.wait_for(page, "consequence")
    assert page.query_selector(".lost") is None
    page.click("button.leave")
    hands.wait_for(page, "sign_in")
    assert page.evaluate("JSON.stringify([localStorage, sessionStorage])") == "[{},{}]"


def test_the_page_cannot_make_the_kernel_run_code(
    server: Running, page: Page, tmp_path: Path
) -> None:
    begin(page, server, "soak")
    kernel = page.evaluate(hands.KERNEL_ID)
    proof = tmp_path / "ran"
    code = f"open({str(proof)!r}, 'w').close()"
    asked = {
        "code": code,
        "silent": False,
        "store_history": False,
        "user_expressions": {},
        "allow_stdin": False,
        "stop_on_error": True,
    }
    # A message that is let through is answered, so silence below is refusal and not a dead line.
    heard = page.evaluate(SEND, [kernel, "shell", "kernel_info_request", {}, 1500])
    assert "kernel_info_reply" in heard
    for channel in ("shell", "control"):
        heard = page.evaluate(SEND, [kernel, channel, "execute_request", asked, 1500])
        assert heard == []
    for kind in ("shutdown_request", "debug_request", "complete_request", "inspect_request"):
        assert page.evaluate(SEND, [kernel, "control", kind, {"restart": False}, 300]) == []
    time.sleep(0.5)
    assert not proof.exists()
    hands.press_main(page)
    hands.wait_for(page, "decision")


def test_the_page_cannot_end_or_restart_or_list_kernels(server: Running, page: Page) -> None:
    page.expected_complaints.append("404|405|403")  # type: ignore[attr-defined]
    begin(page, server, "soak")
    kernel = page.evaluate(hands.KERNEL_ID)
    status = "async ([method, path]) => (await fetch(path, {method})).status"
    for method, path, wanted in (
        ("DELETE", f"/api/kernels/{kernel}", {405}),
        ("POST", f"/api/kernels/{kernel}/restart", {404, 405}),
        ("POST", f"/api/kernels/{kernel}/interrupt", {404, 405}),
        ("GET", "/api/kernels", {404}),
        ("POST", "/api/kernels", {404, 405}),
        ("GET", "/api/contents", {404}),
        ("GET", "/voila/files/lessons/soak.ipynb", {404}),
        ("GET", "/voila/tree", {404}),
    ):
        assert page.evaluate(status, [method, path]) in wanted, (method, path)
    assert server.kernel(kernel)
    assert json.loads(page.evaluate("document.getElementById('jupyter-config-data').textContent"))


def test_a_closed_page_gives_its_kernel_back(server: Running, page: Page) -> None:
    begin(page, server, "soak")
    kernel_id = page.evaluate(hands.KERNEL_ID)
    assert server.kernel(kernel_id)
    page.goto(server.url)
    hands.wait_until_gone(server, kernel_id)
