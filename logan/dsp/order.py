"""Orders of the crank: the part of a signal that repeats so many times a turn, from samples evenly spaced in angle."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]


def orders(cycles: Array, highest: int) -> Complex:
    """Amplitude and phase of orders 0.5, 1, 1.5 ... of each cycle.

    Parameters
    ----------
    cycles : (..., n) samples of whole cycles of 720 degrees, evenly spaced from angle 0
    highest : how many half orders, below n / 2

    Returns
    -------
    (..., highest) complex; ``abs`` is the amplitude a of a cos(order * angle + phase), ``angle`` the phase
    """
    n = cycles.shape[-1]
    out: Complex = np.fft.rfft(cycles, axis=-1)[..., 1 : highest + 1] * (2.0 / n)
    return out


def lack_of_work(half_order_rad_s: float, speed_rad_s: float) -> float:
    """Work that one cylinder lacks, as twice the work over the inertia, rad2/s2, from the speed's order 0.5.

    A narrow lack of work dE swings a rigid crank by dE / (pi J w) at order 0.5 (derived).
    """
    return 2.0 * np.pi * half_order_rad_s * speed_rad_s
