"""The port the server listens on, and what is said when it cannot be had."""

from __future__ import annotations

import errno
import socket

from scoring.faults import FaultError


class PortInUseError(FaultError):
    """The port is taken by another program."""


BACKLOG = 128
"""Connections that may wait to be taken; the usual value of servers. No other meaning."""


def open_socket(port: int, ip: str) -> socket.socket:
    """Return a listening socket; `PortInUseError` or `FaultError` when that cannot be."""
    family = socket.AF_INET6 if ":" in ip else socket.AF_INET
    try:
        listening = socket.create_server((ip, port), family=family, backlog=BACKLOG)
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
    listening.setblocking(False)
    return listening
