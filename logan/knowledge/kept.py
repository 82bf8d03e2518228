"""Data files as they were read and checked before: the next start need not do it again."""

from __future__ import annotations

import zlib
from collections.abc import Callable
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
    content : all of the file
    kind : type of the result, which msgspec can write
    made : reads the content, whatever that takes
    """
    place = zlib.crc32(f"{path} {kind} {getattr(kind, '__struct_fields__', '')}".encode())
    stored = cache.folder() / f"data-{path.stem}-{place:08x}.bin"
    # what is absent, cut short or of another shape is simply made anew
    with suppress(OSError, msgspec.MsgspecError, UnicodeDecodeError):
        before = stored.read_bytes()
        if before.startswith(content):
            value: T = msgspec.msgpack.decode(memoryview(before)[len(content) :], type=kind)
            return value
    value = made()
    cache.store(stored, content + msgspec.msgpack.encode(value))
    return value
