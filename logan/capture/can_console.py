"""CAN text as SocketCAN tools print it on a screen: ``(time)  can0  7E8   [8]  03 41 0D 3C ...``.

The time may be absent, a date, or count from the frame before; ``TX``/``RX`` with flags and an ASCII column may
stand in the line; or all of it stands in columns with the time last.
Such text is short, so it is read one line at a time.
"""

from __future__ import annotations

import datetime
import re
from typing import Final

from logan.capture.can_columns import CanBlock, CanColumns
from logan.capture.can_text_plain import ERROR_BIT, FD_LENGTHS, LATEST_S, Row
from logan.capture.reader import NO, Guess, Parsed, Reader, Tally
from logan.capture.source import Source
from logan.model.capture import NO_TIME
from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, REMOTE, SENT

_LINES_LOOKED_AT: Final = 400
_DELTA_SHARE: Final = 0.25
"""With more steps back than this, times count from the frame before."""
_LINE: Final = re.compile(
    rb"\s*(?:\((?P<stamp>[^)]{1,40})\)\s+)?(?P<channel>[^\s(]\S*)\s+"
    rb"(?:(?P<direction>TX|RX)\s+(?P<brs>[-B])\s+(?P<esi>[-E])\s+)?"
    rb"(?P<id>[0-9A-Fa-f]{3}|[0-9A-Fa-f]{8})\s+\[(?P<length>\d{1,2})\]"
    rb"(?P<data>(?:\s+[0-9A-Fa-f]{2}(?!\S))*)\s*(?P<rest>remote request|ERRORFRAME|'.*)?\s*"
)
_COLUMNS: Final = re.compile(
    rb"\s*(?P<channel>\d{1,2})\s+(?P<id>[0-9A-Fa-f]{1,8})\s+(?P<wide>[xX]?)\s*(?P<length>\d{1,2})"
    rb"(?P<data>(?:\s+[0-9A-Fa-f]{2}(?!\S))*)\s+(?P<stamp>\d{1,10}\.\d{1,9})\s*(?P<direction>[RrTt]?)\s*"
)
"""Channel, identifier, X for 29 bits, count and bytes in columns, the time behind them."""
_SECONDS: Final = re.compile(rb"(-?)(\d{1,18})(?:\.(\d*))?")


def looks(source: Source) -> Guess:
    """Screen text has lines of channel, identifier, length in brackets and bytes."""
    lines = [line for line in source.lines[:_LINES_LOOKED_AT] if line.strip()]
    good = sum(isinstance(parse(line.encode()), Row) for line in lines)
    if not good:
        return NO
    return Guess(
        0.5 + 0.5 * good / len(lines), f"{good} of the first {len(lines)} lines read channel, ID, length, bytes"
    )


READER: Final = Reader("CAN text as printed", looks, __name__, (".log", ".txt"))


def parse(line: bytes) -> Row | str | None:
    """A frame (time 0 where the line has none), the reason why there is none, or None for a blank line."""
    if not line.strip():
        return None
    match = _LINE.fullmatch(line)
    if match is None:
        columns = _COLUMNS.fullmatch(line)
        if columns is not None:
            return _from_columns(columns)
        return "not of the form channel ID [length] bytes"
    t_ns = _stamp(match["stamp"]) if match["stamp"] else 0
    if t_ns is None:
        return "time stamp not understood"
    can_id = int(match["id"], 16)
    if can_id > (0x7FF if len(match["id"]) == 3 else 2 * ERROR_BIT - 1):
        return "identifier out of range"
    data, length = bytes.fromhex(match["data"].decode()), int(match["length"])
    rest = match["rest"] or b""
    remote = rest.startswith(b"remote")
    if length not in FD_LENGTHS or (len(data) != length and not remote):
        return "not as many data bytes as it says"
    flags = EXTENDED if len(match["id"]) == 8 else 0
    if can_id >= ERROR_BIT:
        flags, can_id = ERROR, can_id - ERROR_BIT
    flags |= REMOTE if remote else FD if len(match["length"]) == 2 else 0
    flags |= SENT if match["direction"] == b"TX" else 0
    flags |= (BRS if match["brs"] == b"B" else 0) | (ESI if match["esi"] == b"E" else 0)
    return Row(t_ns, match["channel"], can_id, flags, b"" if remote else data, length)


def _from_columns(match: re.Match[bytes]) -> Row | str:
    can_id, data, length = int(match["id"], 16), bytes.fromhex(match["data"].decode()), int(match["length"])
    wide = bool(match["wide"]) or can_id > 0x7FF
    t_ns = _stamp(match["stamp"])
    if t_ns is None or can_id >= ERROR_BIT:
        return "time stamp not understood" if t_ns is None else "identifier out of range"
    if length not in FD_LENGTHS or len(data) != length:
        return "not as many data bytes as it says"
    flags = EXTENDED * wide | FD * (length > 8) | SENT * (match["direction"] in b"Tt" and bool(match["direction"]))
    return Row(t_ns, match["channel"], can_id, flags, data, length)


def _stamp(text: bytes) -> int | None:
    """Nanoseconds of a time in seconds or of a date, None where it is neither."""
    seconds = _SECONDS.fullmatch(text)
    if seconds:
        if int(seconds[2]) > LATEST_S:
            return None
        t_ns = int(seconds[2]) * 10**9 + int((seconds[3] or b"")[:9].ljust(9, b"0"))
        return -t_ns if seconds[1] else t_ns
    try:
        moment = datetime.datetime.fromisoformat(text.decode("ascii", "replace"))
    except ValueError:
        return None
    since = moment.replace(tzinfo=moment.tzinfo or datetime.UTC) - datetime.datetime(1970, 1, 1, tzinfo=datetime.UTC)
    whole_s = since.days * 86400 + since.seconds
    return whole_s * 10**9 + since.microseconds * 1000 if abs(whole_s) <= LATEST_S else None


def read(source: Source) -> Parsed:
    """All frames of screen text; lines that hold none are counted."""
    columns, tally = CanColumns(), Tally()
    timed = 0
    for buffer, size, first_line in source.line_blocks():
        lines = buffer[:size].tobytes().split(b"\n")
        block = CanBlock(len(lines))
        for row, line in enumerate(lines):
            found = parse(line)
            if isinstance(found, Row):
                bus = columns.bus(found.channel)
                if bus is not None:
                    block.put(row, found, bus)
                    timed += found.t_ns != 0
                    continue
                found = "one bus name too many"
            if found is not None:
                tally.add("bad_line", found, f"line {first_line + row}")
        columns.append(block)
    if not timed:
        tally.add(NO_TIME, "no line has a time: what depends on time cannot be told", "whole file")
    columns.undo_differences(_DELTA_SHARE, tally)
    frames = columns.frames(tally)
    return Parsed(frames, len(frames), tally.total("bad_line") + columns.rows - len(frames), tally.remarks())
