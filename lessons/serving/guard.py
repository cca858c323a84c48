"""What every answer of the server says to the browser: trust this server and nothing else."""

from __future__ import annotations

from typing import Any

from tornado.web import RequestHandler

HEADERS = {
    "Content-Security-Policy": "; ".join(
        (
            "default-src 'self'",
            "script-src 'self' blob:",  # the widget library loads the card's script as a blob
            "style-src 'self' 'unsafe-inline'",  # widgets set sizes in style attributes
            "img-src 'self' data: blob:",
            "font-src 'self' data:",
            "connect-src 'self'",
            "object-src 'none'",
            "base-uri 'none'",
            "form-action 'self'",
            "frame-ancestors 'none'",
        )
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
}


class Guarded(RequestHandler):
    """Adds the headers to a handler that is none of Jupyter's."""

    def set_default_headers(self) -> None:
        """Set them."""
        for name, value in HEADERS.items():
            self.set_header(name, value)

    def data_received(self, chunk: bytes) -> Any:
        """Take no streamed body."""
