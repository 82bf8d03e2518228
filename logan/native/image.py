"""Compiled loops as one piece of code that runs wherever it stands in memory: no compiler is needed to load it.

Object code of x86-64 for Linux (ELF) whose parts refer to each other by distance alone is laid out and bound once, and
kept behind a page that says where each function begins. Of any other object code no such piece is made.
"""

from __future__ import annotations

import mmap
import struct
import zlib
from pathlib import Path
from typing import Any, Final, NamedTuple

import msgspec
import numpy as np

from logan import cache

PAGE: Final = 4096
_MACHINE: Final = (b"\x7fELF\x02\x01\x01", 62)  # 64 bits, little-endian, version 1; x86-64
_IN_MEMORY, _WRITABLE = 2, 1
_NO_CONTENT, _SYMBOLS, _BINDINGS = 8, 2, 4
_UNWINDING: Final = b".eh_frame"
_BY_DISTANCE: Final = (2, 4)  # R_X86_64_PC32, R_X86_64_PLT32


class _Section(NamedTuple):
    """A section header (System V ABI, chapter 4: sh_name to sh_entsize)."""

    name: int
    kind: int
    flags: int
    address: int
    offset: int
    size: int
    link: int
    info: int
    align: int
    entry: int


class _Head(msgspec.Struct, frozen=True):
    """What stands before the code: its checksum, where functions begin in it."""

    checksum: int
    functions: dict[str, int]


def made(code: bytes) -> bytes | None:
    """The piece made of some object code, None where it is not of the kind that can be."""
    if code[:7] != _MACHINE[0] or struct.unpack_from("<H", code, 18)[0] != _MACHINE[1]:
        return None
    at, count, names_at = struct.unpack_from("<Q", code, 40)[0], *struct.unpack_from("<HH", code, 60)
    sections = [_Section(*struct.unpack_from("<IIQQQQIIQQ", code, at + 64 * k)) for k in range(count)]
    names = sections[names_at].offset
    out = bytearray()
    place: dict[int, int] = {}
    for k, section in enumerate(sections):
        name = code[names + section.name : code.index(b"\0", names + section.name)]
        if not section.flags & _IN_MEMORY or name == _UNWINDING or not section.size:
            continue
        if section.flags & _WRITABLE or section.kind == _NO_CONTENT:
            return None
        out += bytes(-len(out) % max(section.align, 1))
        place[k] = len(out)
        out += code[section.offset : section.offset + section.size]
    table = next(section for section in sections if section.kind == _SYMBOLS)
    symbols = list(struct.iter_unpack("<IBBHQQ", code[table.offset : table.offset + table.size]))
    for section in sections:
        if section.kind != _BINDINGS or section.info not in place:
            continue
        for offset, info, addend in struct.iter_unpack("<QQq", code[section.offset : section.offset + section.size]):
            _, _, _, within, value, _ = symbols[info >> 32]
            if info & 0xFFFFFFFF not in _BY_DISTANCE or within not in place:
                return None
            spot = place[section.info] + offset
            struct.pack_into("<i", out, spot, place[within] + value + addend - spot)
    strings = sections[table.link].offset
    functions = {
        code[strings + name : code.index(b"\0", strings + name)].decode(): place[within] + value
        for name, kind, _, within, value, _ in symbols
        if kind >> 4 and within in place  # known outside
    }
    head = msgspec.json.encode(_Head(zlib.crc32(out), functions))
    return head.ljust(PAGE) + bytes(out) if len(head) <= PAGE else None


class Image:
    """A kept piece of code, ready to run.

    Parameters
    ----------
    path : file of this user alone that holds what ``made`` made

    Raises
    ------
    OSError : it cannot be read or is not to be trusted, or this system does not let it run
    ValueError, MsgspecError : it is cut short or damaged
    """

    def __init__(self, path: Path) -> None:
        with path.open("rb") as stream:
            if not cache.is_ours(stream):
                raise PermissionError(f"{path} may have been written by others")
            content = stream.read()
            head = msgspec.json.decode(content[:PAGE].rstrip(), type=_Head)
            if zlib.crc32(content[PAGE:]) != head.checksum:
                raise ValueError(f"{path} is damaged")
            self._code: Any = mmap.mmap(
                stream.fileno(), len(content), flags=mmap.MAP_PRIVATE, prot=mmap.PROT_READ | mmap.PROT_EXEC
            )
        self._functions = head.functions
        self._begin = int(np.frombuffer(self._code, np.uint8).ctypes.data) + PAGE

    def address_of(self, name: str) -> int:
        """Where a function begins."""
        return self._begin + self._functions[name]
