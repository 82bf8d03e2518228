"""Square waves that a recorder's high-pass has bent: their steps stay, their levels droop between them.

Through a first-order high-pass each step of ``A`` volts comes out whole; afterwards the voltage falls towards zero by
at most ``A / tau`` volts a second. So the middle of a step lies halfway between what the signal was right before and
right after it, wherever the level has drifted to. An envelope that gives way faster than any droop, to both sides in
time, holds just these two values at a step.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.model.sensor import Column

Array = NDArray[np.float64]

YIELD_PER_S: Final = 300.0  # of the span: above the droop of a high-pass of 48 Hz (sound cards: 1 to 20 Hz)
MOST_YIELD: Final = 0.04  # of the span a sample, where samples are few
BEYOND: Final = 3.0  # spans: what lies further out moves no envelope
PIECE: Final = 1 << 15
MOST_PIECES: Final = 32
SMALL_STEP: Final = 0.2  # of the span: the least swing that is counted
LEAST_STEP: Final = 0.4  # of the span, which is one step or, where both levels droop to zero, two
ALIKE: Final = 0.25  # a step this far from the usual one is another kind of swing
ALIKE_SHARE: Final = 0.9
FEWEST_STEPS: Final = 8
ASTRAY: Final = 0.25  # of a step
NEAR: Final = 0.15  # of a step: a sample this near to its envelope belongs to a level
NOISE_REACH: Final = 4.0
MOST_NOISE: Final = 0.05  # of a step


@dataclass(frozen=True, slots=True)
class Centred:
    """Voltages less the middle of their local envelope, made where they are looked at; a ``Column`` of slices only.

    Parameters
    ----------
    volts : (n,) V
    low, high : V, the usual range of all of them
    give : V by which the envelope gives way from sample to sample
    """

    volts: Column
    low: float
    high: float
    give: float

    def __len__(self) -> int:
        return len(self.volts)

    def __getitem__(self, at: slice) -> Array:
        begin, end, _ = at.indices(len(self.volts))
        return self.around(begin, end)[0]

    def around(self, begin: int, end: int) -> tuple[Array, Array]:
        """Voltage less the middle, and width of the envelope, of the samples from ``begin`` to ``end``, (k,) each."""
        span = self.high - self.low
        reach = int(np.ceil(BEYOND * span / self.give)) + 1  # from further away nothing shows
        first, last = max(0, begin - reach), min(len(self.volts), end + reach)
        volts = np.asarray(self.volts[first:last], float)
        number = np.isfinite(volts)
        inside = np.clip(volts, self.low - span, self.high + span)
        ramp = self.give * np.arange(first, last, dtype=float)
        upper = _upper(np.where(number, inside, -np.inf), ramp)
        lower = -_upper(np.where(number, -inside, -np.inf), ramp)
        part = slice(begin - first, end - first)
        with np.errstate(invalid="ignore"):  # no number far and wide
            return volts[part] - 0.5 * (upper[part] + lower[part]), upper[part] - lower[part]


def _upper(volts: Array, ramp: Array) -> Array:
    """Largest of all voltages, each less the ramp's way from it, (n,)."""
    before = np.maximum.accumulate(volts + ramp) - ramp
    after = np.maximum.accumulate((volts - ramp)[::-1])[::-1] + ramp
    out: Array = np.maximum(before, after)
    return out


@dataclass(frozen=True, slots=True)
class Steps:
    """A signal that is made of like steps.

    Parameters
    ----------
    centred : the voltages about the middle of their steps
    size : V of a step
    near_share : share of the samples beside steps that lie on a level
    astray : steps whose middle one fixed level, half-way between the usual highest and lowest, would hardly meet
    """

    centred: Centred
    size: float
    near_share: float
    astray: int


def steps(volts: Column, low: float, high: float, step_s: float) -> Steps | None:
    """The steps of a signal, or None where they are few or unlike: a coil's swings grow with speed.

    Parameters
    ----------
    volts : (n,) V
    low, high : V, the usual range of all of them
    step_s : from sample to sample, s
    """
    span = high - low
    centred = Centred(volts, low, high, span * min(YIELD_PER_S * step_s, MOST_YIELD))
    count = -(-len(volts) // PIECE)
    chosen = np.unique(np.linspace(0, count - 1, min(count, MOST_PIECES)).astype(int)) * PIECE
    part = [slice(begin, min(begin + PIECE, len(volts))) for begin in chosen.tolist()]
    pieces = [centred.around(at.start, at.stop) for at in part]
    swings = [_swings(volts[at], *piece, 0.5 * SMALL_STEP * span) for at, piece in zip(part, pieces, strict=True)]
    size, middle = (np.concatenate(column) for column in zip(*swings, strict=True))
    usual = float(np.median(size)) if len(size) >= FEWEST_STEPS else 0.0
    alike = np.abs(size - usual) < ALIKE * usual
    if usual < LEAST_STEP * span or np.mean(alike) < ALIKE_SHARE:
        return None
    near = NEAR * usual + min(NOISE_REACH * _noise([volts[at] for at in part]), MOST_NOISE * usual)
    beside = [(0.5 * width - np.abs(away))[width > 0.5 * usual] for away, width in pieces]
    whole = size > (1.0 - 2.0 * ASTRAY) * usual  # from a level that stays such a step's middle is not that far astray
    astray = np.count_nonzero(np.abs(middle - 0.5 * (low + high))[whole] > ASTRAY * usual)
    return Steps(centred, usual, float(np.mean(np.concatenate(beside) < near)), int(astray))


def _swings(volts: NDArray[np.floating], away: Array, width: Array, reach: float) -> tuple[Array, Array]:
    """Height and middle, V, of each swing of the signal from one side of its middle to the other, (swings,) each."""
    out = np.flatnonzero(np.abs(away) > reach)
    up = away[out] > 0.0
    turn = np.flatnonzero(up[1:] != up[:-1])
    before, after = out[turn], out[turn + 1]
    at = np.where(width[before] > width[after], before, after)
    with np.errstate(invalid="ignore"):  # infinite both
        return width[at], volts[at] - away[at]


def _noise(pieces: list[NDArray[np.floating]]) -> float:
    """Standard deviation of white noise with the usual second difference of these samples, V."""
    with np.errstate(invalid="ignore"):
        bend = np.concatenate([np.abs(np.diff(piece.astype(float), 2)) for piece in pieces])
    bend = bend[np.isfinite(bend)]
    return float(np.median(bend)) / 0.6745 / float(np.sqrt(6.0)) if len(bend) else 0.0
