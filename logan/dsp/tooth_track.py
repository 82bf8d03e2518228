"""A tooth train with hardly a whole turn unharmed: the course of its speed is learnt, then each edge finds its tooth.

A row of some hundred edges teaches the course of the speed within the cycle; every row is then fitted anew from there,
since a crank that comes to speed swings less. An edge is placed where hardly any other tooth is possible.
"""

from __future__ import annotations

import itertools
from typing import Final, NamedTuple

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.swing_course import AGAIN_SD, Courses, fit, tried
from logan.dsp.tooth_bridge import Bridge
from logan.dsp.tooth_lattice import LONGEST_STEP, backward, forward, pace, periods
from logan.dsp.wheel_pattern import symmetry

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Mask = NDArray[np.bool_]

MOST_EDGES: Final = 40_000
MOST_TEETH: Final = 150  # the search over a finer wheel takes too long
FEWEST_EDGES: Final = 40
MOST_FAILURES: Final = 2  # in a row: this is another wheel
STANDSTILL_TURNS: Final = 1.5
ROW: Final = 500  # edges
MARGIN: Final = 40  # edges beyond a row at either end, which its neighbour has too
FEWEST_COMMON: Final = 5  # edges by which a row goes on where the one before ends
SEARCHED: Final = 200  # edges
LEARNT: Final = 300
LEARNT_TURNS: Final = 8  # or more edges
SEARCHED_BACK: Final = 2  # one extra edge at a time
BACK: Final = 3
LIKELY: Final = 0.3  # log likelihood of an edge below which the train is another wheel's
FITTED: Final = 3  # courses
TURNED: Final = 2  # teeth either way by which the best course is turned, to see whether it fits there too
ROUNDS: Final = 4
ROUNDS_AGAIN: Final = 2
CALMER: Final = 0.3
LEAD: Final = 8.0  # in log likelihood, of the best course over any that has the teeth elsewhere
ALIKE: Final = 0.6  # share of edges on the same tooth above which two courses agree
SURE: Final = 0.999
ANOTHER_VARIANT: Final = 1e-4
LEAST_PLACED: Final = 0.5  # of a row
MOST_LOST: Final = 0.3  # of the teeth
MOST_EXTRA: Final = 0.25
CHECK_TURNS: Final = 6
CHANCE: Final = 1e-3  # that lost teeth heap up so much at places of the cycle
ALWAYS: Final = 0.7  # share of the turns in which chance hardly ever loses the same tooth


class _Teeth(NamedTuple):
    """Likeliest tooth of two turns, how sure it is but for whole parts, how likely it is any; all (n, rows).

    ``k`` teeth are a turn.
    """

    tooth: Index
    sure: Array
    real: Array
    k: int


class _Edges(NamedTuple):
    """Every edge: its tooth counted on through its piece, -1 if it is extra, whether that is sure; all (n,)."""

    serial: Index
    sure: Mask
    piece: Index


def track(t: Array, angles: Array, part: int) -> list[Bridge]:
    """Stretches that could be followed; the first edge of each is ``placed`` too, indices are those of ``t``.

    Parameters
    ----------
    t : (n,) edge times, s, ascending
    angles : (k,) angles of the wheel, ascending, degrees
    part : teeth after which the wheel repeats itself
    """
    t, out, failed = t[: MOST_EDGES if len(angles) <= MOST_TEETH else 0], list[Bridge](), 0
    for first, last in _stretches(t, len(angles)):
        if failed == MOST_FAILURES:
            break
        found = _follow(t[first:last], angles, part)
        failed = 0 if found else failed + 1
        out += [way.later(first) for way in found]
    return out


