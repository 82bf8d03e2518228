"""The text forms that python-can reads: ordinary lines by whole columns, all others through python-can, in their order.

python-can skips lines that it does not know without a word, stops at the first line that it cannot convert, and keeps
frames whose data are shorter than their length says. Here such lines are counted and passed over, and lengths are
those of the data. Headers, triggers and whatever else changes what later lines mean is never ordinary, so that
python-can's reader sees all of it.
"""

from __future__ import annotations

import datetime
import functools
import io
import re
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from typing import Final, NamedTuple, TextIO, cast

import can
import numpy as np
from can.io.generic import MessageReader
from can.io.trc import TRCFileVersion
from can.util import dlc2len
from numpy.typing import NDArray

from logan.capture import library_lines
from logan.capture.can_columns import CanColumns, nanoseconds
from logan.capture.can_library import CSV_HEADER
from logan.capture.can_library_messages import Gathered
from logan.capture.can_text_plain import LATEST_S
from logan.capture.library_lines import NO_BUS, Lines, Ordinary, Shape
from logan.capture.reader import Tally
from logan.capture.text_numbers import Mask, Places
from logan.errors import CaptureError

KINDS: Final[dict[str, Callable[..., MessageReader]]] = {
    ".asc": functools.partial(can.ASCReader, relative_timestamp=False), ".trc": can.TRCReader, ".csv": can.CSVReader,
}  # fmt: skip
_BOM: Final = b"\xef\xbb\xbf"
_HEADER: Final = {
    ".asc": re.compile(r"\s*(?:date\s+\w+\s+\S|base\s+(?:hex|dec)|//)", re.I),
    ".trc": re.compile(r"\s*;"),
    ".csv": re.compile(r"(?!)"),
}
"""Lines that a header goes on behind; the first one that is none of them belongs to it, too."""
_NO_FRAME: Final = {
    ".asc": re.compile(
        r"\s*(?:$|//|date\b|base\b|(?:no\s+)?internal\b|begin\b|end\b|[\d.]+\s+start of measurement)", re.I
    ),
    ".trc": re.compile(r"\s*(?:$|;)"),
    ".csv": re.compile(re.escape(CSV_HEADER)),
}
"""Lines that a text form has beside its frames."""
_AGAIN: Final = {".asc": "internal events logged\n", ".trc": "\n", ".csv": CSV_HEADER + "\n"}
"""A line that a text form's reader takes for the end of the header when it starts anew behind a bad line."""
_EVENTS: Final = re.compile(r"\s*(?:no\s+)?internal\b", re.I)
"""The line that ends the header of an ASC file; python-can takes any other line for it, a frame too."""
_STAMP: Final = re.compile(r"\s*(\d+\.\d+)\s", re.ASCII)
_BASE: Final = re.compile(r"\s*base\b", re.I)
_DATE: Final = re.compile(r"\s*date\b", re.I)
_FLAGS_OF_EMPTY: Final = re.compile(
    r"\s*\S+\s+CANFD\s+\d+\s+\w+\s+\w+\s+(?:(?!\d+\s)\S+\s+)?[01]\s+[01]\s+\w+\s+0+\s+\d+\s+\d+\s+([0-9a-f]+)\b", re.I
)
"""Flags in a line of CAN FD whose frame has no data."""
_ASC_REMOTE, _ASC_FD = 0x10, 0x1000
"""Flags of such a line: asks for data; is of CAN FD format (from memory; python-can writes the latter)."""
_TRC_VERSIONS: Final = {
    TRCFileVersion.UNKNOWN: (1, 0), TRCFileVersion.V1_0: (1, 0), TRCFileVersion.V1_1: (1, 1),
    TRCFileVersion.V1_3: (1, 3),
}  # fmt: skip
_TRC_SAYS: Final = re.compile(r"^\s*;\$(FILEVERSION|COLUMNS)[^=\n]*=([^=\n]*)", re.MULTILINE)
_TRC_KNOWN: Final = ("1.0", "1.1", "1.3", "2.0", "2.1")
_TRC_NAMED: Final = ("2.0", "2.1")
"""Versions of TRC that python-can reads (can/io/trc.py, version 4), and those whose header names the columns."""


