"""Three drives and more: slope and steps of each measure, and when it would reach its limit."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from logan.comparison.differences import RATE
from logan.comparison.drive import Drive, beyond, cylinder, reference, values
from logan.comparison.statistics import Z95, adjusted, trend_chance
from logan.dsp.change_points import change_points
from logan.dsp.trend import theil_sen
from logan.model.comparison import Reference, Trend, Value

Array = NDArray[np.float64]

LEAST: Final = 3
LEAST_FOR_STEPS: Final = 4
PENALTY: Final = 4.0
"""Price of a step in units of variance times log n: twice that of the usual criterion (Yao 1988, from memory)."""
DAY_S: Final = 86_400.0
APART_S: Final = 1.0
"""Drives that start closer than this have clocks that nobody set."""


def in_order(drives: Sequence[Drive]) -> tuple[list[Drive], list[float], str]:
    """Drives in order of time, their times after the first, and the unit; the order given where a clock is missing."""
    starts = [drive.start() for drive in drives]
    known = [start for start in starts if start is not None]
    if len(known) == len(drives) and all(b - a >= APART_S for a, b in itertools.pairwise(sorted(known))):
        ordered = sorted(zip(known, drives, strict=True), key=lambda pair: pair[0])
        return [drive for _, drive in ordered], [(start - ordered[0][0]) / DAY_S for start, _ in ordered], "day"
    return list(drives), [float(k + 1) for k in range(len(drives))], "drive"


def trends(drives: Sequence[Drive], at: Sequence[float], per: str) -> list[Trend]:
    """The trend of every number that at least three drives have, those shown with false discoveries under control."""
    series: dict[tuple[str, int | None], list[tuple[float, int, Value]]] = {}
    units: dict[str, str] = {}
    for k, (drive, t) in enumerate(zip(drives, at, strict=True)):
        for measure in drive.finding.measures:
            units.setdefault(measure.name, measure.unit)
            for number, value in enumerate(values(measure)):
                series.setdefault((measure.name, cylinder(measure, number)), []).append((t, k, value))
    profile = drives[-1].record.profile
    judged = not any(drive.contradiction() for drive in drives)
    out = [
        _trend(name, units[name], number, rows, per, reference(name, profile, None) if judged else None)
        for (name, number), rows in series.items()
        if len(rows) >= LEAST
    ]
    chances = adjusted(np.array([one.p for one in out])).tolist()
    return [_decided(one, p) for one, p in zip(out, chances, strict=True)]


def _trend(
    name: str, unit: str, number: int | None, rows: list[tuple[float, int, Value]], per: str, where: Reference | None
) -> Trend:
    t = np.array([row[0] for row in rows])
    y, low, high = (np.array([getattr(row[2], part) for row in rows]) for part in ("value", "low", "high"))
    slope, least, most = theil_sen(t, y)
    last, sd = rows[-1][2], (high - low) / (2.0 * Z95)
    steps = [rows[k][1] for k in _steps(y, sd, slope * t)]
    towards = reach = None
    passed = where is not None and where.limit is not None and beyond(where, last)
    if where is not None and where.limit is not None and slope and not passed:
        limit = where.limit if where.kind != "about" else where.centre + np.copysign(where.limit, slope)
        towards = where.kind == "about" or (slope > 0.0) == (where.kind == "over")
        reach = _reach(t, y, (slope, least, most), limit, 0.5 * (last.high - last.low)) if towards else None
    return Trend(
        measure=name, unit=unit, per=per, at=t.tolist(), values=y.tolist(), lows=low.tolist(), highs=high.tolist(),
        slope=slope, low=least, high=most, p=trend_chance(t, y, sd), p_adjusted=1.0, shown=False, cylinder=number,
        steps=steps, towards_limit=towards, passed=passed, reaches=reach,
    )  # fmt: skip


def _steps(y: Array, sd: Array, line: Array) -> list[int]:
    """Steps between drives, against what each is uncertain by and what neighbours differ by anyway.

    None where the line of the slope explains the values at a lower price.
    """
    if len(y) < LEAST_FOR_STEPS:
        return []
    between = float(np.median(np.abs(np.diff(y)))) / 0.6745 / np.sqrt(2.0)
    variance = float(np.median(sd)) ** 2 + between**2
    if variance == 0.0:
        return []
    penalty = PENALTY * variance * float(np.log(len(y)))
    starts = change_points(y, penalty)
    stepped = sum(_scatter(part) for part in np.split(y, starts)) + penalty * len(starts)
    return starts if stepped < _scatter(y - line) + penalty else []


def _scatter(y: Array) -> float:
    return float(np.sum((y - np.mean(y)) ** 2))


def _reach(
    t: Array, y: Array, slopes: tuple[float, float, float], limit: float, half: float
) -> tuple[float, float, float] | None:
    """When the limit would be reached, earliest and latest over the slope's interval and that of the last level."""
    middle, least, most = slopes
    if not np.isfinite([least, most]).all() or least * most <= 0.0:
        return None

    def when(slope: float, shift: float) -> float:
        level = float(np.median(y - slope * (t - t[-1]))) + shift
        return max(float(t[-1]) + (limit - level) / slope, float(t[-1]))

    ends = [when(slope, shift) for slope in (least, most) for shift in (-half, half)]
    return when(middle, 0.0), min(ends), max(ends)


def _decided(one: Trend, p: float) -> Trend:
    """Nothing is said of a limit where no trend is shown."""
    shown = p <= RATE and one.low * one.high > 0.0
    return msgspec.structs.replace(
        one, p_adjusted=p, shown=shown, towards_limit=one.towards_limit if shown else None,
        reaches=one.reaches if shown else None,
    )  # fmt: skip
