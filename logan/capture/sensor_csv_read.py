"""Reads crank / cam / pump recordings in CSV."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logan.capture import csv_columns, csv_head, csv_time, sensor_names
from logan.capture.csv_head import CsvHead
from logan.capture.edge_lists import edges_of, from_levels
from logan.capture.reader import Parsed, Tally
from logan.capture.sensor_csv import EDGE_LIST, LEVELS, kind_of
from logan.capture.source import Source
from logan.knowledge import table_headers
from logan.model.sensor import Edges, Waveform

_DIRECTIONS: Final = {
    **dict.fromkeys(("rising", "rise", "r", "up", "1", "high", "positive"), 1),
    **dict.fromkeys(("falling", "fall", "f", "down", "0", "low", "negative"), 0),
}


def read(source: Source) -> Parsed:
    """Edges or voltages of a sensor recording.

    Raises
    ------
    CaptureError : no row has a time
    """
    head = csv_head.parse(source)
    assert head is not None  # it was recognised by its head
    kind, _ = kind_of(head)
    tally = Tally()
    if kind == EDGE_LIST:
        return _edge_list(source, head, tally)
    time = head.time_column() or 0
    columns = [k for k in range(head.width) if k != time]
    stamps, *rest = csv_columns.read(source, head, [time, *columns], tally)
    line = csv_time.timeline(_times(head, time, stamps), head.metadata, source, tally, 0)
    values = [csv_columns.array(column)[line.rows] for column in rest]
    names = [head.headings[k].plain if head.headings else "" for k in columns]
    content: Edges | Waveform
    if kind == LEVELS:
        content, notes = from_levels(line.t_ns, values, names, line.origin_ns)
    else:
        found, notes = _named(names, values)
        volts: dict[str, NDArray[np.floating]] = {sensor: values[k].astype(np.float32) for sensor, k in found.items()}
        content = Waveform(line.t_s, volts, line.origin_ns, bool(line.origin_ns))
    for note in notes:
        tally.add("sensor_names", note, "heading")
    rejected = len(stamps) - len(line.rows) + tally.total("bad_line")
    return Parsed(content, len(line.rows), rejected, tally.remarks(), head.metadata)


def _times(head: CsvHead, column: int, stamps: pd.Series) -> csv_time.Times:
    heading = head.headings[column] if head.headings else None
    return csv_time.numbers(csv_columns.array(stamps), csv_time.scale_s(heading))


def _named(names: list[str], values: list[NDArray[np.float64]]) -> tuple[Mapping[str, int], tuple[str, ...]]:
    """Sensors of sampled voltages; columns without any name are crank, cam, pump in this order."""
    if not any(names):
        return dict(zip(sensor_names.SENSORS, range(len(values)), strict=False)), (
            "no heading: taken as crank, cam, pump",
        )
    return sensor_names.assign(names, [int(np.count_nonzero(np.diff(value))) for value in values])


def _edge_list(source: Source, head: CsvHead, tally: Tally) -> Parsed:
    """One row an edge: time, channel, edge."""
    assert head.headings is not None
    plain = [heading.plain for heading in head.headings]
    time, channel, edge = head.time_column() or 0, plain.index("channel"), plain.index("edge")
    stamps, sensors, directions = csv_columns.read(source, head, [time, channel, edge], tally, text=[channel, edge])
    spelled = {
        name: k for k, sensor in enumerate(sensor_names.SENSORS) for name in table_headers.load().sensors[sensor]
    }
    who = _coded(sensors, spelled, "channel", tally)
    up = _coded(directions, _DIRECTIONS, "edge", tally)
    line = csv_time.timeline(_times(head, time, stamps), head.metadata, source, tally, 0, groups=who)
    who, up = who[line.rows], up[line.rows]
    good = (who >= 0) & (up >= 0)
    content = edges_of(line.t_ns[good], who[good], up[good] == 1, line.origin_ns)
    count = int(np.count_nonzero(good))
    rejected = len(stamps) - count + tally.total("bad_line")
    return Parsed(content, count, rejected, tally.remarks(), head.metadata)


def _coded(cells: pd.Series, known: dict[str, int], what: str, tally: Tally) -> NDArray[np.int64]:
    """Words as numbers, -1 for those that are not known."""
    codes, found = cells.factorize()
    meaning = np.array([*(known.get(str(word).strip().lower(), -1) for word in found), -1])
    out: NDArray[np.int64] = meaning[codes]
    tally.add_rows("bad_word", f"row whose {what} is not known", np.flatnonzero(out < 0),
                   lambda row: f"row {row + 1} ({str(cells.iloc[row])[:20]})")  # fmt: skip
    return out
