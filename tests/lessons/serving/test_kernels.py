"""The kernels behind the pages."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from jupyter_client.kernelspec import NoSuchKernel
from traitlets.config import Config

from lessons.serving.kernels import ALLOWED_MESSAGES, KERNEL_NAME, OwnKernel, PageKernels


def test_a_page_may_send_widget_messages_only() -> None:
    for kind in (
        "execute_request", "complete_request", "inspect_request", "history_request",
        "debug_request", "shutdown_request", "interrupt_request", "input_reply",
    ):  # fmt: skip
        assert kind not in ALLOWED_MESSAGES


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


def test_kernels_run_in_the_folder_given_whatever_path_is_asked(tmp_path: Path) -> None:
    config = Config()
    config.PageKernels.folder = str(tmp_path)
    kernels = PageKernels(config=config)
    assert kernels.cwd_for_path("../../etc") == str(tmp_path)
