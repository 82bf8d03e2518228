"""The time column of a table in nanoseconds: numbers in some unit, times of day, dates with time."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logan.capture import clock, start_time
from logan.capture.can_columns import ABSOLUTE_FROM_NS
from logan.capture.csv_head import CsvHead, bare, is_number
from logan.capture.reader import Tally
from logan.capture.source import Source
from logan.errors import CaptureError
from logan.knowledge import table_headers

_DAY_NS: Final = 86_400 * 10**9
_HOUR_NS: Final = 3_600 * 10**9
_EXACT_S: Final = 4e6  # below it, steps of float64 are less than a nanosecond
_LATEST_S: Final = 9e9  # the longest time that int64 holds in ns
_DIGITS: Final = 19  # of the largest int64
_DECIMALS: Final = 9
_LONGEST_NUMBER: Final = _DIGITS + 1 + _DECIMALS
_TWO_PARTS: Final = r"\d{1,3}:\d\d(?:[.,]\d+)?"
_OTHER_FRACTION: Final = r"^(\d{1,2}:\d\d:\d\d)[:,](\d+)"
_FOURTH_PART: Final = r"(\d{1,2}:\d\d:\d\d):(\d+)"
_ZONE: Final = r"(?<=\d)\s*\b([A-Z]{3,4})(?:([+-]\d{1,2}):?(\d\d)?)?\s*$"
_LOOKED_AT: Final = 1000
"""Cells by which the form of all is told."""
_AFTERNOON: Final = r"(?i)\s*([ap])\.?m\.?\s*$"
_DAY_AND_MONTH: Final = r"^\D*(\d{1,2})([./-])(\d{1,2})[./-]\d{2,4}"
_DATE: Final = r"\d{4}[./-]\d|^\d{8}[T ]|\d\s*[./-]\s*\w+\s*[./-]\s*\d|[A-Za-z]{3}"


@dataclass(frozen=True, slots=True)
class Times:
    """Times of the rows, (n,) int64, ns; which rows have one, (n,) bool; whether they are Unix time."""

    t_ns: NDArray[np.int64]
    known: NDArray[np.bool_]
    absolute: bool


@dataclass(frozen=True, slots=True)
class Timeline:
    """Rows in order of time.

    Parameters
    ----------
    t_ns : (k,) int64, ns after ``origin_ns``, ascending
    rows : (k,) int64, the rows of the table that they belong to, or all of them as they stand
    origin_ns : Unix time of the zero in ns, 0 where the file does not say
    seams_s : see ``Edges``
    """

    t_ns: NDArray[np.int64]
    rows: NDArray[np.int64] | slice
    origin_ns: int
    seams_s: NDArray[np.float64]

    @property
    def t_s(self) -> NDArray[np.float64]:
        """Seconds, (k,)."""
        return self.t_ns / 1e9


def timeline(
    times: Times, metadata: dict[str, str], source: Source, tally: Tally, jitter_ns: int,
    groups: NDArray[np.signedinteger] | None = None,
) -> Timeline:  # fmt: skip
    """Put rows in order of time; rows without a time are counted and left out.

    Parameters
    ----------
    jitter_ns : see ``clock.settle``
    groups : (n,) which signal each row belongs to: signals that were listed one after the other are merged

    Raises
    ------
    CaptureError : no row has a time
    """
    unknown = np.flatnonzero(~times.known)
    tally.add_rows("bad_time", "row without a time", unknown, lambda row: f"row {row + 1}")
    if len(unknown) == len(times.known):
        raise CaptureError("holds no row with a time", file=str(source.path), do="check the column of times")
    rows: NDArray[np.int64] | slice = np.flatnonzero(times.known) if len(unknown) else slice(None)
    t_ns = times.t_ns[rows]
    seams: list[tuple[int, int]] = []
    if groups is not None and _in_turn(t_ns, groups[rows]):
        order: NDArray[np.int64] | None = np.argsort(t_ns, kind="stable")
    else:
        order = clock.settle(t_ns, tally, jitter_ns, seams)
    if order is not None:
        t_ns, rows = t_ns[order], order if isinstance(rows, slice) else rows[order]
    origin_ns = int(t_ns[0]) if times.absolute else start_time.origin_ns(metadata, tally) or 0
    zero_ns = origin_ns if times.absolute else 0
    return Timeline(t_ns - zero_ns if zero_ns else t_ns, rows, origin_ns, clock.seams_s(seams, zero_ns))


def _in_turn(t_ns: NDArray[np.int64], groups: NDArray[np.signedinteger]) -> bool:
    """Whether times are out of order, but not those of any one group."""
    if (t_ns[1:] >= t_ns[:-1]).all():
        return False
    return all((np.diff(t_ns[groups == group]) >= 0).all() for group in np.unique(groups))


def is_text(head: CsvHead, column: int) -> bool:
    """Whether a time column must be read as text: dates or times of day."""
    cells = [cell for cell in head.column(column) if cell]
    return bool(cells) and not any(is_number(bare(cell)) for cell in cells[:20])


def date_column(head: CsvHead, time: int) -> int | None:
    """The column of dates beside one of times of day, None where there is none."""
    if any(re.search(_DATE, cell) for cell in head.column(time)[:20]):
        return None
    names = table_headers.load().date
    for k, heading in enumerate(head.headings or ()):
        cells = [cell for cell in head.column(k) if cell]
        if k != time and heading.plain in names and cells and all(re.search(_DATE, cell) for cell in cells[:20]):
            return k
    return None


def is_long(head: CsvHead, column: int, factor_s: float) -> bool:
    """Whether a time column holds numbers that float64 would round by a nanosecond and more: Unix time above all."""
    cells = [cell.replace(",", ".") for cell in head.column(column) if is_number(cell)]
    return factor_s <= 1.0 and any(abs(float(cell)) * factor_s >= _EXACT_S for cell in cells)


def numbers(values: NDArray[np.float64], factor_s: float) -> Times:
    """Times from numbers in units of ``factor_s`` seconds."""
    known = np.isfinite(values) & (np.abs(values) * factor_s < _LATEST_S)
    seconds = np.where(known, values, 0.0) * factor_s
    whole = np.floor(seconds)
    t_ns = whole.astype(np.int64) * 10**9 + np.rint((seconds - whole) * 1e9).astype(np.int64)
    return Times(t_ns, known, _absolute(t_ns, known))


def digits(cells: pd.Series, decimal: str, factor_s: float) -> Times:
    """Times from numbers that stand as text, exact to the nanosecond; decimals beyond that are cut off."""
    text = np.array(cells.fillna("").tolist(), np.str_)
    signs = text.view(np.uint32).reshape(len(text), text.itemsize // 4)[:, :_LONGEST_NUMBER]
    whole, fraction = np.zeros((2, len(text)), np.int64)
    wholes, decimals = np.zeros((2, len(text)), np.int8)
    known, seen = np.ones(len(text), np.bool_), np.zeros(len(text), np.bool_)
    for sign in np.ascontiguousarray(signs.T):
        digit = sign.astype(np.int64) - ord("0")
        numeral, point = (digit >= 0) & (digit <= 9), (sign == ord(decimal)) & ~seen
        known &= numeral | point | (sign == 0) | (sign == ord(" "))
        before, after = numeral & ~seen, numeral & seen & (decimals < _DECIMALS)
        whole = np.where(before, 10 * whole + digit, whole)
        fraction = np.where(after, 10 * fraction + digit, fraction)
        wholes += before
        decimals += after
        seen |= point
    known &= (wholes > 0) & (wholes <= _DIGITS) & (whole >= 0) & (whole * factor_s < _LATEST_S)
    unit_ns = round(factor_s * 1e9)
    t_ns = (
        np.where(known, whole, 0) * unit_ns
        + fraction * 10 ** (_DECIMALS - decimals.astype(np.int64)) * unit_ns // 10**9
    )
    return Times(t_ns, known, _absolute(t_ns, known))


def _absolute(t_ns: NDArray[np.int64], known: NDArray[np.bool_]) -> bool:
    return bool(known.any()) and float(np.median(t_ns[known][:1000])) >= ABSOLUTE_FROM_NS


def words(cells: pd.Series, tally: Tally) -> Times:
    """Times from text: times of day (midnight is passed over), else dates with time; without zone they are UTC."""
    cells = cells.astype("string").str.strip()
    day, turn_ns = _times_of_day(cells, tally)
    if day.notna().mean() > 0.5:
        known = day.notna().to_numpy()
        t_ns = day.fillna(pd.Timedelta(0)).to_numpy().astype("timedelta64[ns]").astype(np.int64)
        step = np.diff(t_ns[known], prepend=t_ns[known][:1])
        t_ns[known] += np.cumsum(step < -turn_ns // 2) * turn_ns
        return Times(t_ns, known, False)
    dated = cells.where(cells.str.contains(_DATE, regex=True))  # a time of day alone would be taken as one of today
    dated = _with_zones(dated.str.replace(_FOURTH_PART, r"\1.\2", regex=True), tally)
    moment = pd.to_datetime(dated, errors="coerce", utc=True, format="ISO8601")
    if moment.notna().mean() < 0.5:
        day_first, why = _day_first(dated)
        moment = pd.to_datetime(dated, errors="coerce", utc=True, format="mixed", dayfirst=day_first)
        if why:
            tally.add("date_order", f"dates not in ISO 8601 form: {why}", "time column")
    if not dated.str.contains(r"[zZ]\s*$|[+-]\d\d:?\d\d\s*$", regex=True).any():
        tally.add("time_zone", "times without a time zone: taken as UTC", "time column")
    known = moment.notna().to_numpy()
    stamps = moment.dt.tz_localize(None).fillna(pd.Timestamp(0)).to_numpy().astype("datetime64[ns]").astype(np.int64)
    return Times(stamps, known, True)


def _times_of_day(cells: pd.Series, tally: Tally) -> tuple[pd.Series, int]:
    """Times of day, and after how many ns they begin anew; minutes and seconds begin anew with the hour."""
    some = cells.dropna().iloc[:_LOOKED_AT]
    if len(some) and some.str.fullmatch(_TWO_PARTS).mean() > 0.5:
        tally.add("time_unit", "times of two parts: taken as minutes and seconds", "time column")
        cells, turn_ns = "00:" + cells.str.replace(",", "."), _HOUR_NS
    else:
        turn_ns = _DAY_NS
        if some.str.match(_OTHER_FRACTION).any():
            cells = cells.str.replace(_OTHER_FRACTION, r"\1.\2", regex=True)
    cells = cells.where(cells.str.contains(":", regex=False))
    if not some.str.extract(_AFTERNOON, expand=False).notna().any():
        return pd.to_timedelta(cells, errors="coerce"), turn_ns
    half = cells.str.extract(_AFTERNOON, expand=False).str.lower()
    day = pd.to_timedelta(cells.str.replace(_AFTERNOON, "", regex=True), errors="coerce")
    t = day.to_numpy().astype("timedelta64[ns]")
    noon = np.timedelta64(_DAY_NS // 2, "ns")
    shift = np.where((half == "p").fillna(False).to_numpy(bool), noon, np.timedelta64(0, "ns"))
    return pd.to_timedelta(pd.Series(np.where(half.notna().to_numpy(bool), t % noon + shift, t))), turn_ns


def _day_first(cells: pd.Series) -> tuple[bool, str]:
    """Whether the day stands before the month in dates such as 05/06/2024, and what is to be said of it."""
    parts = cells.str.extract(_DAY_AND_MONTH).dropna()
    if not len(parts):
        return False, ""  # the year stands in front, or the month in letters
    first, second = parts[0].astype(int), parts[2].astype(int)
    day, month = "the day is taken to stand before the month", "the month is taken to stand before the day"
    if (first > 12).any() or (parts[1] == ".").any():
        return True, day
    if (second > 12).any():
        return False, month
    if cells.str.extract(_AFTERNOON, expand=False).notna().any():
        return False, f"{month}, as where hours are counted to twelve"
    return True, f"{day}, which these dates leave open"


def _with_zones(cells: pd.Series, tally: Tally) -> pd.Series:
    """Dates whose zone stands in digits where it was UTC, GMT or hours from them; other names are left out."""
    zone = cells.str.extract(_ZONE)
    if not zone[0].notna().any():
        return cells
    is_utc = zone[0].isin(("UTC", "GMT"))
    others = sorted(set(zone[0][~is_utc].dropna()))
    if others:
        tally.add("time_zone", f"names of time zones are left out: {', '.join(others)}", "time column")
    hours = zone[1].fillna("+00").str.replace(r"^([+-])(\d)$", r"\g<1>0\2", regex=True)
    bare = cells.str.replace(_ZONE, "", regex=True)
    return bare.where(~is_utc, bare + hours + ":" + zone[2].fillna("00"))
