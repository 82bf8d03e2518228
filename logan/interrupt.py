"""Ctrl-C: what it leaves behind is kept at hand while a command runs, and results are put in place all or none."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Final

NOTHING: Final = "nothing was written"
STATUS: Final = 130
"""Exit status where Ctrl-C ended the command, as shells count it: 128 and the signal's number (POSIX)."""

_left = NOTHING


def left() -> str:
    """What an interruption leaves behind now, in words that follow "interrupted"."""
    return _left


def leaves(words: str) -> None:
    """Say what an interruption from now on leaves behind."""
    global _left
    _left = words


def wrote(*paths: Path) -> None:
    """Say that these files are what an interruption from now on leaves behind."""
    leaves(f"written: {', '.join(map(str, paths))}")


def enough() -> None:
    """Ctrl-C has come: what is still to be closed is closed, and a second one changes nothing."""
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def waits() -> Iterator[None]:
    """What stands within is done whole, as putting files in place: Ctrl-C waits for its end.

    Raises
    ------
    KeyboardInterrupt : it came meanwhile
    """
    came = False

    def note(_signal: int, _frame: FrameType | None) -> None:
        nonlocal came
        came = True

    is_main = threading.current_thread() is threading.main_thread()  # the others are not interrupted
    if not is_main or signal.getsignal(signal.SIGINT) == signal.SIG_IGN:  # nor is a job that a shell runs behind others
        yield
        return
    before = signal.signal(signal.SIGINT, note)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.SIG_DFL if before is None else before)
    if came:
        raise KeyboardInterrupt


@contextmanager
def unheard() -> Iterator[None]:
    """Threads and processes that are started within do not hear Ctrl-C, which a terminal sends to all: we end them."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
