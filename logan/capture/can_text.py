"""CAN text log, ``(seconds.fraction) channel ID#DATA``, by whole columns.

Lines are found first, then grouped by the layout of what stands before the ``#`` (number of digits, name of the
bus); every field of a group is gathered and decoded at once. Whatever does not fit goes down the plain path of
``can_text_plain``, one line at a time, and means the same there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import can_text_plain, hexwords
from logan.capture.can_columns import CanBlock, CanColumns
from logan.capture.can_text_plain import ERROR_BIT, FD_LENGTHS, LATEST_S
from logan.capture.hexwords import Words, constant
from logan.capture.reader import NO, Guess, Parsed, Reader, Tally
from logan.capture.source import Source
from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, FD_WIDTH, SENT

Rows = NDArray[np.int64]
Mask = NDArray[np.bool_]

_LINES_LOOKED_AT: Final = 400
_MOST_LAYOUTS: Final = 32
_NEW_LAYOUTS_A_BLOCK: Final = 4
_IS_FD_LENGTH: Final = np.isin(np.arange(256), list(FD_LENGTHS))


def looks(source: Source) -> Guess:
    """A CAN text log has lines that read as frames."""
    parsed = [can_text_plain.parse(line.encode()) for line in source.lines[:_LINES_LOOKED_AT]]
    tried = sum(row is not None for row in parsed)
    good = sum(isinstance(row, can_text_plain.Row) for row in parsed)
    if not good:
        return NO
    return Guess(0.5 + 0.5 * good / tried, f"{good} of the first {tried} lines read (time) channel ID#DATA")


READER: Final = Reader("CAN text log", looks, __name__, (".log",))


@dataclass(frozen=True, slots=True)
class _Digits:
    """A run of digits inside one word of the prefix: which word, where, and what its last digit is worth in ns."""

    word: int
    shift: np.uint64
    mask: np.uint64
    worth_ns: np.int64


@dataclass(frozen=True, slots=True)
class _Layout:
    """The fixed form of everything before the identifier: ``(dd.dddddd) name ``.

    Parameters
    ----------
    channel : name of the bus
    size : bytes before the identifier
    template : (k,) uint64, its words, ``0`` where a digit stands
    fixed : (k,) uint64, FF in each byte that must equal the template, F0 in each digit
    digit : (k,) uint64, 06 in each digit, which lifts 10..15 over the nibble
    runs : the digits in pieces
    """

    channel: bytes
    size: int
    template: tuple[np.uint64, ...]
    fixed: tuple[np.uint64, ...]
    digit: tuple[np.uint64, ...]
    runs: tuple[_Digits, ...]


def _layout(line: bytes) -> _Layout | None:
    """The layout of a line that holds a frame, None where its form is too rare to be worth one."""
    stamp, _, rest = line.partition(b") ")
    channel, space, _ = rest.partition(b" ")
    whole, point, fraction = stamp[1:].partition(b".")
    if not (
        stamp[:1] == b"(" and point and space and whole.isdigit() and fraction.isdigit() and channel.strip() == channel
    ) or not (channel and len(whole) <= 10 and len(fraction) <= 9 and len(channel) <= 32):
        return None
    form = b"(" + b"0" * len(whole) + b"." + b"0" * len(fraction) + b") " + channel + b" "
    is_digit = [1 <= k < len(stamp) and k != len(whole) + 1 for k in range(len(form))]
    padding = -len(form) % 8
    template, fixed, digit, runs = [], [], [], []
    for word in range(0, len(form) + padding, 8):
        inside = range(word, min(word + 8, len(form)))
        template.append(constant(int.from_bytes(form[word : word + 8], "little")))
        fixed.append(constant(sum((0xF0 if is_digit[k] else 0xFF) << 8 * (k - word) for k in inside)))
        digit.append(constant(sum(0x06 << 8 * (k - word) for k in inside if is_digit[k])))
        for low, high, exponent in ((1, len(whole) + 1, 9), (len(whole) + 2, len(stamp), 9 - len(fraction))):
            first, last = max(low, word), min(high, word + 8) - 1
            if first <= last:
                mask = sum(0x0F << 8 * (k - word) for k in range(first, last + 1))
                worth = 10 ** (exponent + high - 1 - last)
                runs.append(_Digits(word // 8, np.uint64(8 * (word + 7 - last)), constant(mask), np.int64(worth)))
    return _Layout(channel, len(form), tuple(template), tuple(fixed), tuple(digit), tuple(runs))


def read(source: Source) -> Parsed:
    """All frames of a CAN text log; lines that hold none are counted with their number and the reason."""
    columns, tally = CanColumns(), Tally()
    layouts: list[_Layout] = []
    metadata: dict[str, str] = {}
    for buffer, size, first_line in source.line_blocks():
        _Block(buffer, size, first_line, columns, tally, metadata).parse(layouts)
    frames = columns.frames(tally)
    rejected = tally.total("bad_line") + columns.rows - len(frames)
    return Parsed(frames, len(frames), rejected, tally.remarks(), metadata)


class _Block:
    """One block of lines."""

    def __init__(
        self, buffer: NDArray[np.uint8], size: int, first_line: int, columns: CanColumns, tally: Tally,
        metadata: dict[str, str],
    ) -> None:  # fmt: skip
        self.buffer, self.words = buffer, hexwords.view(buffer)
        self.first_line, self.columns, self.tally, self.metadata = first_line, columns, tally, metadata
        stop = np.flatnonzero(buffer[:size] == ord("\n"))
        self.begin = np.empty_like(stop)
        self.begin[:1] = 0
        self.begin[1:] = stop[:-1] + 1
        self.end = stop - ((buffer[stop - 1] == ord("\r")) & (stop > self.begin))
        self.out = CanBlock(len(stop))

    def parse(self, layouts: list[_Layout]) -> None:
        """Read every line by the layout that it has; new layouts are learnt on the way."""
        left: Rows = np.arange(len(self.begin))
        for layout in layouts:
            left = self._by_layout(layout, left)
            if not len(left):
                break
        for _ in range(_NEW_LAYOUTS_A_BLOCK):
            learnt = self._learn(left) if len(layouts) < _MOST_LAYOUTS else None
            if learnt is None:
                break
            layouts.append(learnt)
            left = self._by_layout(learnt, left)
        self._plain(left)
        self.columns.append(self.out)

    def _line(self, row: int) -> bytes:
        return self.buffer[self.begin[row] : self.end[row]].tobytes()

    def _learn(self, left: Rows) -> _Layout | None:
        """The layout of the first of some lines that has one."""
        for row in left[:16].tolist():
            line = self._line(row)
            if isinstance(can_text_plain.parse(line), can_text_plain.Row) and (found := _layout(line)):
                return found
        return None

    def _by_layout(self, layout: _Layout, left: Rows) -> Rows:
        """Read those of some lines that have this layout; returns the others."""
        begin = self.begin if len(left) == len(self.begin) else self.begin[left]
        odd = np.zeros(len(left), np.uint64)
        prefix: list[Words] = []
        for k, template in enumerate(layout.template):
            word = self.words[begin + 8 * k]
            word ^= template
            odd |= word & layout.fixed[k]
            odd |= (word + layout.digit[k]) & (layout.fixed[k] & constant(0xF0F0F0F0F0F0F0F0))
            prefix.append(word)
        fits: Mask = odd == 0
        if not fits.any():
            return left
        rows: Rows | slice = left
        if not fits.all():
            rows = left[fits]
            prefix = [word[fits] for word in prefix]
        elif len(left) == len(self.begin):
            rows = slice(None)  # all lines of the block: columns are copied whole instead of row by row
        fits[fits] = self._frames(layout, prefix, rows)
        return left[~fits]

    def _frames(self, layout: _Layout, prefix: list[Words], rows: Rows | slice) -> Mask:
        """Decode lines of one layout into the block; returns which of them were frames of the common form."""
        t_ns = np.zeros(len(prefix[0]), np.int64)
        bus = self.columns.bus(layout.channel)
        if bus is None:
            return np.zeros(len(t_ns), np.bool_)
        for run in layout.runs:
            digits = prefix[run.word] & run.mask
            digits <<= run.shift
            value = hexwords.decimal_value(digits).view(np.int64)
            value *= run.worth_ns
            t_ns += value
        good: Mask = t_ns <= LATEST_S * 10**9

        at = self.begin[rows] + layout.size
        name = self.words[at]
        short = (name >> np.uint64(24)) & np.uint64(0xFF) == ord("#")
        at += np.where(short, 4, 9)
        good &= short | (self.buffer[at - 1] == ord("#"))
        name = np.where(short, (name << np.uint64(40)) | constant(0x3030303030), name)
        good &= hexwords.not_hex(name) == 0
        can_id = hexwords.hex_value(name).astype(np.uint32).byteswap()
        good &= can_id <= np.where(short, np.uint32(0x7FF), np.uint32(2 * ERROR_BIT - 1))
        error = ~short & (can_id >= ERROR_BIT)
        flags = np.where(short, np.uint8(0), np.uint8(EXTENDED))
        flags[error] = ERROR

        end, sent = self._direction(rows, at)
        flags |= sent
        size = end - at
        fd = good & (self.buffer[at] == ord("#")) & (size >= 2)
        low, high = self.words[at], self.words[at + 8]
        bad = hexwords.not_hex(low) & hexwords.low_bytes(size)
        bad |= hexwords.not_hex(high) & hexwords.low_bytes(size - 8)
        good &= (bad == 0) & (size <= 16) & (size & 1 == 0)
        data = hexwords.hex_value(low)
        data |= hexwords.hex_value(high) << np.uint64(32)
        data &= hexwords.low_bytes(size >> 1)

        out = self.out
        out.t_ns[rows] = t_ns
        out.can_id[rows] = can_id & np.uint32(ERROR_BIT - 1)
        out.flags[rows] = flags
        out.bus[rows] = bus
        out.length[rows] = size >> 1
        out.data[rows] = data
        if fd.any():
            good[fd] = self._flexible(np.arange(len(self.begin))[rows][fd], at[fd], size[fd])
        out.kept[rows] = good
        return good

    def _direction(self, rows: Rows | slice, at: Rows) -> tuple[Rows, NDArray[np.uint8]]:
        """Where the data of some lines end once a trailing `` R`` / `` T`` is taken off, and the flag that it gives."""
        end = self.end[rows]
        sent = np.zeros(len(at), np.uint8)
        last = self.buffer[end - 1] & 0xDF  # upper case
        marked = ((last == ord("R")) | (last == ord("T"))) & (self.buffer[end - 2] == ord(" ")) & (end - 2 >= at)
        if marked.any():
            sent[marked & (last == ord("T"))] = SENT
            end = end - 2 * marked
        return end, sent

    def _flexible(self, rows: Rows, at: Rows, size: Rows) -> Mask:
        """Decode the data of CAN FD lines (``F`` + data behind the second ``#``); returns which were right."""
        flag = _HEX_VALUE[self.buffer[at + 1]]
        digits = size - 2
        good: Mask = (flag < 16) & (digits & 1 == 0) & (digits <= 2 * FD_WIDTH)
        length = np.clip(digits >> 1, 0, FD_WIDTH)
        good &= _IS_FD_LENGTH[length]
        width = int(length.max(initial=0))
        column = np.arange(2 * width)
        text = _HEX_VALUE[self.buffer[np.minimum(at[:, None] + 2 + column, len(self.buffer) - 1)]]
        text[column >= 2 * length[:, None]] = 0
        good &= (text < 16).all(axis=1)
        data = np.zeros((len(rows), FD_WIDTH), np.uint8)
        data[:, :width] = (text[:, 0::2] << 4) | text[:, 1::2]
        out = self.out
        out.flags[rows] |= FD | (flag & 1) * np.uint8(BRS) | (flag >> 1 & 1) * np.uint8(ESI)
        out.length[rows] = length
        out.data[rows] = np.ascontiguousarray(data[:, :8]).view("<u8")[:, 0]
        wide = good & (length > 8)
        if wide.any():
            out.long_row.append(rows[wide])
            out.long_data.append(data[wide])
        return good

    def _plain(self, left: Rows) -> None:
        """Read lines one at a time; those without a frame are counted."""
        out = self.out
        for row in left.tolist():
            line = self._line(row)
            found = can_text_plain.parse(line)
            if isinstance(found, can_text_plain.Row):
                bus = self.columns.bus(found.channel)
                if bus is not None:
                    out.put(row, found, bus)
                    continue
                found = "one bus name too many"
            if found is not None:
                self.tally.add("bad_line", found, f"line {self.first_line + row}")
            elif line.lstrip().startswith(b"#"):
                key, colon, value = line.lstrip(b"# \t").decode("utf-8", "replace").partition(":")
                if colon:
                    self.metadata.setdefault(key.strip(), value.strip())


_HEX_VALUE: Final = np.full(256, 255, np.uint8)
for _digit in b"0123456789ABCDEFabcdef":
    _HEX_VALUE[_digit] = int(chr(_digit), 16)
