"""Writes that must not be lost: repeated until the data base takes them."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress
from typing import Final

from sqlalchemy import exc

AGAIN_S: Final = 1.0


def persist(write: Callable[[], None], ending: threading.Event, instead: Callable[[Exception], None]) -> None:
    """Write; where the data base is in trouble, again and again until the program ends.

    What can never be written, by a defect, must not keep anybody waiting: ``instead`` writes of it what can be said.
    """
    try:
        _repeated(write, ending)
    except Exception as error:
        wrong = error
        with suppress(Exception):  # no word of it can be written either: it begins anew with the next start
            _repeated(lambda: instead(wrong), ending)


def _repeated(write: Callable[[], None], ending: threading.Event) -> None:
    while not ending.is_set():
        try:
            return write()
        except (exc.DBAPIError, exc.TimeoutError) as error:  # locked or away, damaged, its disk full
            if isinstance(error, (exc.DataError, exc.IntegrityError)):  # what it refuses of these values it always will
                raise
            ending.wait(AGAIN_S)
    return None
