"""BLF files by whole columns, where all of a file is ordinary; of anything else python-can makes what it can.

The layout is that of python-can's reader (can/io/blf.py, version 4): a header, then objects; those of kind 10 hold
packed pieces of one stream of objects, each of which says how long it is.
"""

from __future__ import annotations

import datetime
import struct
import zlib
from contextlib import suppress
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import hexwords
from logan.capture.can_columns import MOST_BUSES, CanBlock, CanColumns, nanoseconds
from logan.capture.can_text_plain import LATEST_S
from logan.model.frames import EXTENDED, REMOTE, SENT

_FILE: Final = struct.Struct("<4sI8xQ8xI4x8H16x")
"""``LOGG``, size of the header, size of the file, number of objects, start time."""
_OBJECT: Final = struct.Struct("<4sHHII")
"""``LOBJ``, size of the header, its version, size with the header, kind."""
_PACKING: Final = struct.Struct("<H14x")
_MARK: Final = int.from_bytes(b"LOBJ", "little")
_PACKED: Final = 10
_PLAIN, _ZLIB = 0, 2
_CLASSIC: Final = (1, 86)
_OTHER_FRAMES: Final = (73, 100, 101)  # errors and CAN FD
_MOST_UNPACKED_BYTES: Final = 16 << 20
_MOST_AT_ONCE: Final = 16
"""What unpacks to more times its own size goes through python-can, one container at a time."""
_TEN_MICROSECONDS: Final = 1
_MOST_PADDING: Final = 4
_LEAST, _NEWER = 32, 40
"""Bytes in front of what an object holds, by the version of its header."""
_CLASSIC_BYTES: Final = 16
_REMOTE_BIT, _SENT_BIT = 0x80, 0x01
_EXACT: Final = 1 << 53  # whole numbers up to here are exact in float64

Words = NDArray[np.uint64]


def columns(content: bytes, given: int) -> tuple[CanColumns, int] | None:
    """All frames, and how many objects the header promises; None where something of the file is out of the ordinary.

    Parameters
    ----------
    given : bytes of the file as it was given, which may be packed as a whole
    """
    if len(content) < _FILE.size:
        return None
    mark, header, size, promised, *start = _FILE.unpack_from(content)
    stream = _stream(content, header, given) if mark == b"LOGG" and len(content) >= size else None
    if stream is None:
        return None
    words = hexwords.view(np.frombuffer(stream + bytes(8), np.uint8))
    at = _objects(stream, words)
    return None if at is None else _frames(words, at, _start_s(start), promised)


def _stream(content: bytes, at: int, given: int) -> bytes | None:
    """The packed pieces put together."""
    pieces: list[bytes] = []
    room = max((1 << 20) + _MOST_AT_ONCE * given, len(content))
    while at < len(content):
        if at + _OBJECT.size + _PACKING.size > len(content):
            return None
        mark, _, _, size, kind = _OBJECT.unpack_from(content, at)
        if mark != b"LOBJ" or kind != _PACKED or size < _OBJECT.size + _PACKING.size or at + size > len(content):
            return None
        (packing,) = _PACKING.unpack_from(content, at + _OBJECT.size)
        body = content[at + _OBJECT.size + _PACKING.size : at + size]
        if packing == _ZLIB:
            unpacking = zlib.decompressobj()
            with suppress(zlib.error):
                body = unpacking.decompress(body, _MOST_UNPACKED_BYTES)
            if not unpacking.eof:
                return None
        elif packing != _PLAIN:
            return None
        pieces.append(body)
        room -= len(body)
        if room < 0:
            return None
        at += size + size % 4
    return b"".join(pieces)


def _objects(stream: bytes, words: Words) -> NDArray[np.int64] | None:
    """Where the objects of a stream begin; None where one does not follow the other."""
    size = len(stream)
    at = np.flatnonzero(np.ndarray((max(size - _LEAST + 1, 0),), "<u4", stream, strides=(1,)) == _MARK)
    end = at + (words[at + 8] & np.uint64(0xFFFFFFFF)).astype(np.int64)
    gap = np.append(at, size) - np.append(0, end)
    chained = (gap[:-1] >= 0).all() and (gap[:-1] <= _MOST_PADDING).all() and 0 <= gap[-1] < 2 * _MOST_PADDING
    return at if len(at) and chained else None


def _frames(words: Words, at: NDArray[np.int64], start_s: float, promised: int) -> tuple[CanColumns, int] | None:
    """The classic CAN frames among some objects; None where there are others, or one is odd."""
    size, kind = words[at + 8] & np.uint64(0xFFFFFFFF), words[at + 8] >> np.uint64(32)
    version = words[at + 4] >> np.uint64(16) & np.uint64(0xFFFF)
    head = np.where(version == 2, _NEWER, _LEAST)
    classic = np.isin(kind, _CLASSIC)
    if not np.isin(version, (1, 2)).all() or np.isin(kind, _OTHER_FRAMES).any():
        return None
    if (size < head + np.where(classic, _CLASSIC_BYTES, 0)).any():
        return None
    at, head = at[classic], head[classic]
    stamp, unit = words[at + 24], words[at + 16] & np.uint64(0xFFFFFFFF)
    told, data = words[at + head], words[at + head + 8]  # channel, flags, length and identifier in one word
    channel, length = told & np.uint64(0xFFFF), (told >> np.uint64(24) & np.uint64(0xFF)).astype(np.int64)
    remote, sent = (
        told >> np.uint64(16) & np.uint64(_REMOTE_BIT) != 0,
        told >> np.uint64(16) & np.uint64(_SENT_BIT) != 0,
    )
    can_id, extended = (told >> np.uint64(32)).astype(np.uint32) & np.uint32(0x1FFFFFFF), told >> np.uint64(63) == 1
    seconds = np.where(unit == _TEN_MICROSECONDS, stamp / 1e5, stamp / 1e9) + start_s
    channels, first, slot = np.unique(channel, return_index=True, return_inverse=True)
    if (
        (stamp >= _EXACT).any() or not (np.abs(seconds) < LATEST_S).all() or ((length > 8) & ~remote).any()
        or ((can_id > 0x7FF) & ~extended).any() or len(channels) > MOST_BUSES
    ):  # fmt: skip
        return None
    out, block = CanColumns(), CanBlock(len(at))
    bus = np.zeros(len(channels), np.uint8)
    for k in np.argsort(first):
        bus[k] = out.bus(f"{int(channels[k]) - 1}".encode()) or 0
    block.kept[:] = True
    block.t_ns[:] = nanoseconds(seconds)
    block.can_id[:] = can_id
    block.flags[:] = np.where(extended, EXTENDED, 0) | np.where(remote, REMOTE, 0) | np.where(sent, SENT, 0)
    block.bus[:] = bus[slot]
    block.length[:] = np.minimum(length, 8)
    block.data[:] = data & hexwords.low_bytes(np.where(remote, 0, length))
    out.append(block)
    return out, promised


def _start_s(system_time: list[int]) -> float:
    """Unix time of year, month, day of the week, day, hour, minute, second, millisecond in UTC; 0 where it is none."""
    year, month, _, day, hour, minute, second, millisecond = system_time
    with suppress(ValueError):
        return datetime.datetime(
            year, month, day, hour, minute, second, millisecond * 1000, tzinfo=datetime.UTC
        ).timestamp()
    return 0.0
