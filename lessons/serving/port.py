"""The port the server listens on, and what is said when it cannot be had."""

from __future__ import annotations

import errno
from typing import Any

from tornado.netutil import bind_sockets

from scoring.faults import FaultError


class PortInUseError(FaultError):
    """The port is taken by another program."""


def open_sockets(port: int, ip: str) -> list[Any]:
    """Return listening sockets; `PortInUseError` or `FaultError` when that cannot be."""
    try:
        return bind_sockets(port, ip)
    except OSError as error:
        if error.errno in (errno.EADDRINUSE, getattr(errno, "WSAEADDRINUSE", None)):
            fault = FaultError.one(
                f"{ip}:{port}",
                "the port",
                found="another program uses it",
                wanted="a free port",
                remedy="Close the other one (perhaps this kit is open already), or choose another "
                "port with --port; 0 takes any free one.",
            )
            raise PortInUseError(fault.faults) from error
        raise FaultError.one(
            f"{ip}:{port}",
            "the address",
            found=error.strerror or str(error),
            wanted="an address of this machine and a port you may use",
            remedy="Leave --ip and --port out, or choose a port above 1024.",
        ) from error
