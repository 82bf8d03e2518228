"""Writes that must not be lost: repeated until the data base takes them."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Final

from sqlalchemy.exc import OperationalError

AGAIN_S: Final = 1.0


def persist(write: Callable[[], None], ending: threading.Event) -> None:
    """Write; where the data base is locked or away, or the disk full, again and again until the program ends."""
    while not ending.is_set():
        try:
            return write()
        except OperationalError:
            ending.wait(AGAIN_S)
    return None
