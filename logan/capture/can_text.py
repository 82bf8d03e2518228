"""CAN text log, ``(seconds.fraction) channel ID#DATA``: how it is recognised."""

from __future__ import annotations

from typing import Final

from logan.capture import can_text_plain
from logan.capture.reader import NO, Guess, Reader
from logan.capture.source import Source

_LINES_LOOKED_AT: Final = 400


def looks(source: Source) -> Guess:
    """A CAN text log has lines that read as frames."""
    parsed = [can_text_plain.parse(line.encode()) for line in source.lines[:_LINES_LOOKED_AT]]
    tried = sum(row is not None for row in parsed)
    good = sum(isinstance(row, can_text_plain.Row) for row in parsed)
    if not good:
        return NO
    return Guess(0.5 + 0.5 * good / tried, f"{good} of the first {tried} lines read (time) channel ID#DATA")


READER: Final = Reader("CAN text log", looks, "logan.capture.can_text_read", (".log",))
