"""How far the teeth of a wheel stand off their places, learnt where the speed is high: what repeats with every turn.

Misplaced teeth feign a ripple of speed squared that grows with speed squared; what the gas does to speed squared does
not grow with it. So cycles well above idle show the wheel, and idle the cylinders. Learnt are whole orders only, and
none of the firing: half orders, which alone tell two cylinders apart that fire 360 degrees from each other, are the
cylinders' own and stay as they are. A cylinder that is weak at the higher speed too would be learnt as a tooth, by the
ratio of the squared speeds: that share is put back, and its doubt is kept. (Published conditions for learning teeth:
overrun, or steady speeds of 1500 to 4000 rpm, 100 turns and more; from service texts.)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.crank_speed import Cycles
from logan.dsp.order import orders

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

FEWEST_CYCLES: Final = 50
FROM_DEG: Final = 0.02
"""Teeth that stand off by less are learnt no better than they are known."""
SPEED_RATIO: Final = 1.6
"""Of the cycles that are learnt from and the idle speed, at least."""
HIGHEST_HZ: Final = 150.0
"""Below the crank's own torsional resonance of 200 to 500 Hz (from memory)."""
CARRIED: Final = (0.75, 0.5)
"""Unevenness of the cylinders' work at the higher speed in that at idle, mean and standard deviation: none in overrun,
as much or more under fire (judgement)."""
RUNOUT: Final = 3e-3
"""Once-a-turn ripple that a wheel may feign beside what single teeth do, standard deviation, share of speed."""
RISING: Final = 0.015
FALLING: Final = 0.06
"""Largest change of speed from cycle to cycle, share: fires that speed the engine up are left out, overrun is not."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """What was learnt of a wheel, by half orders 1..h (order 0.5, 1, ...).

    Parameters
    ----------
    ripple : (h,) complex ripple of speed that the teeth feign, as a share of speed; 0 where nothing was learnt
    kept : (h,) share of the cylinders' own ripple at idle that is left when the teeth are put right
    left : (h,) share of what the teeth feign that is left
    doubt : (h,) standard uncertainty of ``kept``
    cycles : cycles that were learnt from
    rpm : their lowest and highest speed
    """

    ripple: Complex
    kept: Array
    left: Array
    doubt: Array
    cycles: int
    rpm: tuple[float, float]

    @property
    def orders(self) -> list[int]:
        """Whole orders that were learnt."""
        return [int(k + 1) // 2 for k in np.flatnonzero(self.ripple)]


def fast_cycles(every: Cycles, idle_rad_s: float) -> Cycles:
    """Cycles well above idle at a steady speed or in overrun."""
    speed = every.speed_rad_s
    change = np.full(len(speed), np.inf)
    if len(speed) > 1:
        step = np.diff(speed) / speed[:-1]
        beside = np.diff(every.number) == 1
        change[1:] = np.where(beside, step, np.inf)
    used = (speed > SPEED_RATIO * idle_rad_s) & (change < RISING) & (change > -FALLING)
    return every.select(used)


def learn(fast: Cycles, cylinders: int, idle_rad_s: float, error: Array, work: Array, firing: float) -> Learnt | None:
    """The wheel's own orders from cycles above idle; None where too few are slow enough for the crank not to twist.

    Parameters
    ----------
    fast : cycles of ``fast_cycles``
    cylinders : all orders of their firing are left alone
    error : (h,) what misplaced teeth feign at idle at half orders 1..h, standard deviation of either part, rad2/s2
    work : (h,) what uneven cylinders may do there, rad2/s2
    firing : swing of the idle speed at the firing order, share of speed
    """
    h = len(error)
    half = np.arange(1, h + 1)
    ripple, kept, left, doubt = np.zeros(h, complex), np.ones(h), np.ones(h), np.zeros(h)
    spectrum = orders(fast.ripple, h) / (2.0 * fast.speed_rad_s[:, None] ** 2)
    most = np.zeros(len(fast), bool)
    for k in np.flatnonzero((half % 2 == 0) & (half % cylinders != 0)):
        used = 0.5 * half[k] * fast.speed_rad_s < 2.0 * np.pi * HIGHEST_HZ
        n = int(np.count_nonzero(used))
        if n < FEWEST_CYCLES:
            continue
        most |= used
        seen = spectrum[used, k]
        middle = complex(np.median(seen.real), np.median(seen.imag))
        noise = float(np.median(np.abs(seen - middle))) / np.sqrt(n) * 2.0 * idle_rad_s**2
        ratio = float(np.mean(np.square(idle_rad_s / fast.speed_rad_s[used])))
        wheel = float(np.hypot(error[k], 2.0 * idle_rad_s**2 * RUNOUT if half[k] == 2 else 0.0))
        share = wheel**2 / (wheel**2 + (CARRIED[1] * ratio * work[k]) ** 2 + noise**2)
        ripple[k] = share * middle
        kept[k] = 1.0 - CARRIED[0] * ratio * share
        doubt[k] = CARRIED[1] * ratio * share
        left[k] = float(np.hypot(1.0 - share, share * noise / wheel))
    if not most.any():
        return None
    for k in np.flatnonzero(ripple):
        # the firing swing carries what teeth feign from an order to its neighbours: what was not learnt comes back
        beside = np.array([half[k] + cylinders, abs(half[k] - cylinders)])
        beside = beside[[b > h or not ripple[b - 1] for b in beside]]
        mixed = firing * float(np.linalg.norm(error[0] * (beside + cylinders)))
        left[k] = float(np.hypot(left[k], mixed / error[k]))
    rpm = fast.speed_rpm[most]
    return Learnt(ripple, kept, left, doubt, int(np.count_nonzero(most)), (float(rpm.min()), float(rpm.max())))
