"""The way from one clean run of a tooth train to the next over dropped and extra edges: a beam search.

Each edge may be the next tooth, a later one (edges were dropped) or none (an extra edge). The cheapest way is the one
with the steadiest logarithm of speed and the fewest dropped and extra edges.
"""

from __future__ import annotations

import bisect
import itertools
import math
import operator
from collections.abc import Sequence
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
FURTHEST_DEG: Final = 60.0  # over a long loss: half of a firing interval of a six
MISSING_COST: Final = 4.0
MORE_MISSING_COST: Final = 1.0
MOST_MISSING_COST: Final = (
    12.0  # of a loss in one go, however long, where a mark shows how long: else the edges after it pass as extra
)
UNSURE_SHARE: Final = 0.04  # of the teeth lost in one go: an idling crank is off its mean speed by so much
EXTRA_COST: Final = 4.0
SURELY_NEXT: Final = 1.15
DEAREST_PER_EDGE: Final = 3.0
ROUGHEST_END: Final = 0.5
LONGEST_LOSS_TURNS: Final = 1.5
_COST: Final = operator.itemgetter(0)
DOUBTFUL: Final = 6.0  # an edge is placed where every other place makes the way dearer by this (one in 400)


@dataclass(frozen=True, slots=True)
class Bridge:
    """Edges with their tooth count (index of the edge, count), extra edges, and missing ones (time in s, count)."""

    placed: list[tuple[int, int]]
    extra: list[int] = field(default_factory=list)
    missing: list[tuple[float, int]] = field(default_factory=list)

    def later(self, edges: int) -> Bridge:
        """The same way in a train with so many edges before."""
        return Bridge([(k + edges, count) for k, count in self.placed], [k + edges for k in self.extra], self.missing)

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

    ``pitch`` is the length of that period and ``slope`` the change of log speed per degree. ``rival`` came to the same
    edge and tooth by another way, dearer by ``lead``.
    """

    cost: float
    serial: int
    edge: int
    log_speed: float
    pitch: float
    slope: float
    parent: Way | None
    lead: float = math.inf
    rival: Way | None = None


class Wheel:
    """Continuous angle of a tooth count, how unsteady the speed is (1 = deep cranking swings), and if it has a mark."""

    def __init__(self, angles: Array, unrest: float = 1.0, marked: bool = True) -> None:
        self.angles = angles.tolist()
        self.k = len(self.angles)
        self.unrest = unrest
        self.most_missing_cost = MOST_MISSING_COST if marked else math.inf
        self._known: dict[int, float] = {}

    def angle(self, count: int) -> float:
        """Degrees since the first turn."""
        known = self._known.get(count)
        if known is None:
            turn, tooth = divmod(count, self.k)
            known = self._known[count] = 360.0 * turn + float(self.angles[tooth])
        return known

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
    wheel = Wheel(angles, unrest, part > 1)
    times = t.tolist()
    pitch = wheel.angle(count - 1) - wheel.angle(count - 2)
    start = Way(0.0, count - 1, 0, math.log(pitch / (before[1] - before[0])), pitch, 0.0, None)
    ways = [advance(wheel, start, count, 0, wheel.angle(count) - wheel.angle(count - 1), before[2] - before[1])]
    ways[0] = ways[0]._replace(cost=0.0, parent=None)
    last = len(times) - 1
    for edge in range(1, last + 1):
        ways = progress(wheel, times, ways, edge, edge == last)
        if edge < last:
            hopeless = ways[0].cost + HOPELESS
            ways = [way for way in ways[:BEAM] if way.cost < hopeless]
    ends = [way for way in ways if way.edge == last and (way.serial - tooth) % part == 0]
    if not ends:
        return None
    costs = [_onward(wheel, way, after) for way in ends]
    order = sorted(range(len(ends)), key=costs.__getitem__)
    best = ends[order[0]]
    if best.cost > DEAREST_PER_EDGE * (10 + last):
        return None
    rivals = [ends[k] for k in order[1:] if costs[k] < costs[order[0]] + DOUBTFUL]
    return read_back(wheel, times, best, rivals)


def extend(t: Array, angles: Array, count: int, direction: int = 1, unsure: int = 0) -> Bridge:
    """Tooth by tooth away from the first edge, as long as the speed does not jump: the ends of a train.

    Parameters
    ----------
    t : (n,) edge times in the order of walking, s (descending for ``direction`` -1)
    unsure : edges before a jump that are not placed either
    """
    wheel, times = Wheel(angles), t.tolist()
    placed: list[tuple[int, int]] = []
    before: float | None = None
    for edge in range(1, len(times)):
        here = count + direction * edge
        pitch = abs(wheel.angle(here) - wheel.angle(here - direction))
        log_speed = math.log(pitch / max(abs(times[edge] - times[edge - 1]), 1e-9))
        if before is not None and abs(log_speed - before) > ROUGHEST_END:
            still = math.exp(before) * abs(times[edge] - times[edge - 1]) > 360.0 * LONGEST_LOSS_TURNS
            return Bridge(placed if still else placed[: max(len(placed) - unsure, 0)])
        before = log_speed
        placed.append((edge, here))
    return Bridge(placed)


def progress(wheel: Wheel, times: list[float], ways: list[Way], edge: int, is_last: bool) -> list[Way]:
    """All ways one edge on, the cheapest first; of two at the same tooth the cheaper one goes on."""
    found: dict[tuple[int, int], Way] = {}
    for way in ways:
        for new in steps(wheel, times, way, edge, is_last):
            key = (new.serial, new.edge)
            other = found.get(key)
            if other is None:
                found[key] = new
                continue
            good, dear = (new, other) if new.cost < other.cost else (other, new)
            lead = dear.cost - good.cost
            found[key] = good._replace(lead=lead, rival=dear) if lead < good.lead else good
    return sorted(found.values(), key=_COST)


def steps(wheel: Wheel, times: list[float], way: Way, edge: int, is_last: bool) -> list[Way]:
    """What this edge may be for a way: extra, the next tooth, or a later one."""
    serial = way.serial
    dt = max(times[edge] - times[way.edge], 1e-9)
    here, following = wheel.angle(serial), serial + 1
    out = [] if is_last else [Way(way.cost + EXTRA_COST, *way[1:])]
    reach = math.exp(way.log_speed) * dt
    if reach > 360.0 * LONGEST_LOSS_TURNS:
        return out
    pitch = wheel.angle(following) - here
    out.append(advance(wheel, way, following, edge, pitch, dt))
    if reach > SURELY_NEXT * pitch:
        nearest = wheel.nearest(here + reach)
        about = 1 + int(UNSURE_SHARE * (nearest - following))
        for count in range(max(nearest - about, following + 1), nearest + about + 1):
            dearer = min(MISSING_COST + MORE_MISSING_COST * (count - following - 1), wheel.most_missing_cost)
            out.append(advance(wheel, way, count, edge, wheel.angle(count) - here, dt, dearer))
    return out


def advance(wheel: Wheel, way: Way, count: int, edge: int, pitch: float, dt: float, dearer: float = 0.0) -> Way:
    """The way with one more tooth, dearer by how far its speed is off the straight course so far."""
    log_speed = math.log(pitch / dt)
    reach = 0.5 * (pitch + way.pitch)
    change = log_speed - way.log_speed
    # over a long loss the speed swings to and fro instead of going on as it was
    off = change - way.slope * (min(reach, FURTHEST_DEG) if dearer >= wheel.most_missing_cost else reach)
    loose = SWING_SD + SWING_SD_PER_DEG * reach
    sd = wheel.unrest * (loose if loose < LOOSEST_SD else LOOSEST_SD)
    slope = change / reach
    if not -STEEPEST_PER_DEG < slope < STEEPEST_PER_DEG:
        slope = math.copysign(STEEPEST_PER_DEG, slope)
    return Way(way.cost + off**2 / (2.0 * sd**2) + dearer, count, edge, log_speed, pitch, slope, way)


def _onward(wheel: Wheel, way: Way, after: Array) -> float:
    """Cost of a way with the clean edges that follow it."""
    for k in (1, 2):
        pitch = wheel.angle(way.serial + 1) - wheel.angle(way.serial)
        way = advance(wheel, way, way.serial + 1, way.edge, pitch, float(after[k] - after[k - 1]))
    return way.cost


def read_back(wheel: Wheel, times: list[float], way: Way, rivals: Sequence[Way]) -> Bridge:
    """The edges of a way that no other way as good places otherwise.

    Parameters
    ----------
    rivals : other ways to the end that are hardly dearer
    """
    chain = _chain(way)
    pairs = {(step.edge, step.serial): k for k, step in enumerate(chain)}
    unsure: set[int] = set()
    # the tooth of the last edge of a bridge is known
    end = len(chain) - 1
    others = [(end, rival) for rival in rivals]
    others += [(k, step.rival) for k, step in enumerate(chain) if step.rival is not None and step.lead < DOUBTFUL]
    for end, rival in others:
        step: Way | None = rival if (rival.edge, rival.serial) not in pairs else rival.parent
        places = False
        while step is not None and (step.edge, step.serial) not in pairs:
            places = True
            step = step.parent
        if not places:
            continue  # it only leaves out an edge
        fork = pairs[(step.edge, step.serial)] if step is not None else -1
        unsure |= {chain[k].edge for k in range(fork + 1, end)}
    used = {step.edge for step in chain}
    extra = [edge for edge in range(len(times)) if edge not in used]
    missing: list[tuple[float, int]] = []
    for a, b in itertools.pairwise(chain):
        start, way_deg = wheel.angle(a.serial), wheel.angle(b.serial) - wheel.angle(a.serial)
        for count in range(a.serial + 1, b.serial):
            share = (wheel.angle(count) - start) / way_deg
            missing.append((times[a.edge] + share * (times[b.edge] - times[a.edge]), count))
    kept = [(step.edge, step.serial) for step in chain[1:] if step.edge not in unsure]
    return Bridge(kept, extra, missing)


def _chain(way: Way) -> list[Way]:
    """The steps of a way from its start, the last one for each edge."""
    chain: list[Way] = []
    step: Way | None = way
    while step is not None:
        if not chain or chain[-1].edge != step.edge:
            chain.append(step)
        step = step.parent
    return chain[::-1]
