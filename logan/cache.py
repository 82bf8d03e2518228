"""The user's cache folder: what can be made again, kept so that the next start need not."""

from __future__ import annotations

import functools
import hashlib
import importlib.util
import os
import sys
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Final

_HASH_BYTES: Final = 32


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
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as part:
            part.write(content)
        Path(part.name).replace(path)


def store_code(path: Path, code: bytes) -> None:
    """Keep code that a later start is to run, with its hash in front."""
    store(path, hashlib.sha256(code).digest() + code)


def kept_code(path: Path) -> bytes | None:
    """Code that was kept, where it is whole and nobody else can have written it."""
    with suppress(OSError):
        with path.open("rb") as stream:
            found = os.fstat(stream.fileno())
            if hasattr(os, "getuid") and (found.st_uid != os.getuid() or found.st_mode & 0o022):
                return None
            content = stream.read()
        code = content[_HASH_BYTES:]
        if hashlib.sha256(code).digest() == content[:_HASH_BYTES]:
            return code
    return None


@functools.cache
def version_of(package: str) -> str:
    """Version of an installed package from its folder's name: importlib.metadata would cost 15 ms of every start."""
    found = importlib.util.find_spec(package)
    if found is None or found.origin is None:
        return ""
    beside = Path(found.origin).parent.parent
    return next((p.stem.removeprefix(f"{package}-") for p in sorted(beside.glob(f"{package}-*.dist-info"))), "")
