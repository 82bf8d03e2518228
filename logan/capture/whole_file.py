"""What needs a capture file as a whole: its hash, and libraries that open files by name."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from logan.capture.source import Source


def sha256(path: Path) -> str:
    """SHA-256 (FIPS 180-4) of a file as given, 64 hex digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


@contextmanager
def as_file(source: Source, suffix: str, copied: bool = False) -> Iterator[Path]:
    """A real file with this suffix for libraries that go by names; a copy where the name is another one, or wanted."""
    if not copied and not source.compressed and source.path.suffix.lower() == suffix:
        yield source.path
        return
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / f"capture{suffix}"
        if source.compressed:
            copy.write_bytes(source.content())
        else:
            shutil.copyfile(source.path, copy)
            with suppress(FileNotFoundError):  # what a data base has not taken in yet
                shutil.copyfile(f"{source.path}-wal", f"{copy}-wal")
        yield copy
