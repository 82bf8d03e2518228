"""Followers of a command: play (backlash) and first-order lag, without a loop over samples."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def play(command: Array, width: float) -> tuple[Array, NDArray[np.bool_]]:
    """Output of a play of a full width (the classical backlash operator), and where it no longer depends on its start.

    The output moves only when the command has taken up the slack: ``y = clip(y_before, x - width/2, x + width/2)``.
    A chain of clips is itself a clip, so the whole chain is a prefix scan (Hillis and Steele 1986, from memory).

    Parameters
    ----------
    command : (n,) finite values
    width : full width, in the unit of the command
    """
    low = command - 0.5 * width
    high = command + 0.5 * width
    least = 1e-9 * max(width, 1e-9)
    shift = 1
    while shift < len(command):
        bottom, top = low[shift:].copy(), high[shift:].copy()
        np.minimum(np.maximum(low[:-shift], bottom), top, out=low[shift:])
        np.minimum(np.maximum(high[:-shift], bottom), top, out=high[shift:])
        if np.all(high[shift:] - low[shift:] <= least):
            break
        shift *= 2
    settled = high - low <= least
    return 0.5 * (low + high), settled


def lagged(value: Array, step_s: float, lag_s: float) -> Array:
    """First-order lag of an evenly sampled series, started at rest at its first value.

    Parameters
    ----------
    value : (n,) finite values every ``step_s``
    lag_s : time constant, s; 0 gives the series back
    """
    if lag_s <= 0.0 or len(value) < 2:
        return value.copy()
    # exact for a series that is linear between its samples: y[n] = a y[n-1] + b0 x[n] + b1 x[n-1]
    a = np.exp(-step_s / lag_s)
    ramp = lag_s / step_s * (1.0 - a)
    b0, b1 = 1.0 - ramp, ramp - a
    reach = min(len(value), int(np.ceil(10.0 * lag_s / step_s)) + 1)
    kernel = np.concatenate([[b0], (b1 + a * b0) * a ** np.arange(reach)])
    kernel /= kernel.sum()
    out: Array = np.convolve(np.concatenate([np.full(reach, value[0]), value]), kernel, mode="valid")
    return out
