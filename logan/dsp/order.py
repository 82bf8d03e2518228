"""Orders of the crank: the part of a signal that repeats so many times a turn, from samples evenly spaced in angle."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

CYCLE_DEG: Final = 720.0


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


def half_order_source_deg(phase_deg: float) -> float:
    """Crank angle, 0..720, at which torque lacks, from the phase of order 0.5 of the speed.

    A narrow lack of torque lowers the speed from there on: the step's first half order lies 90 degrees behind it
    (derived; rigid crank).
    """
    return float(2.0 * (90.0 - phase_deg) % CYCLE_DEG)


def order_hz(order: float, speed_rpm: float) -> float:
    """Frequency of an order, Hz."""
    return order * speed_rpm / 60.0


def firing_step_deg(order: float, cylinders: int) -> float:
    """Phase by which an order moves from one firing to the next, deg (textbook identity: order * 720 / cylinders)."""
    return order * CYCLE_DEG / cylinders


def half_order_speed(lack_j: float, inertia_kgm2: float, speed_rad_s: float) -> float:
    """Speed amplitude of order 0.5 that a narrow lack of work makes, rad/s (derived; rigid crank)."""
    return lack_j / (np.pi * inertia_kgm2 * speed_rad_s)
