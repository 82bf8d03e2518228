"""Sensor edges from a value change dump (VCD, IEEE 1364-2005 clause 18)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import clock, start_time
from logan.capture.edge_lists import from_levels, unread_s
from logan.capture.reader import NO, Guess, Parsed, Reader, Tally
from logan.capture.source import Source
from logan.errors import CaptureError
from logan.knowledge import table_headers

_SECTION: Final = re.compile(rb"\$(\w+)\s(.*?)\$end", re.DOTALL)
_SECTION_END: Final = b"$end"
_TIMESCALE: Final = re.compile(rb"(1|10|100)\s*(s|ms|us|ns|ps|fs)")
_UNIT_FS: Final = {b"s": 10**15, b"ms": 10**12, b"us": 10**9, b"ns": 10**6, b"ps": 10**3, b"fs": 1}
_STAMP: Final = re.compile(rb"\n#\d")
_END: Final = b"$enddefinitions"
_LONGEST_TOKEN: Final = 40
_MOST_DIGITS: Final = 18
_LATEST_NS: Final = 9 * 10**18
_PIECE_BYTES: Final = 4 << 20
MOST_SIGNALS: Final = 64
"""A dump of a whole circuit declares thousands, each of which would take memory at every time of any other."""
_OTHER: Final = re.compile(r"[^a-z0-9]+")


def looks(source: Source) -> Guess:
    """A value change dump declares variables and ends its definitions."""
    head = source.head
    if b"$var" not in head or _END not in head:
        return NO
    return Guess(0.97, "has $var and $enddefinitions")


READER: Final = Reader("sensor edges, VCD", looks, __name__, (".vcd",))


def read(source: Source) -> Parsed:
    """Edges of the signals of one bit; unknown levels (x, z) keep the level before.

    Raises
    ------
    CaptureError : no time scale, no variable of one bit, or no change of a level
    """
    content = source.content()
    end = content.index(_END)
    last = content.rfind(_SECTION_END, 0, end) + len(_SECTION_END)  # behind it each section would be sought to the end
    sections = [(key, text.strip()) for key, text in _SECTION.findall(content, 0, last)]
    tally = Tally()
    metadata = {key.decode(): " ".join(text.decode("utf-8", "replace").split())
                for key, text in sections if key in (b"date", b"version")}  # fmt: skip
    for key, text in sections:
        name, colon, value = text.decode("utf-8", "replace").partition(":")
        if key == b"comment" and colon:
            metadata.setdefault(name.strip(), value.strip())
    scale = _TIMESCALE.search(dict(sections).get(b"timescale", b""))
    variables = [text.split() for key, text in sections if key == b"var"]
    bits = {
        words[2]: words[3].decode("utf-8", "replace") for words in variables if len(words) >= 4 and words[1] == b"1"
    }
    if scale is None or not bits:
        what = "no time scale" if scale is None else "no signal of one bit"
        raise CaptureError(f"declares {what}", file=str(source.path), do="export it again with its definitions")
    unit_fs = int(scale[1]) * _UNIT_FS[scale[2]]
    names = {code: _OTHER.sub("_", source.means(name).lower()).strip("_") for code, name in bits.items()}
    if len(names) > MOST_SIGNALS:
        names = _chosen(names, tally)

    time_parts: list[NDArray[np.int64]] = []
    level_parts: list[NDArray[np.float32]] = []
    spoilt = [np.empty(0, np.int64)]
    read_before = rows_before = 0
    for piece in _pieces(content, end + len(_END)):
        tokens = np.array([word for word in piece.split() if len(word) <= _LONGEST_TOKEN], np.bytes_)
        if not len(tokens):
            continue
        t_ns, row_of, bad = _times(tokens, unit_fs, read_before, tally)
        if time_parts:
            t_ns, row_of, bad = np.append(time_parts[-1][-1:], t_ns), row_of + 1, bad + 1
        elif not len(t_ns):
            t_ns = np.zeros(1, np.int64)
        time_parts.append(t_ns)
        level_parts.append(_levels(tokens, np.maximum(row_of, 0), list(names), len(t_ns)))
        spoilt.append(rows_before + bad)
        read_before += len(tokens)
        rows_before += len(t_ns)
    if not time_parts:
        raise CaptureError(
            "holds no change of a level", file=str(source.path), do="record again while the engine turns"
        )
    times, levels = np.concatenate(time_parts), np.concatenate(level_parts, axis=1)
    del content, time_parts, level_parts  # as long as the recording
    seams: list[tuple[int, int]] = []
    rows = clock.settle(times, tally, 0, seams)
    if rows is not None:
        times, levels = times[rows], levels[:, rows]
    origin_ns = start_time.origin_ns(metadata, tally) or 0
    unread = unread_s(np.concatenate(spoilt), times, slice(None) if rows is None else rows)
    edges, notes = from_levels(times, levels, list(names.values()), origin_ns, unread, clock.seams_s(seams))
    for note in notes:
        tally.add("sensor_names", note, "$var")
    count = sum(map(len, (*edges.rising_s.values(), *edges.falling_s.values())))
    return Parsed(edges, count, tally.total("bad_line"), tally.remarks(), metadata)


def _chosen(names: dict[bytes, str], tally: Tally) -> dict[bytes, str]:
    """Of very many signals those that name a sensor, else the first ones; what is left out is counted."""
    sensors = {code: name for code, name in names.items() if table_headers.load().sensor(name) is not None}
    chosen = dict(list((sensors or names).items())[:MOST_SIGNALS])
    of_them = "that name a crank, cam or pump sensor" if sensors else "declared first, since none names a sensor"
    text = f"of {len(names)} signals of one bit only the {len(chosen)} {of_them} were read"
    tally.add("signals_left_out", text, "$var", len(names) - len(chosen))
    return chosen


def _pieces(content: bytes, begin: int) -> Iterator[bytes]:
    """What follows the definitions, cut where a line begins with a time."""
    while begin < len(content):
        stamp = _STAMP.search(content, begin + _PIECE_BYTES)
        end = stamp.start() + 1 if stamp else len(content)
        yield content[begin:end]
        begin = end


def _levels(
    tokens: NDArray[np.bytes_], row_of: NDArray[np.int64], codes: list[bytes], rows: int
) -> NDArray[np.float32]:
    """Level of each signal at each time, (signals, rows); NaN where it is not named or unknown."""
    first = tokens.view(np.uint8).reshape(len(tokens), -1)[:, 0]
    levels = np.full((len(codes), rows), np.nan, np.float32)
    for level, code in zip(levels, codes, strict=True):
        named = (tokens == b"0" + code) | (tokens == b"1" + code)
        level[row_of[named]] = first[named] == ord("1")  # of several in one row the last one stays
        vector = np.flatnonzero((tokens[1:] == code) & ((first[:-1] == ord("b")) | (first[:-1] == ord("B"))))
        last = np.char.endswith(tokens[vector], b"1")
        level[row_of[vector]] = np.where(last, 1.0, 0.0)
    return levels


def _times(
    tokens: NDArray[np.bytes_], unit_fs: int, read_before: int, tally: Tally
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Times in ns, the row of the time of every token, -1 before the first one, and the times before each bad one."""
    stamp = np.flatnonzero(np.char.startswith(tokens, b"#"))
    code_of_vector = np.isin(tokens[stamp - 1].astype("S1"), (b"b", b"B", b"r", b"R")) & (stamp > 0)
    stamp = stamp[~code_of_vector]
    digits = np.char.lstrip(tokens[stamp], b"#")
    size = np.char.str_len(digits)
    good = np.char.isdigit(digits) & (size <= _MOST_DIGITS) & (size + 1 == np.char.str_len(tokens[stamp]))
    ticks = np.where(good, digits, b"0").astype(np.int64)
    good &= ticks <= min(_LATEST_NS * 10**6 // unit_fs, 10**_MOST_DIGITS)
    bad = stamp[~good]
    if len(bad):
        tally.add("bad_line", "time that is no number, or too large", f"token {read_before + bad[0] + 1}", len(bad))
    ticks = ticks[good]
    t_ns = ticks * (unit_fs // 10**6) if unit_fs >= 10**6 else ticks // (10**6 // unit_fs)
    row_of = np.zeros(len(tokens), np.int64)
    row_of[stamp[good]] = 1
    return t_ns, np.cumsum(row_of) - 1, np.searchsorted(stamp[good], bad)
