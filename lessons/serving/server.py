"""The server: stand-alone Voila with explicit handlers and nothing that shows a file."""

from __future__ import annotations

import logging
import shutil
import signal
import tempfile
import threading
import webbrowser
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from jupyter_core.paths import jupyter_path
from tornado.httpserver import HTTPServer
from tornado.ioloop import IOLoop
from traitlets.config import Config
from voila.app import Voila  # type: ignore[import-untyped]
from voila.configuration import VoilaConfiguration  # type: ignore[import-untyped]
from voila.paths import collect_static_paths, collect_template_paths  # type: ignore[import-untyped]
from voila.tornado.kernel_websocket_handler import VoilaKernelWebsocketHandler  # type: ignore[import-untyped]

import lessons
from lessons.page.interface import interface
from lessons.serving import handlers
from lessons.serving.guard import HEADERS
from lessons.serving.kernels import ALLOWED_MESSAGES, OwnKernel, PageKernels
from lessons.serving.port import open_socket
from lessons.serving.shelf import NotebookShelf, name_of
from lessons.serving.start_page import message_page, start_page
from scoring.settings import Settings

HERE = Path(__file__).parent
PAGE = Path(lessons.__file__).parent / "page"
TEMPLATE = "sinkside"
"""Folder of our page templates below ``templates/voila/templates``; Voila's own load from a CDN."""

LOOPBACK = "127.0.0.1"
"""The address that no other machine can reach."""

KERNEL_ID = r"(?P<kernel_id>\w+-\w+-\w+-\w+-\w+)"
"""A kernel's id in a URL: a UUID, as in jupyter_server's own routes."""

IDLE_S = 1800
"""A kernel that has heard nothing for half an hour is ended, connected or not: an open page
resumes from its log. Working judgement: longer than any single decision takes."""

SWEEP_S = 60
"""How often idle kernels are looked for, seconds."""

SERVED = "SINKSIDE_SERVED"
"""Tells a kernel that a page of this server shows what it makes."""

PING_MS = 30_000
"""How often an open page is asked whether it is there; Jupyter's own default."""


class SinkServer(Voila):  # type: ignore[misc]
    """Serves the start page and the notebooks that have a door.

    Parameters
    ----------
    settings : Settings
        Handed to every kernel.
    doors : mapping of str to Path
        URL path to notebook.
    port : int
        0 takes any free one.
    ip : str
        Address to listen on.
    """

    def __init__(
        self, settings: Settings, doors: Mapping[str, Path], *, port: int = 0, ip: str = LOOPBACK
    ) -> None:
        self._settings = settings
        self._doors = dict(doors)
        self._folder = tempfile.mkdtemp(prefix="sinkside-")
        super().__init__(config=_config(settings, self._folder), log_level=logging.ERROR)
        self.port = port
        self.ip = ip
        self.open_browser = False
        self.root_dir = self._folder
        self.connection_dir_root = self._folder
        self.when_ready: Callable[[str], None] | None = None

    def initialize(self, argv: list[str] | None = None) -> None:
        """Set up; no configuration file of this machine is read."""
        self._init_asyncio_patch()
        self.voila_configuration = VoilaConfiguration(parent=self)
        self.setup_template_dirs()
        if threading.current_thread() is threading.main_thread():
            signal.signal(signal.SIGTERM, self._handle_signal_stop)

    def setup_template_dirs(self) -> None:
        """Find our own page template and Voila's scripts."""
        roots = [str(HERE / "templates"), *jupyter_path()]
        apps = ["voila", "nbconvert"]
        self.template_paths = collect_template_paths(apps, TEMPLATE, prune=True, root_dirs=roots)
        self.static_paths = collect_static_paths(apps, TEMPLATE, root_dirs=roots)

    def init_settings(self) -> dict[str, Any]:
        """Take Voila's settings, less every way to a file and to execution."""
        settings: dict[str, Any] = super().init_settings()
        self.kernel_manager.allowed_message_types = list(ALLOWED_MESSAGES)
        settings["contents_manager"] = NotebookShelf(self._doors)
        settings["headers"] = HEADERS
        settings["ws_ping_timeout"] = settings["ws_ping_interval"] = PING_MS
        settings["allow_remote_access"] = self.ip != LOOPBACK
        settings["local_hostnames"] = ["localhost", LOOPBACK]
        return settings

    def init_handlers(self) -> list[Any]:
        """Return everything that is served; any other path is our own 404."""
        language = self._settings.language
        page = {
            "template_paths": self.template_paths,
            "config": self.config,
            "voila_configuration": self.voila_configuration,
            "fault_page": message_page("server_fault", language),
        }
        libraries = "|".join(handlers.WIDGET_LIBRARIES)
        return [
            (r"/", handlers.PlainPage, {"html": start_page(self._doors, language)}),
            *(
                (door, handlers.DoorHandler, {**page, "notebook_path": name_of(door)})
                for door in self._doors
            ),
            (rf"/api/kernels/{KERNEL_ID}", handlers.KernelModel),
            (rf"/api/kernels/{KERNEL_ID}/channels", VoilaKernelWebsocketHandler),
            (rf"/voila/api/shutdown/{KERNEL_ID}", handlers.KernelFarewell),
            (r"/voila/static/(.+)", handlers.PageScripts, {"paths": self.static_paths}),
            (
                rf"/voila/labextensions/((?:{libraries})/(?!.*\.\.).+)",
                handlers.WidgetLibraries,
                {"path": self.labextensions_path},
            ),
            (r"/look/(tokens\.css)", handlers.OwnFile, {"path": PAGE}),
            (r"/look/(start\.css|frame\.js)", handlers.OwnFile, {"path": HERE / "look"}),
            (
                r"(.*)",
                handlers.PlainPage,
                {"html": message_page("not_found", language), "status": 404},
            ),
        ]

    def listen(self) -> None:
        """Listen on the one port asked for, and serve until stopped.

        Raises
        ------
        PortInUseError
            Another program has the port.
        """
        listening = open_socket(self.port, self.ip)
        self.port = listening.getsockname()[1]
        server = HTTPServer(self.app)
        server.add_sockets([listening])
        self.ioloop = IOLoop.current()
        if self.when_ready is not None:
            self.when_ready(self.address)
        self.ioloop.add_callback(self.kernel_manager.make_ready)
        try:
            self.ioloop.start()
        except KeyboardInterrupt:
            pass  # Ctrl+C is how a person closes the server
        finally:
            server.stop()
            self.stop()

    @property
    def address(self) -> str:
        """The start page's URL."""
        host = f"[{self.ip}]" if ":" in self.ip else self.ip
        return f"http://{host}:{self.port}/"

    def stop(self) -> None:
        """End every kernel and take the working folder away."""
        super().stop()
        shutil.rmtree(self._folder, ignore_errors=True)


