"""A tooth train with hardly a whole turn unharmed: followed edge by edge from every tooth that its start may be.

The same search as over a damaged stretch between clean turns, but with neither end known. At first each tooth is as
likely as any other; the gaps of the wheel, which a wrong start meets as lost and extra edges turn after turn, decide.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.tooth_bridge import (
    BEAM,
    DOUBTFUL,
    HOPELESS,
    LONGEST_LOSS_TURNS,
    Bridge,
    Way,
    Wheel,
    advance,
    progress,
    read_back,
)

Array = NDArray[np.float64]

UNREST: Final = 0.8  # whether it cranks or runs: a tighter course loses its way while cranking and gains nothing
UNDECIDED_TURNS: Final = 4  # for so long every tooth stays a possible start
UNSURE_TURNS: Final = 3  # at the start of a stretch, where the way may still change to the neighbouring tooth
MOST_EDGES: Final = 40_000  # some ten thousand edges a second are followed
DEAREST_PER_EDGE: Final = 1.1  # one edge in ten lost and one in twenty extra, and a restless speed
MOST_FAILURES: Final = 4  # in a row: this is another wheel
CHECK_TURNS: Final = 12
SLIDE_TURNS: Final = 6
ALWAYS: Final = 0.6  # share of the turns in which chance hardly ever loses the same tooth
CLEAR: Final = 10.0  # by which the best start must lead the next one that is another tooth


def track(t: Array, angles: Array) -> list[Bridge]:
    """Stretches that could be followed; the first edge of each is ``placed`` too, indices are those of ``t``.

    Parameters
    ----------
    t : (n,) edge times, s, ascending
    angles : (k,) angles of the wheel, ascending, degrees; all different turned round
    """
    wheel, times = Wheel(angles, UNREST), t[:MOST_EDGES].tolist()
    out: list[Bridge] = []
    first = failed = 0
    while failed < MOST_FAILURES and len(times) - first > UNDECIDED_TURNS * wheel.k + 2:
        found, first = _follow(wheel, times, first)
        failed += 1
        if found is not None:
            out.append(found)
            failed = 0
    return out


def _follow(wheel: Wheel, times: list[float], first: int) -> tuple[Bridge | None, int]:
    """One stretch from an edge on, or none, and the edge at which to go on."""
    ways = _starts(wheel, times, first)
    edge, lead = first + 1, 0.0
    for edge in range(first + 2, len(times)):
        ordered = progress(wheel, times, ways, edge, False)
        undecided = edge - first < UNDECIDED_TURNS * wheel.k
        kept = ordered[: 3 * wheel.k if undecided else BEAM]
        limit = ordered[0].cost + (3.0 if undecided else 1.0) * HOPELESS
        ways = [way for way in kept if way.cost < limit]
        if edge - first == UNDECIDED_TURNS * wheel.k:
            lead = _lead(ways)
            ways = ways[:BEAM]
            if lead < CLEAR:
                return None, edge
        if times[edge] - times[ways[0].edge] > LONGEST_LOSS_TURNS * 360.0 / math.exp(ways[0].log_speed):
            break  # a standstill: what follows is a stretch of its own
    best = ways[0]
    rivals = [way for way in ways[1:] if way.cost < best.cost + DOUBTFUL]
    length = edge - first
    if lead < CLEAR or best.cost > DEAREST_PER_EDGE * length:
        return None, edge
    return _trusted(wheel, read_back(wheel, times, best, rivals, first), edge)


def _trusted(wheel: Wheel, way: Bridge, edge: int) -> tuple[Bridge | None, int]:
    """The way up to where it is a tooth off, and the edge at which to go on.

    Chance loses now this tooth and now that one; a way that is off, or another wheel, finds the same tooth lost or the
    same edge too many in every turn.
    """
    if not way.placed:  # each edge could be another tooth as well
        return None, edge
    k, begin, end = wheel.k, way.placed[0][1], way.placed[-1][1]
    edges, serials = (np.array(column, np.int64) for column in zip(*way.placed, strict=True))
    lost = np.array([serial for _, serial in way.missing], np.int64)
    more = serials[np.searchsorted(edges, np.array(way.extra, np.int64)) - 1]
    for start in range(begin, end, SLIDE_TURNS * k):
        turns = min(CHECK_TURNS, (end - start) / k)
        if turns >= SLIDE_TURNS and max(_in_every_turn(x, start, k) for x in (lost, more)) >= ALWAYS * turns:
            # it may have gone astray some turns before it shows
            end = start - SLIDE_TURNS * k
            edge = way.placed[min(SLIDE_TURNS * k, len(way.placed) - 1)][0]
            break
    kept = [pair for pair in way.placed if begin + UNSURE_TURNS * k <= pair[1] <= end]
    if len(kept) < SLIDE_TURNS * k // 2:
        return None, edge
    (first_edge, first), (last_edge, last) = kept[0], kept[-1]
    extra = [one for one in way.extra if first_edge < one < last_edge]
    missing = [pair for pair in way.missing if first < pair[1] < last]
    return Bridge(kept, extra, missing), max(last_edge + 1, edge) if end == way.placed[-1][1] else last_edge + 1


def _in_every_turn(serial: NDArray[np.int64], start: int, k: int) -> int:
    """How often the tooth that is met most is met within the turns to check."""
    block = serial[(serial >= start) & (serial < start + CHECK_TURNS * k)]
    return int(np.bincount(block % k).max()) if len(block) else 0


def _lead(ways: list[Way]) -> float:
    """By how much the best way is cheaper than the best one from another start."""
    start = [_start(way) for way in ways]
    return (
        min((way.cost for way, at in zip(ways, start, strict=True) if at != start[0]), default=math.inf) - ways[0].cost
    )


def _start(way: Way) -> int:
    while way.parent is not None:
        way = way.parent
    return way.serial


def _starts(wheel: Wheel, times: list[float], first: int) -> list[Way]:
    """The first two edges as any two neighbouring teeth, without a way before them."""
    dt = max(times[first + 1] - times[first], 1e-9)
    out = []
    for tooth in range(wheel.k):
        pitch = wheel.angle(tooth + 1) - wheel.angle(tooth)
        start = Way(0.0, tooth, first, math.log(pitch / dt), pitch, 0.0, None)
        out.append(advance(wheel, start, tooth + 1, first + 1, pitch, dt)._replace(cost=0.0))
    return out
