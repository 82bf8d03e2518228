"""Ordinary lines of the text forms that python-can reads, by whole columns; all other lines are left to python-can.

A line of words (ASC, TRC) is described by which word is what; a line of python-can's CSV has seven cells. A line is
ordinary when it can mean only one thing, and that is what python-can's readers (can/io, version 4) make of it:
classic data frames and, in ASC, CAN FD data frames, complete and within their limits. Error frames, remote frames,
numbers in an unusual way and everything else are not.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import hexwords, text_numbers
from logan.capture.can_columns import CanBlock
from logan.capture.source import SPARE_BYTES
from logan.capture.text_numbers import MARGIN_BYTES, Mask, Places
from logan.model.frames import BRS, ESI, EXTENDED, FD, FD_WIDTH, SENT

_BLOCK_BYTES: Final = 1 << 20
_SPACE, _LINE_END, _COMMA = ord(" "), ord("\n"), ord(",")
_SENT, _RECEIVED = int.from_bytes(b"Tx", "little"), int.from_bytes(b"Rx", "little")
_SPLIT_LINES: Final = (b"\xc2\x85", b"\xe2\x80\xa8", b"\xe2\x80\xa9")
"""Line ends of Unicode in UTF-8: next line, line separator, paragraph separator."""
NO_BUS: Final = 100
"""Number above those of ordinary lines, which have two digits at most."""
_COMMENT, _FOREIGN = ord(";"), 0x80
_COMMAS: Final = 6
_PREFIX: Final = int.from_bytes(b"0x", "little")
_BAD, _ONE_PAD, _TWO_PADS = 1 << 14, 1 << 12, 1 << 13


@dataclass(frozen=True, slots=True)
class Shape:
    """Which word of a line holds what, counted from 0; -1 where there is no such word.

    Parameters
    ----------
    t, can_id, length, data : time, identifier, number of data bytes, the first of them
    bus, direction : number of the bus, ``Rx`` or ``Tx``
    fixed : words that stand in the line as they are, with their place
    first_bus : number that the first bus has; without a number all is on bus 1
    flexible : CAN FD; bit-rate switch, error state indicator and length code are the three words before the length
    units : of time in a second
    point : whether times have a decimal point
    decimal : identifiers and data in decimal numbers, each byte 1 to 3 digits
    marked : whether an ``x`` behind the identifier makes it one of 29 bits, else more than four digits do
    alone : whether nothing stands behind the data
    """

    t: int
    can_id: int
    length: int
    data: int
    bus: int = -1
    first_bus: int = 0
    direction: int = -1
    fixed: tuple[tuple[int, bytes], ...] = ()
    flexible: bool = False
    units: int = 1
    point: bool = True
    decimal: bool = False
    marked: bool = False
    alone: bool = False


_ASC: Final = (
    Shape(t=0, bus=1, first_bus=1, can_id=2, direction=3, fixed=((4, b"d"),), length=5, data=6, marked=True),
    Shape(t=0, fixed=((1, b"CANFD"),), bus=2, first_bus=1, direction=3, can_id=4, flexible=True, length=8, data=9,
          marked=True),
)  # fmt: skip
ASC: Final = {"hex": _ASC, "dec": tuple(replace(shape, decimal=True) for shape in _ASC)}
TRC: Final = {
    (1, 0): Shape(t=1, can_id=2, length=3, data=4, units=1000, point=False, alone=True),
    (1, 1): Shape(t=1, direction=2, can_id=3, length=4, data=5, units=1000, point=False, alone=True),
    (1, 3): Shape(t=1, bus=2, direction=3, can_id=4, length=6, data=7, units=1000, point=False, alone=True),
}


def trc_columns(columns: Mapping[str, int]) -> tuple[Shape, ...]:
    """The shape of data frames in TRC 2, whose header names the columns."""
    length = columns.get("l", columns.get("L", -1))
    needed = [columns.get(name, -1) for name in ("O", "T", "I", "d", "D")]
    if min(*needed, length) < 0 or needed[-1] != max(columns.values()):
        return ()
    t, kind, can_id, direction, data = needed
    return (
        Shape(t=t, fixed=((kind, b"DT"),), bus=columns.get("B", -1), can_id=can_id, direction=direction,
              length=length, data=data, units=1000, point=False, alone=True),
    )  # fmt: skip


class Lines:
    """A text and its lines in rows from 0; empty lines, which say nothing in any form, have none.

    Parameters
    ----------
    content : all of the file, without a byte order mark
    """

    def __init__(self, content: bytes) -> None:
        end = b"" if content.endswith(b"\n") or not content else b"\n"
        self.text = np.frombuffer(b"".join((bytes(MARGIN_BYTES), content, end, bytes(SPARE_BYTES))), np.uint8)
        self.words = hexwords.view(self.text)
        inside = self.text[MARGIN_BYTES : len(self.text) - SPARE_BYTES]
        self.stop: Places = np.flatnonzero(inside == _LINE_END) + MARGIN_BYTES
        size = self.stop - 1
        size[1:] -= self.stop[:-1]
        size[:1] -= MARGIN_BYTES - 1
        self._filled: Places | None = None
        if len(size) and size.min() < 2:
            self._filled = np.flatnonzero((size > 1) | (size == 1) & (self.text[self.stop - 1] != ord("\r")))
            size, self.stop = size[self._filled], self.stop[self._filled]
        self.begin: Places = self.stop - size
        self.plain = _plain(inside, content)

    def __len__(self) -> int:
        return len(self.stop)

    def line(self, row: int) -> str:
        """A line with its end."""
        return self.text[self.begin[row] : self.stop[row] + 1].tobytes().decode("utf-8", "replace")

    def place(self, row: int) -> str:
        """Where a line stands in the file."""
        return f"line {(row if self._filled is None else int(self._filled[row])) + 1}"


def _plain(text: NDArray[np.uint8], content: bytes) -> bool:
    """Whether lines and words end at blanks, tabulators and line ends alone, whoever splits the text."""
    returns = np.flatnonzero(text == ord("\r"))
    known = np.count_nonzero(text == _LINE_END) + np.count_nonzero(text == ord("\t")) + len(returns)
    return (
        np.count_nonzero(text < _SPACE) == known
        and bool((text[returns + 1] == _LINE_END).all())
        and (content.isascii() or not any(end in content for end in _SPLIT_LINES))
    )


class Ordinary:
    """What the ordinary lines of a text say; a row a line.

    Parameters
    ----------
    lines : the text
    first : lines before this one are never ordinary
    """

    def __init__(self, lines: Lines, first: int) -> None:
        self.lines, self.first = lines, first
        self.out = CanBlock(len(lines))
        self.t_s: NDArray[np.float64] = np.zeros(len(lines))
        self.bus: NDArray[np.int32] = np.full(len(lines), NO_BUS, np.int32)

    def _blocks(self) -> Iterator[Places]:
        """The lines that may be ordinary, in groups that stay in the processor's cache."""
        lines = self.lines
        rows = np.arange(self.first, len(lines))
        foreign = np.flatnonzero(lines.text >= _FOREIGN)  # Python's blanks are more than those of ASCII
        if len(foreign):
            rows = np.setdiff1d(rows, np.searchsorted(lines.stop, foreign))
        for some in np.split(rows, np.flatnonzero(np.diff(lines.begin[rows] // _BLOCK_BYTES)) + 1):
            if len(some):
                yield some

    def read_words(self, shapes: Sequence[Shape]) -> None:
        """Read lines of words."""
        lines = self.lines
        for left in self._blocks():
            low = lines.begin[left[0]] - 1
            blank = lines.text[low : lines.stop[left[-1]] + 1] <= _SPACE
            blank[0] = True
            edge = np.flatnonzero(blank[1:] != blank[:-1]) + low + 1
            begin, end = edge[0::2], edge[1::2]
            behind = np.searchsorted(begin, lines.stop[left])
            whole = len(left) == left[-1] - left[0] + 1  # no line between them is left out
            first = np.append(0, behind[:-1]) if whole else np.searchsorted(begin, lines.begin[left])
            count = behind - first
            for shape in shapes:
                some = np.flatnonzero(count >= shape.data)
                some = some[self._fixed(shape, begin, end, first[some])]
                if not len(some):
                    continue
                good = self._frames(shape, left[some], begin, end, first[some], count[some])
                count[some[good]] = 0

    def _fixed(self, shape: Shape, begin: Places, end: Places, first: Places) -> Mask:
        """Which lines have a shape's fixed words."""
        fits = np.ones(len(first), np.bool_)
        for place, word in shape.fixed:
            at = begin[first + place]
            mask = hexwords.constant((1 << 8 * len(word)) - 1)
            fits &= end[first + place] - at == len(word)
            fits &= self.lines.words[at] & mask == int.from_bytes(word, "little")
        return fits

    def _frames(self, shape: Shape, rows: Places, begin: Places, end: Places, first: Places, count: Places) -> Mask:
        """Read lines that have enough words; returns which of them were ordinary."""
        text, words = self.lines.text, self.lines.words

        def place(word: int) -> tuple[Places, Places, Places]:
            at, stop = begin[first + word], end[first + word]
            return at, stop, stop - at

        at, stop, _ = place(shape.t)
        t_s, good = text_numbers.fractions(text, words, at, stop, shape.point)
        at, stop, size = place(shape.can_id)
        number = text_numbers.whole if shape.decimal else text_numbers.hexadecimal
        if shape.marked:
            extended = text[stop - 1] | 0x20 == ord("x")
            can_id, right = number(words, stop - extended, size - extended)
        else:
            extended = size > 4
            can_id, right = number(words, stop, size)
        good &= right & (can_id <= np.where(extended, 0x1FFFFFFF, 0x7FF))
        flags = extended * np.uint8(EXTENDED)
        if shape.direction >= 0:
            at, _, size = place(shape.direction)
            word = words[at] & np.uint64(0xFFFF)
            good &= (size == 2) & ((word == _RECEIVED) | (word == _SENT))
            flags |= (word == _SENT) * np.uint8(SENT)
        if shape.bus >= 0:
            _, stop, size = place(shape.bus)
            bus, right = text_numbers.whole(words, stop, size)
            good &= right & (size <= 2) & (bus >= shape.first_bus)
            self.bus[rows] = np.where(good, bus - shape.first_bus, NO_BUS)
        else:
            self.bus[rows] = 1
        at, stop, size = place(shape.length)
        if shape.flexible:
            length, right = text_numbers.whole(words, stop, size)
            good &= right & (size <= 2) & (length > 0) & (length <= FD_WIDTH)
            flags |= np.uint8(FD)
            for before, flag in ((3, BRS), (2, ESI)):
                at, _, size = place(shape.length - before)
                good &= (size == 1) & (text[at] | 1 == ord("1"))
                flags |= (text[at] == ord("1")) * np.uint8(flag)
            _, stop, size = place(shape.length - 1)
            good &= number(words, stop, size)[1] & (size <= 1 + shape.decimal)
        else:
            length = text[at].astype(np.int64) - ord("0")
            good &= (size == 1) & (length >= 0) & (length <= 8)
        good &= (count == shape.data + length) if shape.alone else (count >= shape.data + length)
        good &= text[begin[first]] != _COMMENT
        self.t_s[rows] = t_s / shape.units if shape.units != 1 else t_s
        data = self._decimal_data if shape.decimal else self._data
        good &= data(rows, np.where(good, length, 0), begin, end, first + shape.data)
        out = self.out
        out.can_id[rows], out.flags[rows], out.kept[rows] = can_id, flags, good
        return good

    def _data(self, rows: Places, length: Places, begin: Places, end: Places, first: Places) -> Mask:
        """Read data bytes, a word each, one blank apart; returns where all are such."""
        filled = length > 0
        at = begin[np.minimum(first, len(begin) - 1)]
        last = np.where(filled, first + length - 1, 0)
        apart = (begin[last] - at == 3 * (length - 1)) & (end[last] - begin[last] == 2)
        data, good = text_numbers.octets(self.lines.text, at, length, 3)
        return self._put(rows, length, data, good & (apart | ~filled))

    def _decimal_data(self, rows: Places, length: Places, begin: Places, end: Places, first: Places) -> Mask:
        """The same in decimal numbers."""
        data = np.zeros((len(rows), int(length.max(initial=0))), np.uint8)
        good = np.ones(len(rows), np.bool_)
        for k in range(data.shape[1]):
            inside = length > k
            word = np.where(inside, first + k, 0)
            value, right = text_numbers.whole(self.lines.words, end[word], end[word] - begin[word])
            good &= ~inside | (right & (value <= 0xFF))
            data[:, k] = np.where(inside & good, value, 0)
        return self._put(rows, length, data, good)

    def _put(self, rows: Places, length: Places, data: NDArray[np.uint8], good: Mask) -> Mask:
        """Data bytes, (n, most of them), into the block."""
        wide = np.zeros((len(rows), 8), np.uint8)
        wide[:, : data.shape[1]] = data[:, :8]
        self.out.length[rows] = length
        self.out.data[rows] = wide.view("<u8")[:, 0]
        long = np.flatnonzero(good & (length > 8))
        if len(long):
            full = np.zeros((len(long), FD_WIDTH), np.uint8)
            full[:, : data.shape[1]] = data[long]
            self.out.long_row.append(rows[long])
            self.out.long_data.append(full)
        return good

    def read_cells(self) -> None:
        """Read lines of python-can's CSV: time, identifier, 29 bits, remote, error, length, data in base 64."""
        lines, text, words = self.lines, self.lines.text, self.lines.words
        for left in self._blocks():
            low = lines.begin[left[0]]
            comma = np.flatnonzero(text[low : lines.stop[left[-1]]] == _COMMA) + low
            first = np.searchsorted(comma, lines.begin[left])
            some = np.searchsorted(comma, lines.stop[left]) - first == _COMMAS
            rows = left[some]
            if not len(rows):
                continue
            ends = [comma[first[some] + k] for k in range(_COMMAS)]
            t_s, good = text_numbers.fractions(text, words, lines.begin[rows], ends[0], True)
            at = ends[0] + 1
            good &= words[at] & np.uint64(0xFFFF) == _PREFIX
            can_id, right = text_numbers.hexadecimal(words, ends[1], ends[1] - at - 2)
            extended = text[ends[1] + 1] == ord("1")
            good &= right & (can_id <= np.where(extended, 0x1FFFFFFF, 0x7FF)) & (text[ends[1] + 1] | 1 == ord("1"))
            good &= (text[ends[2] + 1] == ord("0")) & (text[ends[3] + 1] == ord("0"))
            length = text[ends[4] + 1].astype(np.int64) - ord("0")
            good &= (length >= 0) & (length <= 8)
            for k in range(1, 5):
                good &= ends[k + 1] - ends[k] == 2
            at = ends[5] + 1
            stop = lines.stop[rows] - (text[lines.stop[rows] - 1] == ord("\r"))
            good &= stop - at == (length + 2) // 3 * 4
            data, right = base_64(self.lines.text, at, np.where(good, length, 0))
            good &= self._put(rows, np.where(good, length, 0), data, good & right)
            self.t_s[rows], self.out.can_id[rows] = t_s, can_id
            self.out.flags[rows] = extended * np.uint8(EXTENDED)
            self.out.kept[rows] = good


def _two_letters() -> NDArray[np.int32]:
    """12 bits of two letters of base 64 (RFC 4648), by the 16-bit number that they stand as; pads and others marked."""
    letters = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
    one = np.full(256, _BAD, np.int64)
    one[np.frombuffer(letters, np.uint8)] = np.arange(64)
    both = np.arange(1 << 16)
    first, second = both & 0xFF, both >> 8
    value = np.where((one[first] | one[second]) < _BAD, one[first] << 6 | one[second], _BAD)
    pad = second == ord("=")
    value = np.where(pad & (one[first] < _BAD), one[first] << 6 | _ONE_PAD, value)
    return np.where(pad & (first == ord("=")), _TWO_PADS, value).astype(np.int32)


_TWO_LETTERS: Final = _two_letters()
_PADS: Final = np.array([0, _TWO_PADS, _ONE_PAD, 0], np.int32)
_HELD: Final = np.array([0, 0xFF0000, 0xFFFF00, 0xFFFFFF], np.int32)
"""By the bytes that a group of four letters holds: its pads, and the bits that count."""


def base_64(text: NDArray[np.uint8], begin: Places, count: Places) -> tuple[NDArray[np.uint8], Mask]:
    """Up to nine bytes written in base 64 (RFC 4648), (n, 9), zero behind the last; and where they are well formed.

    Parameters
    ----------
    begin : (n,) first letter
    count : (n,) bytes
    """
    both = text_numbers.pairs(text)
    out = np.zeros((len(begin), 9), np.uint8)
    good = np.ones(len(begin), np.bool_)
    for k in range(0, 9, 3):
        here = np.clip(count - k, 0, 3)
        high = _TWO_LETTERS[both[begin + k // 3 * 4]]
        low = _TWO_LETTERS[both[begin + k // 3 * 4 + 2]]
        good &= (here == 0) | ((high < _ONE_PAD) & (low & ~0xFFF == _PADS[here]))
        bits = (high << 12 | low & 0xFFF) & _HELD[here]
        out[:, k], out[:, k + 1], out[:, k + 2] = bits >> 16, bits >> 8 & 0xFF, bits & 0xFF
    return out, good
