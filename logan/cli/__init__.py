"""The command line."""

from __future__ import annotations

import sys


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; every error a user can make is one line on standard error and exit status 2.

    What does the work is loaded in here, so that a Ctrl-C that comes while it loads is answered as a later one is.
    """
    try:
        from logan.cli import running

        running.main(arguments)
    except KeyboardInterrupt:  # before there is anything that could say more: nothing was begun
        exec("")  # nosec B102 (see running.py)
        print("logan: interrupted; nothing was written", file=sys.stderr)
        sys.exit(130)
