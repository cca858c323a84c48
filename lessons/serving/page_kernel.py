"""Starts the kernel behind a page: Jupyter's own, without its debugger.

No page may send a debugger's message, yet the debugger would be more than a quarter of the
kernel's memory. ipykernel loads it wherever it is installed, and has no setting against that.
"""

from __future__ import annotations

import sys


def main() -> None:
    """Run the kernel until it is ended; the command line is ipykernel's."""
    # Python's own way to say that a module is not there, which ipykernel takes as no debugger.
    sys.modules["debugpy"] = None  # type: ignore[assignment]

    from ipykernel.kernelapp import launch_new_instance

    launch_new_instance()


if __name__ == "__main__":
    main()