class _Handed:
    """Lines for python-can's reader, one at a time; counts those that gave no frame.

    Parameters
    ----------
    lines, rows : the text, and which of its lines, in order
    passed_over : called with the row and the text of each line that gave nothing
    closing : a line that is not in the file, and how many lines are handed out before it; -1 where it is not needed

    What the reader adds to times, ``told_s``, is kept in ``start_s`` where it changes, with how many lines it had then.
    """

    def __init__(
        self, lines: Lines, rows: Places, passed_over: Callable[[int, str], None], closing: tuple[int, str]
    ) -> None:
        self.lines, self._rows, self._passed_over = lines, map(int, rows), passed_over
        self._closing_at, self._closing = closing
        self._pushed: list[str] = []
        self.last: tuple[int, str] | None = None
        self.asked = 0
        self.told_s: Callable[[], float] = lambda: 0.0
        self.start_s: list[tuple[int, float]] = []

    def __next__(self) -> str:
        if self._pushed:
            return self._pushed.pop()
        if self.asked == self._closing_at:
            self._closing_at = -1
            return self._closing
        start_s = self.told_s()
        if not self.start_s or self.start_s[-1][1] != start_s:
            self.start_s.append((self.asked, start_s))
        self.asked += 1
        if self.last is not None:
            self._passed_over(*self.last)
            self.last = None
        row = next(self._rows)
        line = _line(self.lines, row)
        self.last = row, line
        return line

    def __iter__(self) -> _Handed:
        return self

    def close(self) -> None:
        """python-can closes what it has read to its end; nothing is open here."""

    def push(self, line: str) -> None:
        """Hand out a line that is not in the file."""
        self._pushed.append(line)


class _Header(NamedTuple):
    """What a header says.

    Parameters
    ----------
    lines : how many it has
    shapes : of ordinary lines
    differences : stamps count from line to line
    open_at : row before which the line that ends a header is missing, -1 where it is there
    """

    lines: int
    shapes: tuple[Shape, ...] = ()
    differences: bool = False
    open_at: int = -1


def read(content: bytes, suffix: str) -> tuple[CanColumns, Tally]:
    """All frames of a text form, and what was wrong.

    Raises
    ------
    CaptureError : without the file's name; its header says that it is of a version that is not known
    """
    lines = Lines(content.removeprefix(_BOM))
    if lines.plain:
        header = _header(lines, suffix)
        return _read(lines, header, suffix) or _nothing_ordinary(lines, suffix)
    text = content.decode("utf-8-sig", "replace")
    lines = Lines(text.replace("\r\n", "\n").replace("\r", "\n").encode())
    return _nothing_ordinary(lines, suffix)


def _nothing_ordinary(lines: Lines, suffix: str) -> tuple[CanColumns, Tally]:
    """All frames, each through python-can."""
    header = _header(lines, suffix)
    found = _read(lines, header._replace(lines=len(lines), shapes=()), suffix)
    assert found is not None
    return found


def _header(lines: Lines, suffix: str) -> _Header:
    """The header of a file, as python-can understands it."""
    count = 0
    while count < len(lines) and _HEADER[suffix].match(lines.line(count)):
        count += 1
    open_at = count if suffix == ".asc" and count < len(lines) and not _EVENTS.match(lines.line(count)) else -1
    count = min(count + (open_at < 0), len(lines))
    head = "".join(_line(lines, row) for row in range(count))
    if suffix == ".trc":
        _refuse_foreign(head)
    text = io.StringIO(head)
    with suppress(Exception):  # whatever a damaged header leads to: it comes again where it is counted
        if suffix == ".asc":
            asc = can.ASCReader(text)
            deque(asc, 0)
            return _Header(count, library_lines.ASC[asc.base], asc.timestamps_format == "relative", open_at)
        if suffix == ".trc":
            trc = can.TRCReader(text)
            deque(trc, 0)
            version = _TRC_VERSIONS.get(trc.file_version)
            return _Header(count, (library_lines.TRC[version],) if version else library_lines.trc_columns(trc.columns))
    return _Header(count, open_at=open_at)


