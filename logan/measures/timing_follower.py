"""Injection timing: lag and play with which the actual value follows its command, told from the transients."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.decompose import MAD_TO_SD
from logan.dsp.hysteresis import lagged, play
from logan.measures.align import GRID_S, Pair

LEAST_MOVE_DEG: Final = 0.5
CLEAR_GAIN: Final = 10.0  # gain of log likelihood that a play must bring before it is believed
_LAGS_S: Final = np.array([0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.7, 0.9, 1.2, 1.6, 2.2, 3.0])
_WIDTHS_DEG: Final = np.array([0.0, 0.3, 0.5, 0.8, 1.2, 1.7, 2.4, 3.4, 4.8])
_MOST_ROWS: Final = 6000
_BLOCK_S: Final = 5.0

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Follower:
    """How actual timing follows its command.

    Parameters
    ----------
    lag_s : time constant, s
    lag_sd_s : its standard uncertainty, inf where the record has no transient
    width_deg : play that fits best, 0 for none
    least_width_deg : smallest play that stands clear of the ripple of the command
    moves : how many separate moves of the command told it
    """

    lag_s: float
    lag_sd_s: float
    width_deg: float
    least_width_deg: float
    moves: int

    def off_command(self, joined: Pair, lag_s: float | None = None, width_deg: float | None = None) -> Array:
        """Where a follower with no other error would stand against the command, at the instants of the pair, (n,)."""
        width = self.width_deg if width_deg is None else width_deg
        command = play(joined.grid, width)[0] if width > 0.0 else joined.grid
        return joined.trailing(self.lag_s if lag_s is None else lag_s, command)


def follow(joined: Pair, running: Mask, slow: list[Array]) -> Follower:
    """Fit lag and play by robust least squares.

    Parameters
    ----------
    running : (n,) instants that count
    slow : further regressors of the error (speed, load), (n,) each
    """
    least = max(LEAST_MOVE_DEG, 4.0 * ripple(joined))
    rows = np.flatnonzero(running)
    busy = rows[np.abs(joined.trailing(1.0))[rows] > least]
    if len(busy) < 8:
        return Follower(0.0, np.inf, 0.0, least, 0)
    moves = 1 + int(np.count_nonzero(np.diff(joined.t_s[busy]) > 2.0))
    rows = rows[:: max(1, int(np.ceil(len(rows) / _MOST_ROWS)))]
    basis, _ = np.linalg.qr(np.column_stack([np.ones(len(rows)), *(x[rows] for x in slow)]))
    error = joined.error[rows]

    def left(lag_s: float, width_deg: float) -> Array:
        command = play(joined.grid, width_deg)[0] if width_deg > 0.0 else joined.grid
        rest = error - joined.trailing(lag_s, command)[rows]
        out: Array = rest - basis @ (basis.T @ rest)
        return out

    scale = max(float(np.median(np.abs(left(0.0, 0.0)))) / MAD_TO_SD, joined.resolution, 1e-3)

    def cost(lag_s: float, width_deg: float) -> float:
        u = np.abs(left(lag_s, width_deg)) / scale
        return float(np.sum(np.where(u < 2.0, 0.5 * u**2, 2.0 * u - 2.0)))

    lag_s = _best(lambda lag: cost(lag, 0.0), _LAGS_S)
    width_deg = _best(lambda width: cost(lag_s, width), _WIDTHS_DEG)
    if cost(lag_s, width_deg) > cost(lag_s, 0.0) - CLEAR_GAIN:
        width_deg = 0.0
    else:
        lag_s = _best(lambda lag: cost(lag, width_deg), _LAGS_S)
        width_deg = _best(lambda width: cost(lag_s, width), _WIDTHS_DEG)
    step = 0.05
    slope = (left(lag_s + step, width_deg) - left(max(lag_s - step, 0.0), width_deg)) / (step + min(lag_s, step))
    rest = np.clip(left(lag_s, width_deg), -3.0 * scale, 3.0 * scale)
    block = np.floor((joined.t_s[rows] - joined.t_s[rows[0]]) / _BLOCK_S).astype(np.int64)
    score = np.bincount(block, slope * rest)
    information = float(slope @ slope)
    sd = float(np.sqrt(score @ score)) / information if information > 0.0 else np.inf
    return Follower(lag_s, float(np.hypot(sd, joined.skew_s)), width_deg, least, moves)


def ripple(joined: Pair) -> float:
    """Noise of the command from value to value, standard deviation."""
    if len(joined.t_s) < 4:
        return 0.0
    # the second difference of white noise has six times its variance
    return float(np.median(np.abs(np.diff(joined.commanded, 2))) / (MAD_TO_SD * np.sqrt(6.0)))


def not_at_rest(joined: Pair, follower: Follower, lag_s: float) -> Array:
    """What a lag would leave between a follower with play and its rest, at the instants of the pair, (n,)."""
    command = play(joined.grid, follower.width_deg)[0] if follower.width_deg > 0.0 else joined.grid
    return joined.off_grid(lagged(command, GRID_S, lag_s) - command)


def _best(cost: Callable[[float], float], grid: Array) -> float:
    """Least cost on a grid, then between the neighbours of its best point."""
    at = int(np.argmin([cost(float(x)) for x in grid]))
    bounds = (float(grid[max(at - 1, 0)]), float(grid[min(at + 1, len(grid) - 1)]))
    tolerance = 0.02 * max(float(grid[at]), 0.1)
    found = scipy.optimize.minimize_scalar(cost, bounds=bounds, method="bounded", options={"xatol": tolerance})
    between, on_grid = float(found.x), float(grid[at])
    return between if cost(between) < cost(on_grid) else on_grid
