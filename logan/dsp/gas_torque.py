"""Shapes of the torque of one cylinder over its cycle: compression, combustion, moving masses.

One zone, dp = -n p dV/V + (n - 1) dQ/V (first law, ideal gas; textbook), heat after a Wiebe function, slider-crank. All
without size: what a measure needs is the shape, and how much it hangs on what is not known of the engine.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

ANGLE_DEG: Final = np.arange(-359.0, 361.0, 2.0)
EXPONENT: Final = 1.33
INTAKE_CLOSES_DEG: Final = -150.0
EXHAUST_OPENS_DEG: Final = 130.0
BLOWDOWN_DEG: Final = 15.0
_STEP_RAD: Final = np.radians(2.0)


class Shapes(NamedTuple):
    """Torque over ``ANGLE_DEG``: of compression (per intake pressure and swept volume), of burning fuel (per joule of
    work), of the moving masses (per m r^2 w^2)."""

    compression: Array
    combustion: Array
    inertia: Array


def travel(angle_deg: Array, rod_ratio: float) -> tuple[Array, Array]:
    """Piston travel from top dead centre and its derivative by angle, both in crank radii (slider-crank; textbook)."""
    a = np.radians(angle_deg)
    root = np.sqrt(1.0 - (rod_ratio * np.sin(a)) ** 2)
    fall = 1.0 - np.cos(a) + (1.0 - root) / rod_ratio
    return fall, np.sin(a) * (1.0 + rod_ratio * np.cos(a) / root)


def shapes(ratio: float, start_deg: float, burn_deg: float, rod_ratio: float = 0.3, crankcase: float = 1.0) -> Shapes:
    """Torque shapes of one cylinder.

    Parameters
    ----------
    ratio : compression ratio
    start_deg : start of combustion after top dead centre
    burn_deg : its duration
    rod_ratio : crank radius over rod length
    crankcase : pressure under the piston over intake pressure
    """
    fall, rate = travel(ANGLE_DEG, rod_ratio)
    clearance = 1.0 / (ratio - 1.0)
    volume = clearance + 0.5 * fall  # in swept volumes
    arm = 0.5 * rate
    at_closing = clearance + 0.5 * float(travel(np.array([INTAKE_CLOSES_DEG]), rod_ratio)[0][0])
    closed = (ANGLE_DEG >= INTAKE_CLOSES_DEG) & (ANGLE_DEG <= EXHAUST_OPENS_DEG)
    after = ANGLE_DEG > EXHAUST_OPENS_DEG
    last = int(np.flatnonzero(closed)[-1])
    decay = np.exp(-(ANGLE_DEG - EXHAUST_OPENS_DEG) / BLOWDOWN_DEG)
    tight = (at_closing / volume) ** EXPONENT
    pressure = np.where(closed, tight, np.where(after, crankcase + (tight[last] - crankcase) * decay, 1.0))
    burnt = 1.0 - np.exp(-6.908 * np.clip((ANGLE_DEG - start_deg) / burn_deg, 0.0, None) ** 2)
    rise = np.cumsum(volume ** (EXPONENT - 1.0) * np.diff(burnt, prepend=0.0)) / volume**EXPONENT
    rise = np.where(after, rise[last] * decay, rise)
    push = rise * arm
    return Shapes(
        (pressure - crankcase) * arm,
        push / (push.sum() * _STEP_RAD),
        -rate * np.gradient(rate, _STEP_RAD),
    )


def harmonics(torque: Array, half_orders: NDArray[np.int64]) -> Complex:
    """Complex amplitude of half orders of a torque that one cylinder makes once a cycle, (h,)."""
    turn = np.exp(-0.5j * half_orders[:, None] * np.radians(ANGLE_DEG))
    out: Complex = turn @ torque * (_STEP_RAD / (2.0 * np.pi))
    return out
