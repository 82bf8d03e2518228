"""CAN logs of the forms that python-can reads, told apart by content; the reading is in ``can_library_read``."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from logan.capture.reader import NO, Guess, Reader
from logan.capture.source import Source

CSV_HEADER: Final = "timestamp,arbitration_id,extended,remote,error,dlc,data"
_MODULE: Final = "logan.capture.can_library_read"
_ASC_LINE: Final = re.compile(r"\s*\d+\.\d+\s+(?:CANFD\s+)?\d+\s+(?:(?:[Rr]x|[Tt]x)\s+)?[0-9A-Fa-f]+x?\s.*\b[RT]x\b|"
                              r"\s*\d+\.\d+\s+(?:CANFD\s+)?\d+\s+(?:Rx|Tx)?\s*\w+", re.ASCII)  # fmt: skip
_ASC_BASE: Final = re.compile(r"base\s+(hex|dec)", re.IGNORECASE)
_TRC_LINE: Final = re.compile(r"\s*\d+\)?\s+\d+(?:\.\d+)?\s+.*[0-9A-Fa-f]{3,8}\s", re.ASCII)


def _asc(source: Source) -> Guess:
    lines = source.lines[:200]
    if any(_ASC_BASE.match(line) for line in lines[:20]):
        return Guess(0.95, "has the header line 'base hex' or 'base dec'")
    filled = [line for line in lines if line.strip() and not line.startswith("//")]
    good = sum(bool(_ASC_LINE.match(line)) for line in filled)
    return Guess(0.7, "lines read time channel identifier Rx d") if good > len(filled) / 2 else NO


def _trc(source: Source) -> Guess:
    lines = source.lines[:200]
    if any(line.startswith(";$FILEVERSION=") for line in lines[:20]):
        return Guess(0.95, "has the header line ';$FILEVERSION='")
    if not lines or not lines[0].startswith(";"):
        return NO
    records = [line for line in lines if line.strip() and not line.startswith(";")]
    good = sum(bool(_TRC_LINE.match(line)) for line in records)
    return Guess(0.8, "';' comments, then numbered messages") if records and good > len(records) / 2 else NO


def _csv(source: Source) -> Guess:
    lines = source.lines
    return Guess(0.95, "has python-can's table header") if lines and lines[0].strip() == CSV_HEADER else NO


def _begins(*magic: bytes, also: bytes = b"") -> Callable[[Source], Guess]:
    def looks(source: Source) -> Guess:
        if not source.head.startswith(magic) or also not in source.head:
            return NO
        found = next(mark for mark in magic if source.head.startswith(mark))
        return Guess(0.95, f"begins with '{found.decode('ascii').rstrip(chr(0))}'")

    return looks


BINARY: Final[tuple[Reader, ...]] = (
    Reader("CAN log, BLF binary", _begins(b"LOGG"), _MODULE, (".blf",)),
    Reader("CAN log, SQLite data base", _begins(b"SQLite format 3\0", also=b"messages"), _MODULE, (".db",)),
    Reader("CAN log, ASAM MDF 4", _begins(b"MDF     4", b"UnFinMF 4"), _MODULE, (".mf4",)),
)
READERS: Final[tuple[Reader, ...]] = (
    Reader("CAN log, ASC text", _asc, _MODULE, (".asc",)),
    Reader("CAN log, TRC text", _trc, _MODULE, (".trc",)),
    Reader("CAN log, CSV of python-can", _csv, _MODULE, (".csv",)),
    *BINARY,
)


def suffix_of(source: Source) -> str:
    """The usual ending of the form that a file is of, whatever its name."""
    return max(READERS, key=lambda reader: reader.looks(source).score).suffixes[0]
