"""Once-a-turn ripple of the tooth spacing, told from a once-a-turn swing of the engine's speed.

The wheel's own ripple is the same share of the spacing at every speed; a torque that comes once a turn swings the
speed by a share that falls with its square. Turn by turn the complex ripple is fitted by both. A cylinder unlike the
others swings the speed once in two turns, which no wheel can feign: where the record holds one speed only, that swing
tells how large the one of a whole turn may be.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.decompose import student_95
from logan.dsp.robust import huber_fit
from logan.dsp.wheel import ToothTrain
from logan.dsp.wheel_polarity import RUNNING_RPM

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

FEWEST_TURNS: Final = 6
FEWEST_WAVES: Final = 6  # torque makes the speed swing up to about so many times a turn
TOOTH_DEG: Final = 0.065  # scatter of single teeth where it does not show (common practice, no source)
LEAST_TOOTH_DEG: Final = 0.01
HALF_ORDER_LEFT: Final = 1.0 - 2.0 / np.pi  # of order 0.5 when the mean of the turn around is taken off
TURN_OF_HALF: Final = 0.75  # order 1 of an uneven cylinder against order 0.5: 1/2 for lost work, 1 for lost pressure
MOST_TURNS: Final = 20_000  # more say nothing more
STRETCH_TURNS: Final = 100
BLOCK_OF_TURNS: Final = 4096
LEAST_TEETH: Final = 6
REFERENCE_RPM: Final = 800.0
TORQUE_RIPPLE: Final = (
    0.002  # usual once-a-turn swing of an even-firing engine at the reference speed, share (assumption)
)
BLOCK_TURNS: Final = 4
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


@dataclass(frozen=True, slots=True)
class Turns:
    """Whole turns without a missing edge.

    Parameters
    ----------
    ripple : (q,) complex once-a-turn ripple of the spacing, as a share
    half : (q,) size of the ripple that comes once in two turns, as a share; NaN where the next turn is not whole
    speed_rpm : (q,)
    teeth_sd : what single teeth off their places may make of it, standard uncertainty of either part
    """

    ripple: Complex
    half: Array
    speed_rpm: Array
    teeth_sd: float


def turns(train: ToothTrain) -> Turns:
    """Ripple of each whole turn, and the scatter of the teeth.

    Each period is set against the turn centred on it, which takes away slow changes of speed only. What torque does to
    the speed is smooth: the scatter of the teeth is read from what repeats faster than a quarter as often as the teeth.
    """
    k = len(train.angles_deg)
    none = Turns(np.empty(0, complex), np.empty(0), np.empty(0), 0.0)
    if len(train) < 2 * k + 2 or k < LEAST_TEETH:
        return none
    step = np.diff(train.turn * np.int32(k) + train.tooth)
    breaks = np.flatnonzero((step != 1) | (np.diff(train.segment) != 0)) + 1
    pitch = np.diff(np.append(train.angles_deg, train.angles_deg[0] + 360.0))
    start = np.flatnonzero(train.tooth == 0)
    half = k // 2
    start = start[(start >= half) & (start + k + half + 1 < len(train))]
    start = start[
        np.searchsorted(breaks, start - half, side="right")
        == np.searchsorted(breaks, start + k + half + 1, side="right")
    ]
    if not len(start):
        return none
    if len(start) > MOST_TURNS:  # stretches over the whole record
        stretch = np.linspace(0, len(start) - STRETCH_TURNS, MOST_TURNS // STRETCH_TURNS).astype(np.int64)
        start = start[(stretch[:, None] + np.arange(STRETCH_TURNS)).ravel()]
    at = np.radians(train.angles_deg + 0.5 * pitch)
    design = np.column_stack([np.ones(k), np.cos(at), np.sin(at)]) * np.sqrt(pitch)[:, None]
    weights = np.linalg.pinv(design) * np.sqrt(pitch)
    odd = np.linalg.pinv(np.column_stack([f(at * o) for o in (0.5, 1.5, 2.5) for f in (np.cos, np.sin)]))[:2]
    parts, halves, total = [], [], np.zeros(k)
    for begin in range(0, len(start), BLOCK_OF_TURNS):
        here = start[begin : begin + BLOCK_OF_TURNS]
        ratio = _ratios(train, here, pitch)
        # from one turn to the next the wheel repeats itself and half orders change their sign
        half = 0.5 * np.hypot(*(odd @ (ratio[:-1] - ratio[1:]).T)) / HALF_ORDER_LEFT
        halves.append(np.append(np.where(np.diff(here) == k, half, np.nan), np.nan))
        part = ratio @ weights.T
        parts.append(part[:, 1] - 1j * part[:, 2])
        total += ratio.sum(axis=0)
    rpm = 60.0 / (train.t_s[start + k] - train.t_s[start])
    tooth_deg = _scatter(train.angles_deg, total / len(start) * pitch, len(start))
    # a tooth off its place lengthens one period and shortens the next
    moved = np.diff(weights[1:] / pitch, axis=1, append=(weights[1:, :1] / pitch[0]))
    return Turns(
        np.concatenate(parts), np.concatenate(halves), rpm, tooth_deg * float(np.sqrt(0.5 * np.sum(np.square(moved))))
    )


def _ratios(train: ToothTrain, start: NDArray[np.int64], pitch: Array) -> Array:
    """Each period against its share of the turn around it, from half a turn before its middle to half a turn after."""
    edge = start[:, None] + np.arange(len(pitch))
    middle_deg = train.angle_deg[edge] + 0.5 * pitch
    turn_s = np.interp(middle_deg + 180.0, train.angle_deg, train.t_s) - np.interp(
        middle_deg - 180.0, train.angle_deg, train.t_s
    )
    out: Array = (train.t_s[edge + 1] - train.t_s[edge]) * 360.0 / (pitch * turn_s) - 1.0
    return out


def _scatter(angles_deg: Array, off_pitch_deg: Array, count: int) -> float:
    """Standard deviation of the teeth's places from their (k,) errors of pitch; smooth waves are left out."""
    k = len(angles_deg)
    waves = k // 4
    if waves < FEWEST_WAVES or count < FEWEST_TURNS:
        return TOOTH_DEG
    off = np.concatenate([[0.0], np.cumsum(off_pitch_deg - off_pitch_deg.mean())[:-1]])
    at = np.radians(angles_deg)[:, None] * np.arange(1, waves + 1)
    design = np.column_stack([np.ones(k), np.cos(at), np.sin(at)])
    rest = off - design @ np.linalg.lstsq(design, off, rcond=None)[0]
    freedom = k - design.shape[1]
    return max(float(np.sqrt(rest @ rest / freedom)) * student_95(freedom) / 1.96, LEAST_TOOTH_DEG)


def runout(ripple: Complex, half: Array, speed_rpm: Array) -> Runout | None:
    """The wheel's own ripple from the ripple of single turns; None with too few turns.

    Parameters
    ----------
    ripple : (q,) complex, share of the spacing
    half : (q,) size of the swing that comes once in two turns, as a share, NaN where it is not known
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
    uneven = half[used][np.isfinite(half[used])]
    alone = float(np.mean(swing)) * TORQUE_RIPPLE
    if len(uneven):
        alone = float(np.hypot(alone, TURN_OF_HALF * np.median(uneven)))
    slow, fast = np.percentile(speed, [5.0, 95.0])
    if noise < alone and fast > SPEED_RATIO * slow:
        return Runout(complex(both[0].coefficients[0], both[1].coefficients[0]), noise, 0.0, len(z), True)
    plain = [huber_fit(design[:, :1], np.ascontiguousarray(part), block) for part in (z.real, z.imag)]
    noise = max(float(np.sqrt(max(fit.covariance[0, 0], 0.0))) for fit in plain)
    return Runout(complex(plain[0].coefficients[0], plain[1].coefficients[0]), noise, alone, len(z), False)
