"""What an ASAM MDF 4 file must not say, looked at before asammdf opens it.

That library follows every link and believes every number: blocks that lead back to each other keep it for ever, a
small packed file fills memory, and compiled code of it takes a channel's place from the file as it stands, so that a
damaged one ends the whole program. The blocks and their links are those of the ASAM MDF 4 standard (from memory):
``##HD`` leads to data groups ``##DG``, those to channel groups ``##CG`` and to data, and channel groups to channels
``##CN``. Data are one block, packed (``##DZ``) or not, or lists of blocks (``##DL``, ``##LD``; ``##HL`` before them).
"""

from __future__ import annotations

import math
import mmap
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Final, NamedTuple

from logan.capture.mdf_packed import unpacks_to_more
from logan.errors import CaptureError

FREE_BYTES: Final = 16 << 20
RATIO: Final = 200
"""Beyond the free bytes all that a file's links lead to may be this many times its size, as for gzip.

python-can's own files reach 30 to 80 where time stamps differ in their microseconds, channels that stand still 150
(measured); what deflate (RFC 1951) can do is 1032.
"""
_HEAD: Final = struct.Struct("<4s4xQQ")
"""Mark, length, number of links; the links follow, then the data."""
_MARK_BYTES: Final = 4
_LINK: Final = struct.Struct("<Q")
_SIZES: Final = {
    b"##HD": (range(6, 7), 32), b"##DG": (range(4, 5), 8), b"##CG": (range(6, 8), 32), b"##CN": (range(8, 1 << 16), 72),
    b"##HL": (range(1, 2), 8),
}  # fmt: skip
"""How many links and bytes of data a block has: asammdf takes some of both for granted."""
_OBJECT_BYTES: Final = 2048
"""About what a channel, an element of an array or a conversion takes in asammdf (measured: 1 to 3 KiB)."""
_SPLIT_BYTES: Final = 64
"""About what a record takes where those of several groups are sorted into their own (measured: 90 with its data)."""
_VALUE_BYTES: Final = 8
_MOST_VALUES: Final = 4
"""Values in memory may take so many times what the file may come to: one of a byte there is one of eight here."""
_DEEPEST: Final = 16
"""Channels composed of others composed of others ..., and conversions likewise; real ones need three (judgement)."""
_RECORD: Final = struct.Struct("<8xQH6xII")
"""Of a channel group: records, flags, bytes of a record, bytes of its invalidation bits."""
_OF_ANY_LENGTH: Final = 1 << 0
"""Flag of a channel group of values of any length: it has no channels, and its two sizes are that of all values."""
_PLACE: Final = struct.Struct("<B2xB4I")
"""Of a channel: kind, first bit in its first byte, that byte, bits, flags, which bit says that it is invalid."""
_MAY_BE_INVALID: Final = 1 << 0 | 1 << 1
"""Flags of a channel: always invalid, or where its bit says so."""
_ARRAY: Final = struct.Struct("<2xH4xiI")
"""Of an array: how many dimensions, bytes and bits of validity from one element to the next; then their sizes."""
_PACKED: Final = struct.Struct("<2sBxIQQ")
"""Of packed data: mark of what was packed, way of packing, its parameter, bytes unpacked, bytes packed."""
_PLAIN_DATA: Final = (b"##DT", b"##DV", b"##DI", b"##SD")
_HEADER_AT: Final = 64
_UNFINISHED: Final = struct.Struct("<H")
_UNFINISHED_AT: Final = 60
_LISTS_UNFINISHED: Final = 1 << 2 | 1 << 4
"""Flags of a recording that was not finished: length of the last data block, last list of blocks."""
_VIRTUAL: Final = (3, 6)
"""Kinds of channels without bytes of their own."""
_MOST_RECORD_BYTES: Final = 1 << 20
"""asammdf makes room for a record before it looks whether there is one; a frame takes some hundred (judgement)."""
_INVERSE: Final = 3
"""Link of a conversion to its inverse, which nobody follows."""
_COPY: Final = "copy it again from the recorder"
_OUTSIDE: Final = "a channel lies outside its record, or a record is longer than any"
_IN_A_RING: Final = "one of its blocks is reached on two ways, as where blocks lead back to each other"


class _Block(NamedTuple):
    """Links, and where the data begin and end."""

    links: tuple[int, ...]
    data_at: int
    end: int


def check(path: Path, file: str, given: int = 0) -> None:
    """Follow all blocks that asammdf will follow. What cannot be followed is left to the library, which refuses it.

    Parameters
    ----------
    given : bytes of the file as it was given, which may be packed as a whole; 0 where it is not

    Raises
    ------
    CaptureError : a channel lies outside its record, blocks lead back to each other, or they come to far more than
        the file's size
    """
    if not path.stat().st_size:  # which no system maps
        return
    with path.open("rb") as opened, mmap.mmap(opened.fileno(), 0, access=mmap.ACCESS_READ) as content:
        _Walk(content, file, given or len(content)).all()


