"""The unit of times whose heading names none, by what an engine and those who record it can do; every guess is said."""

from __future__ import annotations

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.capture.csv_head import CsvHead, Heading
from logan.capture.reader import Tally
from logan.knowledge import table_headers

_UNITS: Final = ((1.0, "seconds"), (1e-3, "milliseconds"), (1e-6, "microseconds"), (1e-9, "nanoseconds"))
_UNIX_SIZES: Final = ((1e17, 3), (1e14, 2), (1e11, 1), (1e8, 0))
"""Numbers from here on may be Unix time in such a unit: in a coarser one they would lie beyond the year 5000."""
_UNIX_STEP_S: Final = 3600.0
_FAR_APART_S: Final = 10.0
_SLOWEST_S: Final = 60.0
_FASTEST_S: Final = 1e-3
_SHORTEST_S: Final = 1.0
_LONGEST_S: Final = 86_400.0
"""A drive has rows less than 10 s apart, never more than 60 s, nor more than 1000 in a second; it lasts a second at
least and a day at most (judgement)."""
_SHEET_DAYS: Final = (36_526.0, 73_051.0)
_SHEET_ZERO_DAY: Final = 25_569
_SHEET_STEP: Final = 1e-3
"""Days of a spreadsheet's calendar: 1 January 2000 to 2100, Unix time 0; steps of a minute at most (from memory)."""
_EVEN_S: Final = np.array([0.01, 0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 60.0])
"""Between rows, s, as recorders are set (common practice, no source)."""
_BYTE_STEPS: Final = ((50.0, 1), (2e5, 2), (np.inf, 3))
"""Usual step below which whole numbers in front of bus bytes are in a unit (judgement)."""
_EDGE_STEP_S: Final = (1e-5, 1e-3, 0.3)
_SAMPLE_STEP_S: Final = (1e-7, 2e-5, 1e-2)
"""From edge to edge, and from voltage to voltage: least, usual, most. A wheel has 4 to 360 teeth (judgement)."""
_RECORD_S: Final = 0.1
_SPEED_RPM: Final = (40.0, 10_000.0)
"""Of an engine that turns, half of it where a wheel has two gaps (judgement)."""
_GAP: Final = 1.6
_FEWEST_STEPS: Final = 8
_FEWEST_TURNS: Final = 3


class TimeUnit(Struct, frozen=True):
    """Seconds in one unit, what is added to a number before, and what is to be said; nothing where it is sure."""

    factor_s: float = 1.0
    shift: float = 0.0
    said: str = ""

    def say(self, tally: Tally) -> None:
        """Remark on the guess."""
        if self.said:
            tally.add("time_unit", self.said, "time column")


def scale_s(heading: Heading | None) -> float:
    """Seconds in one unit of a time column."""
    if heading is None:
        return 1.0
    units = table_headers.load().time_units
    return units.get(heading.unit.lower(), units.get(heading.plain.rpartition("_")[2], 1.0))


def has_unit(heading: Heading | None) -> bool:
    """Whether the heading of a time column says in what unit."""
    units = table_headers.load().time_units
    return heading is not None and (heading.unit.lower() in units or heading.plain.rpartition("_")[2] in units)


def of_rows(values: NDArray[np.float64], heading: Heading | None) -> TimeUnit:
    """The unit of times in front of measured values, (n,)."""
    known = values[np.isfinite(values)]
    if heading is None or has_unit(heading) or len(known) < 2:
        return TimeUnit(scale_s(heading))
    step = np.diff(known)
    usual = float(np.median(step[step > 0])) if (step > 0).any() else 0.0
    least, most = float(known.min()), float(known.max())
    if _SHEET_DAYS[0] <= least and most <= _SHEET_DAYS[1] and 0 < usual < _SHEET_STEP and most - least < 1:
        text = "times are days of a spreadsheet's calendar, without a time zone: UTC"
        return TimeUnit(86_400.0, -_SHEET_ZERO_DAY, text)
    if least >= 0 and most < 1 and 0 < usual < _SHEET_STEP:
        return _day_or_second(least, usual)
    is_whole = bool((known == np.floor(known)).all())
    middle = float(np.median(known))
    unix = next((unit for size, unit in _UNIX_SIZES if middle >= size), None)
    if unix is not None and usual * _UNITS[unix][0] <= _UNIX_STEP_S:
        factor_s, name = _UNITS[unix]
        said = f"whole numbers of time without a unit: taken as {name} of Unix time" if unix and is_whole else ""
        return TimeUnit(factor_s if is_whole else 1.0, 0.0, said)
    return _of_steps(usual, usual * np.count_nonzero(step > 0)) if is_whole or usual >= _FAR_APART_S else TimeUnit()


def _day_or_second(least: float, usual: float) -> TimeUnit:
    """Times below 1 in small steps: of day as its part where they begin late or step evenly so, else s."""
    if least > _SHEET_STEP or (np.abs(usual * 86_400 / _EVEN_S - 1) < 0.01).any():
        text = "times are taken as parts of a day, as a spreadsheet keeps the time of day; if they are seconds, "
        return TimeUnit(86_400.0, 0.0, text + "write s into the heading: Time [s]")
    return TimeUnit(1.0, 0.0, "times below 1 without a unit: taken as seconds, not as parts of a day")


