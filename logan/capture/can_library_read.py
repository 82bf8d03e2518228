"""Reading through python-can, with what it passes over in silence made visible.

python-can gives one message at a time, so this path costs some microseconds a frame. It skips lines that it does not
know without a word, stops at the first line that it cannot convert, keeps frames whose data are shorter than their
length says, and drops its options for gzip files: here lines are counted, a bad line is passed over, lengths are
those of the data, and unpacking is ours.
"""

from __future__ import annotations

import datetime
import functools
import gc
import logging
import re
import sqlite3
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final, TextIO, cast

import can
import numpy as np
from can.io.generic import MessageReader

from logan.capture import blf_columns, can_library
from logan.capture.blf_guard import GuardedBLFReader
from logan.capture.can_columns import CanBlock, CanColumns, nanoseconds
from logan.capture.can_text_plain import LATEST_S
from logan.capture.reader import Parsed, Tally
from logan.capture.source import Source
from logan.capture.whole_file import as_file
from logan.errors import CaptureError
from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, FD_WIDTH, REMOTE, SENT

logging.getLogger("can").addHandler(logging.NullHandler())  # its warnings are no lines for standard error
logging.getLogger("asammdf").addFilter(lambda _: False)  # it brings a handler of its own; its errors are raised too
_KINDS: Final[dict[str, Callable[..., MessageReader]]] = {
    ".asc": can.ASCReader, ".trc": can.TRCReader, ".csv": can.CSVReader,
    ".blf": GuardedBLFReader, ".db": can.SqliteReader, ".mf4": can.MF4Reader,
}  # fmt: skip
_NO_FRAME: Final = {
    ".asc": re.compile(
        r"\s*(?:$|//|date\b|base\b|(?:no\s+)?internal\b|begin\b|end\b|[\d.]+\s+start of measurement)", re.I
    ),
    ".trc": re.compile(r"\s*(?:$|;)"),
    ".csv": re.compile(re.escape(can_library.CSV_HEADER)),
}
"""Lines that a text form has beside its frames."""
_AGAIN: Final = {".asc": "internal events logged\n", ".trc": "\n", ".csv": can_library.CSV_HEADER + "\n"}
"""A line that a text form's reader takes for the end of the header when it starts anew behind a bad line."""


class _Lines:
    """Text that remembers which of its lines were handed out since the last frame.

    Parameters
    ----------
    text : all of it
    """

    def __init__(self, text: str) -> None:
        self._lines = text.splitlines(keepends=True)
        self._next = 0
        self._pushed: list[str] = []
        self.handed: list[tuple[int, str]] = []
        self.elapsed_s = 0.0

    def __next__(self) -> str:
        if self._pushed:
            return self._pushed.pop()
        if self._next == len(self._lines):
            raise StopIteration
        line = self._lines[self._next]
        self._next += 1
        self.handed.append((self._next, line))
        step = _STAMP.match(line)
        if step:
            self.elapsed_s += float(step[1])
        return line

    def __iter__(self) -> _Lines:
        return self

    def close(self) -> None:
        """python-can closes what it has read to its end; nothing is open here."""

    def push(self, line: str) -> None:
        """Hand out a line that is not in the file."""
        self._pushed.append(line)


_STAMP: Final = re.compile(r"\s*(\d+\.\d+)\s", re.ASCII)


def read(source: Source) -> Parsed:
    """All frames of a file that python-can reads.

    Raises
    ------
    CaptureError : the library that the form needs is not installed, or nothing of the file can be read
    """
    suffix = can_library.suffix_of(source)
    tally = Tally()
    ordinary = blf_columns.columns(source.content()) if suffix == ".blf" else None
    if ordinary is not None:
        columns, promised = ordinary
        _fewer(columns.rows, promised, tally)
    elif suffix in _NO_FRAME:
        columns = _columns(_from_text(source, suffix, tally), tally)
    else:
        with as_file(source, suffix) as path:
            columns = _columns(_from_binary(path, suffix, str(source.path), tally), tally)
    frames = columns.frames(tally)
    if frames.absolute and suffix in (".asc", ".trc"):
        tally.add("time_zone", "start time without a time zone: taken as UTC", "header")
    damage = next((remark.text for remark in tally.remarks() if remark.kind == "damaged"), None)
    if damage and not len(frames):
        reason = f"holds no frame that can be read: {damage}"
        raise CaptureError(reason, file=str(source.path), do="copy it again from the recorder")
    rejected = tally.total("bad_line") + columns.rows - len(frames)
    return Parsed(frames, len(frames), rejected, tally.remarks())


