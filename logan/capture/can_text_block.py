"""A block of lines of a CAN text log, ``(seconds.fraction) channel ID#DATA``, by whole columns.

Lines are grouped by the layout of what stands before the ``#`` (number of digits, name of the bus); every field of a
group is gathered and decoded at once. Whatever does not fit goes down the plain path of ``can_text_plain``, one line at
a time, and means the same there.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import can_text_layout, can_text_plain, hexwords
from logan.capture.can_columns import CanBlock, CanColumns
from logan.capture.can_text_layout import Layout
from logan.capture.can_text_plain import ERROR_BIT, FD_LENGTHS, LATEST_S
from logan.capture.hexwords import Words, constant
from logan.capture.reader import Tally
from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, FD_WIDTH, SENT
from logan.native.kernels import HEXADECIMAL

Rows = NDArray[np.int64]
Mask = NDArray[np.bool_]

_MOST_LAYOUTS: Final = 32
_NEW_LAYOUTS_A_BLOCK: Final = 4
_IS_FD_LENGTH: Final = np.isin(np.arange(256), list(FD_LENGTHS))


class Block:
    """One block of lines, and its frames.

    Parameters
    ----------
    buffer, stop : bytes, and the place of each line's last one
    columns : where the frames go in the end
    out : rows for them, one a line
    left : lines that are still to be read
    """

    def __init__(
        self, buffer: NDArray[np.uint8], stop: Rows, columns: CanColumns, out: CanBlock, left: Rows
    ) -> None:  # fmt: skip
        self.buffer, self.stop, self.columns, self.out, self.left = buffer, stop, columns, out, left
        self.words = hexwords.view(buffer)

    @classmethod
    def whole(cls, buffer: NDArray[np.uint8], size: int, columns: CanColumns) -> Block:
        """A block of which no line has been read."""
        stop = np.flatnonzero(buffer[:size] == ord("\n"))
        return cls(buffer, stop, columns, CanBlock(len(stop)), np.arange(len(stop)))

    @cached_property
    def begin(self) -> Rows:
        """First byte of each line."""
        out = np.empty_like(self.stop)
        out[:1] = 0
        out[1:] = self.stop[:-1] + 1
        return out

    @cached_property
    def end(self) -> Rows:
        """One past the last byte of each line, without its line end."""
        out: Rows = self.stop - ((self.buffer[self.stop - 1] == ord("\r")) & (self.stop > self.begin))
        return out

    def finish(
        self, first_line: int, layouts: list[Layout], tally: Tally, metadata: dict[str, str]
    ) -> Callable[[], None]:  # fmt: skip
        """Read every line that is left by the layout that it has; new layouts are learnt on the way.

        Parameters
        ----------
        first_line : number of the block's first line in the file

        Returns
        -------
        what is still to be called before the block's rows may be used again
        """
        left = self.left
        for layout in layouts:
            if not len(left):
                break
            left = self.by_layout(layout, left)
        for _ in range(_NEW_LAYOUTS_A_BLOCK):
            learnt = self._learn(left) if len(layouts) < _MOST_LAYOUTS else None
            if learnt is None:
                break
            layouts.append(learnt)
            left = self.by_layout(learnt, left)
        self._plain(left, first_line, tally, metadata)
        return self.columns.append(self.out)

    def _line(self, row: int) -> bytes:
        return self.buffer[self.begin[row] : self.end[row]].tobytes()

    def _learn(self, left: Rows) -> Layout | None:
        """The layout of the first of some lines that has one."""
        for row in left[:16].tolist():
            line = self._line(row)
            if isinstance(can_text_plain.parse(line), can_text_plain.Row) and (found := can_text_layout.learn(line)):
                return found
        return None

    def by_layout(self, layout: Layout, left: Rows) -> Rows:
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

    def _frames(self, layout: Layout, prefix: list[Words], rows: Rows | slice) -> Mask:
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
        flag = HEXADECIMAL[self.buffer[at + 1]]
        digits = size - 2
        good: Mask = (flag < 16) & (digits & 1 == 0) & (digits <= 2 * FD_WIDTH)
        length = np.clip(digits >> 1, 0, FD_WIDTH)
        good &= _IS_FD_LENGTH[length]
        width = int(length.max(initial=0))
        column = np.arange(2 * width)
        text = HEXADECIMAL[self.buffer[np.minimum(at[:, None] + 2 + column, len(self.buffer) - 1)]]
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

    def _plain(self, left: Rows, first_line: int, tally: Tally, metadata: dict[str, str]) -> None:
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
                tally.add("bad_line", found, f"line {first_line + row}")
            elif line.lstrip().startswith(b"#"):
                key, colon, value = line.lstrip(b"# \t").decode("utf-8", "replace").partition(":")
                if colon:
                    metadata.setdefault(key.strip(), value.strip())
