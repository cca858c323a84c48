"""The few things a browser may ask the server for."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from jupyter_core.utils import ensure_async
from jupyter_server.base.handlers import APIHandler, FileFindHandler
from jupyter_server.services.kernels.handlers import KernelHandler
from tornado.web import HTTPError, StaticFileHandler, authenticated
from voila.static_file_handler import MultiStaticFileHandler  # type: ignore[import-untyped]
from voila.tornado.handler import TornadoVoilaHandler  # type: ignore[import-untyped]

from lessons.serving.guard import Guarded

WIDGET_LIBRARIES = (
    "anywidget",
    "@jupyter-widgets/jupyterlab-manager",
    "@voila-dashboards/widgets-manager8",
)
"""Front-end libraries a page loads; every other one installed here stays out."""


class DoorHandler(TornadoVoilaHandler):  # type: ignore[misc]
    """A page: one notebook, played by a kernel of its own."""

    def initialize(self, fault_page: str, **more: Any) -> None:
        """Take what Voila's handler takes, and the page for when something fails."""
        super().initialize(**more)
        self.fault_page = fault_page

    def write_error(self, status_code: int, **_more: Any) -> None:
        """Send our own page, never a traceback."""
        self.finish(self.fault_page)

    async def get(self, path: str | None = None) -> None:
        """Send the frame at once, the rest when the kernel is there."""
        if self.request.arguments:
            self.redirect(self.request.path)
            return
        _ = self.xsrf_token  # sets the cookie that the page's farewell must show
        await super().get()


class KernelModel(KernelHandler):
    """What the page may learn of its kernel; it may not restart or remove it."""

    SUPPORTED_METHODS = ("GET",)


class KernelFarewell(APIHandler):
    """A page that is being closed gives its kernel back.

    The id is random and only the page itself has it, so nobody can end
    another's kernel; and what was confirmed is on disk in any case.
    """

    SUPPORTED_METHODS = ("POST",)

    @authenticated
    async def post(self, kernel_id: str) -> None:
        """End the kernel."""
        if kernel_id in self.kernel_manager:
            ending = self.kernel_manager.shutdown_kernel(kernel_id)  # type: ignore[no-untyped-call]
            await ensure_async(ending)
        self.set_status(204)
        self.finish()


class WidgetLibraries(Guarded, FileFindHandler):
    """The scripts of the widget libraries that pages use."""

    def validate_absolute_path(self, root: str, absolute_path: str) -> str | None:
        """Let files through, never a folder."""
        if Path(absolute_path).is_dir():
            raise HTTPError(404)
        found: str | None = super().validate_absolute_path(root, absolute_path)
        return found


class PageScripts(Guarded, MultiStaticFileHandler):  # type: ignore[misc]
    """The scripts that play a page."""

    def validate_absolute_path(self, root: str, absolute_path: str) -> str | None:
        """Let files through, never a folder."""
        if Path(absolute_path).is_dir():
            raise HTTPError(404)
        found: str | None = super().validate_absolute_path(root, absolute_path)
        return found


class OwnFile(Guarded, StaticFileHandler):
    """One named file of our own: the style of the start page, the page's frame."""


class PlainPage(Guarded):
    """A page without a kernel, made once when the server starts."""

    def initialize(self, html: str, status: int = 200) -> None:
        """Take the page."""
        self.html = html
        self.code = status

    def get(self, *_path: str) -> None:
        """Send it."""
        self.set_status(self.code)
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.set_header("Cache-Control", "no-cache")
        self.finish(self.html)

    def head(self, *path: str) -> None:
        """Answer as `get` does."""
        self.get(*path)

    def write_error(self, status_code: int, **_more: Any) -> None:
        """Send the same page for a method that is not served."""
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.finish(self.html)
