"""The bytes of captures in a folder, under their SHA-256: a file is there whole and safe on disk, or not at all."""

from __future__ import annotations

import hashlib
import os
import secrets
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from logan.errors import UsageError

BLOCK = 1 << 20
LONGEST_NAME = 120


@dataclass(frozen=True, slots=True)
class Kept:
    """A capture on disk."""

    sha256: str
    size: int
    name: str


def plain_name(given: str) -> str:
    """A file name without folders, control characters or leading dots, whatever a sender called it."""
    last = given.replace("\\", "/").rsplit("/", 1)[-1]
    shown = "".join(c if c.isprintable() and c not in '<>:"|?*' else "_" for c in last).strip(". ")
    while len(shown.encode("utf-8", "replace")) > LONGEST_NAME:
        shown = shown[1:]  # the ending says what it is
    return shown or "capture"


def path_of(folder: Path, sha256: str) -> Path:
    """Where the bytes of that hash lie."""
    return folder / "captures" / sha256[:2] / sha256


def keep(folder: Path, stream: BinaryIO, name: str) -> Kept:
    """Write a stream to disk and return only when it is durable.

    Raises
    ------
    UsageError : the stream is empty
    """
    waiting = folder / "captures" / "arriving"
    waiting.mkdir(parents=True, exist_ok=True, mode=0o700)
    temporary = waiting / secrets.token_hex(8)
    digest, size = hashlib.sha256(), 0
    try:
        with temporary.open("xb") as out:
            while block := stream.read(BLOCK):
                digest.update(block)
                size += len(block)
                out.write(block)
            out.flush()
            os.fsync(out.fileno())
        if not size:
            raise UsageError("is empty", file=plain_name(name), do="hand in a capture with data")
        target = path_of(folder, digest.hexdigest())
        target.parent.mkdir(exist_ok=True, mode=0o700)
        temporary.replace(target)  # the same bytes again change nothing
        for changed in (target.parent, target.parent.parent):
            _settle(changed)
    finally:
        temporary.unlink(missing_ok=True)
    return Kept(digest.hexdigest(), size, plain_name(name))


def lay_out(folder: Path, files: list[tuple[str, str]], into: Path) -> list[Path]:
    """Put captures, (hash, name) each, under their own names into a folder for one analysis; links, else copies."""
    shutil.rmtree(into, ignore_errors=True)
    out = []
    for place, (sha256, name) in enumerate(files):
        target = into / str(place) / name
        target.parent.mkdir(parents=True, mode=0o700)
        try:
            target.hardlink_to(path_of(folder, sha256))
        except OSError:
            shutil.copyfile(path_of(folder, sha256), target)
        out.append(target)
    return out


def sweep(folder: Path) -> None:
    """Remove what was arriving when the program ended: nobody was told that it had been taken."""
    shutil.rmtree(folder / "captures" / "arriving", ignore_errors=True)


def _settle(folder: Path) -> None:
    """Make the entries of a folder durable, where the system can."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
