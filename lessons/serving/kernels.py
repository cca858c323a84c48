"""The kernels behind the pages: always this Python, with this run's settings."""

from __future__ import annotations

from typing import Any

from ipykernel.kernelspec import RESOURCES, get_kernel_dict
from jupyter_client.kernelspec import KernelSpec, KernelSpecManager, NoSuchKernel
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from traitlets import Dict, Unicode

KERNEL_NAME = "python3"
"""The kernel that the notebooks name; every Jupyter front end knows it."""

ALLOWED_MESSAGES = (
    "comm_open",
    "comm_close",
    "comm_msg",
    "comm_info_request",
    "kernel_info_request",
)
"""All that a page may send to its kernel: what widgets need. No execution, no completion, no
inspection, no history, no debugging, no input, no shutdown."""


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
        content = get_kernel_dict(extra_arguments=["--HistoryManager.enabled=False"])
        return KernelSpec(resource_dir=RESOURCES, name=KERNEL_NAME, **content)


class PageKernels(AsyncMappingKernelManager):
    """Starts the kernels of the pages in an empty folder, with the settings of this run.

    Attributes
    ----------
    environment : dict of str to str
        Variables added to each kernel's environment.
    folder : str
        Where kernels run: an empty folder, so that no file shadows a module.
    """

    environment = Dict(config=True)
    folder = Unicode(config=True)

    def cwd_for_path(self, path: str, **kwargs: Any) -> str:
        """Return the one folder, whatever the notebook's path."""
        return str(self.folder)

    async def _async_start_kernel(self, **kwargs: Any) -> str:
        kwargs["env"] = {**kwargs.get("env", {}), **self.environment}
        started: str = await super()._async_start_kernel(**kwargs)
        return started

    start_kernel = _async_start_kernel  # type: ignore[assignment]
