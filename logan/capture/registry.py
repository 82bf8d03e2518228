"""Which reader reads a file: every reader looks at its first bytes, the surest wins, a near tie is an error.

A reader is one module that declares a ``Reader``; it becomes known by its line in ``READERS``. The module named in
the declaration is imported by ``_load`` when its reader has won. This is the one place of the package that imports
late: it keeps libraries that only one format needs (python-can, pandas) out of the start of the program.
"""

from __future__ import annotations

import importlib
import threading
from collections.abc import Sequence
from pathlib import Path
from typing import Final, cast

from msgspec import structs

from logan.capture import (
    can_console,
    can_library,
    can_text,
    channel_table,
    frame_table,
    kline_csv,
    pcap,
    pid_lines,
    sensor_csv,
    sensor_vcd,
    sensor_wav,
    serial_text,
)
from logan.capture.reader import Guess, Parsed, Reader
from logan.capture.source import Source
from logan.capture.unknown import describe
from logan.errors import CaptureError
from logan.knowledge.headings import Headings
from logan.model.capture import NO_TIME, Capture, Content, Remark, Table
from logan.model.frames import Payloads
from logan.model.sensor import Column, Edges

READERS: Final[tuple[Reader, ...]] = (
    can_text.READER,
    can_console.READER,
    *can_library.READERS,
    pcap.READER,
    frame_table.READER,
    kline_csv.READER,
    serial_text.READER,
    pid_lines.READER,
    *sensor_csv.READERS,
    sensor_vcd.READER,
    sensor_wav.READER,
    channel_table.READER,
)  # fmt: skip

NEAR_TIE: Final = 0.1
"""Scores closer than this do not decide."""


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
        reader = choose(source)
        hashes: list[str] = []
        hashing = threading.Thread(target=lambda: hashes.append(source.sha256() if hashed else ""))
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
        sha256=hashes[0] if hashes else source.sha256(),
        format=f"{reader.format}, {parsed.variant}" if parsed.variant else reader.format,
        content=parsed.content,
        frames=parsed.records,
        rejected=parsed.rejected,
        start=start,
        duration_s=duration_s,
        remarks=parsed.remarks,
        metadata=parsed.metadata,
    )


def choose(source: Source) -> Reader:
    """The reader of a file, by its content; the name decides between near ties only.

    Raises
    ------
    CaptureError : no reader knows the file, or several do
    """
    guesses = sorted(((reader.looks(source), reader) for reader in READERS), key=lambda pair: -pair[0].score)
    likely = [(guess, reader) for guess, reader in guesses if guess.score > max(0.0, guesses[0][0].score - NEAR_TIE)]
    if not likely:
        reason, do = describe(source)
        raise CaptureError(reason, file=str(source.path), do=do)
    if len(likely) == 1:
        return likely[0][1]
    named = [reader for _, reader in likely if Path(source.name).suffix.lower() in reader.suffixes]
    if len(named) == 1:
        return named[0]
    raise CaptureError(
        "may be of several formats: " + ", or ".join(_said(guess, reader) for guess, reader in likely),
        file=str(source.path),
        do="give it the usual ending of its format",
    )


def _said(guess: Guess, reader: Reader) -> str:
    return f"{reader.format} ({guess.score:.2f}: {guess.reason})"


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
    else:
        times = [content.t_s]
    ends = [(float(t[0]), float(t[-1])) for t in times if len(t)]
    if not ends:
        return None, None
    first, last = min(a for a, _ in ends), max(b for _, b in ends)
    start = content.origin_ns / 10**9 + first if content.absolute else None
    return start, last - first
