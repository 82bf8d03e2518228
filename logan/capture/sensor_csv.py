"""Crank / cam / pump recordings in CSV: edge lists, level changes and sampled voltages, told apart by content."""

from __future__ import annotations

import itertools
from typing import Final

from logan.capture.csv_head import CsvHead, is_number, parse
from logan.capture.reader import NO, Guess, Reader
from logan.capture.source import Source
from logan.knowledge import table_headers

_MODULE: Final = "logan.capture.sensor_csv_read"
EDGE_LIST: Final = "edge list"
LEVELS: Final = "level changes"
SAMPLES: Final = "sampled voltages"
NEITHER: Final = ("", NO)


def kind_of(head: CsvHead | None) -> tuple[str, Guess]:
    """Which kind of sensor recording a CSV head belongs to and how surely."""
    time = head.time_column() if head is not None and head.rows else None
    if head is None or time is None:
        return NEITHER
    if head.headings is None:
        return _without_heading(head)
    if not any(cell for k in range(head.width) if k != time for cell in head.column(k)):
        return NEITHER
    plain = [heading.plain for heading in head.headings]
    if "channel" in plain and "edge" in plain:
        return EDGE_LIST, Guess(0.97, "has the columns time, channel and edge")
    others = [k for k in range(head.width) if k != time]
    named = [k for k in others if table_headers.load().sensor(plain[k])]
    numbered = [k for k in others if plain[k].removeprefix("channel").strip("_").isdigit()]
    logic = all(cell in ("0", "1", "") for k in others for cell in head.column(k))
    if named and any(plain[k].endswith("_v") or head.headings[k].unit.lower() in ("v", "volt", "volts") for k in named):
        return SAMPLES, Guess(0.97, f"has time and a voltage named {head.headings[named[0]].name}")
    if logic and len(named) + len(numbered) == len(others):
        return LEVELS, Guess(0.95, "has time and columns of 0 and 1 named as sensors or channels")
    if named and len(named) + len(numbered) == len(others):
        return SAMPLES, Guess(0.93, f"has time and a column named {head.headings[named[0]].name}")
    return NEITHER


def _without_heading(head: CsvHead) -> tuple[str, Guess]:
    """Numbers only: ascending times and 0 / 1 beside them are level changes."""
    rows = [row for row in head.rows if len(row) == head.width and all(is_number(cell) for cell in row)]
    times = [float(row[0].replace(",", ".")) for row in rows]
    ascending = sum(b >= a for a, b in itertools.pairwise(times))
    if len(rows) < 3 or head.width > 9 or ascending < 0.9 * (len(times) - 1):
        return NEITHER
    if all(cell in ("0", "1") for row in rows for cell in row[1:]):
        return LEVELS, Guess(0.8, "no heading, ascending times and columns of 0 and 1")
    if head.width <= 4:
        return SAMPLES, Guess(0.5, "no heading, ascending times and up to three columns of numbers")
    return NEITHER


def _looks(kind: str, source: Source) -> Guess:
    found, guess = kind_of(parse(source))
    return guess if found == kind else NO


READERS: Final[tuple[Reader, ...]] = (
    Reader("sensor edges, CSV", lambda source: _looks(EDGE_LIST, source), _MODULE, (".csv",)),
    Reader("sensor edges, CSV of level changes", lambda source: _looks(LEVELS, source), _MODULE, (".csv",)),
    Reader("sensor waveform, CSV", lambda source: _looks(SAMPLES, source), _MODULE, (".csv",)),
)
