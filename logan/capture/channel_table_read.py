"""Reads channel tables."""

from __future__ import annotations

from collections import Counter
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import clock, csv_columns, csv_head, csv_marks, csv_time, empty_table, time_unit
from logan.capture.csv_head import CsvHead, Heading
from logan.capture.reader import Parsed, Tally
from logan.capture.source import Source
from logan.errors import CaptureError
from logan.model.capture import Table
from logan.model.channel import Channel
from logan.units import to_inside

_MOSTLY_REPEATED: Final = 0.3


def read(source: Source) -> Parsed:
    """One channel a column, under the name and in the inside unit of its heading.

    Raises
    ------
    CaptureError : no row of it has a time, or no column a value
    """
    head = csv_head.parse(source)
    assert head is not None
    assert head.headings is not None  # it was recognised by its heading
    _check_width(head, source)
    tally = Tally()
    headings, time = head.headings, head.time_column() or 0
    as_text = csv_time.is_text(head, time)
    date = csv_time.date_column(head, time) if as_text else None
    columns = [k for k in range(head.width) if k not in (time, date)]
    text = [k for k in (time, date) if k is not None and as_text]
    head = csv_marks.settled(source, head, columns if as_text else [time, *columns], tally)
    stamps, *rest = csv_columns.read(source, head, [time, *columns, *text[1:]], tally, text=text)
    if date is not None:
        stamps = rest.pop().str.cat(stamps, sep=" ")
    values = [csv_columns.array(column) for column in rest]
    if not any(np.isfinite(column).any() for column in values):
        reason, do = empty_table.without_value(head, len(stamps))
        raise CaptureError(reason, file=str(source.path), do=do)
    if as_text:
        times = csv_time.words(stamps, tally)
    else:
        clock_times = csv_columns.array(stamps)
        unit = time_unit.of_rows(clock_times, headings[time])
        unit.say(tally)
        times = csv_time.numbers(clock_times + unit.shift, unit.factor_s)
    line = csv_time.timeline(times, head.metadata, source, tally, clock.JITTER_NS)
    t_s = line.t_s
    half_width_s = _coarseness_s(t_s, tally)
    channels = [
        channel
        for k, column in zip(columns, values, strict=True)
        if (channel := _channel(headings[k], column[line.rows], t_s, half_width_s, tally)) is not None
    ]
    _check_twins(head, tally)
    rejected = len(stamps) - len(line.t_ns) + tally.total("bad_line") + tally.total("columns_change")
    return Parsed(
        Table(tuple(channels), line.origin_ns, bool(line.origin_ns)), len(t_s), rejected, tally.remarks(), head.metadata
    )


def _check_width(head: CsvHead, source: Source) -> None:
    """Refuse rows of whole numbers that are wider than their heading: decimal commas between commas.

    Raises
    ------
    CaptureError : the rows are so
    """
    filled = [max((k for k, cell in enumerate(row, 1) if cell), default=0) for row in head.rows]
    if head.separator != "," or not filled or 2 * sum(width > head.width for width in filled) < len(filled):
        return
    if all(cell.lstrip("-").isdigit() for row in head.rows for cell in row if cell):
        raise CaptureError(
            f"has rows of {max(filled)} cells under {head.width} headings, as with decimal commas between commas",
            file=str(source.path),
            do="save the table with semicolons between the columns, or with decimal points",
        )


def _channel(
    heading: Heading, value: NDArray[np.float64], t_s: NDArray[np.float64], half_width_s: float, tally: Tally
) -> Channel | None:
    """A column as a channel; rows without a value are left out, as the recorder had nothing to say there."""
    known = np.isfinite(value)
    if not known.any():
        if heading.name:
            tally.add("empty_column", "columns without any value left out", heading.name)
        return None
    unit, factor, offset = to_inside(csv_head.unit(heading.unit))
    value = value[known] if not heading.met else heading.factor * value[known] + heading.offset
    met = heading.met or heading.name
    return Channel(
        name=heading.name or "unnamed", unit=unit, t_s=t_s[known], value=value * factor + offset,
        half_width_s=half_width_s, source=f"column {met}" + (f" [{heading.unit}]" if heading.unit else ""),
    )  # fmt: skip


def _coarseness_s(t_s: NDArray[np.float64], tally: Tally) -> float:
    """Half the step of a clock so coarse that rows share their time, else 0."""
    step = np.diff(t_s)
    moving = step[step > 0]
    if not len(moving) or np.mean(step == 0) < _MOSTLY_REPEATED:
        return 0.0
    coarse = float(np.median(moving))
    tally.add("coarse_time", f"time runs in steps of {coarse:.6g} s, several rows share one", "time column")
    return coarse / 2


def _check_twins(head: CsvHead, tally: Tally) -> None:
    """Say where two columns have the same heading."""
    names = Counter(heading.name for heading in head.headings or ())
    for name, count in names.items():
        if name and count > 1:
            text = (
                "several columns with the same heading: the first of those with most values counts, rename the others"
            )
            tally.add("same_heading", text, f"{name} ({count} columns)")
