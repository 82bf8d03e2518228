"""Injection timing: lag and play with which the actual value follows its command, told from its moves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.hysteresis import lagged, play
from logan.dsp.robust import mad_sigma
from logan.measures.align import GRID_S, Pair

LEAST_MOVE_DEG: Final = 0.5
CLEAR_GAIN: Final = 20.0  # gain of log likelihood that a hysteresis must bring before it is believed
TOGETHER: Final = 0.05  # correlation of two values below which they count as apart
EXPLAINS: Final = 0.3  # share of the cost from which a play explains more than noise could feign, well as it may fit
PROMISING_GAIN: Final = 5.0  # and how much of it a coarse search must show
_LAGS_S: Final = (0.0, 0.1, 0.25, 0.5, 0.9, 1.6, 2.8)
_WIDTHS_DEG: Final = (0.2, 0.5, 1.0, 1.7, 2.7, 4.0, 5.5)
SLOWEST_S: Final = 3.5
"""What follows more slowly is no lag of an actuator (assumed)."""
TAKEN_UP: Final = 0.8
"""Share of the command's travel up to which a play can be told: a wider one is hardly ever taken up both ways."""
_MOST_ROWS: Final = 4000
_BLOCK_S: Final = 5.0
_SETTLED_S: Final = 1.0

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Follower:
    """How actual timing follows its command: ``lag(command) + size / 2 * side``.

    The side is that of a play of ``width_deg``: -1 once the command has come up by that much, +1 once it has come down.
    Size and width are the same for plain backlash; friction and a worn linkage turn over sooner. The play may stand
    before the slow part (a worn pilot linkage) or after it (a piston that sticks against a pressure that builds up).

    Parameters
    ----------
    lag_s : time constant, s
    lag_sd_s : its standard uncertainty, inf where the record has no transient
    size_deg : hysteresis, 0 where none stands clear
    size_sd_deg : its standard uncertainty from the transients
    width_deg : how far the command must turn back
    width_sd_share : its standard uncertainty over itself
    lag_first : the play stands after the slow part
    moves : how many separate moves of the command told it
    wide : a play about as wide as the command's travel would explain the values too, better than this does
    """

    lag_s: float
    lag_sd_s: float
    size_deg: float
    size_sd_deg: float
    width_deg: float
    width_sd_share: float
    lag_first: bool
    moves: int
    wide: bool = False

    def came_from(self, joined: Pair, share: float = 1.0) -> tuple[Array, Mask]:
        """Side of a play of a share of the width, as it shows in the actual value, and whether it is known."""
        return _came_from(joined.grid, self.lag_s, share * self.width_deg, lag_first=self.lag_first)

    def unrest(self, joined: Pair, lag_s: float) -> Array:
        """What a lag would leave between the follower and its rest, at the instants of the pair, (n,)."""
        target = joined.grid + 0.5 * self.size_deg * side(joined.grid, self.width_deg)[0]
        return joined.off_grid(self._follows(joined, lag_s) - target)

    def by_lag(self, joined: Pair) -> Array:
        """By how much a second more of lag moves the actual value, at the instants of the pair, (n,)."""
        step = 0.1
        return joined.off_grid(self._follows(joined, self.lag_s + step) - self._follows(joined, self.lag_s)) / step

    def _follows(self, joined: Pair, lag_s: float) -> Array:
        came, _ = _came_from(joined.grid, lag_s, self.width_deg, lag_first=self.lag_first)
        return lagged(joined.grid, GRID_S, lag_s) + 0.5 * self.size_deg * came


def side(command: Array, width_deg: float) -> tuple[Array, Mask]:
    """Where an evenly sampled command came from: -1 from below .. +1 from above; and whether it is known, (g,) each."""
    follows, known = play(command, width_deg)
    return np.where(known, 2.0 * (follows - command) / width_deg, 0.0), known


