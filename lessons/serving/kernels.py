"""The kernels behind the pages: always this Python, with this run's settings."""

from __future__ import annotations

import os
from typing import Any

from ipykernel.kernelspec import RESOURCES, get_kernel_dict, make_ipkernel_cmd
from jupyter_client.kernelspec import KernelSpec, KernelSpecManager, NoSuchKernel
from jupyter_core.utils import ensure_async
from jupyter_server._tz import utcnow
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from tornado.ioloop import IOLoop
from traitlets import Dict, Unicode

KERNEL_NAME = "python3"
"""The kernel that the notebooks name; every Jupyter front end knows it."""

ALLOWED_MESSAGES = (
    "comm_open",
    "comm_msg",
    "kernel_info_request",
)
"""All that a page may send to its kernel, found by taking away until a page no longer opened.
No execution, no completion, no inspection, no history, no debugging, no input, no shutdown."""


ABANDONED_S = 120
"""A kernel that no page has been connected to for this long is ended, seconds. A tablet that lost
its network for longer opens the page again and resumes. Working judgement, no source."""

REFILL_S = 4.0
"""The next kernel is made ready once the page just opened has had the machine to itself, seconds.
Working judgement, no source."""

STARTER = "lessons.serving.page_kernel"
"""The module that a kernel is started with."""

FIRST_IMPORT = "import lessons.page.lesson"
"""What nearly every page needs; done before a page asks for it."""


class OwnKernel(KernelSpecManager):
    """Knows one kernel: the Python that runs the server, whatever else is installed."""

    def find_kernel_specs(self) -> dict[str, str]:
        """Return the one kernel."""
        return {KERNEL_NAME: RESOURCES}

    def get_kernel_spec(self, kernel_name: str) -> KernelSpec:
        """Return the one kernel; `NoSuchKernel` for any other name.

        IPython's history is off: nobody types code here, and a file of it in
        the home folder of the bench PC would be a surprise.
        """
        if kernel_name != KERNEL_NAME:
            raise NoSuchKernel(kernel_name)
        content = get_kernel_dict()
        content["argv"] = make_ipkernel_cmd(
            STARTER,
            extra_arguments=[
                "--HistoryManager.enabled=False",
                f"--IPKernelApp.exec_lines={FIRST_IMPORT}",
            ],
        )
        content["metadata"]["debugger"] = False
        return KernelSpec(resource_dir=RESOURCES, name=KERNEL_NAME, **content)


class PageKernels(AsyncMappingKernelManager):
    """Starts the kernels of the pages in an empty folder, with the settings of this run.

    One kernel is kept ready, so that a page opens without waiting for Python to
    start. A kernel whose page is gone is ended soon.

    Attributes
    ----------
    environment : dict of str to str
        Variables added to each kernel's environment.
    folder : str
        Where kernels run: an empty folder, so that no file shadows a module.
    """

    environment = Dict(config=True)
    folder = Unicode(config=True)

    _ready = ""

    def cwd_for_path(self, path: str, **kwargs: Any) -> str:
        """Return the one folder, whatever the notebook's path."""
        return str(self.folder)

    async def make_ready(self) -> None:
        """Start the kernel that the next page will get."""
        if not self._ready:
            self._ready = await self._fresh(kernel_name=KERNEL_NAME, path="", env=dict(os.environ))

    async def _async_start_kernel(self, **kwargs: Any) -> str:
        ready, self._ready = self._ready, ""
        IOLoop.current().call_later(REFILL_S, self.make_ready)
        if ready in self and await ensure_async(self.get_kernel(ready).is_alive()):
            self.get_kernel(ready).last_activity = utcnow()  # type: ignore[attr-defined]
            return ready
        return await self._fresh(**kwargs)

    start_kernel = _async_start_kernel  # type: ignore[assignment]

    async def _fresh(self, **kwargs: Any) -> str:
        kwargs["env"] = {**kwargs.get("env", {}), **self.environment}
        started: str = await super()._async_start_kernel(**kwargs)
        return started

    async def cull_kernel_if_idle(self, kernel_id: str) -> None:
        """End a kernel that died, or whose page is gone; leave the ready one alone."""
        if kernel_id == self._ready:
            return
        kernel = self.get_kernel(kernel_id)
        quiet = (utcnow() - kernel.last_activity).total_seconds()  # type: ignore[attr-defined]
        gone = not self._kernel_connections.get(kernel_id, 0) and quiet > ABANDONED_S
        if gone or not await ensure_async(kernel.is_alive()):
            ending = self.shutdown_kernel(kernel_id, now=True)  # type: ignore[no-untyped-call]
            await ensure_async(ending)
            return
        await super().cull_kernel_if_idle(kernel_id)  # type: ignore[no-untyped-call]
