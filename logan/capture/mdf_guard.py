"""ASAM MDF 4 files whose channels lie outside their records, which asammdf would read from memory that is not theirs.

Compiled code of that library takes a channel's place from the file as it stands; a damaged one ends the whole program.
The blocks and their links are those of the ASAM MDF 4 standard (from memory): ``##HD`` leads to data groups ``##DG``,
those to channel groups ``##CG`` and those to channels ``##CN``.
"""

from __future__ import annotations

import mmap
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Final

_HEAD: Final = struct.Struct("<4s4xQQ")
"""Mark, length, number of links; the links follow, then the data."""
_LINK: Final = struct.Struct("<Q")
_RECORD: Final = struct.Struct("<16xH6xII")
"""Of a channel group: flags, bytes of a record, bytes of its invalidation bits."""
_OF_ANY_LENGTH: Final = 1 << 0
"""Flag of a channel group of values of any length: it has no channels, and its two sizes are that of all values."""
_PLACE: Final = struct.Struct("<B2xBII")
"""Of a channel: kind, first bit in its first byte, that byte, bits."""
_HEADER_AT: Final = 64
_VIRTUAL: Final = (3, 6)
"""Kinds of channels without bytes of their own."""
_MOST_LINKS: Final = 1 << 16
_MOST_RECORD_BYTES: Final = 1 << 20
"""asammdf makes room for a record before it looks whether there is one; a frame takes some hundred (judgement)."""

Block = tuple[list[int], int]
"""Links, and where the data begin."""


def is_outside(path: Path) -> bool:
    """Whether a channel lies outside its record, or a record is longer than any.

    What cannot be followed is left to the library, which refuses it.
    """
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as content:
        header = _block(content, _HEADER_AT, b"##HD")
        seen: set[int] = set()
        for groups, _ in _chain(content, header, 0, b"##DG", seen):
            for channels, data_at in _chain(content, (groups, 0), 1, b"##CG", seen):
                if data_at + _RECORD.size > len(content):
                    continue
                flags, *sizes = _RECORD.unpack_from(content, data_at)
                size = 0 if flags & _OF_ANY_LENGTH else sum(sizes)
                if size > _MOST_RECORD_BYTES or any(
                    _ends(content, at) > size for at in _channels(content, (channels, 0), 1, seen)
                ):
                    return True
    return False


def _block(content: mmap.mmap, at: int, mark: bytes) -> Block | None:
    """A block with its links; None where there is none of that mark."""
    if at + _HEAD.size > len(content):
        return None
    found, _, count = _HEAD.unpack_from(content, at)
    end = at + _HEAD.size + _LINK.size * count
    if found != mark or count > _MOST_LINKS or end > len(content):
        return None
    return list(struct.unpack_from(f"<{count}Q", content, at + _HEAD.size)), end


def _chain(content: mmap.mmap, owner: Block | None, link: int, mark: bytes, seen: set[int]) -> Iterator[Block]:
    """The blocks that one link of a block leads to, each of which leads to the next by its first link."""
    at = owner[0][link] if owner is not None and len(owner[0]) > link else 0
    while at and at not in seen and (block := _block(content, at, mark)) is not None:
        seen.add(at)
        yield block
        at = block[0][0] if block[0] else 0


def _channels(content: mmap.mmap, owner: Block, link: int, seen: set[int]) -> Iterator[int]:
    """Where the data of each channel begin, those that channels are composed of among them."""
    waiting = [(owner, link)]
    while waiting:
        for block in _chain(content, *waiting.pop(), b"##CN", seen):
            yield block[1]
            waiting.append((block, 1))


def _ends(content: mmap.mmap, at: int) -> int:
    """One past the last byte of a channel in its record, 0 where it has none."""
    if at + _PLACE.size > len(content):
        return 0
    kind, bit, byte, bits = _PLACE.unpack_from(content, at)
    return 0 if kind in _VIRTUAL else int(byte + (bit + bits + 7) // 8)
