"""Processes of their own for work that may take long, take much memory, or fail: none outlives the program."""

from __future__ import annotations

import multiprocessing
import os
import threading
from typing import Final

SPAWN: Final = multiprocessing.get_context("spawn")
"""Forking a program that has threads may hang."""


def end_with_parent() -> None:
    """Tie this process to the one that started it: it ends when that one does, however that ends."""
    threading.Thread(target=_wait, daemon=True).start()


def _wait() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
