"""Reads crank / cam / pump recordings in CSV."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logan.capture import csv_columns, csv_head, csv_time, sensor_names, time_unit
from logan.capture.csv_head import CsvHead
from logan.capture.edge_lists import edges_of, from_levels, unread_s
from logan.capture.reader import Parsed, Tally
from logan.capture.sensor_csv import EDGE_LIST, LEVELS, SAMPLES, kind_of
from logan.capture.source import Source
from logan.capture.time_unit import TimeUnit
from logan.knowledge import table_headers
from logan.model.sensor import Edges, Waveform

_DIRECTIONS: Final = {
    **dict.fromkeys(("rising", "rise", "r", "up", "1", "high", "positive"), 1),
    **dict.fromkeys(("falling", "fall", "f", "down", "0", "low", "negative"), 0),
}

OTHER_SENSOR: Final = -2
FEWEST_OF_OTHER: Final = 5  # rows in a block, and
SHARE_OF_OTHER: Final = 0.01  # of its rows; damage is rarer
LEAST_FILLED: Final = 0.5  # of its rows, from which a column is a signal

MOST_VOLTS: Final = 1e9
"""No sensor gives more, not even in counts of a converter."""


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
    unit = _unit(source, head, kind, time, columns)
    unit.say(tally)
    spoilt: list[int] = []
    text = list(_long_times(head, time, unit))
    stamps, *rest = csv_columns.read(source, head, [time, *columns], tally, text, spoilt=spoilt)
    line = csv_time.timeline(_times(head, time, stamps, unit), head.metadata, source, tally, 0)
    values = [csv_columns.array(column)[line.rows] for column in rest]
    names = [head.headings[k].plain if head.headings else "" for k in columns]
    content: Edges | Waveform
    if kind == LEVELS:
        unread = _unread(np.array(spoilt, np.int64), len(stamps), line)
        content, notes = from_levels(line.t_ns, values, names, line.origin_ns, unread, line.seams_s)
    else:
        found, notes = _named(names, values)
        volts: dict[str, NDArray[np.floating]] = {
            sensor: _volts(values[k], sensor, tally).astype(np.float32) for sensor, k in found.items()
        }
        whole = _whole(volts.values(), len(line.t_ns))
        unread = _unread(np.array(spoilt, np.int64), len(stamps), line, whole)
        content = Waveform(line.t_s, volts, line.origin_ns, bool(line.origin_ns), unread, line.seams_s)
    for note in notes:
        tally.add("sensor_names", note, "heading")
    rejected = len(stamps) - len(line.t_ns) + tally.total("bad_line")
    return Parsed(content, len(line.t_ns), rejected, tally.remarks(), head.metadata)


def _whole(volts: Iterable[NDArray[np.floating]], rows: int) -> NDArray[np.bool_] | slice:
    """Rows in which no signal lacks its sample; a column that is empty for the most part is no signal."""
    whole = np.ones(rows, np.bool_)
    for column in volts:
        here = np.isfinite(column)
        if np.count_nonzero(here) > LEAST_FILLED * rows:
            whole &= here
    return whole if not whole.all() else slice(None)  # all of them: no copy


def _unread(
    spoilt: NDArray[np.int64], rows: int, line: csv_time.Timeline, kept: NDArray[np.bool_] | slice = slice(None),
) -> NDArray[np.float64]:  # fmt: skip
    """Where rows of a table were refused, see ``Edges``.

    Parameters
    ----------
    spoilt : see ``csv_columns.blocks``
    rows : of the table
    kept : which ones of the timeline were not refused after all
    """
    if not len(spoilt) and isinstance(kept, slice) and len(line.t_ns) == rows:
        return unread_s(spoilt, line.t_ns, kept)
    t_ns = line.t_ns[kept]
    absent = np.ones(rows, np.bool_)
    absent[line.rows] = False if isinstance(kept, slice) else ~kept
    gone = np.flatnonzero(absent)
    spoilt = np.append(spoilt, gone)
    if isinstance(line.rows, slice) or (line.rows[1:] > line.rows[:-1]).all():
        return unread_s(spoilt - np.searchsorted(gone, spoilt), t_ns, slice(None))
    return unread_s(spoilt, t_ns, line.rows[kept])


def _volts(values: NDArray[np.float64], sensor: str, tally: Tally) -> NDArray[np.float64]:
    """Without values that no sensor gives and float32 does not hold; they are counted."""
    wild = np.abs(values) > MOST_VOLTS
    if wild.any():
        tally.add_rows("bad_value", f"no voltage of {sensor}", np.flatnonzero(wild), lambda row: f"row {row + 1}")
    return np.where(wild, np.nan, values)


def _times(head: CsvHead, column: int, stamps: pd.Series, unit: TimeUnit) -> csv_time.Times:
    if _long_times(head, column, unit):
        return csv_time.digits(stamps, head.decimal, unit.factor_s)
    return csv_time.numbers(csv_columns.array(stamps), unit.factor_s)


def _unit(source: Source, head: CsvHead, kind: str, time: int, columns: list[int]) -> TimeUnit:
    """The unit of the times, where no heading names it by the first block of rows: edges of the busiest sensor."""
    heading = head.headings[time] if head.headings else None
    if time_unit.has_unit(heading):
        return TimeUnit(time_unit.scale_s(heading))
    text = {columns[0]: "category"} if kind == EDGE_LIST else {}
    block = next(csv_columns.blocks(source, head, [time, *columns], Tally(), text), None)
    if block is None:
        return TimeUnit()
    t = csv_columns.array(block[0])
    if kind == SAMPLES:
        return time_unit.of_samples(t, heading)
    if kind == EDGE_LIST:
        channel = block[1].cat.codes.to_numpy()
        return time_unit.of_edges(t[channel == np.argmax(np.bincount(channel + 1)) - 1], heading)
    edges = [np.flatnonzero(np.diff(csv_columns.array(level), prepend=np.nan)) for level in block[1:]]
    return time_unit.of_edges(t[max(edges, key=len, default=slice(0))], heading)


def _long_times(head: CsvHead, column: int, unit: TimeUnit) -> dict[int, str]:
    """The time column as text where its numbers are too long for float64."""
    return {column: "str"} if csv_time.is_long(head, column, unit.factor_s) else {}


def _named(names: list[str], values: list[NDArray[np.float64]]) -> tuple[Mapping[str, int], tuple[str, ...]]:
    """Sensors of sampled voltages; columns without any name are crank, cam, pump in this order."""
    if not any(names):
        return dict(zip(sensor_names.SENSORS, range(len(values)), strict=False)), (
            "no heading: taken as crank, cam, pump",
        )
    return sensor_names.assign(names, [int(np.count_nonzero(np.diff(value))) for value in values])


def _edge_list(source: Source, head: CsvHead, tally: Tally) -> Parsed:
    """One row an edge: time, channel, edge; words become small numbers block by block."""
    assert head.headings is not None
    plain = [heading.plain for heading in head.headings]
    time, channel, edge = head.time_column() or 0, plain.index("channel"), plain.index("edge")
    _say_twins(head, (time, channel, edge), tally)
    unit = _unit(source, head, EDGE_LIST, time, [channel])
    unit.say(tally)
    spelled = {
        name: k for k, sensor in enumerate(sensor_names.SENSORS) for name in table_headers.load().sensors[sensor]
    }
    spelled |= {
        met: sensor_names.SENSORS.index(own.means)
        for met, own in source.headings.items()
        if own.means in sensor_names.SENSORS
    }
    text = {channel: "category", edge: "category", **_long_times(head, time, unit)}
    t_ns, known = [np.empty(0, np.int64)], [np.empty(0, np.bool_)]
    who, up = [np.empty(0, np.int8)], [np.empty(0, np.int8)]
    absolute = False
    rows, spoilt = 0, list[int]()
    wanted = [time, channel, edge]
    for stamps, sensors, directions in csv_columns.blocks(source, head, wanted, tally, text, spoilt=spoilt):
        times = _times(head, time, stamps, unit)
        t_ns.append(times.t_ns)
        known.append(times.known)
        absolute |= times.absolute
        who.append(_with_others(_coded(sensors, spelled, "channel", rows, tally), sensors))
        up.append(_coded(directions, _DIRECTIONS, "edge", rows, tally))
        rows += len(stamps)
    every = csv_time.Times(_joined(t_ns), _joined(known), absolute)
    sensor, rising = _joined(who), _joined(up)
    line = csv_time.timeline(every, head.metadata, source, tally, 0, groups=sensor)
    sensor, rising = sensor[line.rows], rising[line.rows]
    good = (sensor >= 0) & (rising >= 0)
    count = int(np.count_nonzero(good))
    kept = good if count < len(sensor) else slice(None)  # all of them: no copy
    read = good | ((sensor == OTHER_SENSOR) & (rising >= 0)) if count < len(sensor) else slice(None)
    unread = _unread(np.array(spoilt, np.int64), rows, line, read)
    content = edges_of(line.t_ns[kept], sensor[kept], rising[kept] == 1, line.origin_ns, unread, line.seams_s)
    rejected = rows - count + tally.total("bad_line")
    return Parsed(content, count, rejected, tally.remarks(), head.metadata)


def _with_others(sensor: NDArray[np.int8], cells: pd.Series) -> NDArray[np.int8]:
    """Unknown words that come again and again name a sensor that is none of ours; the rest may be damage."""
    codes = cells.cat.codes.to_numpy()
    fewest = max(FEWEST_OF_OTHER, SHARE_OF_OTHER * len(codes))
    often = np.append(np.bincount(codes[codes >= 0], minlength=len(cells.cat.categories)) >= fewest, False)
    out: NDArray[np.int8] = np.where((sensor < 0) & often[codes], np.int8(OTHER_SENSOR), sensor)
    return out if (out < -1).any() else sensor


def _joined(parts: list[NDArray[Any]]) -> NDArray[Any]:
    """Blocks as one array; the blocks are given back."""
    out: NDArray[Any] = np.concatenate(parts)
    parts.clear()
    return out


def _say_twins(head: CsvHead, taken: tuple[int, ...], tally: Tally) -> None:
    """Say which of several columns with the same heading was taken."""
    plain = [heading.plain for heading in head.headings or ()]
    for k in taken:
        if plain.count(plain[k]) > 1:
            tally.add("same_heading", "several columns with the same heading: the first one is taken", plain[k])


def _coded(cells: pd.Series, known: dict[str, int], what: str, first_row: int, tally: Tally) -> NDArray[np.int8]:
    """Words of few kinds as numbers, -1 for those that are not known."""
    meaning = np.array([*(known.get(str(word).strip().lower(), -1) for word in cells.cat.categories), -1], np.int8)
    out: NDArray[np.int8] = meaning[cells.cat.codes.to_numpy()]
    tally.add_rows("bad_word", f"row whose {what} is not known", np.flatnonzero(out < 0),
                   lambda row: f"row {first_row + row + 1} ({str(cells.iloc[row])[:20]})")  # fmt: skip
    return out
