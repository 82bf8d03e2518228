"""The way from one clean run of a tooth train to the next over dropped and extra edges: a beam search.

Each edge may be the next tooth, a later one (edges were dropped) or none (an extra edge). The cheapest way is the one
with the steadiest logarithm of speed and the fewest dropped and extra edges.
"""

from __future__ import annotations

import bisect
import itertools
import math
from dataclasses import dataclass, field
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

BEAM: Final = 10
HOPELESS: Final = 14.0  # a way dearer than the best one by this (a likelihood of a millionth) is given up
SWING_SD: Final = 0.06  # log speed against a straight course, at no distance
SWING_SD_PER_DEG: Final = 0.006  # more for each degree from the middle of one period to that of the next
LOOSEST_SD: Final = 0.25
STEEPEST_PER_DEG: Final = 0.04  # change of log speed with angle that is still extrapolated
MISSING_COST: Final = 4.0
MORE_MISSING_COST: Final = 1.0
EXTRA_COST: Final = 4.0
SURELY_NEXT: Final = 1.15
DEAREST_PER_EDGE: Final = 3.0
ROUGHEST_END: Final = 0.5
LONGEST_LOSS_TURNS: Final = 1.5


@dataclass(frozen=True, slots=True)
class Bridge:
    """Edges with their tooth count (index of the edge, count), extra edges, and missing ones (time in s, count)."""

    placed: list[tuple[int, int]]
    extra: list[int] = field(default_factory=list)
    missing: list[tuple[float, int]] = field(default_factory=list)

    def widened(self, ahead: int, count: int, back: int) -> Bridge:
        """The same way after ``ahead`` edges from ``count`` on, and before ``back`` further ones, tooth by tooth."""
        edge, reached = self.placed[-1]
        placed = [
            *((k, count + k) for k in range(1, ahead + 1)),
            *((step + ahead, c) for step, c in self.placed),
            *((edge + ahead + k, reached + k) for k in range(1, back + 1)),
        ]
        return Bridge(placed, [step + ahead for step in self.extra], self.missing)


class Way(NamedTuple):
    """One way so far: cost, tooth count and index of its last edge, log speed over its last period, its slope there.

    ``pitch`` is the length of that period and ``slope`` the change of log speed per degree.
    """

    cost: float
    serial: int
    edge: int
    log_speed: float
    pitch: float
    slope: float
    parent: Way | None


class Wheel:
    """Continuous angle of a tooth count, and how unsteady the speed is (1 = deep cranking swings)."""

    def __init__(self, angles: Array, unrest: float = 1.0) -> None:
        self.angles = angles.tolist()
        self.k = len(self.angles)
        self.unrest = unrest

    def angle(self, count: int) -> float:
        """Degrees since the first turn."""
        turn, tooth = divmod(count, self.k)
        return 360.0 * turn + float(self.angles[tooth])

    def nearest(self, angle: float) -> int:
        """Count of the tooth whose angle is nearest."""
        turn = math.floor(angle / 360.0)
        after = turn * self.k + bisect.bisect(self.angles, angle - 360.0 * turn)
        return after if self.angle(after) - angle < angle - self.angle(after - 1) else after - 1


def bridge(
    before: Array, t: Array, after: Array, angles: Array, count: int, tooth: int, part: int, unrest: float
) -> Bridge | None:
    """Cheapest way from the first edge (at ``count``) to the last one, of which the tooth is known.

    Parameters
    ----------
    before : (3,) times of the last clean edges, the first of ``t`` included, s
    t : (n,) edge times, s
    after : (3,) times of the next clean edges, the last of ``t`` included, s
    angles : (k,) angles of the wheel, ascending, degrees
    count : tooth count of the first edge
    tooth : tooth of the last edge, modulo the part after which the wheel repeats itself
    part : teeth in that part
    unrest : how unsteady the speed is, 1 = swings by half of it while cranking
    """
    wheel = Wheel(angles, unrest)
    times = t.tolist()
    pitch = wheel.angle(count - 1) - wheel.angle(count - 2)
    start = Way(0.0, count - 1, 0, math.log(pitch / (before[1] - before[0])), pitch, 0.0, None)
    ways = [advance(wheel, start, count, 0, wheel.angle(count) - wheel.angle(count - 1), before[2] - before[1])]
    ways[0] = ways[0]._replace(cost=0.0, parent=None)
    last = len(times) - 1
    for edge in range(1, last + 1):
        found: dict[tuple[int, int], Way] = {}
        for way in ways:
            for new in steps(wheel, times, way, edge, edge == last):
                key = (new.serial, new.edge)
                if key not in found or new.cost < found[key].cost:
                    found[key] = new
        ways = sorted(found.values(), key=lambda w: w.cost)
        if edge < last:
            hopeless = ways[0].cost + HOPELESS
            ways = [way for way in ways[:BEAM] if way.cost < hopeless]
    ends = [way for way in ways if way.edge == last and (way.serial - tooth) % part == 0]
    if not ends:
        return None
    best = min(ends, key=lambda way: _onward(wheel, way, after))
    if best.cost > DEAREST_PER_EDGE * (10 + last):
        return None
    return read_back(wheel, times, best)


