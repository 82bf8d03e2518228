"""Once-a-turn ripple of the tooth spacing, told from a once-a-turn swing of the engine's speed.

The wheel's own ripple is the same share of the spacing at every speed; a torque that comes once a turn swings the
speed by a share that falls with its square. Turn by turn the complex ripple is fitted by both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.robust import huber_fit
from logan.dsp.wheel import ToothTrain

Array = NDArray[np.float64]

FEWEST_TURNS: Final = 6
LEAST_TEETH: Final = 6
REFERENCE_RPM: Final = 800.0
TORQUE_RIPPLE: Final = (
    0.002  # usual once-a-turn swing of an even-firing engine at the reference speed, share (assumption)
)
BLOCK_TURNS: Final = 4
RUNNING_RPM: Final = 400.0
STEADY: Final = 0.03  # change of speed over two turns, share: above, the change itself looks like ripple
SPEED_RATIO: Final = 1.3


@dataclass(frozen=True, slots=True)
class Runout:
    """Ripple of spacing as a share of the mean, peak.

    Parameters
    ----------
    ripple : complex amplitude of the wheel's own ripple, cosine minus i sine of crank angle
    noise_sd : standard uncertainty of either part from scatter
    torque_sd : the same from a swing of speed that the record cannot tell apart
    turns : whole turns used
    separated : whether the speeds of the record tell wheel and torque apart
    """

    ripple: complex
    noise_sd: float
    torque_sd: float
    turns: int
    separated: bool


def turn_ripple(train: ToothTrain) -> tuple[Array, Array]:
    """Complex once-a-turn ripple of spacing of each whole turn, (q,) complex, and its speed, rpm, (q,).

    Each period is set against the turn centred on it, which takes away slow changes of speed only.
    """
    k = len(train.angles_deg)
    none = np.empty(0, complex), np.empty(0)
    if len(train) < 2 * k + 2 or k < LEAST_TEETH:
        return none
    serial = train.turn * k + train.tooth
    jump = (np.diff(serial) != 1) | (np.diff(train.segment) != 0)
    breaks = np.concatenate([[0], np.cumsum(jump)])
    pitch = np.diff(np.append(train.angles_deg, train.angles_deg[0] + 360.0))
    start = np.flatnonzero(train.tooth == 0)
    half = k // 2
    start = start[(start >= half) & (start + k + half + 1 < len(train))]
    start = start[breaks[start - half] == breaks[start + k + half + 1]]
    if not len(start):
        return none
    edge = start[:, None] + np.arange(k)
    period = train.t_s[edge + 1] - train.t_s[edge]
    # mean over the turn around each period: from half a turn before its start to half a turn after it, by angle
    middle_deg = train.angle_deg[edge] + 0.5 * pitch
    turn_s = np.interp(middle_deg + 180.0, train.angle_deg, train.t_s) - np.interp(
        middle_deg - 180.0, train.angle_deg, train.t_s
    )
    ratio = period * 360.0 / (pitch * turn_s) - 1.0
    at = np.radians(train.angles_deg + 0.5 * pitch)
    design = np.column_stack([np.ones(k), np.cos(at), np.sin(at)]) * np.sqrt(pitch)[:, None]
    weights = np.linalg.pinv(design) * np.sqrt(pitch)
    part = ratio @ weights.T
    return part[:, 1] - 1j * part[:, 2], 60.0 / (train.t_s[start + k] - train.t_s[start])


def runout(ripple: NDArray[np.complex128], speed_rpm: Array) -> Runout | None:
    """The wheel's own ripple from the ripple of single turns; None with too few turns.

    Parameters
    ----------
    ripple : (q,) complex, share of the spacing
    speed_rpm : (q,)
    """
    change = np.abs(np.gradient(speed_rpm)) * 2.0 if len(speed_rpm) > 1 else np.full(len(speed_rpm), np.inf)
    used = change < STEADY * speed_rpm
    # cranking swings most and says least about the wheel
    running = used & (speed_rpm > RUNNING_RPM)
    used = running if np.count_nonzero(running) >= FEWEST_TURNS else used
    z, speed = ripple[used], speed_rpm[used]
    if len(z) < FEWEST_TURNS:
        return None
    swing = (REFERENCE_RPM / speed) ** 2
    design = np.column_stack([np.ones(len(z)), swing])
    block = np.arange(len(z)) // BLOCK_TURNS
    both = [huber_fit(design, np.ascontiguousarray(part), block) for part in (z.real, z.imag)]
    noise = max(float(np.sqrt(max(fit.covariance[0, 0], 0.0))) for fit in both)
    alone = float(np.mean(swing)) * TORQUE_RIPPLE
    slow, fast = np.percentile(speed, [5.0, 95.0])
    if noise < alone and fast > SPEED_RATIO * slow:
        return Runout(complex(both[0].coefficients[0], both[1].coefficients[0]), noise, 0.0, len(z), True)
    plain = [huber_fit(design[:, :1], np.ascontiguousarray(part), block) for part in (z.real, z.imag)]
    noise = max(float(np.sqrt(max(fit.covariance[0, 0], 0.0))) for fit in plain)
    return Runout(complex(plain[0].coefficients[0], plain[1].coefficients[0]), noise, alone, len(z), False)
