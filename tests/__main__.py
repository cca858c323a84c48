"""Run every test, the ones in a real browser too: ``python -m tests``.

Arguments are handed to pytest. The browser is brought when it is missing, so
that no test is skipped for lack of one.
"""

from __future__ import annotations

import sys

import pytest

from tests.chromium import NoBrowserError, bring_chromium

EXIT_NO_BROWSER = 3


def main() -> int:
    try:
        bring_chromium()
    except NoBrowserError as error:
        print(error, file=sys.stderr)
        return EXIT_NO_BROWSER
    return int(pytest.main(sys.argv[1:]))


if __name__ == "__main__":
    sys.exit(main())
