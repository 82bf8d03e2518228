"""A capture file read by the reader that knows it.

The module of a reader is imported by ``_load`` when it has won, and the readers' looks when the commonest one is not
certain. This is the one place of the package that imports late: it keeps libraries that only one format needs
(python-can, pandas) out of the start of the program.
"""

from __future__ import annotations

import importlib
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import cast

import numpy as np
from msgspec import structs

from logan.capture import can_text
from logan.capture.reader import Guess, Parsed, Reader
from logan.capture.source import Source
from logan.errors import CaptureError
from logan.knowledge.headings import Headings
from logan.model.capture import NO_TIME, Capture, Content, Remark, Table
from logan.model.frames import Frames, Payloads
from logan.model.sensor import Column, Edges


def read(path: str | Path, hashed: bool = True, headings: Headings | None = None) -> Capture:
    """Read one capture file, whatever its format; without ``hashed`` its hash is left empty, which spares a long read.

    Parameters
    ----------
    headings : what the workshop says of headings and signal names of its own

    Raises
    ------
    CaptureError : the file is absent, of no known format, of several, or unreadable
    """
    source = Source(Path(path), headings=headings or {})
    try:
        if source.path.is_dir():
            raise CaptureError("is a folder", file=str(path), do="name the capture files in it one by one")
        if source.path.is_fifo():
            raise CaptureError("is a pipe, which can be read only once", file=str(path), do="save it as a file first")
        reader, guess = choose(source)
        hashes: list[str] = []
        hashing = threading.Thread(target=lambda: hashes.append(_sha256(source) if hashed else ""))
        hashing.start()  # beside the reading: both wait for memory, neither for the other
        try:
            parsed = _load(reader, source)
        finally:
            hashing.join()
    except OSError as error:
        raise CaptureError(error.strerror or str(error), file=str(path), do="check the name and the rights") from error
    except MemoryError as error:
        raise CaptureError("too large for this machine's memory", file=str(path), do="split the capture") from error
    damaged = [Remark("damaged", f"{text}: what lies behind it is lost", 1) for text in source.damage]
    if damaged:
        parsed = structs.replace(parsed, remarks=(*parsed.remarks, *damaged))
    start, duration_s = _span(parsed.content)
    if any(remark.kind == NO_TIME for remark in parsed.remarks):
        duration_s = None  # the order of the records stands in for their times
    return Capture(
        name=source.path.name,
        path=str(path),
        sha256=hashes[0] if hashes else _sha256(source),
        format=f"{reader.format}, {parsed.variant}" if parsed.variant else reader.format,
        content=parsed.content,
        frames=parsed.records,
        rejected=parsed.rejected,
        start=start,
        duration_s=duration_s,
        remarks=parsed.remarks,
        metadata=parsed.metadata,
        recognised=f"{guess.reason} (certainty {guess.score:.2f} of 1)",
    )


def choose(source: Source) -> tuple[Reader, Guess]:
    """The reader of a file, by its content, and why; the others are not loaded where each line is of a CAN text log.

    Raises
    ------
    CaptureError : no reader knows the file, or several do
    """
    guess = can_text.looks(source)
    if guess.score == 1.0:
        return can_text.READER, guess
    return cast("tuple[Reader, Guess]", importlib.import_module("logan.capture.all_readers").choose(source))


def _sha256(source: Source) -> str:
    return cast("str", importlib.import_module("logan.capture.whole_file").sha256(source.path))


def _load(reader: Reader, source: Source) -> Parsed:
    """Import the winning reader's module and read."""
    return cast("Parsed", importlib.import_module(reader.module).read(source))


def _span(content: Content) -> tuple[float | None, float | None]:
    """Unix time of the first record and length in s, each None where the content does not say."""
    times: Sequence[Column]
    if isinstance(content, Table):
        times = [channel.t_s for channel in content.channels]
    elif isinstance(content, Edges):
        times = [*content.rising_s.values(), *content.falling_s.values()]
    elif isinstance(content, Payloads):
        times = [content.messages.t_first_s]
    elif isinstance(content, Frames):
        times = [np.array(content.ends_s)] if len(content) else []
    else:
        times = [content.t_s]
    ends = [(float(t[0]), float(t[-1])) for t in times if len(t)]
    if not ends:
        return None, None
    first, last = min(a for a, _ in ends), max(b for _, b in ends)
    start = content.origin_ns / 10**9 + first if content.absolute else None
    return start, last - first
