"""The load of an idling engine from how fast it runs down once it gets no fuel."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

BAND: Final = (0.45, 0.93)
"""Speeds used, as a share of the speed before: lower, friction has changed; higher, the last fire may still push."""
FEWEST: Final = 4
FALL_TURNS: Final = 25
"""An engine without fuel and load loses half its speed within fewer turns; a vehicle keeps it turning longer."""
FASTEST: Final = 1.3
"""Share of idle speed above which the engine had been revved, and runs down from elsewhere."""
FALLING: Final = 0.75


def load_per_radian(t_s: Array, angle_deg: Array, idle_rad_s: float, cylinders: int) -> Array:
    """Fall of speed squared per radian in each run-down from idle to a stop, (k,) rad/s2: twice the load over inertia.

    Parameters
    ----------
    t_s, angle_deg : (m,) teeth of one unbroken run, s and deg
    idle_rad_s : speed of the steady idle
    cylinders : the speed is taken over whole firing intervals, so that compression leaves it alone
    """
    step_deg = 720.0 / cylinders
    mark = np.arange(np.ceil(angle_deg[0] / step_deg), np.floor(angle_deg[-1] / step_deg) + 1.0) * step_deg
    if len(mark) < FEWEST + 2:
        return np.empty(0)
    speed = np.radians(step_deg) / np.diff(np.interp(mark, angle_deg, t_s)) / idle_rad_s
    out = []
    for stop in np.flatnonzero((speed[1:] < BAND[0]) & (speed[:-1] >= BAND[0])) + 1:
        first = max(int(stop) - int(FALL_TURNS * 360.0 / step_deg), 0)
        fast = np.flatnonzero(speed[first:stop] >= BAND[1]) + first
        if not len(fast) or speed[fast].max() > FASTEST:
            continue
        rows = np.arange(fast[-1] + 1, stop)
        if len(rows) >= FEWEST and np.mean(np.diff(speed[rows]) < 0.0) >= FALLING:
            slope = np.polyfit(np.radians(step_deg) * rows, speed[rows] ** 2, 1)[0]
            out.append(-float(slope) * idle_rad_s**2)
    return np.array(out)
