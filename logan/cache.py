"""The user's cache folder: what can be made again, kept so that the next start need not."""

from __future__ import annotations

import os
import sys
import tempfile
from contextlib import suppress
from pathlib import Path


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
