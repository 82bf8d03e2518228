"""The bytes of captures in a folder, under their SHA-256: a file is there whole and safe on disk, or not at all."""

from __future__ import annotations

import errno
import hashlib
import os
import secrets
import shutil
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from logan.errors import UsageError

BLOCK = 1 << 20
LONGEST_NAME = 120
LEFT_FREE = 200_000_000
"""Bytes that captures leave free on the disk, so that what has been taken can still be entered and analysed."""


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


class Arriving:
    """A capture on its way to disk: durable when ``keep`` returns, gone when it is dropped.

    Raises
    ------
    OSError : the disk has no more than ``LEFT_FREE`` left, or cannot be written to
    """

    def __init__(self, folder: Path, name: str) -> None:
        self._folder, self.name = folder, plain_name(name)
        waiting = folder / "captures" / "arriving"
        waiting.mkdir(parents=True, exist_ok=True, mode=0o700)
        self._path = waiting / secrets.token_hex(8)
        self._out = self._path.open("xb")
        self._digest, self._size = hashlib.sha256(), 0

    def write(self, block: bytes) -> None:
        """The next bytes."""
        if shutil.disk_usage(self._path.parent).free < LEFT_FREE:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        self._digest.update(block)
        self._size += len(block)
        self._out.write(block)

    def check(self) -> None:
        """Refuse it where it is empty.

        Raises
        ------
        UsageError : it is empty
        """
        if not self._size:
            raise UsageError("is empty", file=self.name, do="hand in a capture with data")

    def keep(self) -> Kept:
        """Put it under its hash and return only when it is durable.

        Raises
        ------
        UsageError : it is empty
        """
        try:
            self.check()
            self._out.flush()
            os.fsync(self._out.fileno())
            self._out.close()
            target = path_of(self._folder, self._digest.hexdigest())
            target.parent.mkdir(exist_ok=True, mode=0o700)
            self._path.replace(target)  # the same bytes again change nothing
            for changed in (target.parent, target.parent.parent):
                _settle(changed)
        finally:
            self.drop()
        return Kept(self._digest.hexdigest(), self._size, self.name)

    def drop(self) -> None:
        """Remove what is not kept."""
        with suppress(OSError):  # a full disk may refuse the last bytes; they are not wanted
            self._out.close()
        self._path.unlink(missing_ok=True)


def keep(folder: Path, stream: BinaryIO, name: str) -> Kept:
    """Write a stream to disk and return only when it is durable.

    Raises
    ------
    UsageError : the stream is empty
    """
    arriving = Arriving(folder, name)
    try:
        while block := stream.read(BLOCK):
            arriving.write(block)
        return arriving.keep()
    finally:
        arriving.drop()


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
