"""What each worker of a cluster of this machine loads when it starts."""

from __future__ import annotations

import sys


def dask_setup(_worker: object) -> None:
    """A worker that is ended in the midst of a log says nothing of what it could not close: its log is done again.

    Source: the name and the argument are those of distributed's preload modules (its documentation, from memory).
    """
    sys.unraisablehook = lambda _: None
