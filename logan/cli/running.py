"""A line of the command line run, and what became of it told in one line."""

from __future__ import annotations

import errno
import gc
import io
import os
import sys
from contextlib import suppress
from typing import Final

from logan import interrupt
from logan.cli import direct
from logan.errors import LoganError

THREADS: Final = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

RARELY: Final = (100_000, 50, 50)
"""When to look for garbage: nearly all that a short command makes lives to its end, and a look goes through it all."""

MEMORY: Final = ((-3, 32 << 20), (-1, 512 << 20))
"""Settings of glibc's mallopt (malloc.h): up to which size a piece is kept, and how much is kept in all."""


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; every error a user can make is one line on standard error and exit status 2."""
    # before numpy is loaded: its matrices are small here, and threads that wait for each other cost more than they
    # save; and one thread a log, here as in a worker of a fleet, so that the last bits agree
    for name in THREADS:
        os.environ.setdefault(name, "1")
    _open_output()
    interrupt.leaves(interrupt.NOTHING)
    given = (sys.argv[1:] if arguments is None else arguments) or ["--help"]
    try:
        command = direct.command(given)
        if command is not None:
            gc.set_threshold(*RARELY)
            _keep_memory()
            command()
            status: object = 0
        else:
            from logan.cli import commands

            status = commands.run(given)
        sys.stdout.flush()
    except LoganError as error:
        _fail(str(error), 2)
    except KeyboardInterrupt:
        _stopped()
    except BrokenPipeError:
        _reader_gone()
    except SystemExit as end:
        # the command-line library ends with 1 where what reads the output has gone, as head does: that is no fault
        if isinstance(end.__context__, BrokenPipeError):
            _reader_gone()
        raise
    except Exception as error:
        if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
            _drop_output()
            _fail(f"{error.filename or 'standard output'}: no space left; free some, or send it elsewhere", 2)
        if os.environ.get("LOGAN_TRACEBACK"):
            raise
        _fail(f"a defect of logan: {type(error).__name__}: {error}; LOGAN_TRACEBACK=1 shows where", 1)
    if command is not None and arguments is None:
        # all is written and closed (standard error holds nothing back): taking the interpreter apart only costs time
        os._exit(0)
    sys.exit(status if isinstance(status, int) else 0)


def _open_output() -> None:
    """What is printed may go nowhere, or to a screen that lacks some characters: neither may end the work."""
    if sys.stdout is None:
        sys.stdout = io.TextIOWrapper(io.FileIO(os.devnull, "w"), "utf-8")  # closed by whoever started this, for good
    elif isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")


def _keep_memory() -> None:
    """Memory that one array gave up stays at hand for the next, where the C library is glibc.

    The system would hand it over anew, page by page and cleared.
    """
    import ctypes

    with suppress(OSError, AttributeError, TypeError):  # the last on Windows
        for what, limit in MEMORY:
            ctypes.CDLL(None).mallopt(what, limit)


def _drop_output() -> None:
    """What is still to be written goes nowhere: the interpreter would try again, and end with its own code."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)


def _reader_gone() -> None:
    """End quietly."""
    _drop_output()
    sys.exit(0)


def _stopped() -> None:
    """Ctrl-C: say what it left behind."""
    interrupt.enough()
    # where it came while code made from text ran, as the standard library does to make a type, the interpreter would
    # end itself by the signal and not with our status, unless more such code runs
    exec("")  # nosec B102
    _fail(f"interrupted; {interrupt.left()}", interrupt.STATUS)


def _fail(text: str, status: int) -> None:
    line = " ".join(text.split())
    print(f"logan: {line}", file=sys.stderr)
    sys.exit(status)