def _refuse_foreign(head: str) -> None:
    """Refuse a header of TRC that says another version than those known: what its columns hold would be a guess.

    Without a version it is 1.0, which has no line for it.
    """
    said = dict(_TRC_SAYS.findall(head))
    version = said.get("FILEVERSION", "1.0").rstrip()
    do = f"save it again as version {', '.join(_TRC_KNOWN[1:-1])} or {_TRC_KNOWN[-1]}"
    if version not in _TRC_KNOWN:
        raise CaptureError(f"is of version {version!r} of TRC, which is not known", place="header", do=do)
    if "COLUMNS" in said and version not in _TRC_NAMED:
        reason = (
            f"names its columns, as versions {' and '.join(_TRC_NAMED)} do, and says that it is of version {version}"
        )
        raise CaptureError(reason, place="header", do=do)


def _read(lines: Lines, header: _Header, suffix: str) -> tuple[CanColumns, Tally] | None:
    """All frames, ordinary lines behind the header by whole columns; None where the time of one of those is none."""
    tally = Tally()
    ordinary = Ordinary(lines, header.lines)
    if suffix == ".csv":
        ordinary.read_cells()
    else:
        ordinary.read_words(header.shapes)
    block, t_s = ordinary.out, ordinary.t_s
    usual, odd = np.flatnonzero(block.kept), np.flatnonzero(~block.kept)
    before = np.cumsum(block.kept)
    if header.differences:
        t_s[odd] = np.fromiter((_stamp_s(lines.line(row)) for row in map(int, odd)), np.float64, len(odd))
        np.cumsum(t_s, out=t_s)

    def passed_over(row: int, line: str) -> None:
        if not _NO_FRAME[suffix].match(line):
            text = "lines that hold no CAN frame (events, states, statistics, text)"
            tally.add("not_a_frame", text, lines.place(row))

    handed = _Handed(lines, odd, passed_over, (header.open_at, _AGAIN[suffix]))
    gathered, rows = Gathered(tally), list[int]()
    for seen, (row, message) in enumerate(_messages(handed, suffix, tally, t_s if header.differences else None), 1):
        if gathered.add(message, int(before[row]) + seen):
            rows.append(row)
    if len(usual) and handed.asked <= len(odd):  # given up before the end
        return None
    if len(usual):
        since, told = zip(*handed.start_s, strict=True)
        which = np.searchsorted(since, usual - before[usual] + 1, side="right") - 1
        t_s[usual] = (t_s[usual] + np.array(told)[which]) + np.array([_zone_s(start_s) for start_s in told])[which]
    if not (np.abs(t_s[usual]) < LATEST_S).all():
        return None
    gathered.put(block, np.array(rows, np.int64))
    t_s[rows] = gathered.t_s
    t_s[~block.kept] = 0
    block.t_ns[:] = nanoseconds(t_s)
    out = CanColumns()
    block.bus[:] = _buses(ordinary.bus, block.kept, np.array(rows, np.int64), gathered.bus, out)
    out.append(block)
    return out, tally


def _line(lines: Lines, row: int) -> str:
    """A line; the word for the base of the numbers in small letters, the only ones in which python-can takes it."""
    line = lines.line(row)
    return line.lower() if _BASE.match(line) else line


def _stamp_s(line: str) -> float:
    """The time that a line begins with, 0 where there is none."""
    found = _STAMP.match(line)
    return float(found[1]) if found else 0.0


