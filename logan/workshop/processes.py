"""Processes of their own for work that may take long, take much memory, or fail: none outlives the program."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable
from multiprocessing import resource_tracker
from pathlib import Path
from typing import Any, Final

from logan import interrupt
from logan.errors import LoganError

SPAWN: Final = multiprocessing.get_context("spawn")
"""Forking a program that has threads may hang."""
PROGRESS: Final = "progress"
LOOK_S: Final = 0.2
LONGEST: Final = 300
"""Characters of what a library says of an error: a data base repeats all that was to be written."""


class Lost(Exception):  # noqa: N818 (it is told as an outcome)
    """A process gave no result; why, in words that follow its name."""


def outcome(
    work: Callable[..., None],
    arguments: tuple[object, ...],
    limit_s: float,
    ending: threading.Event | None = None,
    told: Callable[..., None] | None = None,
) -> Any:
    """What ``work(channel, *arguments)`` sends in a process of its own; None where the program ends before it.

    Parameters
    ----------
    limit_s : longest time that may pass without a message, all waits together
    ending : set where the program ends
    told : called with the rest of each message that begins with ``PROGRESS``

    Raises
    ------
    Lost : nothing came in time, or the process ended without a result
    """
    here, there = SPAWN.Pipe(duplex=False)
    process = SPAWN.Process(target=work, args=(there, *arguments), daemon=True)
    resource_tracker.ensure_running()  # else the start may start it, and make this thread hear Ctrl-C again
    with interrupt.unheard():
        process.start()
    there.close()
    waited = 0.0
    try:
        while waited < limit_s:
            if ending is not None and ending.is_set():
                return None
            if not here.poll(LOOK_S):
                waited += LOOK_S
                continue
            message = here.recv()
            if not (isinstance(message, tuple) and message[:1] == (PROGRESS,)):
                return message
            if told is not None:
                told(*message[1:])
    except EOFError as error:
        raise Lost("ended without a result, for want of memory or by a defect of logan") from error
    finally:
        process.kill()
        process.join()
        here.close()
    raise Lost(f"took longer than {limit_s:.0f} s")


def in_words(error: Exception, *folders: Path) -> str:
    """What went wrong, without the data folder, which is ours and says nothing to whoever handed in."""
    if isinstance(error, LoganError):
        text = str(error)
    elif isinstance(error, OSError):
        text = f"a file cannot be read or written: {error.strerror}"
    else:
        text = f"a defect of logan: {type(error).__name__}: {str(error)[:LONGEST]}"
    for folder in folders:
        text = text.replace(f"{folder}{os.sep}", "")
    return text


def end_with_parent() -> None:
    """Tie this process to the one that started it: it ends when that one does, however that ends."""
    threading.Thread(target=_wait, daemon=True).start()


def _wait() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
