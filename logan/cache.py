"""The user's cache folder: what can be made again, kept so that the next start need not."""

from __future__ import annotations

import functools
import importlib.util
import os
import sys
import zlib
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, Final

_CHECK_BYTES: Final = 4


def folder() -> Path:
    """The user's cache folder by the rule of the platform (XDG base directory specification on Linux)."""
    named = os.environ.get("XDG_CACHE_HOME")
    if named:
        return Path(named) / "logan"
    home = Path(os.path.expanduser("~"))  # noqa: PTH111 Path.home() raises where there is none
    if sys.platform == "darwin":
        return home / "Library" / "Caches" / "logan"
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", home)) / "logan" / "cache"
    return home / ".cache" / "logan"


def store(path: Path, content: bytes) -> None:
    """Write whole or not at all, for this user alone; a folder that cannot be written costs the next start its time."""
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_name(f"{path.name}-{os.urandom(8).hex()}.part")
        try:
            with open(part, "xb", opener=_for_this_user) as stream:
                stream.write(content)
            part.replace(path)
        except OSError:
            part.unlink(missing_ok=True)


def _for_this_user(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def store_code(path: Path, code: bytes) -> None:
    """Keep code that a later start is to run, with its checksum in front."""
    store(path, _checksum(code) + code)


def kept_code(path: Path) -> bytes | None:
    """Code that was kept, where it is whole and nobody else can have written it."""
    with suppress(OSError):
        with path.open("rb") as stream:
            if not is_ours(stream):
                return None
            content = stream.read()
        code = content[_CHECK_BYTES:]
        if _checksum(code) == content[:_CHECK_BYTES]:
            return code
    return None


def is_ours(stream: BinaryIO) -> bool:
    """Whether nobody but this user can have written an open file."""
    found = os.fstat(stream.fileno())
    return not hasattr(os, "getuid") or (found.st_uid == os.getuid() and not found.st_mode & 0o022)


def _checksum(code: bytes) -> bytes:
    """Tells whole code from code cut short or damaged; whose it is, the file's owner tells."""
    return zlib.crc32(code).to_bytes(_CHECK_BYTES, "big")


@functools.cache
def version_of(package: str) -> str:
    """Version of an installed package from its folder's name: importlib.metadata would cost 15 ms of every start."""
    found = importlib.util.find_spec(package)
    if found is None or found.origin is None:
        return ""
    beside = Path(found.origin).parent.parent
    return next((p.stem.removeprefix(f"{package}-") for p in sorted(beside.glob(f"{package}-*.dist-info"))), "")
