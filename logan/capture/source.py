"""A capture file as readers see it: its first bytes, its blocks of whole lines, its hash; gzip is seen through once."""

from __future__ import annotations

import gzip
import io
import itertools
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cached_property
from pathlib import Path
from typing import BinaryIO, Final, cast

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from logan.errors import CaptureError
from logan.knowledge.headings import Headings, key

HEAD_BYTES: Final = 1 << 16
BLOCK_BYTES: Final = 1 << 20
SPARE_BYTES: Final = 256
"""Zero bytes behind a block's last line, so that words may be read past its end."""
GZIP_LIMIT_BYTES: Final = 2 << 30
"""Most bytes that a gzip file may unpack to: a small file that unpacks without end is refused."""
GZIP_FREE_BYTES: Final = 64 << 20
GZIP_RATIO: Final = 200
"""Beyond the free bytes a file may unpack to this many times its size; logs of a bus reach 5 to 30 (from memory)."""
_LOOK_BYTES: Final = 4096
_UNENDED: Final = "unended"
_GZIP_MAGIC: Final = b"\x1f\x8b"
_BOM: Final = b"\xef\xbb\xbf"
_UTF16_MARKS: Final = (b"\xff\xfe", b"\xfe\xff")
_UTF8_BYTES: Final = 4  # of one character at most


class _Limited:
    """A binary stream that is refused once it has given more than it may; a damaged one ends where it is damaged."""

    def __init__(self, stream: BinaryIO, limit: int, file: str, damage: list[str]) -> None:
        self.stream, self.left, self.limit, self.file, self.damage = stream, limit, limit, file, damage

    def readinto(self, buffer: memoryview) -> int:
        if isinstance(self.stream, gzip.GzipFile):
            got = self._unpack(self.stream, buffer)
        else:
            got = cast("io.RawIOBase", self.stream).readinto(buffer) or 0
        self.left -= got
        if self.left < 0:
            raise CaptureError(
                f"unpacks to more than {self.limit >> 20} MiB", file=self.file, do="unpack it and give a part of it"
            )
        return got

    def _unpack(self, stream: gzip.GzipFile, buffer: memoryview) -> int:
        """Fill the buffer; what lies before a damaged place is given, and an error only where nothing does."""
        got = 0
        try:
            while got < len(buffer) and (piece := stream.read1(len(buffer) - got)):
                buffer[got : got + len(piece)] = piece
                got += len(piece)
        except (EOFError, gzip.BadGzipFile, zlib.error) as error:
            read = self.limit - self.left + got
            if not read:
                raise
            self.damage[:] = [f"its gzip compression is damaged after {read:,} unpacked bytes ({error})"]
        return got


