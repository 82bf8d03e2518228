"""Data files as they were read and checked before: the next start need not do it again."""

from __future__ import annotations

import functools
import os
import zlib
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from logan import cache

T = TypeVar("T")


def kept(path: Path, content: bytes, kind: Any, made: Callable[[], T]) -> T:
    """What a file holds, from the user's cache folder where the same content was kept there, else made and kept.

    Parameters
    ----------
    path : the file, or the folder of several
    content : all that the result depends on beside this program
    kind : type of the result, which msgspec can write
    made : makes the result, whatever that takes
    """
    place = zlib.crc32(f"{path} {kind} {_program()}".encode())
    stored = cache.folder() / f"data-{path.stem}-{place:08x}.bin"
    head = len(content).to_bytes(8, "little") + content
    # what is absent, cut short or of another shape is simply made anew
    with suppress(OSError, msgspec.MsgspecError, UnicodeDecodeError):
        before = stored.read_bytes()
        if before.startswith(head):
            value: T = msgspec.msgpack.decode(memoryview(before)[len(head) :], type=kind)
            return value
    value = made()
    with suppress(OverflowError):  # a number of more than 64 bits is made anew each time, for whoever checks it
        cache.store(stored, head + msgspec.msgpack.encode(value))
    return value


def contents(paths: Iterable[Path]) -> bytes:
    """Several files with their names as one content; nothing for a file that cannot be read."""
    out = []
    for path in paths:
        out.append(os.fsencode(path))
        with suppress(OSError):
            out.append(path.read_bytes())
    return b"\0".join(out) + b"\0"


@functools.cache
def _program() -> str:
    """Tells versions of what reads and checks data files apart."""
    with os.scandir(Path(__file__).parent) as entries:
        found = [(entry.name, entry.stat()) for entry in entries if entry.name.endswith(".py")]
    return repr(sorted((name, about.st_size, about.st_mtime_ns) for name, about in found))