def _came_from(command: Array, lag_s: float, width_deg: float, *, lag_first: bool) -> tuple[Array, Mask]:
    """The side with the lag before or after the play."""
    if lag_first:
        return side(lagged(command, GRID_S, lag_s), width_deg)
    came, known = side(command, width_deg)
    return lagged(came, GRID_S, lag_s), known


def follow(joined: Pair, running: Mask, slow: list[Array]) -> Follower:
    """Fit lag and hysteresis by robust least squares over all values, the transients above all.

    Parameters
    ----------
    running : (n,) instants that count
    slow : further regressors of the error (time, speed, load), (n,) each
    """
    least = max(LEAST_MOVE_DEG, 4.0 * ripple(joined))
    rows = np.flatnonzero(running)
    busy = rows[np.abs(joined.trailing(1.0))[rows] > least]
    if len(busy) < 8:
        return Follower(0.0, np.inf, 0.0, 0.0, least, 1.0, False, 0)
    moves = 1 + int(np.count_nonzero(np.diff(joined.t_s[busy]) > 2.0))
    told = TAKEN_UP * float(np.ptp(np.percentile(joined.commanded[rows], [3.0, 97.0])))
    rows, widths = _known_rows(joined, rows)
    rows = rows[:: max(1, int(np.ceil(len(rows) / _MOST_ROWS)))]
    t_s = joined.t_s[rows]
    basis, _ = np.linalg.qr(np.column_stack([np.ones(len(rows)), *(x[rows] for x in slow)]))

    def without_slow(on_grid: Array, minus: Array | float = 0.0) -> Array:
        x = np.interp(t_s, joined.grid_s, on_grid) - minus
        out: Array = x - basis @ (basis.T @ x)
        return out

    @lru_cache
    def trails(lag_s: float) -> Array:
        return -without_slow(lagged(joined.grid, GRID_S, lag_s), joined.actual[rows])

    @lru_cache
    def came(lag_s: float, width_deg: float, lag_first: bool) -> Array:
        return without_slow(0.5 * _came_from(joined.grid, lag_s, width_deg, lag_first=lag_first)[0])

    def left(lag_s: float, width_deg: float, lag_first: bool) -> tuple[Array, float]:
        """Residual of a follower, and the size of its hysteresis; no hysteresis for width 0."""
        rest = trails(lag_s)
        if width_deg <= 0.0:
            return rest, 0.0
        column = came(lag_s, width_deg, lag_first)
        size = float(column @ rest) / max(float(column @ column), 1e-12)
        return rest - size * column, size

    scale = max(mad_sigma(trails(0.0)), joined.resolution, 1e-3)

    def cost(lag_s: float, width_deg: float, lag_first: bool, widest: float = np.inf) -> float:
        if lag_s > SLOWEST_S or width_deg > widest:
            return np.inf
        u = np.abs(left(lag_s, width_deg, lag_first)[0]) / scale
        return float(np.sum(np.where(u < 2.0, 0.5 * u**2, 2.0 * u - 2.0)))

    plain_s = min(_LAGS_S, key=lambda lag: cost(lag, 0.0, False))
    plain_s, _ = _descend(lambda lag, _: cost(lag, 0.0, False), plain_s, 0.0)
    plain = cost(plain_s, 0.0, False)

    def with_play(widest: float) -> tuple[float, float, bool]:
        """Lag, width and kind of the play that explains the values best, width 0 where none does so clearly."""
        best, least_cost = (plain_s, 0.0, False), plain - CLEAR_GAIN
        tried = [width for width in widths if width <= widest]
        for lag_first in (False, True) if tried else ():
            lags = (plain_s, *_LAGS_S[1::2])
            start, lag, width = min((cost(lag, width, lag_first), lag, width) for lag in lags for width in tried)
            if start > plain - PROMISING_GAIN:
                continue
            lag, width = _descend(partial(cost, lag_first=lag_first, widest=widest), lag, width)
            rest, size = left(lag, width, lag_first)
            found = cost(lag, width, lag_first)
            if plain - found < EXPLAINS * plain:
                # values that wander together do not each bear witness
                found = plain - (plain - found) / _together(np.clip(rest, -2.0 * scale, 2.0 * scale))
            if found < least_cost and size > 0.0:
                best, least_cost = (lag, width, lag_first), found
        return best

    best = with_play(np.inf)
    wide = best[1] > told
    if wide:
        best = with_play(told)
    lag_s, width_deg, lag_first = best
    rest, size_deg = left(*best)
    rest = np.clip(rest, -3.0 * scale, 3.0 * scale)
    block = np.floor((t_s - t_s[0]) / _BLOCK_S).astype(np.int64)

    def changes(low: tuple[float, float, bool], high: tuple[float, float, bool], step: float) -> Array:
        out: Array = (left(*high)[0] - left(*low)[0]) / step
        return out

    early = max(lag_s - 0.05, 0.0)
    slope = changes((early, width_deg, lag_first), (lag_s + 0.05, width_deg, lag_first), lag_s + 0.05 - early)
    lag_sd = float(np.hypot(_block_sd(slope, rest, block), joined.skew_s))
    if width_deg == 0.0:
        return Follower(lag_s, lag_sd, 0.0, 0.0, least, 1.0, False, moves, wide)
    narrow, broad = 0.9 * width_deg, 1.1 * width_deg
    turn = changes((lag_s, narrow, lag_first), (lag_s, broad, lag_first), 0.2)
    size_sd, width_share = _block_sd(came(*best), rest, block), _block_sd(turn, rest, block)
    return Follower(lag_s, lag_sd, size_deg, size_sd, width_deg, width_share, lag_first, moves, wide)


