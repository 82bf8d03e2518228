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
FROM_DEG: Final = 0.03
"""Teeth that stand off by less are learnt no better than they are known."""
SPEED_RATIO: Final = 1.6
"""Of the cycles that are learnt from and the idle speed, at least."""
HIGHEST_HZ: Final = 150.0
"""Below the crank's own torsional resonance of 200 to 500 Hz (from memory)."""
ALIKE: Final = 0.2
"""How far whole orders may carry another share of it than half orders do, standard deviation (judgement)."""
SHOWN: Final = 10.0
"""Power of the cylinders' half orders at idle over its noise from which they show the ratio."""
MOST_CARRIED: Final = 0.6
"""Share of the cylinders' own ripple at idle that may be learnt as teeth: beyond it too little is left of them."""
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
    doubt : (h,) what that share leaves open at idle, standard deviation, rad2/s2
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


def learn(
    fast: Cycles, idle: Complex, cylinders: int, idle_rad_s: float, error: Array, work: Array, firing: float
) -> Learnt | None:
    """The wheel's own orders from cycles above idle; None where too few are slow, or lightly loaded, enough to show it.

    Parameters
    ----------
    fast : cycles of ``fast_cycles``
    idle : (c, h) half orders 1..h of speed squared of each cycle at idle, rad2/s2
    cylinders : all orders of their firing are left alone
    error : (h,) what misplaced teeth feign at idle at half orders 1..h, standard deviation of either part, rad2/s2
    work : (h,) what uneven cylinders may do there, rad2/s2
    firing : swing of the idle speed at the firing order, share of speed
    """
    h = len(error)
    half = np.arange(1, h + 1)
    ripple, kept, left, doubt = np.zeros(h, complex), np.ones(h), np.ones(h), np.zeros(h)
    spectrum = orders(fast.ripple, h) / (2.0 * fast.speed_rad_s[:, None] ** 2)
    own = idle / (2.0 * idle_rad_s**2)
    most = np.zeros(len(fast), bool)
    for k in np.flatnonzero((half % 2 == 0) & (half % cylinders != 0)):
        used = 0.5 * half[k] * fast.speed_rad_s < 2.0 * np.pi * HIGHEST_HZ
        n = int(np.count_nonzero(used))
        if n < FEWEST_CYCLES:
            continue
        seen = spectrum[used, k]
        middle = complex(np.median(seen.real), np.median(seen.imag))
        noise = float(np.median(np.abs(seen - middle))) / np.sqrt(n) * 2.0 * idle_rad_s**2
        wheel = float(np.hypot(error[k], 2.0 * idle_rad_s**2 * RUNOUT if half[k] == 2 else 0.0))
        slow = half[::2] * float(fast.speed_rad_s[used].mean()) < 4.0 * np.pi * HIGHEST_HZ
        carried, unsure = _carried(own[:, ::2][:, slow], spectrum[used, ::2][:, slow])
        if abs(carried) > MOST_CARRIED:
            continue
        size = max(float(work[k]), abs(complex(idle[:, k].mean())))
        share = wheel**2 / (wheel**2 + (unsure * size) ** 2 + noise**2)
        most |= used
        ripple[k] = share * middle
        kept[k] = 1.0 - carried * share
        doubt[k] = unsure * share * size
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


def _carried(idle: Complex, fast: Complex) -> tuple[float, float]:
    """Cylinders' own ripple at the higher speed in that at idle, both as shares of speed, and its standard uncertainty.

    Half orders show it, which no tooth feigns. Infinite where the cylinders make none at idle: two weak ones that fire
    360 degrees apart could be learnt as teeth under load.

    Parameters
    ----------
    idle, fast : (c, k) half orders of each cycle
    """
    a, b = idle.mean(axis=0), fast.mean(axis=0)
    power = float(np.sum(np.abs(a) ** 2))
    noise = [float(np.sum(np.var(x, axis=0))) / max(len(x), 1) for x in (idle, fast)]
    if power < SHOWN * noise[0] or not len(a):
        return np.inf, np.inf
    seen = float(np.real(np.vdot(a, b))) / power
    return seen, float(np.sqrt((noise[1] + seen**2 * noise[0]) / power + (ALIKE * seen) ** 2))
