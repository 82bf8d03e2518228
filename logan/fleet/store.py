"""Results kept under their hash, each in a file of its own: whatever ends a run, it goes on where it was."""

from __future__ import annotations

import secrets
from contextlib import suppress
from pathlib import Path

import msgspec

from logan.errors import OutputError
from logan.fleet.task import Outcome
from logan.model.fleet import FleetLog

_decoder = msgspec.msgpack.Decoder(FleetLog)


class Store:
    """The output folder; it comes into being with ``make`` or the first result."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.done, self.channels, self.logs = folder / "done", folder / "channels", folder / "logs"

    def make(self) -> None:
        """Make the folders, so that a disk that refuses is told before any work.

        Raises
        ------
        OutputError : they cannot be made
        """
        try:
            for part in (self.done, self.channels, self.logs):
                part.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise _refused(self.folder, error) from error

    def load(self, key: str, channels: bool = False) -> FleetLog | None:
        """The row kept under a hash, None where there is none, it is torn or another, or its channels are missing."""
        try:
            row = _decoder.decode((self.done / f"{key}.msgpack").read_bytes())
        except (OSError, msgspec.DecodeError):
            return None
        if row.key != key:
            return None
        if channels and row.error is None and not (self.channels / f"{key}.parquet").is_file():
            return None
        return row

    def save(self, outcome: Outcome) -> None:
        """Keep a result; of what says nothing about the log itself nothing is kept, so that it is tried again.

        Raises
        ------
        OutputError : the disk refuses
        """
        row = outcome.row
        if row.trouble == "not_reached":
            return
        if outcome.channels is not None:
            self.write(self.channels / f"{row.key}.parquet", outcome.channels)
        self.write(self.done / f"{row.key}.msgpack", msgspec.msgpack.encode(row))

    def write(self, path: Path, data: bytes) -> None:
        """Write a file whole or not at all.

        Raises
        ------
        OutputError : the disk refuses
        """
        waiting = path.with_name(f".{secrets.token_hex(6)}.part")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            waiting.write_bytes(data)
            waiting.replace(path)
        except OSError as error:
            with suppress(OSError):
                waiting.unlink(missing_ok=True)
            raise _refused(path, error) from error


def _refused(path: Path, error: OSError) -> OutputError:
    reason = (error.strerror or "cannot be written").lower()
    return OutputError(reason, file=str(path), do="name another folder, or free some space")