def most_bytes(held: int, given: int) -> int:
    """How many bytes a file may come to in memory, by what it holds and what was given."""
    return max(FREE_BYTES, RATIO * given, 2 * held)


class _Walk:
    """The blocks of a file, each of them met once.

    Parameters
    ----------
    content : all of it
    file : its name
    given : its bytes as it was given
    """

    def __init__(self, content: mmap.mmap, file: str, given: int) -> None:
        self._content, self._file, self._given = content, file, given
        self._most = most_bytes(len(content), given)
        self._bytes = self._values = 0
        self._seen: set[int] = set()
        self._conversions: dict[int, int] = {}

    def all(self) -> None:
        """Every block."""
        header = self._block(_HEADER_AT, b"##HD")
        if header is None:
            return
        groups, history, _, attached, events, *_ = header.links
        for at, mark in ((history, b"##FH"), (attached, b"##AT"), (events, b"##EV")):
            for block in self._chain(at, mark):
                self._spend(block.end - block.data_at)
        for group in self._chain(groups, b"##DG"):
            before = self._bytes
            self._data(group.links[2])
            held, least = self._bytes - before, 0
            for channels in self._chain(group.links[1], b"##CG"):
                size = self._group(channels)
                least = min(least or size, size)
            if self._content[group.data_at : group.data_at + 1] > b"\0":  # records begin with the number of their group
                self._spend(held // (1 + least) * _SPLIT_BYTES)

    def _damaged(self, what: str) -> CaptureError:
        return CaptureError(f"is damaged: {what}", file=self._file, do=_COPY)

    def _spend(self, size: int) -> None:
        """Count what comes into memory."""
        self._bytes += size
        if self._bytes > self._most:
            raise self._too_much(self._most)

    def _too_much(self, most: int) -> CaptureError:
        reason = (
            f"comes to more than {most >> 20} MiB when its blocks are unpacked and its links followed, "
            f"{most // self._given:,} times its size"
        )
        return CaptureError(reason, file=self._file, do="save it again without compression, or in parts")

    def _mark(self, at: int) -> bytes:
        return self._content[at : at + _MARK_BYTES]

    def _block(self, at: int, mark: bytes) -> _Block | None:
        """A block with its links, met for the first time; None where there is none of that mark."""
        if not at or at + _HEAD.size > len(self._content):
            return None
        found, length, count = _HEAD.unpack_from(self._content, at)
        if found != mark:
            return None
        data_at = at + _HEAD.size + _LINK.size * count
        counts, data_bytes = _SIZES.get(mark, (None, 0))
        if counts is not None and (count not in counts or at + length != data_at + data_bytes):
            raise self._damaged(f"the block at byte {at:,} is not as long as its kind is")
        if data_at > len(self._content):
            return None
        self._once(at)
        links = struct.unpack_from(f"<{count}Q", self._content, at + _HEAD.size)
        for link in links:
            self._beside(link)
        return _Block(links, data_at, at + length)

    def _once(self, at: int) -> None:
        if at in self._seen:
            raise self._damaged(f"{_IN_A_RING} (byte {at:,})")
        self._seen.add(at)

    def _chain(self, at: int, mark: bytes) -> Iterator[_Block]:
        """The blocks of a chain, each of which leads to the next by its first link."""
        while (block := self._block(at, mark)) is not None:
            yield block
            at = block.links[0] if block.links else 0

    def _beside(self, at: int) -> None:
        """A text, counted as often as there are links to it; a source or a conversion, which are read once."""
        mark = self._mark(at)
        if mark in (b"##TX", b"##MD") and at + _HEAD.size <= len(self._content):
            self._spend(min(_HEAD.unpack_from(self._content, at)[1], len(self._content)))
        elif mark in (b"##SI", b"##CC") and at not in self._conversions:
            self._spend(self._conversion(at, 0))

    def _conversion(self, at: int, depth: int) -> int:
        """Bytes of a conversion with all that it leads to, as often as it does."""
        if self._conversions.get(at) == 0 or depth > _DEEPEST:
            raise self._damaged(f"{_IN_A_RING} (conversion at byte {at:,})")
        if at in self._conversions:
            return self._conversions[at]
        self._conversions[at] = 0
        size = _OBJECT_BYTES
        links = self._links(at)
        for k, link in enumerate(links or ()):
            mark = self._mark(link)
            if mark in (b"##TX", b"##MD") and link + _HEAD.size <= len(self._content):
                size += min(_HEAD.unpack_from(self._content, link)[1], len(self._content))
            elif mark == b"##CC" and k != _INVERSE:
                size += self._conversion(link, depth + 1)
        self._conversions[at] = size
        return size

    def _links(self, at: int) -> tuple[int, ...]:
        if at + _HEAD.size > len(self._content):
            return ()
        _, _, count = _HEAD.unpack_from(self._content, at)
        fits = at + _HEAD.size + _LINK.size * count <= len(self._content)
        return struct.unpack_from(f"<{count}Q", self._content, at + _HEAD.size) if fits else ()

    def _group(self, group: _Block) -> int:
        """A channel group: its records and the channels in them; returns the bytes of a record."""
        if group.data_at + _RECORD.size > len(self._content):
            return 0
        records, flags, *sizes = _RECORD.unpack_from(self._content, group.data_at)
        size = 0 if flags & _OF_ANY_LENGTH else sum(sizes)
        if size > _MOST_RECORD_BYTES:
            raise self._damaged(_OUTSIDE)
        if records * max(size, _VALUE_BYTES) > self._most:
            raise self._damaged(f"says that it holds {records:,} records, which its size does not")
        waiting = [(group.links[1], 0)]
        while waiting:
            at, depth = waiting.pop()
            for channel in self._chain(at, b"##CN"):
                elements, reach, reach_bits = self._array(channel.links[1])
                self._spend((1 + elements) * _OBJECT_BYTES)
                self._values += records * elements * _VALUE_BYTES
                if self._values > _MOST_VALUES * self._most:
                    raise self._too_much(_MOST_VALUES * self._most)
                end, bit = self._ends(channel.data_at)
                if end + reach > size or (bit and sizes[1] and bit + reach_bits > 8 * sizes[1]):
                    raise self._damaged(_OUTSIDE)
                if depth > _DEEPEST:
                    raise self._damaged(f"channels are composed of others more than {_DEEPEST} times over")
                waiting.append((channel.links[1], depth + 1))
                self._data(channel.links[5])
        return size

    def _array(self, at: int) -> tuple[int, int, int]:
        """How many elements a channel has, and how many bytes and bits of validity the last is behind the first."""
        elements, reach, reach_bits = 1, 0, 0
        while (block := self._block(at, b"##CA")) is not None and block.data_at + _ARRAY.size <= len(self._content):
            dimensions, step, step_bits = _ARRAY.unpack_from(self._content, block.data_at)
            begin = block.data_at + _ARRAY.size
            if begin + _LINK.size * dimensions > len(self._content):
                break
            here = math.prod(struct.unpack_from(f"<{dimensions}Q", self._content, begin))
            if here < 1 or step < 0:
                raise self._damaged(_OUTSIDE)
            elements *= here
            reach, reach_bits = reach + step * (here - 1), reach_bits + step_bits * (here - 1)
            at = block.links[0] if block.links else 0
        return elements, reach, reach_bits

    def _ends(self, at: int) -> tuple[int, int]:
        """One past the last byte of a channel in its record, and past its bit of validity; 0 where it has none."""
        if at + _PLACE.size > len(self._content):
            return 0, 0
        kind, first, byte, bits, flags, invalid = _PLACE.unpack_from(self._content, at)
        return 0 if kind in _VIRTUAL else byte + (first + bits + 7) // 8, invalid + 1 if flags & _MAY_BE_INVALID else 0

    def _data(self, at: int) -> None:
        """Data of a group or of a channel of values of any length; in a list every block counts as data."""
        waiting = [(at, False)]
        while waiting:
            at, is_listed = waiting.pop()
            mark = self._mark(at)
            if mark in (b"##HL", b"##DL", b"##LD"):
                block = self._block(at, mark)
                if block is None:
                    continue
                is_list = mark != b"##HL"
                if is_list and any(block.links[:1]) and self._lists_unfinished():
                    raise CaptureError(
                        "was not finished by its recorder, and its list of blocks has a second part", file=self._file,
                        do="finish it with the recorder's own software, or save it again there",
                    )  # fmt: skip
                waiting += [(link, is_list) for link in block.links if link]
            elif mark == b"##DZ":
                self._once(at)
                self._packed(at + _HEAD.size)
            elif (is_listed or mark in _PLAIN_DATA) and at + _HEAD.size <= len(self._content):
                self._once(at)
                self._spend(min(_HEAD.unpack_from(self._content, at)[1], len(self._content)))

    def _lists_unfinished(self) -> bool:
        flags: int = _UNFINISHED.unpack_from(self._content, _UNFINISHED_AT)[0]
        return bool(flags & _LISTS_UNFINISHED)

    def _packed(self, at: int) -> None:
        """Packed data: what they say to unpack to, and that they do not unpack to more."""
        if at + _PACKED.size > len(self._content):
            return
        _, way, _, unpacked, packed = _PACKED.unpack_from(self._content, at)
        self._spend(unpacked)
        body = self._content[at + _PACKED.size : at + _PACKED.size + packed]
        if unpacks_to_more(way, body, unpacked):
            raise self._damaged(f"the packed block at byte {at - _HEAD.size:,} unpacks to more than it says")
