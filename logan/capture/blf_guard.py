"""Bounds that python-can's BLF reader lacks: an object of no length would keep it, a packed container fill memory."""

from __future__ import annotations

import os
import re
import struct
import zlib
from collections.abc import Iterator
from typing import Final

import can
from can.io.blf import BLFParseError

MOST_UNPACKED_BYTES: Final = 16 << 20
"""Most bytes that a container may unpack to; python-can writes 128 KiB, a longer one is damage (judgement)."""
FREE_BYTES: Final = 2 << 20
RATIO: Final = 64
"""Beyond the free bytes all containers together may unpack to this many times the file's size.

python-can's own files reach 8, with the same data in each frame (measured); each frame is read one by one.
"""
_MOST_OBJECT_BYTES: Final = 1 << 20
_OBJECT: Final = struct.Struct("<4sHHII")
_CONTAINER: Final = 10
_PACKING: Final = struct.Struct("<H14x")
_PLAIN, _ZLIB = 0, 2
_NO_LENGTH: Final = re.compile(rb"LOBJ.{4}\0{4}", re.DOTALL)


class GuardedBLFReader(can.BLFReader):
    """python-can's reader, stopped with its own error where it would not end.

    ``given`` are the bytes of the file as it was given, which may be packed as a whole; 0 where it is not.
    """

    given = 0

    def __iter__(self) -> Iterator[can.Message]:  # type: ignore[override]
        """All messages.

        Raises
        ------
        BLFParseError, struct.error, zlib.error : the file is damaged from here on
        """
        held = os.fstat(self.file.fileno()).st_size
        most = left = max(FREE_BYTES, RATIO * (self.given or held), held)
        while base := self.file.read(_OBJECT.size):
            mark, _, _, size, kind = _OBJECT.unpack(base)
            if mark != b"LOBJ" or size < _OBJECT.size:
                raise BLFParseError("no object begins here")
            body = self.file.read(size - _OBJECT.size)
            self.file.read(size % 4)
            if kind == _CONTAINER:
                data = _unpacked(body)
                left -= len(data)
                if left < 0:
                    raise BLFParseError(f"its containers unpack to more than {most >> 20} MiB")
                yield from self._parse_container(data)
            if len(body) < size - _OBJECT.size:
                raise BLFParseError("the file ends within an object")
        self.stop()

    def _parse_container(self, data: bytes) -> Iterator[can.Message]:
        held = self._tail
        if len(held) > _MOST_OBJECT_BYTES:
            raise BLFParseError(f"an object says that it is longer than {_MOST_OBJECT_BYTES >> 20} MiB")
        endless = _NO_LENGTH.search(held + data)
        if endless is None:
            yield from super()._parse_container(data)
            return
        yield from super()._parse_container(data[: max(endless.start() - len(held), 0)])
        raise BLFParseError("an object says that it is 0 bytes long")


def _unpacked(body: bytes) -> bytes:
    (packing,) = _PACKING.unpack_from(body)
    if packing not in (_PLAIN, _ZLIB):
        raise BLFParseError(f"unknown packing {packing} of a container")
    if packing == _PLAIN:
        return body[_PACKING.size :]
    unpacking = zlib.decompressobj()
    data = unpacking.decompress(body[_PACKING.size :], MOST_UNPACKED_BYTES)
    if unpacking.unconsumed_tail:
        raise BLFParseError(f"a container unpacks to more than {MOST_UNPACKED_BYTES >> 20} MiB")
    return data