def _buses(
    usual: NDArray[np.int32], kept: Mask, rows: Places, names: Sequence[str], out: CanColumns
) -> NDArray[np.uint8]:
    """Index of each line's bus, in order of appearance.

    Parameters
    ----------
    usual : buses of ordinary lines by number
    rows, names : the other lines and the names of their buses
    """
    known = {str(number): number for number in range(NO_BUS)} | {"": NO_BUS}
    usual[rows] = [known.setdefault(name, len(known)) for name in names]
    seen = usual[kept]
    first = np.full(len(known), len(seen))
    first[seen[::-1]] = np.arange(len(seen))[::-1]  # of several the last one stays: the first appearance
    index = np.zeros(len(known), np.uint8)
    known_names = list(known)
    for number in np.argsort(first, kind="stable")[: np.count_nonzero(first < len(seen))].tolist():
        index[number] = out.bus(known_names[number].encode()) or 0
    return index[usual]


def _messages(
    handed: _Handed, suffix: str, tally: Tally, elapsed_s: NDArray[np.float64] | None
) -> Iterator[tuple[int, can.Message]]:
    """Frames of some lines with the line's row; a bad line is counted and the reading goes on behind it.

    Parameters
    ----------
    elapsed_s : time of each line since the start, where stamps count from line to line
    """
    reader = KINDS[suffix](cast("TextIO", handed))
    handed.told_s = functools.partial(_start_s, reader)
    messages = iter(reader)
    while True:
        try:
            message = next(messages)
        except StopIteration:
            return
        except Exception as error:  # ValueError, IndexError, binascii.Error, ...: whatever a bad line leads to
            if handed.last is None:  # not a line but the header as a whole is wrong: starting anew would not end
                tally.add("damaged", f"its header is damaged ({said(error)})", "header")
                return
            row, line = handed.last
            handed.last = None
            in_header = False
            if "datetime" in str(error) and isinstance(reader, can.ASCReader):
                text = "date of the header not understood: times count from the start"
                tally.add("no_start_time", text, handed.lines.place(row))
                reader.relative_timestamp = True
                in_header = _DATE.match(line) is not None
            else:
                tally.add("bad_line", f"no frame can be read from it ({said(error)})", handed.lines.place(row))
            if not in_header:
                handed.push(_AGAIN[suffix])
            messages = iter(reader)
            continue
        if handed.last is None:  # of a file of comments alone python-can takes the last one for a frame
            continue
        (row, line), handed.last = handed.last, None
        if isinstance(reader, can.ASCReader):
            if message.is_fd and message.is_remote_frame:
                _restore_empty(message, line)
            if elapsed_s is not None:
                message.timestamp = reader.start_time + elapsed_s[row]
            message.timestamp += _zone_s(reader.start_time)
        elif isinstance(reader, can.TRCReader) and message.is_fd and message.dlc >= 0:
            message.dlc = dlc2len(message.dlc)  # it is the code of the length there
        yield row, message


def _restore_empty(message: can.Message, line: str) -> None:
    """Make a data frame again of a CAN FD frame without data, which python-can takes for a remote frame.

    CAN FD has no remote frames (ISO 11898-1); a line of this form may hold one of classical CAN, which its flags say.
    """
    found = _FLAGS_OF_EMPTY.match(line)
    flags = int(found[1], 16) if found else 0
    if flags & _ASC_FD or (message.dlc == 0 and not flags & _ASC_REMOTE):
        message.is_remote_frame = False
        message.dlc = dlc2len(min(message.dlc, 15))


def _start_s(reader: MessageReader) -> float:
    """Unix time that a reader adds to the times of the lines to come."""
    if isinstance(reader, can.ASCReader):
        return reader.start_time
    if isinstance(reader, can.TRCReader) and _TRC_VERSIONS.get(reader.file_version) != (1, 0) and reader.start_time:
        return reader.start_time.timestamp()
    return 0.0


@functools.cache
def _zone_s(start_s: float) -> float:
    """What to add to a time that python-can took as local to this machine, so that it stands for UTC everywhere."""
    if not start_s:
        return 0.0
    here = datetime.datetime.fromtimestamp(start_s).astimezone().utcoffset()
    return here.total_seconds() if here else 0.0


def said(error: Exception) -> str:
    """An error of a library in its own words."""
    return f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
