"""The kernels behind the pages."""

from __future__ import annotations

import asyncio
import json
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from jupyter_client.kernelspec import NoSuchKernel
from jupyter_client.manager import KernelManager
from traitlets.config import Config

from lessons.serving.kernels import (
    ABANDONED_S,
    ALLOWED_MESSAGES,
    KERNEL_NAME,
    OwnKernel,
    PageKernels,
)
from lessons.serving.server import IDLE_S


def test_a_page_may_send_widget_messages_only() -> None:
    assert set(ALLOWED_MESSAGES) == {"comm_open", "comm_msg", "kernel_info_request"}


def test_the_kernel_is_this_python_whatever_is_installed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = tmp_path / "kernels" / "python3"
    other.mkdir(parents=True)
    spec = {"argv": ["/elsewhere/python", "-f", "{connection_file}"], "display_name": "x",
            "language": "python"}  # fmt: skip
    (other / "kernel.json").write_text(json.dumps(spec), encoding="utf-8")
    monkeypatch.setenv("JUPYTER_PATH", str(tmp_path))
    kernels = OwnKernel()
    assert kernels.get_kernel_spec(KERNEL_NAME).argv[0] == sys.executable
    assert list(kernels.get_all_specs()) == [KERNEL_NAME]
    with pytest.raises(NoSuchKernel):
        kernels.get_kernel_spec("another")


def test_a_kernel_holds_no_debugger_and_has_the_page_imported(tmp_path: Path) -> None:
    manager = KernelManager(
        kernel_name=KERNEL_NAME,
        kernel_spec_manager=OwnKernel(),
        connection_file=str(tmp_path / "kernel.json"),
    )
    manager.start_kernel(cwd=str(tmp_path))
    client = manager.client()
    try:
        client.start_channels()
        client.wait_for_ready(timeout=60)
        said = client.execute(
            "import sys", user_expressions={"loaded": "sorted(sys.modules)"}, reply=True, timeout=60
        )
        loaded = said["content"]["user_expressions"]["loaded"]["data"]["text/plain"]
        features = client.kernel_info(reply=True, timeout=60)["content"]["supported_features"]
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    assert "'lessons.page.lesson'" in loaded
    assert "pydevd" not in loaded
    assert "debugger" not in features


def test_kernels_run_in_the_folder_given_whatever_path_is_asked(tmp_path: Path) -> None:
    config = Config()
    config.PageKernels.folder = str(tmp_path)
    kernels = PageKernels(config=config)
    assert kernels.cwd_for_path("../../etc") == str(tmp_path)


def test_one_kernel_is_kept_ready_and_those_without_a_page_are_ended(tmp_path: Path) -> None:
    async def life() -> None:
        config = Config()
        config.PageKernels.folder = str(tmp_path)
        config.PageKernels.environment = {"SINKSIDE_RECORDS": str(tmp_path)}
        config.KernelManager.autorestart = False
        config.MappingKernelManager.cull_idle_timeout = IDLE_S
        kernels = PageKernels(
            config=config,
            kernel_spec_manager=OwnKernel(),
            connection_dir=str(tmp_path),
        )
        try:
            await kernels.make_ready()
            (ready,) = kernels.list_kernel_ids()
            quiet(kernels, ready)
            await kernels.cull_kernel_if_idle(ready)
            assert ready in kernels
            given = await kernels.start_kernel(kernel_name=KERNEL_NAME, path="", env={})
            assert given == ready
            await kernels.cull_kernel_if_idle(given)
            assert given in kernels, "a kernel just given to a page was ended"
            quiet(kernels, given)
            kernels.notify_connect(given)
            await kernels.cull_kernel_if_idle(given)
            assert given in kernels, "a kernel with a page was ended"
            kernels.notify_disconnect(given)
            await kernels.cull_kernel_if_idle(given)
            assert given not in kernels
        finally:
            await kernels.shutdown_all(now=True)

    asyncio.run(life())


def quiet(kernels: PageKernels, kernel_id: str) -> None:
    """Let a kernel have heard nothing for longer than a page may be gone."""
    kernel = kernels.get_kernel(kernel_id)
    kernel.last_activity -= timedelta(seconds=ABANDONED_S + 1)
