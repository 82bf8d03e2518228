"""Lines of time, parameter and data, ``264.5:0c1af8,``: answers of service 01 as small recorders print them."""

from __future__ import annotations

import re
from typing import Final

from logan.capture.reader import NO, Guess, Reader
from logan.capture.source import Source
from logan.knowledge import obd

LINE: Final = re.compile(r"\s*(?P<s>\d{1,10})(?:\.(?P<frac>\d{1,9}))?\s*:\s*(?P<hex>(?:[0-9A-Fa-f]{2}){2,9})\s*,?\s*")
_LINES_LOOKED_AT: Final = 300
_LEAST_SHARE: Final = 0.7


def fits(data: bytes) -> bool:
    """Whether a parameter is followed by as many bytes as the standard gives it (SAE J1979)."""
    return len(data) - 1 in obd.pid_lengths().get(data[0], ())


def looks(source: Source) -> Guess:
    """Most lines are a time, a colon, a known parameter and as many bytes as it has; several parameters take turns."""
    lines = [line for line in source.lines[:_LINES_LOOKED_AT] if line.strip() and not line.lstrip().startswith("#")]
    found = [match for line in lines if (match := LINE.fullmatch(line))]
    if not found or len(found) < _LEAST_SHARE * len(lines):
        return NO
    said = [bytes.fromhex(match["hex"]) for match in found]
    good = sum(map(fits, said))
    if good < _LEAST_SHARE * len(found) or not any(match["frac"] for match in found):
        return NO
    share = good / len(lines)
    return Guess(0.6 + 0.35 * share, f"{good} of {len(lines)} lines are time:parameter and as many bytes as it has")


READER: Final = Reader("parameter lines", looks, "logan.capture.pid_lines_read", (".txt", ".log"))