def extend(t: Array, angles: Array, count: int, direction: int = 1) -> Bridge:
    """Tooth by tooth away from the first edge, as long as the speed does not jump: the ends of a train.

    Parameters
    ----------
    t : (n,) edge times in the order of walking, s (descending for ``direction`` -1)
    """
    wheel, times = Wheel(angles), t.tolist()
    placed: list[tuple[int, int]] = []
    before: float | None = None
    for edge in range(1, len(times)):
        here = count + direction * edge
        pitch = abs(wheel.angle(here) - wheel.angle(here - direction))
        log_speed = math.log(pitch / max(abs(times[edge] - times[edge - 1]), 1e-9))
        if before is not None and abs(log_speed - before) > ROUGHEST_END:
            break
        before = log_speed
        placed.append((edge, here))
    return Bridge(placed)


def steps(wheel: Wheel, times: list[float], way: Way, edge: int, is_last: bool) -> list[Way]:
    """What this edge may be for a way: extra, the next tooth, or a later one."""
    dt = max(times[edge] - times[way.edge], 1e-9)
    here = wheel.angle(way.serial)
    out = [] if is_last else [way._replace(cost=way.cost + EXTRA_COST)]
    reach = math.exp(way.log_speed) * dt
    ahead = {way.serial + 1}
    if reach > 360.0 * LONGEST_LOSS_TURNS:
        return out
    if reach > SURELY_NEXT * (wheel.angle(way.serial + 1) - here):
        nearest = wheel.nearest(here + reach)
        ahead |= {c for c in (nearest - 1, nearest, nearest + 1) if c > way.serial}
    for count in ahead:
        new = advance(wheel, way, count, edge, wheel.angle(count) - here, dt)
        lost = count - way.serial - 1
        out.append(new._replace(cost=new.cost + MISSING_COST + MORE_MISSING_COST * (lost - 1)) if lost else new)
    return out


def advance(wheel: Wheel, way: Way, count: int, edge: int, pitch: float, dt: float) -> Way:
    """The way with one more tooth, dearer by how far its speed is off the straight course so far."""
    log_speed = math.log(pitch / dt)
    reach = 0.5 * (pitch + way.pitch)
    off = log_speed - way.log_speed - way.slope * reach
    sd = wheel.unrest * min(SWING_SD + SWING_SD_PER_DEG * reach, LOOSEST_SD)
    slope = max(-STEEPEST_PER_DEG, min(STEEPEST_PER_DEG, (log_speed - way.log_speed) / reach))
    return Way(way.cost + off**2 / (2.0 * sd**2), count, edge, log_speed, pitch, slope, way)


def _onward(wheel: Wheel, way: Way, after: Array) -> float:
    """Cost of a way with the clean edges that follow it."""
    for k in (1, 2):
        pitch = wheel.angle(way.serial + 1) - wheel.angle(way.serial)
        way = advance(wheel, way, way.serial + 1, way.edge, pitch, float(after[k] - after[k - 1]))
    return way.cost


def read_back(wheel: Wheel, times: list[float], way: Way, first: int | None = None) -> Bridge:
    """The edges of a way; where ``first`` is given, edges from that one on are looked at and it is placed too."""
    chain: list[tuple[int, int]] = []
    step: Way | None = way
    while step is not None:
        if not chain or chain[-1][0] != step.edge:
            chain.append((step.edge, step.serial))
        step = step.parent
    chain.reverse()
    used = {edge for edge, _ in chain}
    seen = range(len(times)) if first is None else range(first, way.edge + 1)
    extra = [edge for edge in seen if edge not in used]
    missing: list[tuple[float, int]] = []
    for (edge_0, count_0), (edge_1, count_1) in itertools.pairwise(chain):
        start, way_deg = wheel.angle(count_0), wheel.angle(count_1) - wheel.angle(count_0)
        for count in range(count_0 + 1, count_1):
            share = (wheel.angle(count) - start) / way_deg
            missing.append((times[edge_0] + share * (times[edge_1] - times[edge_0]), count))
    return Bridge(chain[1:] if first is None else chain, extra, missing)