def _known_rows(joined: Pair, rows: NDArray[np.int64]) -> tuple[NDArray[np.int64], tuple[float, ...]]:
    """Rows at which the side of every play to be tried is known, and the widths of these plays.

    Before the command has first moved by the width, the follower stands anywhere in its slack.
    """
    for at in range(len(_WIDTHS_DEG), 0, -1):
        _, known = side(lagged(joined.grid, GRID_S, _SETTLED_S), _WIDTHS_DEG[at - 1])
        told = rows[joined.off_grid(known.astype(float))[rows] > 0.99]
        if len(told) > 0.5 * len(rows):
            return told, _WIDTHS_DEG[:at]
    return rows, ()


def _block_sd(column: Array, rest: Array, block: NDArray[np.int64]) -> float:
    """Standard uncertainty of a coefficient where values of one block may depend on each other, inf without ground."""
    score = np.bincount(block, column * rest)
    information = float(column @ column)
    return float(np.sqrt(score @ score)) / information if information > 0.0 else np.inf


def _together(rest: Array) -> float:
    """How many values in a row count as one: 1 and twice the correlations up to the first that is nearly none."""
    spread = float(rest @ rest)
    total = 1.0
    for k in range(1, len(rest) // 4):
        correlation = float(rest[k:] @ rest[:-k]) / spread if spread > 0.0 else 0.0
        if correlation < TOGETHER:
            break
        total += 2.0 * correlation
    return total


def ripple(joined: Pair) -> float:
    """Noise of the command from value to value, standard deviation."""
    if len(joined.t_s) < 4:
        return 0.0
    # the second difference of white noise has six times its variance
    return mad_sigma(np.diff(joined.commanded, 2)) / float(np.sqrt(6.0))


def _descend(cost: Callable[[float, float], float], lag_s: float, width_deg: float) -> tuple[float, float]:
    """Least cost about a start, by ever shorter steps to the eight neighbours (they cross a slanting valley)."""
    share, at = 0.5, (lag_s, width_deg)
    least = cost(*at)
    while share > 0.03:
        lag_step, width_step = share * max(at[0], 0.1), share * at[1]
        around = {
            (max(at[0] + a * lag_step, 0.0), max(at[1] + b * width_step, 0.0)) for a in (-1, 0, 1) for b in (-1, 0, 1)
        }
        found, place = min((cost(*place), place) for place in around)
        if found < least:
            least, at = found, place
        else:
            share *= 0.5
    return at