def _of_steps(usual: float, length: float) -> TimeUnit:
    """The unit in which rows lie as close as in a drive, the coarser one where the record were too short in it."""

    def possible(unit: int) -> bool:
        factor_s = _UNITS[unit][0]
        return _FASTEST_S <= usual * factor_s <= _SLOWEST_S and _SHORTEST_S <= length * factor_s <= _LONGEST_S

    fits = (k for k, (f, _) in enumerate(_UNITS) if usual * f < _FAR_APART_S and length * f <= _LONGEST_S)
    unit = next(fits, len(_UNITS) - 1)
    if unit and length * _UNITS[unit][0] < _SHORTEST_S and possible(unit - 1):
        unit -= 1
    others = [k for k in (unit - 1, unit + 1) if 0 <= k < len(_UNITS) and possible(k)]
    if not others and usual < _FAR_APART_S:
        return TimeUnit()
    return _guess(unit, others, usual, length)


def _guess(unit: int, others: list[int], usual: float, length: float, why: str = "") -> TimeUnit:
    """A unit with what is said of it and of others that are possible."""
    factor_s, name = _UNITS[unit]
    said = f"times without a unit: taken as {name} ({why or _in_words(usual, length, factor_s)})"
    if others:
        other_s, other = _UNITS[others[0]]
        said += f"; if they are {other} ({_in_words(usual, length, other_s)}), write the unit into the heading"
    return TimeUnit(factor_s, 0.0, said)


def _in_words(usual: float, length: float, factor_s: float) -> str:
    return f"{usual * factor_s:.3g} s apart, {length * factor_s:.5g} s in all"


def of_edges(t: NDArray[np.float64], heading: Heading | None) -> TimeUnit:
    """The unit of whole numbers in front of one sensor's edges, (n,): by the speed that comes out, else by the steps.

    Two neighbouring edges of a crank with a gap tell how long a turn takes.
    """
    step = _whole_steps(t, heading)
    if step is None:
        return TimeUnit(scale_s(heading))
    usual, length = float(np.median(step[step > 0])), float(step[step > 0].sum())
    turn = _turn(t)
    for unit, (factor_s, _) in enumerate(_UNITS):
        if turn and _SPEED_RPM[0] <= 60 / (turn * factor_s) <= _SPEED_RPM[1]:
            return _guess(unit, [], usual, length, f"{60 / (turn * factor_s):.0f} rpm between the gaps of the wheel")
    return _nearest(usual, length, _EDGE_STEP_S)


def of_samples(t: NDArray[np.float64], heading: Heading | None) -> TimeUnit:
    """The unit of whole numbers in front of sampled voltages, (n,)."""
    step = _whole_steps(t, heading)
    if step is None:
        return TimeUnit(scale_s(heading))
    return _nearest(float(np.median(step[step > 0])), float(step[step > 0].sum()), _SAMPLE_STEP_S)


def of_bytes(head: CsvHead, column: int) -> TimeUnit:
    """The unit of whole numbers in front of bus bytes: 1 ms and more apart (10,400 bit/s, ISO 9141-2)."""
    heading = head.headings[column] if head.headings else None
    cells = [cell for cell in head.column(column) if cell]
    step = _whole_steps(
        np.array([float(cell) if cell.isascii() and cell.isdigit() else 0.5 for cell in cells]), heading
    )
    if step is None:
        return TimeUnit(scale_s(heading))
    usual = float(np.median(step[step > 0]))
    unit = next(unit for most, unit in _BYTE_STEPS if usual < most)
    return _guess(unit, [], usual, float(step[step > 0].sum()))


def _whole_steps(t: NDArray[np.float64], heading: Heading | None) -> NDArray[np.float64] | None:
    """Steps of whole numbers whose heading names no unit; None where it does, or many stand together, as seconds do."""
    t = t[np.isfinite(t)]
    if has_unit(heading) or not (t == np.floor(t)).all():
        return None
    step = np.diff(t)
    return step if np.count_nonzero(step > 0) >= max(_FEWEST_STEPS, len(step) / 2) else None


def _turn(t: NDArray[np.float64]) -> float:
    """How long a turn takes by the gaps of a crank wheel; 0 where there are none in equal distances."""
    double = t[2:] - t[:-2]  # of a tooth and its gap, whose parts may be unlike
    if not (double > 0).any():
        return 0.0
    long = np.flatnonzero(double > _GAP * np.median(double[double > 0]))
    begin = long[np.diff(long, prepend=-9) > 2]
    teeth = np.diff(begin)
    if len(teeth) < _FEWEST_TURNS or np.mean(np.abs(teeth - np.median(teeth)) <= 1) < 0.7:
        return 0.0
    return float(np.median(np.diff(t[begin])))


def _nearest(usual: float, length: float, step_s: tuple[float, float, float]) -> TimeUnit:
    """The unit whose steps are nearest to the usual ones, and in which the record is no mere instant."""
    least, middle, most = step_s
    units = [k for k, (f, _) in enumerate(_UNITS) if least <= usual * f <= most]
    units = [k for k in units if length * _UNITS[k][0] >= _RECORD_S] or units or list(range(1, len(_UNITS)))
    first, *others = sorted(units, key=lambda k: abs(np.log(usual * _UNITS[k][0] / middle)))
    return _guess(first, others, usual, length)
