"""Rail pressure while the engine is cranked: how long until it holds what the engine needs to start.

Each cranking from a standstill tells of it, whether the engine started in it or not: the pump turns with the crank.
What the engine needs is a property of the engine, and only a cranking in which it fired says how much that is. So a
cranking without fuel is held against what another one showed. Where the rail still held enough, nothing had to be
built: that start has no such time, as the pump was not tried. Where it held a part of what a cranking before it had
built, which ended too early, that part counts with the time that it took.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.measures.align import measure, period_s, sources
from logan.measures.conditions import RUNNING_RPM
from logan.measures.rail_events import STILL_RPM, Moment, starts_of
from logan.measures.registry import Results, gives
from logan.model.channel import Channel
from logan.model.measure import Missing
from logan.model.record import Record

NEEDED_SHARE: Final = 0.9  # docs/conventions.md
FIRING_S: Final = (
    0.2  # from enough pressure to the first fire that speeds the crank up, about half a turn: an assumption
)
STANDS_SHARE: Final = 0.97  # a rail that rises by less before the first fire had its pressure: an assumption
LEAVES_SHARE: Final = 1.3  # of cranking speed: faster is fired (common practice, no source)
LEAST_NEEDED: Final = 0.7  # the engine may need less than the figure taken, down to this share: an assumption
STOOD_S: Final = 1.0  # a speed is shown so late at most; what the rail holds before is no work of the pump (assumed)
PART_SHARE: Final = 0.1  # of the pressure needed: a rail that begins with less was as good as empty (judgement)
UNEVEN_SHARE: Final = 0.1  # one cranking turns the pump slower than the other by so much (assumed; a tired battery)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Need:
    """Pressure that the engine needs to start, kPa: what is taken, and within which bounds it lies.

    Parameters
    ----------
    stood : whether the rail had stood at it when the engine fired, so that less may be needed
    fired_s : instant of the first fire that tells it
    """

    kpa: float
    least_kpa: float
    most_kpa: float
    stood: bool
    fired_s: float

    def elsewhere(self) -> Need:
        """The same for another cranking: where the rail had stood, any pressure within the bounds is as likely."""
        if not self.stood:
            return self
        return Need(0.5 * (self.least_kpa + self.most_kpa), self.least_kpa, self.most_kpa, True, self.fired_s)


@dataclass(frozen=True, slots=True)
class Cranking:
    """The crank turned by the starter, from a standstill.

    Parameters
    ----------
    start : first motion
    end_s : when the engine fired, or when it stood again or the record ends
    need : of the engine, told by this cranking: None where it did not fire
    until_s : how far the rail may be read: the uncertainty of the first fire on top
    """

    start: Moment
    end_s: float
    need: Need | None
    until_s: float

    @property
    def cranked_s(self) -> float:
        """How long it lasted."""
        return self.end_s - self.start.t_s


@dataclass(frozen=True, slots=True)
class Built:
    """Time that one cranking tells, its standard uncertainty, and what it was read from.

    Parameters
    ----------
    pieced : whether a part of it was built by the cranking before
    held_kpa : pressure just before it
    """

    value_s: float
    doubt_s: float
    cranking: Cranking
    need: Need
    spans: tuple[tuple[float, float], ...]
    pieced: bool
    held_kpa: float


@gives("rail_build_time_s", needs=("fuel_rail_pressure_actual", "engine_speed"))
def rail_build_time(record: Record) -> Results:
    """Time from first crank motion until the rail holds 90 % of the pressure needed to start; of several, the longest.

    No channel says what the engine needs, but it fires once it has it: taken is the pressure a moment before the speed
    leaves cranking speed. Where the rail rose until then it needed about that much; where it had stood still it may
    have needed less, and the interval says so.
    """
    name = "rail_build_time_s"
    pressure, speed = record.channels.best["fuel_rail_pressure_actual"], record.channels.best["engine_speed"]
    t, p = pressure.finite()
    starts = [start for start in starts_of(speed) if len(t) and t[0] <= start.t_s + 0.2 and t[-1] > start.t_s]
    if not starts:
        yield Missing(measure=name, why="no start from standstill in the record", capture_hint="")
        return
    crankings = [_cranking(t, p, speed, start) for start in starts]
    if all(each.need is None for each in crankings):
        cranked_s = max(each.cranked_s for each in crankings)
        yield Missing(measure=name, why=f"the engine did not start in {cranked_s:.1f} s of cranking", capture_hint="")
        return
    found, short_s = _each(t, p, crankings)
    if not found:
        least = min(each.need.kpa for each in crankings if each.need is not None)
        why = f"the rail held what the engine needed to start, {least:.0f} kPa at most, before the crank moved"
        hint = "Record the first start after the engine has stood, with the log running before the key is turned."
        yield Missing(measure=name, why=why, capture_hint=hint)
        return
    one = max(found, key=lambda each: each.value_s)
    step = period_s(pressure)
    sampling = float(
        np.hypot(0.5 * step / np.sqrt(12.0) if one.value_s > 0.0 else 0.0, pressure.half_width_s / np.sqrt(3.0))
    )
    n = int(sum(np.count_nonzero((t >= begin) & (t <= end)) for begin, end in one.spans))
    origin = sources([pressure, speed], [(round(begin, 3), round(end, 3)) for begin, end in one.spans])
    systematic = float(np.hypot(one.doubt_s, one.cranking.start.sd_s))
    notes = _notes(one, found, short_s)
    yield measure(name, "s", one.value_s, sampling, systematic, 1.96, n, origin, notes, floor=0.0)


def _notes(one: Built, found: Sequence[Built], short_s: float) -> list[str]:
    """What a reader has to know of the cranking that was taken, and of those that were not."""
    notes = [f"needed to start, an assumption: pressure when the engine fired, {one.need.kpa:.0f} kPa"]
    if one.cranking.need is None:
        where = f"at t = {one.need.fired_s:.1f} s"
        notes = [f"needed to start, an assumption: pressure when the engine fired {where}, {one.need.kpa:.0f} kPa"]
        if one.need.stood:
            low, high = one.need.least_kpa, one.need.most_kpa
            notes = [
                f"needed to start, an assumption: the rail had stood at {high:.0f} kPa when the engine fired {where}, "
                f"so that it may need less: taken as anything from {low:.0f} kPa up to that"
            ]
        notes.append("from a cranking in which the engine did not start")
    if one.pieced:
        notes.append("the cranking before ended too early: what the rail had kept of it counts with the time it took")
    elif one.held_kpa > PART_SHARE * one.need.kpa:
        notes.append(f"the rail held {one.held_kpa:.0f} kPa before the crank moved: from empty it takes longer")
    if len(found) > 1:
        kind = "starts" if all(each.cranking.need is not None for each in found) else "crankings"
        notes.append(f"the longest of {len(found)} {kind}")
    if short_s > one.value_s:
        notes.append(f"in a cranking of {short_s:.1f} s the rail did not get there")
    return notes


def _each(t: Array, p: Array, crankings: Sequence[Cranking]) -> tuple[list[Built], float]:
    """What each cranking tells that built the pressure needed, and how long the longest lasted that did not, s."""
    told = min((each.need for each in crankings if each.need is not None), key=lambda need: need.kpa)
    found: list[Built] = []
    short: list[Cranking] = []  # those just before that did not reach it
    short_s = 0.0
    for each in crankings:
        need = each.need or told.elsewhere()
        begin_s, until_s = each.start.t_s, each.until_s
        if each.need is None and _crossing(t, p, begin_s, until_s, NEEDED_SHARE * need.most_kpa)[1] >= until_s:
            short.append(each)
            short_s = max(short_s, each.cranked_s)
            continue
        value_s, doubt_s, last_s = _build_up(t, p, begin_s, until_s, need)
        held_kpa = _held(t, p, begin_s - STOOD_S - np.sqrt(3.0) * each.start.sd_s)
        if value_s == 0.0 and held_kpa >= NEEDED_SHARE * need.kpa:
            short = []
            continue
        spans = [(begin_s, each.end_s if each.need is not None else last_s)]
        if each.need is None:
            spans.append((told.fired_s - FIRING_S, told.fired_s))
        kept_s = _kept(t, p, short, _held(t, p, begin_s)) if value_s > 0.0 else 0.0
        before_s = max((one.cranked_s for one in short), default=0.0)
        # else the pump did not work then as now: fuelling was disabled at its valve, say
        pieced = kept_s > 0.0 and value_s + kept_s > (1.0 - UNEVEN_SHARE) * before_s
        if pieced:
            doubt_s = float(np.hypot(doubt_s, UNEVEN_SHARE * kept_s))
            value_s = max(value_s + kept_s, before_s)
            spans = [*((one.start.t_s, one.end_s) for one in short), *spans]
        found.append(Built(value_s, doubt_s, each, need, tuple(sorted(spans)), pieced, held_kpa))
        short = []
    return found, short_s


def _kept(t: Array, p: Array, short: Sequence[Cranking], level_kpa: float) -> float:
    """Time that crankings one after the other took to bring the rail to a level, s; 0 where they began with it."""
    if not short:
        return 0.0
    last = short[-1]
    first_kpa = _held(t, p, last.start.t_s)
    if level_kpa <= first_kpa:
        return _kept(t, p, short[:-1], level_kpa)
    reached_s = _crossing(t, p, last.start.t_s, last.end_s, level_kpa)[0]
    return reached_s - last.start.t_s + _kept(t, p, short[:-1], first_kpa)


def _cranking(t: Array, p: Array, speed: Channel, start: Moment) -> Cranking:
    end_s, fired = _fired(speed, start)
    if not fired:
        return Cranking(start, end_s, None, end_s)
    until_s = end_s + 0.3 * period_s(speed)
    needed, most, least = (
        _held(t, p, max(at_s, start.t_s))
        for at_s in (end_s - FIRING_S, until_s, end_s - 2.0 * FIRING_S - (until_s - end_s))
    )
    stood = least > STANDS_SHARE * most
    if stood:  # how much of it was needed is open
        least = LEAST_NEEDED * needed
    return Cranking(start, end_s, Need(needed, min(least, needed), max(most, needed), stood, end_s), until_s)


def _held(t: Array, p: Array, at_s: float) -> float:
    return float(np.interp(at_s, t, p))


def _build_up(t: Array, p: Array, start_s: float, end_s: float, need: Need) -> tuple[float, float, float]:
    """Time until 90 % of the pressure needed, its standard uncertainty, and the latest instant, s."""
    first, last = _crossing(t, p, start_s, end_s, NEEDED_SHARE * need.kpa)
    earliest = _crossing(t, p, start_s, end_s, NEEDED_SHARE * need.least_kpa)[0]
    latest = _crossing(t, p, start_s, end_s, NEEDED_SHARE * need.most_kpa)[1]
    middle = 0.5 * (first + last)
    doubt = max(middle - earliest, latest - middle) / 1.96
    return middle - start_s, doubt, latest


def _fired(speed: Channel, start: Moment) -> tuple[float, bool]:
    """When the speed left cranking speed for good, or the end of cranking; and whether it fired."""
    t, v = speed.finite()
    after = t > start.t_s
    ran = np.flatnonzero(after & (v >= RUNNING_RPM))
    still = np.flatnonzero(after & (v < STILL_RPM))
    if not len(ran) or (len(still) and still[0] < ran[0]):
        return float(t[still[0]] if len(still) else t[-1]), False
    k = int(ran[0])
    cranking = v[:k][after[:k]]
    leaves = min(LEAVES_SHARE * float(np.median(cranking)), RUNNING_RPM) if len(cranking) else RUNNING_RPM
    below = np.flatnonzero((t[:k] > start.t_s) & (v[:k] < leaves))
    before = int(below[-1]) if len(below) else k - 1
    share = (leaves - v[before]) / max(v[before + 1] - v[before], 1e-9)
    return float(max(t[before] + np.clip(share, 0.0, 1.0) * (t[before + 1] - t[before]), start.t_s)), True


def _crossing(t: Array, p: Array, start_s: float, end_s: float, level: float) -> tuple[float, float]:
    """When the pressure was first at a level, and when last below it, between two instants; noise lies between them."""
    grid = np.concatenate([[start_s], t[(t > start_s) & (t < end_s)], [end_s]])
    above = np.interp(grid, t, p) - level
    if above[0] >= 0.0:
        return start_s, start_s
    up = np.flatnonzero((above[:-1] < 0.0) & (above[1:] >= 0.0))
    if not len(up):
        return end_s, end_s
    first, last = (grid[k] + above[k] / (above[k] - above[k + 1]) * (grid[k + 1] - grid[k]) for k in (up[0], up[-1]))
    return float(first), float(last)
