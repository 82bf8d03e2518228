"""Differences between two pedal tracks that come and go, and how still a pedal was that is read now and then.

Where one answer holds both tracks their difference is one of the tracks, whatever the pedal does. Where they are read
one after the other, a pedal that moves in between feigns a difference: what either track read before and after bounds
it only as far as those readings go, and a pedal may come back between two of them. It does not do so time after time
in step with the polling: readings in a row that differ alike, while the other track keeps still before, between and
after them, tell of the tracks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from logan.measures.align import near, period_s
from logan.model.channel import Channel

LASTS_S: Final = 1.0
IN_A_ROW: Final = 2
"""Readings of one instant in a row that must differ alike: a single one may be disturbed."""
IN_STEP: Final = 3
"""The same for tracks read one after the other: a pedal pumped in step with the polling feigns two (assumed)."""
STILL_PERCENT: Final = 1.2
STILL_SHARE: Final = 0.1
"""A track is still that moves by less than the larger of the above and this share of the difference (assumed)."""
CHANCE: Final = 0.025
"""Expected number of rows of readings feigned by motion up to which one that is seen is none of them."""
GAPS: Final = 2.0
"""Readings further apart than so many usual periods are not in a row."""
FEWEST: Final = 10
SHARE: Final = 1.0 / 3.0
"""Share of the readings that come at one instant from which these alone are compared (assumed)."""

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lapses:
    """Largest difference that surely lasted, and the largest that may have; % of the travel of track d, 0 for none."""

    sure: float
    possible: float


def of_one_instant(d: Channel, e: Channel) -> tuple[Channel, Channel]:
    """Both tracks at the instants that hold both, where many do; else as they are.

    A request for several values brings both tracks in one answer, or in two where it is full (common practice).
    """
    (d_s, d_value), (e_s, e_value) = d.finite(), e.finite()
    _, of_d, of_e = np.intersect1d(d_s, e_s, return_indices=True)
    if len(of_d) < max(FEWEST, SHARE * min(len(d_s), len(e_s))):
        return d, e
    return _at(d, d_s[of_d], d_value[of_d]), _at(e, e_s[of_e], e_value[of_e])


def around(t_s: Array, other: Channel) -> tuple[Array, Array]:
    """Lowest and highest of the other track just before, at and just after each instant, (len(t_s),) each."""
    other_s, value = other.finite()
    before = np.clip(np.searchsorted(other_s, t_s, side="left") - 1, 0, None)
    after = np.clip(np.searchsorted(other_s, t_s, side="right"), None, len(other_s) - 1)
    about = value[before], value[after], np.interp(t_s, other_s, value)
    return np.minimum.reduce(about), np.maximum.reduce(about)


def lapses(d: Channel, e: Channel, ratio: float, offset: float, together: bool) -> Lapses:
    """Differences that come and go.

    Parameters
    ----------
    d, e : the tracks, %
    ratio, offset : relation e = ratio * d + offset
    together : both are read at one instant
    """
    alike = _at(e, e.t_s, (e.value - offset) / ratio)
    period = max(period_s(d), period_s(e))
    # so many readings last about a second; and a second holds at least so many
    few = IN_A_ROW if together else IN_STEP
    long, short = max(few, math.ceil(LASTS_S / period)), max(1, math.floor(LASTS_S / period))
    if together:
        sure, possible = (_in_a_row(d, alike, n, period, True).largest for n in (long, short))
        return Lapses(sure, max(sure, possible))
    sure = possible = 0.0
    for track, other in ((d, alike), (alike, d)):
        found = _in_a_row(track, other, long, period, False)
        size = found.largest
        possible = max(possible, size, _in_a_row(track, other, short, period, False).largest)
        # motion feigns differences in either track: how often it does shows in the one that does not lapse
        single = _in_a_row(other, track, 1, period, False)
        share = (1.0 + np.count_nonzero(single.apart_from(found, 0.5 * size))) / (1.0 + len(single.size))
        if len(found.size) * share**long < CHANCE:
            sure = max(sure, size)
    return Lapses(sure, possible)


@dataclass(frozen=True, slots=True)
class _Rows:
    """Rows of readings: by how much all of a row differ alike at least, %, and when the row begins and ends, s."""

    size: Array
    begin_s: Array
    end_s: Array

    @property
    def largest(self) -> float:
        return float(self.size.max(initial=0.0))

    def apart_from(self, others: _Rows, size: float) -> Array:
        """Sizes of the rows of at least a size at which none of the others of that size is under way."""
        counts = others.size >= size
        begin_s, end_s = others.begin_s[counts], np.maximum.accumulate(others.end_s[counts])
        last = np.searchsorted(begin_s, self.end_s, side="right") - 1
        inside = (last >= 0) & (end_s[np.maximum(last, 0)] >= self.begin_s) if len(end_s) else np.zeros(len(last), bool)
        out: Array = self.size[(self.size >= size) & ~inside]
        return out


def _in_a_row(track: Channel, other: Channel, n: int, period: float, together: bool) -> _Rows:
    """Rows of n readings of a track through which the other one keeps still."""
    t_s, value = track.finite()
    expected = near(other, t_s)
    good = np.isfinite(expected)
    t_s, value, expected = t_s[good], value[good], expected[good]
    if len(t_s) < n:
        return _Rows(np.empty(0), np.empty(0), np.empty(0))
    lowest, highest = (expected, expected) if together else around(t_s, other)
    time, seen, error = (sliding_window_view(x, n) for x in (t_s, value, value - expected))
    size = np.maximum(np.maximum(error.min(axis=1), -error.max(axis=1)), 0.0)
    counts = time[:, -1] - time[:, 0] <= GAPS * n * period
    if not together:
        still = np.maximum(STILL_PERCENT, STILL_SHARE * size)
        counts &= np.ptp(seen, axis=1) <= still
        least, most = sliding_window_view(lowest, n).min(axis=1), sliding_window_view(highest, n).max(axis=1)
        counts &= most - least <= still
    return _Rows(size[counts], time[counts, 0], time[counts, -1])


def _at(channel: Channel, t_s: Array, value: Array) -> Channel:
    return Channel(
        channel.name, channel.unit, t_s, value, channel.half_width_s, channel.source, channel.file, ecu=channel.ecu
    )
