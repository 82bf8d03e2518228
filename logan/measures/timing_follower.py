"""Injection timing: lag and play with which the actual value follows its command, told from the transients."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.hysteresis import lagged, play
from logan.dsp.robust import mad_sigma
from logan.measures.align import GRID_S, Pair

LEAST_MOVE_DEG: Final = 0.5
CLEAR_GAIN: Final = 20.0  # gain of log likelihood that a hysteresis must bring before it is believed
_LAGS_S: Final = np.array([0.0, 0.1, 0.2, 0.4, 0.7, 1.1, 1.7, 2.6, 4.0])
_WIDTHS_DEG: Final = np.array([0.2, 0.5, 1.0, 1.8, 3.0, 5.0])
_MOST_ROWS: Final = 4000
_BLOCK_S: Final = 5.0

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Follower:
    """How actual timing follows its command: ``lag(command + size / 2 * side)``.

    The side is that of a play of ``width_deg``: -1 once the command has come up by that much, +1 once it has come down.
    Size and width are the same for plain backlash; friction and a worn linkage turn over sooner.

    Parameters
    ----------
    lag_s : time constant, s
    lag_sd_s : its standard uncertainty, inf where the record has no transient
    size_deg : hysteresis, 0 where none stands clear
    width_deg : how far the command must turn back
    moves : how many separate moves of the command told it
    """

    lag_s: float
    lag_sd_s: float
    size_deg: float
    width_deg: float
    moves: int

    def target(self, joined: Pair) -> Array:
        """Where the follower comes to rest, on the grid of the pair, (g,)."""
        return joined.grid + 0.5 * self.size_deg * side(joined, self.width_deg)[0]

    def unrest(self, joined: Pair, lag_s: float) -> Array:
        """What a lag would leave between the follower and its rest, at the instants of the pair, (n,)."""
        target = self.target(joined)
        return joined.off_grid(lagged(target, GRID_S, lag_s) - target)


def side(joined: Pair, width_deg: float) -> tuple[Array, Mask]:
    """Where the command came from, on the grid: -1 from below .. +1 from above; and whether it is known, (g,) each."""
    follows, known = play(joined.grid, width_deg)
    return np.where(known, 2.0 * (follows - joined.grid) / width_deg, 0.0), known


def follow(joined: Pair, running: Mask, slow: list[Array]) -> Follower:
    """Fit lag and hysteresis by robust least squares over the transients.

    Parameters
    ----------
    running : (n,) instants that count
    slow : further regressors of the error (time, speed, load), (n,) each
    """
    least = max(LEAST_MOVE_DEG, 4.0 * ripple(joined))
    rows = np.flatnonzero(running)
    busy = rows[np.abs(joined.trailing(1.0))[rows] > least]
    if len(busy) < 8:
        return Follower(0.0, np.inf, 0.0, least, 0)
    moves = 1 + int(np.count_nonzero(np.diff(joined.t_s[busy]) > 2.0))
    rows = rows[:: max(1, int(np.ceil(len(rows) / _MOST_ROWS)))]
    basis, _ = np.linalg.qr(np.column_stack([np.ones(len(rows)), *(x[rows] for x in slow)]))

    def without_slow(x: Array) -> Array:
        out: Array = x - basis @ (basis.T @ x)
        return out

    @lru_cache
    def came_from(width_deg: float) -> Array:
        return side(joined, width_deg)[0]

    def left(lag_s: float, width_deg: float) -> tuple[Array, float]:
        """Residual of a follower, and the size of its hysteresis; no hysteresis for width 0."""
        rest = without_slow((joined.error - joined.trailing(lag_s))[rows])
        if width_deg <= 0.0:
            return rest, 0.0
        came = lagged(came_from(width_deg), GRID_S, lag_s)
        column = without_slow(0.5 * np.interp(joined.t_s[rows], joined.grid_s, came))
        size = float(column @ rest) / max(float(column @ column), 1e-12)
        return rest - size * column, size

    scale = max(mad_sigma(left(0.0, 0.0)[0]), joined.resolution, 1e-3)

    def cost(lag_s: float, width_deg: float) -> float:
        u = np.abs(left(lag_s, width_deg)[0]) / scale
        return float(np.sum(np.where(u < 2.0, 0.5 * u**2, 2.0 * u - 2.0)))

    plain = np.array([cost(lag, 0.0) for lag in _LAGS_S])
    lag_s, width_deg, size_deg = _between(lambda lag: cost(lag, 0.0), _LAGS_S, int(np.argmin(plain))), 0.0, 0.0
    costs = np.array([[cost(lag, width) for width in _WIDTHS_DEG] for lag in _LAGS_S])
    at_lag, at_width = np.unravel_index(int(np.argmin(costs)), costs.shape)
    wide = _between(lambda width: cost(float(_LAGS_S[at_lag]), width), _WIDTHS_DEG, int(at_width))
    late = _between(lambda lag: cost(lag, wide), _LAGS_S, int(at_lag))
    if cost(late, wide) < cost(lag_s, 0.0) - CLEAR_GAIN and left(late, wide)[1] > 0.0:
        lag_s, width_deg, size_deg = late, wide, left(late, wide)[1]
    step = 0.05
    near, far = left(max(lag_s - step, 0.0), width_deg)[0], left(lag_s + step, width_deg)[0]
    slope = (far - near) / (step + min(lag_s, step))
    rest = np.clip(left(lag_s, width_deg)[0], -3.0 * scale, 3.0 * scale)
    block = np.floor((joined.t_s[rows] - joined.t_s[rows[0]]) / _BLOCK_S).astype(np.int64)
    score = np.bincount(block, slope * rest)
    information = float(slope @ slope)
    sd = float(np.sqrt(score @ score)) / information if information > 0.0 else np.inf
    return Follower(lag_s, float(np.hypot(sd, joined.skew_s)), size_deg, width_deg or least, moves)


def ripple(joined: Pair) -> float:
    """Noise of the command from value to value, standard deviation."""
    if len(joined.t_s) < 4:
        return 0.0
    # the second difference of white noise has six times its variance
    return mad_sigma(np.diff(joined.commanded, 2)) / float(np.sqrt(6.0))


def _between(cost: Callable[[float], float], grid: Array, at: int) -> float:
    """Least cost between the neighbours of a grid's best point."""
    bounds = (float(grid[max(at - 1, 0)]), float(grid[min(at + 1, len(grid) - 1)]))
    tolerance = 0.02 * max(float(grid[at]), 0.1)
    found = scipy.optimize.minimize_scalar(cost, bounds=bounds, method="bounded", options={"xatol": tolerance})
    between, on_grid = float(found.x), float(grid[at])
    return between if cost(between) < cost(on_grid) else on_grid
