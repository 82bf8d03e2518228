"""Which records two files both hold: one bus that was recorded twice, or a copy whose times were rounded or moved.

A record is told by its content, a word of 64 bits. Words that stand once in each file lie, in two recordings of one
bus, a nearly constant time apart. Words that chance has put into both lie anywhere within the length of the files, few
of them within half a second. That ten different ones lie so, that half of all records have a twin there, half of the
different ones too, and that of nearly each stream that says something, needs one cause for both. Two drives do not give
it, since no engine turns twice in the same way; nor does a second bus to which a gateway sends on the lesser part; nor
a counter that begins anew with each start, since it is one stream beside others; nor a vehicle that stands, whose words
are few and come again and again.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.dsp.grouping import among, distinct
from logan.dsp.median import median
from logan.model.capture import Table
from logan.pipeline.records import Marks, Recorded, Records, Rows, Times, Words, ends_s, records_of

SAME_S: Final = 1e-4
"""Times of one record in two files agree to this: formats keep microseconds, some tenths of milliseconds."""
MARGIN_S: Final = 60.0
"""Clocks that are said to be the same are looked at so far around what both recorded."""
FEWEST: Final = 10
"""Fewer different records that both hold tell nothing."""
FEWEST_EXACT: Final = 3
"""Of one clock to the tick, where neither holds anything else."""
LARGEST_JITTER_S: Final = 0.05
"""A recorder stamps later than another, but no more unevenly than this (common practice, no source)."""
LARGEST_DRIFT_S: Final = 0.5
"""Two quartz clocks, 100 ppm apart, drift by a third of a second in an hour (common practice, no source)."""
_JITTERS: Final = 6.0
"""Median errors within which twins are looked for: four standard deviations where they are normal."""
_MOST_STREAMS: Final = 0.75
_LOOKED_AT: Final = 400_000
"""Records by which a shift is looked for; of more the words are taken whose number is a multiple of something."""
_FEWEST_MARKS: Final = 5
_AT_ONCE: Final = 2_000_000
_ROUNDS: Final = 3
_NEARLY_ALL: Final = 0.99
_Both = tuple[Records, Records]


class Twice(Struct, frozen=True):
    """What two files both hold, record by record.

    Parameters
    ----------
    one, other : (n,) rows of the twins in the one file and in the other
    one_s, other_s : (n,) their times on the axis, ``other_s`` ascending
    number : how many records, rows of a table
    held : how many records each holds of the time in which both recorded
    span_s : how long that is, s
    """

    one: Rows
    other: Rows
    one_s: Times
    other_s: Times
    number: int
    held: tuple[int, int]
    span_s: float

    @property
    def shift_s(self) -> float:
        """What brings the other's times to those of the one, s; nothing where they agree."""
        shift_s = median(self.one_s - self.other_s)
        return 0.0 if abs(shift_s) <= SAME_S else shift_s

    def turned(self) -> Twice:
        """The same with the one as the other."""
        order = np.argsort(self.one_s, kind="stable")
        sides = self.other[order], self.one[order], self.other_s[order], self.one_s[order]
        return Twice(*sides, self.number, self.held[::-1], self.span_s)


class _Move(Struct, frozen=True):
    """How the times of the other file become those of the one.

    Parameters
    ----------
    shift_s, rate : what to add in the middle of ``begin_s`` to ``end_s``, and how it grows; beyond it stays as it is
    within_s : twins lie within this
    share : twins among the records of the file that holds less of them, at least
    """

    shift_s: float
    rate: float
    begin_s: float
    end_s: float
    within_s: float
    share: float = 0.5
    exact: bool = False

    def __call__(self, t_s: Times) -> Times:
        return (
            t_s + self.shift_s + self.rate * (np.clip(t_s, self.begin_s, self.end_s) - (self.begin_s + self.end_s) / 2)
        )