def serve(
    settings: Settings,
    doors: Mapping[str, Path],
    *,
    port: int = 0,
    ip: str = LOOPBACK,
    open_browser: bool = False,
    open_path: str = "/",
    when_ready: Callable[[str], None] | None = None,
) -> None:
    """Serve until stopped (Ctrl+C, or the terminate signal).

    Parameters
    ----------
    settings : Settings
        Handed to every kernel.
    doors : mapping of str to Path
        URL path (``/learn/soak``, ``/exam``, ``/cohort``) to notebook.
    port : int
        0 takes any free one.
    ip : str
        Loopback unless tablets on the network join in.
    open_browser : bool
        Open `open_path` in this machine's browser.
    open_path : str
        URL path to open.
    when_ready : callable or None
        Called once with the start page's URL when the server listens.

    Raises
    ------
    PortInUseError
        Another program has the port.
    FaultError
        The address cannot be used.
    """
    server = SinkServer(settings, doors, port=port, ip=ip)
    server.initialize()

    def ready(address: str) -> None:
        if when_ready is not None:
            when_ready(address)
        if open_browser:
            url = address + open_path.lstrip("/")
            threading.Thread(target=webbrowser.open, args=(url,), daemon=True).start()

    server.when_ready = ready
    server.start()


def _config(settings: Settings, folder: str) -> Config:
    config = Config()
    config.VoilaConfiguration.template = TEMPLATE
    config.VoilaConfiguration.allow_template_override = "NO"
    config.VoilaConfiguration.allow_theme_override = "NO"
    config.VoilaConfiguration.extension_allowlist = list(handlers.WIDGET_LIBRARIES)
    config.VoilaConfiguration.multi_kernel_manager_class = PageKernels
    config.VoilaConfiguration.kernel_spec_manager_class = OwnKernel
    config.VoilaConfiguration.page_config_hook = _frame_words(settings.language)
    config.VoilaConfiguration.http_keep_alive_timeout = IDLE_S
    config.PageKernels.environment = {**settings.as_environment(), SERVED: "1"}
    config.PageKernels.folder = folder
    config.MappingKernelManager.transport_encryption = "auto"
    config.MappingKernelManager.cull_idle_timeout = IDLE_S
    config.MappingKernelManager.cull_interval = SWEEP_S
    config.MappingKernelManager.cull_connected = True
    config.KernelManager.autorestart = False  # the page resumes from its log in a fresh kernel
    return config


def _frame_words(language: str) -> Callable[..., dict[str, Any]]:
    words = interface(language)

    def hook(page_config: dict[str, Any], **_more: Any) -> dict[str, Any]:
        return page_config | {
            "sinksideLanguage": words.language,
            "sinksideOpening": words.page["opening"],
        }

    return hook
