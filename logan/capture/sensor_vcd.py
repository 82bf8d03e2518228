"""Sensor edges from a value change dump (VCD, IEEE 1364-2005 clause 18)."""

from __future__ import annotations

import re
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import clock, start_time
from logan.capture.edge_lists import from_levels
from logan.capture.reader import NO, Guess, Parsed, Reader, Tally
from logan.capture.source import Source
from logan.errors import CaptureError

_SECTION: Final = re.compile(rb"\$(\w+)\s+(.*?)\s*\$end", re.DOTALL)
_TIMESCALE: Final = re.compile(rb"(1|10|100)\s*(s|ms|us|ns|ps|fs)")
_UNIT_FS: Final = {b"s": 10**15, b"ms": 10**12, b"us": 10**9, b"ns": 10**6, b"ps": 10**3, b"fs": 1}
_LONGEST_TOKEN: Final = 40
_OTHER: Final = re.compile(r"[^a-z0-9]+")


def looks(source: Source) -> Guess:
    """A value change dump declares variables and ends its definitions."""
    head = source.head
    if b"$var" not in head or b"$enddefinitions" not in head:
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
    definitions, _, changes = content.partition(b"$enddefinitions")
    tally = Tally()
    metadata = {key.decode(): " ".join(text.decode("utf-8", "replace").split())
                for key, text in _SECTION.findall(definitions) if key in (b"date", b"version")}  # fmt: skip
    for key, text in _SECTION.findall(definitions):
        name, colon, value = text.decode("utf-8", "replace").partition(":")
        if key == b"comment" and colon:
            metadata.setdefault(name.strip(), value.strip())
    scale = _TIMESCALE.search(dict(_SECTION.findall(definitions)).get(b"timescale", b""))
    variables = [text.split() for key, text in _SECTION.findall(definitions) if key == b"var"]
    bits = {
        words[2]: words[3].decode("utf-8", "replace") for words in variables if len(words) >= 4 and words[1] == b"1"
    }
    if scale is None or not bits:
        what = "no time scale" if scale is None else "no signal of one bit"
        raise CaptureError(f"declares {what}", file=str(source.path), do="export it again with its definitions")
    unit_fs = int(scale[1]) * _UNIT_FS[scale[2]]

    tokens = np.array([word for word in changes.split() if len(word) <= _LONGEST_TOKEN], np.bytes_)
    if not len(tokens):
        raise CaptureError(
            "holds no change of a level", file=str(source.path), do="record again while the engine turns"
        )
    first = tokens.view(np.uint8).reshape(len(tokens), -1)[:, 0]
    times, row_of = _times(tokens, unit_fs, tally)
    levels = []
    for code in bits:
        mine = {b"0" + code: 0.0, b"1" + code: 1.0}
        level = np.full(len(times), np.nan)
        for token, value in mine.items():
            level[row_of[tokens == token]] = value
        vector = np.flatnonzero((tokens[1:] == code) & ((first[:-1] == ord("b")) | (first[:-1] == ord("B"))))
        last = np.char.endswith(tokens[vector], b"1")
        level[row_of[vector]] = np.where(last, 1.0, 0.0)
        levels.append(level)
    rows = clock.settle(times, tally, 0)
    if rows is not None:
        times, levels = times[rows], [level[rows] for level in levels]
    origin_ns = start_time.origin_ns(metadata, tally) or 0
    names = [_OTHER.sub("_", name.lower()).strip("_") for name in bits.values()]
    edges, notes = from_levels(times, levels, names, origin_ns)
    for note in notes:
        tally.add("sensor_names", note, "$var")
    count = sum(map(len, (*edges.rising_s.values(), *edges.falling_s.values())))
    return Parsed(edges, count, tally.total("bad_line"), tally.remarks(), metadata)


def _times(tokens: NDArray[np.bytes_], unit_fs: int, tally: Tally) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Times in ns and, for every token, the row of the time that it belongs to; what stands before the first time
    belongs to it.
    """
    text = tokens.view(np.uint8).reshape(len(tokens), -1)
    stamp = text[:, 0] == ord("#")
    digits = text[:, 1:]
    bad = stamp & ~(((digits >= ord("0")) & (digits <= ord("9"))) | (digits == 0)).all(axis=1)
    bad |= stamp & (digits[:, :1] == 0).all(axis=1)
    if bad.any():
        tally.add("bad_line", "time that is no number", f"token {int(np.argmax(bad)) + 1}", int(np.count_nonzero(bad)))
        stamp &= ~bad
    if not stamp.any():
        return np.zeros(1, np.int64), np.zeros(len(tokens), np.int64)
    ticks = np.ascontiguousarray(digits[stamp]).view(f"S{digits.shape[1]}")[:, 0].astype(np.int64)
    t_ns = ticks * (unit_fs // 10**6) if unit_fs >= 10**6 else ticks // (10**6 // unit_fs)
    return t_ns, np.maximum(np.cumsum(stamp) - 1, 0)