def recorded_twice(one: Recorded, other: Recorded, shift_s: tuple[float, float], one_clock: bool) -> Twice | None:
    """What two files both hold, or None where they are no two recordings of the same.

    Parameters
    ----------
    shift_s : what brings the times of each to the session's axis, s
    one_clock : whether both are said to have one clock: what lies far outside the time of both is not looked at
    """
    within = (-np.inf, np.inf)
    ends = [ends_s(content, shift) for content, shift in zip((one, other), shift_s, strict=True)]
    if one_clock:
        within = max(begin for begin, _ in ends) - MARGIN_S, min(end for _, end in ends) + MARGIN_S
    a, b = (records_of(content, shift, within) for content, shift in zip((one, other), shift_s, strict=True))
    of_table = isinstance(one, Table)
    if of_table:
        # Two exports may hold different columns of one drive, and a copy holds its rows in the same order, however
        # its times were rounded.
        a, b = _of_both(a, b)
        in_order = _by_order(a), _by_order(b)
        for found in _by_unique(*in_order):
            move = _Move(float(round(found.shift_s)), 0.0, 0.0, 0.0, 0.25, share=_NEARLY_ALL)
            if _told(*in_order, move):
                return _all_twins((a, b), in_order, move, of_table)
    some = _sampled(a, b)
    for move in _moves(*some, one_clock):
        if _told(*some, move):
            return _all_twins((a, b), (a, b), move, of_table)
    return None


def perhaps_twice(one: Marks, other: Marks) -> bool:
    """Whether some marks that stand in both are one time apart; else it is not worth to compare the files whole."""
    below = np.uint64(min(one.below, other.below))
    (a_s, a), (b_s, b) = ((m.t_s[m.word <= below], m.word[m.word <= below]) for m in (one, other))
    at = np.minimum(np.searchsorted(b, a), len(b) - 1)
    both = b[at] == a if len(b) else np.zeros(len(a), bool)
    apart_s = np.sort(a_s[both] - b_s[at[both]])
    together = np.searchsorted(apart_s, apart_s + LARGEST_DRIFT_S, side="right") - np.arange(len(apart_s))
    most = int(together.max(initial=0))
    if most < _FEWEST_MARKS:
        return False
    # Two drives have marks in common by chance; how far those are apart has a peak of twice its mean.
    by_chance = 2 * (len(apart_s) - most) * LARGEST_DRIFT_S / max(float(np.ptp(apart_s)), LARGEST_DRIFT_S)
    return bool(most >= by_chance + _JITTERS * by_chance**0.5)


def _of_both(a: Records, b: Records) -> tuple[Records, Records]:
    """The records of what both hold some of."""
    return a.some(among(a.stream, distinct(b.stream))), b.some(among(b.stream, distinct(a.stream)))


def _all_twins(whole: _Both, placed: _Both, move: _Move, of_table: bool) -> Twice:
    """All twins of two files, found where their records are placed, by time or by order."""
    inside = _shared_time(*placed, move)
    pairs = _pairs(placed[0].some(inside[0]), placed[1].some(inside[1]), move)
    a, b = (one.some(rows[at]) for one, rows, at in zip(whole, inside, pairs, strict=True))
    order = np.argsort(b.t_s, kind="stable")
    a, b = a.some(order), b.some(order)
    number = len(order)
    if of_table:
        number = int(np.bincount(np.searchsorted(distinct(a.stream), a.stream)).max())
    span_s = float(np.ptp(whole[0].t_s[inside[0]]))
    return Twice(a.row, b.row, a.t_s, b.t_s, number, (len(inside[0]), len(inside[1])), span_s)


def _moves(a: Records, b: Records, one_clock: bool) -> Iterator[_Move]:
    """What the one clock may be against the other, the most telling first."""
    yield from _by_unique(a, b)
    if one_clock:
        yield from _by_nearest(a, b)
        yield _Move(0.0, 0.0, 0.0, 0.0, SAME_S, exact=True)


def _by_unique(a: Records, b: Records) -> Iterator[_Move]:
    """By the words that stand once in each."""
    word = np.concatenate([a.word, b.word])
    order = np.argsort(word, kind="stable")
    begin = np.flatnonzero(_begins(word[order]))
    twin = begin[np.diff(np.append(begin, len(word))) == 2]
    first, second = order[twin], order[twin + 1] - len(a.word)
    apart = (first < len(a.word)) & (second >= 0)
    yield from _fitted(a.t_s[first[apart]], b.t_s[second[apart]], LARGEST_DRIFT_S)


def _by_nearest(a: Records, b: Records) -> Iterator[_Move]:
    """By the nearest equal words, where none stands alone: as good as the shift is small against their distance."""
    t_s, word = np.concatenate([a.t_s, b.t_s]), np.concatenate([a.word, b.word])
    order = np.lexsort((t_s, word))
    first, second = order[:-1], order[1:]
    is_pair = (word[first] == word[second]) & ((first < len(a.t_s)) != (second < len(a.t_s)))
    usual = np.concatenate([_usual(a), _usual(b)])
    is_pair &= ~usual[first] & ~usual[second]
    first, second = first[is_pair], second[is_pair]
    of_a, of_b = np.minimum(first, second), np.maximum(first, second)
    yield from _fitted(t_s[of_a], t_s[of_b], LARGEST_JITTER_S)