class _FromUtf16(io.RawIOBase):
    """A binary stream of text in UTF-16 as UTF-8."""

    def __init__(self, stream: io.RawIOBase) -> None:
        self._text = io.TextIOWrapper(io.BufferedReader(stream), "utf-16", "replace", newline="")
        self._left = b""

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]
        if not self._left:
            self._left = self._text.read(max(1, len(buffer) // _UTF8_BYTES)).encode("utf-8", "replace")
        got = min(len(buffer), len(self._left))
        buffer[:got] = self._left[:got]
        self._left = self._left[got:]
        return got


class Source(Struct, frozen=True, dict=True):
    """One capture file.

    Parameters
    ----------
    path : as the user gave it
    limit : most bytes that a gzip file may unpack to
    damage : what was found damaged in its compression while it was read; the content ends there
    headings : what the workshop says of headings and signal names of its own

    Raises
    ------
    CaptureError : from any method, where the file cannot be read or its compression is damaged from the start
    """

    path: Path
    limit: int = GZIP_LIMIT_BYTES
    damage: list[str] = field(default_factory=list)
    headings: Headings = field(default_factory=dict)

    @property
    def name(self) -> str:
        """File name without folder and without ``.gz``."""
        return self.path.stem if self.compressed and self.path.suffix.lower() == ".gz" else self.path.name

    @cached_property
    def _mark(self) -> bytes:
        with self.path.open("rb") as stream:
            return stream.read(2)

    @property
    def compressed(self) -> bool:
        """Whether the file is gzip (RFC 1952: the first two bytes)."""
        return self._mark == _GZIP_MAGIC

    @cached_property
    def encoding(self) -> str:
        """UTF-8, or Windows-1252 where no letter of the head is right in UTF-8: spreadsheets of western Europe."""
        if self.head.isascii():
            return "utf-8"
        letters = [sign for sign in self.head.decode("utf-8", "replace") if sign > "\x7f"]
        return "cp1252" if letters.count("\ufffd") == len(letters) else "utf-8"

    @cached_property
    def _ends_in_cr(self) -> bool:
        """Whether lines end in CR alone."""
        return b"\n" not in self.head and b"\r" in self.head

    @property
    def unended(self) -> bool:
        """Whether the last line, of which the last block consists then, has no line end; known with that block."""
        return bool(vars(self).get(_UNENDED))

    def means(self, name: str) -> str:
        """What a heading or signal name stands for by the workshop's own words; itself where they say nothing."""
        own = self.headings.get(key(name))
        return name if own is None else own.means

    @contextmanager
    def open(self) -> Iterator[_Limited]:
        """The content as a binary stream, unpacked."""
        try:
            with self.path.open("rb", buffering=0) as raw:
                if self.compressed:
                    with gzip.GzipFile(fileobj=raw, mode="rb") as unpacked:
                        most = max(GZIP_FREE_BYTES, GZIP_RATIO * self.path.stat().st_size)
                        limit = min(self.limit, most)
                        yield _Limited(cast("BinaryIO", unpacked), limit, str(self.path), self.damage)
                else:
                    plain = _FromUtf16(raw) if self._mark in _UTF16_MARKS else raw
                    yield _Limited(cast("BinaryIO", plain), 1 << 62, str(self.path), self.damage)
        except (EOFError, gzip.BadGzipFile, zlib.error) as error:
            raise CaptureError(
                f"its gzip compression is damaged ({error})", file=str(self.path), do="copy it again from the recorder"
            ) from error

    @cached_property
    def head(self) -> bytes:
        """The first ``HEAD_BYTES`` of the content, or all of it; what a damaged gzip file still gives."""
        out = bytearray()
        chunk = memoryview(bytearray(HEAD_BYTES))
        with self.open() as stream:
            while len(out) < HEAD_BYTES and (got := stream.readinto(chunk[: HEAD_BYTES - len(out)])):
                out += chunk[:got]
        return bytes(out)

    @cached_property
    def lines(self) -> list[str]:
        """Whole lines of the head, without line ends; undecodable bytes become U+FFFD."""
        text = self.head.removeprefix(_BOM).decode(self.encoding, "replace")
        lines = text.splitlines()
        return lines[:-1] if len(self.head) == HEAD_BYTES and len(lines) > 1 else lines

    def content(self) -> bytes:
        """All of it at once, for formats that cannot be read in blocks."""
        if not self.compressed and self._mark not in _UTF16_MARKS:
            return self.path.read_bytes()
        out = bytearray()
        chunk = memoryview(bytearray(BLOCK_BYTES))
        with self.open() as stream:
            while got := stream.readinto(chunk):
                out += chunk[:got]
        return bytes(out)

    def line_blocks(self, block_bytes: int = BLOCK_BYTES) -> Iterator[tuple[NDArray[np.uint8], int, int]]:
        """Blocks of whole lines: buffer (zero behind its end), bytes in use, number of the first line.

        Every line ends in LF, the last one too; a byte order mark is left out; a line longer than a block comes in
        pieces. The buffer is used again.
        """
        line = 1
        for buffer, size, is_piece in self.blocks(block_bytes):
            yield buffer, size, line
            line += 0 if is_piece else int(np.count_nonzero(buffer[:size] == 10))

    def blocks(self, block_bytes: int = BLOCK_BYTES, buffers: int = 1) -> Iterator[tuple[NDArray[np.uint8], int, bool]]:
        """As ``line_blocks``, but whether the block is a piece of a line that goes on instead of the line's number.

        A buffer is used again after so many blocks.
        """
        room = 2 * max(block_bytes, BLOCK_BYTES)  # of smaller blocks too a longer line makes the same pieces
        ring = itertools.cycle([np.empty(room + SPARE_BYTES, np.uint8) for _ in range(buffers)])
        buffer = next(ring)
        kept, at_start = 0, True
        with self.open() as stream:
            while True:
                got = stream.readinto(buffer.data[kept : min(kept + block_bytes, room - 1)])
                end = kept + got
                if self._ends_in_cr:
                    buffer[kept:end][buffer[kept:end] == ord("\r")] = ord("\n")
                if not got:
                    if not kept or self.damage:  # half a line may look like a whole one
                        return
                    vars(self)[_UNENDED] = True
                    buffer[end] = 10
                    end += 1
                if at_start and end >= len(_BOM):
                    at_start = False
                    if buffer[: len(_BOM)].tobytes() == _BOM:
                        buffer[: end - len(_BOM)] = buffer[len(_BOM) : end].copy()
                        end -= len(_BOM)
                whole = _last_line_end(buffer, end)
                piece = not whole and end >= room - 1
                if piece:
                    buffer[end] = 10
                    end += 1
                    whole = end
                if whole:
                    rest = buffer[whole:end].copy()
                    buffer[whole : whole + SPARE_BYTES] = 0
                    yield buffer, whole, piece
                    buffer = next(ring)
                    buffer[: len(rest)] = rest
                    kept = len(rest)
                else:
                    kept = end
                if not got:
                    return


def _last_line_end(buffer: NDArray[np.uint8], end: int) -> int:
    """One past the last LF before ``end``, 0 where there is none."""
    for high in range(end, 0, -_LOOK_BYTES):
        low = max(0, high - _LOOK_BYTES)
        at = buffer[low:high].tobytes().rfind(b"\n")
        if at >= 0:
            return low + at + 1
    return 0