def _stretches(t: Array, k: int) -> list[tuple[int, int]]:
    """First edges and ends of what lies between standstills and is long enough."""
    step = np.diff(t)
    usual = np.partition(step, len(step) // 2)[len(step) // 2] if len(step) else 0.0
    still = np.flatnonzero(step > STANDSTILL_TURNS * k * usual) + 1
    return [(a, b) for a, b in itertools.pairwise([0, *still.tolist(), len(t)]) if b - a >= FEWEST_EDGES]


def lead_over(t: Array, angles: Array, others: Array) -> float:
    """By how much the middle of a train fits one wheel better than another one, in log likelihood; -inf if neither."""
    learnt = _learnt(len(angles))
    middle = t[max(len(t) - learnt, 0) // 2 :][:learnt]
    scores = []
    for wheel in (angles, others) if len(middle) >= FEWEST_EDGES else ():
        log_period = periods(middle[None], pace(middle, len(wheel))[None], SEARCHED_BACK)
        scores.append(_learn(log_period, np.concatenate([wheel, wheel + 360.0]), len(wheel) // symmetry(wheel))[1])
    return scores[0] - scores[1] if scores and max(scores) > -np.inf else -np.inf


def _follow(t: Array, angles: Array, part: int) -> list[Bridge]:
    """One stretch by rows of one length that overlap."""
    two_turns = np.concatenate([angles, angles + 360.0])
    number = -(-len(t) // ROW)
    length = min(-(-len(t) // number) + 2 * MARGIN, len(t))
    first = np.linspace(0, len(t) - length, number).astype(np.int64)
    every = first[:, None] + np.arange(length)
    log_pace = pace(t, len(angles))
    log_period = periods(t[every], log_pace[every], BACK)
    # a short train that fits nowhere in its middle is not worth a second search
    to_learn = [number // 2, 5 * number // 6][: 2 if number > 3 else 1]
    learnt = (_learn(log_period[:SEARCHED_BACK, [row]], two_turns, part)[0] for row in to_learn)
    course = next((found for found in learnt if found is not None), None)
    if course is None:
        return []
    teeth = _teeth(log_period, _fitted(log_period, two_turns, course), two_turns, part)
    return _bridges(_joined(first, teeth, part, len(t)), t, log_pace)


def _learn(log_period: Array, two_turns: Array, part: int) -> tuple[Courses | None, float]:
    """The course of one row, None where none fits or several that have the teeth elsewhere, and the best score."""
    log_period, every = log_period[:, :, : _learnt(len(two_turns) // 2)], tried()
    few = _repeated(log_period[:, :, :SEARCHED], len(every.sd))
    likelihood, _, _ = forward(few, every.passages(two_turns), every.sd)
    order = np.argsort(-likelihood)
    if likelihood[order[0]] < LIKELY * few.shape[2]:
        return None, -np.inf
    roughly = _teeth(log_period, every.take(order[:1]), two_turns, part)
    if _too_many_lost(_serials(roughly, 0, part)):
        return None, -np.inf
    by = np.array([teeth for teeth in range(-TURNED, TURNED + 1) if teeth and abs(teeth) < part])
    turned = every.take(np.full(len(by), order[0])).turned(by * 720.0 / len(two_turns))
    log_period = _repeated(log_period, FITTED + len(by))
    courses, score = fit(log_period, two_turns, every.take(order[:FITTED]).beside(turned), ROUNDS)
    best = int(np.argmax(score))
    teeth = _teeth(log_period, courses, two_turns, part)
    rivals = score[np.mean(teeth.tooth % part == teeth.tooth[:, [best]] % part, axis=0) < ALIKE]
    if _astray(_serials(teeth, best, part), teeth.k):
        return None, -np.inf
    clear = not len(rivals) or score[best] - rivals.max() > LEAD
    return courses.take(np.array([best])) if clear else None, float(score[best])


def _learnt(k: int) -> int:
    """How many edges show the course, and whether it is another tooth that is lost in every turn."""
    return max(LEARNT, LEARNT_TURNS * k)


def _repeated(log_period: Array, rows: int) -> Array:
    return np.broadcast_to(log_period, (log_period.shape[0], rows, log_period.shape[2]))


def _fitted(log_period: Array, two_turns: Array, course: Courses) -> Courses:
    """The course of every row, from the one that was learnt or a calmer one of the same kind."""
    n = log_period.shape[1]
    same = course.take(np.zeros(n, np.int64))
    if n == 1:
        return same
    same = same._replace(sd=np.full(n, AGAIN_SD))
    both = same.beside(same._replace(waves=CALMER * same.waves))
    courses, score = fit(np.concatenate([log_period, log_period], axis=1), two_turns, both, ROUNDS_AGAIN)
    return courses.take(np.arange(n) + n * (score[n:] > score[:n]))


def _teeth(log_period: Array, courses: Courses, two_turns: Array, part: int) -> _Teeth:
    passage = courses.passages(two_turns)
    # parts that look the same are told apart within a row only: as good as all of it begins in the first one
    first = np.where(np.arange(len(two_turns)) < part, 1.0, ANOTHER_VARIANT)
    _, reached, scale = forward(log_period, passage, courses.sd, first)
    shape = (log_period.shape[2], log_period.shape[1])
    out = _Teeth(np.zeros(shape, np.int64), np.zeros(shape), np.zeros(shape), len(two_turns) // 2)
    for edge, likely, _ in backward(log_period, passage, courses.sd, reached, scale):
        folded = likely.reshape(len(likely), -1, part).sum(axis=1)
        out.tooth[edge] = likely.argmax(axis=1)
        out.sure[edge] = np.take_along_axis(folded, out.tooth[edge][:, None] % part, axis=1)[:, 0]
        out.real[edge] = folded.sum(axis=1)
    return out


def _joined(first: Index, teeth: _Teeth, part: int, edges: int) -> _Edges:
    """The rows one after the other: one piece where what two of them have in common agrees."""
    out = _Edges(np.full(edges, -1), np.zeros(edges, bool), np.zeros(edges, np.int64))
    n, k = len(teeth.tooth), teeth.k
    done = number = 0
    for at, begin in enumerate(first.tolist()):
        serial = _serials(teeth, at, part)
        sure = (teeth.sure[:, at] > SURE) & (serial >= 0)
        if np.count_nonzero(sure) < LEAST_PLACED * n or _astray(serial, k):
            continue
        common = np.arange(begin, max(done, begin))
        common = common[out.sure[common] & sure[common - begin]]
        shift = out.serial[common] - serial[common - begin]
        if len(shift) >= FEWEST_COMMON and shift[0] % part == 0 and np.all(shift == shift[0]):
            own = (begin + done) // 2
            serial[serial >= 0] += shift[0]
        else:
            own, number = max(done, begin), number + 1
        done = begin + n
        out.serial[own:done], out.sure[own:done] = serial[own - begin :], sure[own - begin :]
        out.piece[own:done] = number
    return out


def _bridges(edges: _Edges, t: Array, log_pace: Array) -> list[Bridge]:
    """Each piece, cut where for a turn no edge is sure."""
    placed = np.flatnonzero(edges.sure)
    if not len(placed):
        return []
    turned = np.diff(t[placed]) / np.exp(log_pace[placed[1:]])
    step = np.diff(edges.serial[placed])
    cut = np.flatnonzero((np.diff(edges.piece[placed]) != 0) | (step <= 0) | (turned > 360.0)) + 1
    out = []
    for some in np.split(placed, cut):
        serial = edges.serial[some]
        between = np.arange(some[0], some[-1] + 1)
        missing: list[tuple[float, int]] = []
        for gap in np.flatnonzero(np.diff(serial) > 1).tolist():
            a, b, lost = int(some[gap]), int(some[gap + 1]), np.arange(serial[gap] + 1, serial[gap + 1])
            when = t[a] + (t[b] - t[a]) * (lost - serial[gap]) / (serial[gap + 1] - serial[gap])
            free = ~np.isin(lost, edges.serial[a + 1 : b])
            missing += zip(when[free].tolist(), lost[free].tolist(), strict=True)
        extra = between[edges.serial[between] < 0].tolist()
        out.append(Bridge(list(zip(some.tolist(), serial.tolist(), strict=True)), extra, missing))
    return out


def _serials(teeth: _Teeth, row: int, part: int) -> Index:
    """Teeth counted on through a row, (n,), -1 where the edge is rather an extra one."""
    out = np.full(len(teeth.tooth), -1)
    likely = np.flatnonzero(teeth.real[:, row] > 0.5)
    step = np.diff(teeth.tooth[likely, row], prepend=0) % (2 * teeth.k)
    # no step is so long: another of the parts that look the same is meant now, or an unsure edge was a tooth too far on
    long = step > LONGEST_STEP
    long[:1] = False
    back = max(part - 1 - LONGEST_STEP, 0)
    step[long] = (step[long] + back) % part - back
    out[likely] = np.cumsum(step)
    return out


def _astray(serial: Index, k: int) -> bool:
    """Whether the way is a tooth off, or the wheel another one.

    Chance loses now this tooth and now that one; such a way finds the same tooth lost or the same edge too many in
    every turn, or in every cycle where a signal that fades with the speed loses the same teeth there.
    """
    lost, more, way = _lost_and_extra(serial)
    often = max(int(np.bincount(x % k, minlength=1).max()) for x in (lost, more))
    if _too_many_lost(serial) or (way >= CHECK_TURNS * k and often >= ALWAYS * way / k):
        return True
    return any(_repeats(x, way, 2 * k) for x in (lost, more))


def _repeats(serial: Index, way: int, period: int) -> bool:
    """Whether teeth are met at the same places of a period more often than chance would have it (chi-square)."""
    usual = len(serial) / period
    apart = float(np.sum(np.square(np.bincount(serial % period, minlength=period) - usual))) / max(usual, 1.0 / period)
    return way >= 2 * period and float(scipy.special.chdtrc(period - 1, apart)) < CHANCE


def _too_many_lost(serial: Index) -> bool:
    """Whether more edges are lost or extra than any sensor in use would lose or make."""
    lost, more, way = _lost_and_extra(serial)
    return len(lost) > MOST_LOST * way or len(more) > MOST_EXTRA * way


def _lost_and_extra(serial: Index) -> tuple[Index, Index, int]:
    """Teeth that have no edge, teeth before extra edges, and teeth from the first to the last one."""
    found = serial[serial >= 0]
    if not len(found):
        return found, np.zeros(len(serial), np.int64), 1
    lost = np.setdiff1d(np.arange(found[0], found[-1]), found)
    before = np.maximum.accumulate(serial)
    return lost, before[(serial < 0) & (before >= 0)], max(int(found[-1] - found[0]), 1)