def _open(kind: Callable[[str], MessageReader], path: str, file: str) -> MessageReader:
    """A reader of python-can, or one clear error."""
    try:
        return kind(path)
    except NotImplementedError as error:
        raise CaptureError(
            "ASAM MDF needs the library asammdf, which is not installed", file=file,
            do="install it with: pip install 'python-can[mf4]'",
        ) from error  # fmt: skip
    except Exception as error:  # the library under it may raise anything on a damaged file
        reason = f"cannot be opened ({_said(error)})"
        _let_go(error)
        raise CaptureError(reason, file=file, do="copy it again from the recorder") from None


def _let_go(error: Exception) -> None:
    """Free what a failed opening left half-made: asammdf's own end of it fails and would write to standard error."""
    told, sys.unraisablehook = sys.unraisablehook, lambda _: None
    try:
        error.with_traceback(None)
        error.__context__ = error.__cause__ = None
        gc.collect()
    finally:
        sys.unraisablehook = told


def _until_damage(reader: MessageReader, tally: Tally) -> Iterator[can.Message]:
    """All messages up to the place where a binary file is damaged."""
    count = 0
    try:
        for message in reader:
            count += 1
            yield message
    except Exception as error:  # the library under it may raise anything on a damaged file
        tally.add("damaged", f"damaged from here on ({_said(error)})", f"after frame {count}")
    finally:
        try:
            reader.stop()
        except (OSError, sqlite3.Error, AttributeError) as error:
            tally.add("damaged", f"could not be closed ({_said(error)})", f"after frame {count}")


def _from_binary(path: Path, suffix: str, file: str, tally: Tally) -> Iterator[can.Message]:
    """All messages of a binary form; what a BLF header promises beyond them is counted."""
    reader = _open(_KINDS[suffix], str(path), file)
    count = 0
    for message in _until_damage(reader, tally):
        count += 1
        yield message
    if isinstance(reader, can.BLFReader):
        size = path.stat().st_size
        if size < reader.file_size:
            tally.add("damaged", f"cut short: {size} of {reader.file_size} bytes", f"after frame {count}")
        _fewer(count, reader.object_count, tally)


def _fewer(count: int, promised: int, tally: Tally) -> None:
    """Count the objects that a BLF header promises beyond the frames."""
    if count < promised:
        text = "objects that are no CAN frames, or lost"
        tally.add("not_a_frame", text, f"{count} of {promised} objects", promised - count)


def _from_text(source: Source, suffix: str, tally: Tally) -> Iterator[can.Message]:
    """Messages of a text form; a bad line is counted and the reading goes on behind it."""
    lines = _Lines(source.content().decode("utf-8-sig", "replace"))
    reader = _KINDS[suffix](cast("TextIO", lines), **({"relative_timestamp": False} if suffix == ".asc" else {}))
    messages = iter(reader)
    while True:
        try:
            message = next(messages)
        except StopIteration:
            _passed_over(lines, suffix, tally, last_is_frame=False)
            return
        except Exception as error:  # ValueError, IndexError, binascii.Error, ...: whatever a bad line leads to
            if not lines.handed:  # not a line but the header as a whole is wrong: starting anew would not end
                tally.add("damaged", f"its header is damaged ({_said(error)})", "header")
                return
            number = lines.handed[-1][0]
            if "datetime" in str(error) and isinstance(reader, can.ASCReader):
                tally.add(
                    "no_start_time", "date of the header not understood: times count from the start", f"line {number}"
                )
                reader.relative_timestamp = True
            else:
                tally.add("bad_line", f"no frame can be read from it ({_said(error)})", f"line {number}")
            _passed_over(lines, suffix, tally, last_is_frame=True)
            lines.push(_AGAIN[suffix])
            messages = iter(reader)
            continue
        if isinstance(reader, can.ASCReader):
            if reader.timestamps_format == "relative":
                message.timestamp = reader.start_time + lines.elapsed_s  # each stamp counts from the line before
            message.timestamp += _zone_s(reader.start_time)
        _passed_over(lines, suffix, tally, last_is_frame=True)
        yield message