def _usual(records: Records) -> NDArray[np.bool_]:
    """Whether each record holds what its stream holds most often, which tells nothing of the time."""
    order = np.lexsort((records.word, records.stream))
    word, stream = records.word[order], records.stream[order]
    begin = np.flatnonzero(_begins(stream, word))
    count = np.diff(np.append(begin, len(word)))
    by_count = np.lexsort((-count, stream[begin]))
    most = np.zeros(len(begin), bool)
    most[by_count] = _begins(stream[begin][by_count])
    out = np.empty(len(word), bool)
    out[order] = np.repeat(most, count)
    return out


def _fitted(a_s: Times, b_s: Times, window_s: float) -> Iterator[_Move]:
    """The move that most pairs of times agree on, of nearly as good ones the smallest; none if fewer than needed do."""
    if len(a_s) < FEWEST:
        return
    apart_s = a_s - b_s
    ordered = np.sort(apart_s)
    count = np.searchsorted(ordered, ordered + window_s, side="right") - np.arange(len(ordered))
    middle_s = ordered[np.arange(len(ordered)) + count // 2]
    good = np.flatnonzero(count >= 0.8 * count.max())
    middle = middle_s[good[np.argmin(np.abs(middle_s[good]))]]
    inside = np.abs(apart_s - middle) <= window_s / 2
    inside = np.abs(apart_s - median(apart_s[inside])) <= window_s / 2
    t_s, apart_s = b_s[inside], apart_s[inside]
    if len(t_s) < FEWEST:
        return
    shift_s, rate, middle_at_s = median(apart_s), 0.0, float(t_s.min() + t_s.max()) / 2
    error = np.abs(apart_s - shift_s)
    if len(t_s) >= 8 * FEWEST:
        parts = np.array_split(np.argsort(t_s), 8)
        part_t, part_d = (np.array([median(x[part]) for part in parts]) for x in (t_s, apart_s))
        centred = part_t - part_t.mean()
        slope = float(centred @ part_d / (centred @ centred)) if centred.any() else 0.0
        drifting = apart_s - slope * (t_s - middle_at_s)
        at_middle = median(drifting)
        if 2 * median(np.abs(drifting - at_middle)) < median(error):
            shift_s, rate, error = at_middle, slope, np.abs(drifting - at_middle)
    jitter_s = max(_JITTERS * median(error), 2 * float(np.sort(error)[int(0.95 * (len(error) - 1))]))
    within_s = min(max(jitter_s, SAME_S), LARGEST_JITTER_S)
    yield _Move(shift_s, rate, float(t_s.min()), float(t_s.max()), within_s)


def _shared_time(a: Records, b: Records, move: _Move) -> tuple[Rows, Rows]:
    """Places of the records from the time in which both recorded."""
    if not len(a.t_s) or not len(b.t_s):
        return np.empty(0, np.int64), np.empty(0, np.int64)
    b_s = move(b.t_s)
    begin_s = max(a.t_s.min(), b_s.min()) - move.within_s
    end_s = min(a.t_s.max(), b_s.max()) + move.within_s
    inside = [np.flatnonzero((t_s >= begin_s) & (t_s <= end_s)) for t_s in (a.t_s, b_s)]
    return inside[0], inside[1]


def _told(a: Records, b: Records, move: _Move) -> bool:
    """Whether so much is the same that both are recordings of one thing."""
    inside_a, inside_b = _shared_time(a, b, move)
    a, b = a.some(inside_a), b.some(inside_b)
    if move.exact:  # of two recorders that leave out different identifiers too
        a, b = _of_both(a, b)
    at_a, _ = _pairs(a, b, move)
    fewer, more = sorted((len(a.word), len(b.word)))
    if not len(at_a) or len(at_a) < move.share * fewer:
        return False
    if move.exact and len(at_a) < FEWEST:
        return len(at_a) == more >= FEWEST_EXACT
    twins = a.some(at_a)
    words = distinct(twins.word)
    times = [_times_held(words, one.word) for one in (a, b, twins)]
    known = words[2 * times[2] >= np.minimum(times[0], times[1])]
    streams = distinct(np.concatenate([a.stream, b.stream]))
    of_a, of_b, of_both = (
        np.bincount(np.searchsorted(streams, _different(one)), minlength=len(streams))
        for one in (a, b, twins.some(among(twins.word, known)))
    )
    least = np.minimum(of_a, of_b)
    telling = least >= FEWEST
    if not move.exact and (len(known) < FEWEST or 2 * len(known) < min(of_a.sum(), of_b.sum())):
        return False
    return bool((2 * of_both >= least)[telling].sum() >= _MOST_STREAMS * telling.sum())


def _times_held(words: Words, among_these: Words) -> NDArray[np.int64]:
    """How often each of some words stands among others."""
    ordered = np.sort(among_these)
    return np.searchsorted(ordered, words, side="right") - np.searchsorted(ordered, words, side="left")


def _different(records: Records) -> NDArray[np.uint32]:
    """The stream of each different word: no two streams have one in common."""
    order = np.argsort(records.word)
    return records.stream[order][_begins(records.word[order])]


def _begins(*ordered: NDArray[np.generic]) -> NDArray[np.bool_]:
    """Whether each row of some columns, in order, is another than the one before."""
    out = np.ones(len(ordered[0]), bool)
    out[1:] = np.logical_or.reduce([column[1:] != column[:-1] for column in ordered])
    return out


def _pairs(a: Records, b: Records, move: _Move) -> tuple[Rows, Rows]:
    """Places of the twins: equal words, each the other's nearest, and nearer than the next equal one of its own file.

    So of a message that is sent again and again with one content, what the one file lost does not take the twin of its
    neighbour.
    """
    b_s = move(b.t_s)
    parts = 1 + (len(a.word) + len(b.word)) // _AT_ONCE
    found: list[tuple[Rows, Rows]] = []
    for part in range(parts):  # by word, so that twins stand in one part
        at_a, at_b = (
            np.flatnonzero(one.word % np.uint64(parts) == part) if parts > 1 else np.arange(len(one.word))
            for one in (a, b)
        )
        t_s, word = np.concatenate([a.t_s[at_a], b_s[at_b]]), np.concatenate([a.word[at_a], b.word[at_b]])
        of_b = np.arange(len(word)) >= len(at_a)
        for first, second in _nearest(t_s, word, of_b, move.within_s):
            found.append((at_a[np.minimum(first, second)], at_b[np.maximum(first, second) - len(at_a)]))
    return np.concatenate([one for one, _ in found]), np.concatenate([other for _, other in found])


def _nearest(t_s: Times, word: Words, of_b: NDArray[np.bool_], within_s: float) -> Iterator[tuple[Rows, Rows]]:
    """Pairs of equal words of two files, one record of each, the nearest first."""
    order = np.lexsort((t_s, word))
    room = np.full(len(order), np.inf)
    for file in (False, True):
        own = order[of_b[order] == file]
        step = np.where(word[own][1:] == word[own][:-1], np.diff(t_s[own]), np.inf)
        if len(own) > 1:
            room[own[1:]] = step
            room[own[:-1]] = np.minimum(room[own[:-1]], step)
    for _ in range(_ROUNDS):
        first, second = order[:-1], order[1:]
        gap = t_s[second] - t_s[first]
        fits = (word[first] == word[second]) & (of_b[first] != of_b[second]) & (gap <= within_s)
        fits &= (gap <= SAME_S) | (2 * gap < np.minimum(room[first], room[second]))
        gap = np.where(fits, gap, np.inf)
        best = fits.copy()
        best[1:] &= gap[1:] <= gap[:-1]
        best[:-1] &= gap[:-1] < gap[1:]
        yield first[best], second[best]
        left = np.ones(len(order), bool)
        left[:-1] &= ~best
        left[1:] &= ~best
        order = order[left]
        if not best.any():
            return


def _sampled(a: Records, b: Records) -> tuple[Records, Records]:
    """All of few records; of many those of some words, the same in both."""
    every = np.uint64(1 + max(len(a.word), len(b.word)) // _LOOKED_AT)
    if every == 1:
        return a, b
    return a.some((a.word >> np.uint64(20)) % every == 0), b.some((b.word >> np.uint64(20)) % every == 0)


def _by_order(records: Records) -> Records:
    """Of a table, with the number of its row in the place of each time."""
    begin = np.flatnonzero(_begins(records.stream))
    count = np.diff(np.append(begin, len(records.stream)))
    place = np.arange(len(records.stream)) - np.repeat(begin, count)
    return Records(place.astype(np.float64), records.word, records.stream, records.row)