@functools.cache
def _zone_s(start_s: float) -> float:
    """What to add to a time that python-can took as local to this machine, so that it stands for UTC everywhere."""
    if not start_s:
        return 0.0
    here = datetime.datetime.fromtimestamp(start_s).astimezone().utcoffset()
    return here.total_seconds() if here else 0.0


def _passed_over(lines: _Lines, suffix: str, tally: Tally, last_is_frame: bool) -> None:
    """Count the lines that gave nothing since the last frame."""
    for number, line in lines.handed[: len(lines.handed) - last_is_frame]:
        if not _NO_FRAME[suffix].match(line):
            tally.add(
                "not_a_frame", "lines that hold no CAN frame (events, states, statistics, text)", f"line {number}"
            )
    lines.handed.clear()


def _columns(messages: Iterator[can.Message], tally: Tally) -> CanColumns:
    """Messages into columns."""
    columns = CanColumns()
    t_s: list[float] = []
    can_id: list[int] = []
    flags: list[int] = []
    bus: list[int] = []
    data: list[bytes] = []
    length: list[int] = []
    for number, message in enumerate(messages, 1):
        wrong = _wrong(message)
        if wrong is not None:
            tally.add("bad_line", wrong, f"record {number}")
            continue
        if message.arbitration_id > 0x7FF and not message.is_extended_id:
            tally.add("identifier", "identifiers above 7FF marked as 11 bit: taken as 29 bit", f"record {number}")
            message.is_extended_id = True
        payload = b"" if message.is_remote_frame else bytes(message.data)[:FD_WIDTH]
        if not message.is_remote_frame and not message.is_error_frame and len(payload) != message.dlc:
            tally.add("length", "frames whose data are not as long as they say: length of the data taken",
                      f"record {number}")  # fmt: skip
        name = "" if message.channel is None else f"{message.channel}"
        t_s.append(message.timestamp)
        can_id.append(message.arbitration_id)
        flags.append(_flags(message, len(payload)))
        bus.append(columns.bus(name.encode()) or 0)
        data.append(payload)
        length.append(min(message.dlc, 8) if message.is_remote_frame else len(payload))
    block = CanBlock(len(t_s))
    block.kept[:] = True
    block.t_ns[:] = nanoseconds(np.array(t_s, np.float64))
    block.can_id[:] = can_id
    block.flags[:] = flags
    block.bus[:] = bus
    block.length[:] = length
    block.data[:] = np.frombuffer(b"".join(payload[:8].ljust(8, b"\0") for payload in data), "<u8")
    for row in np.flatnonzero(block.length > 8).tolist():
        block.put_data(row, data[row])
    columns.append(block)
    return columns


def _wrong(message: can.Message) -> str | None:
    """Why a message is none of a CAN bus; python-can does not check what it reads."""
    stamp, identifier, length = message.timestamp, message.arbitration_id, message.dlc
    if not isinstance(stamp, int | float) or not abs(stamp) < LATEST_S:
        return "time stamp out of range"
    if not isinstance(identifier, int) or not 0 <= identifier <= 0x1FFFFFFF:
        return "identifier out of range"
    return None if isinstance(length, int) and length >= 0 else "length out of range"


def _flags(message: can.Message, size: int) -> int:
    if message.is_error_frame:
        return ERROR | (0 if message.is_rx else SENT)
    return (
        (EXTENDED if message.is_extended_id else 0)
        | (FD if message.is_fd or size > 8 else 0)
        | (REMOTE if message.is_remote_frame else 0)
        | (0 if message.is_rx else SENT)
        | (BRS if message.bitrate_switch else 0)
        | (ESI if message.error_state_indicator else 0)
    )


def _said(error: Exception) -> str:
    return f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
