"""The course of the speed within the cycle, learnt from a train whose teeth are not known yet.

Swings with every number of fires and every phase are tried at once; the likeliest are fitted to the train together with
the teeth of the edges (expectation and maximisation), and the best one holds where no other that has the teeth
elsewhere comes near.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from logan.dsp.tooth_lattice import LOST, backward, forward, passages

Array = NDArray[np.float64]

ORDERS: Final = np.arange(1, 13) * 0.5  # in a turn, up to the second harmonic of six cylinders
FIRES: Final = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0)  # in a turn
PHASES: Final = 8
DEPTH: Final = 0.5  # log speed, one way
FIRST_SD: Final = 0.25
AGAIN_SD: Final = 0.15
LEAST_SD: Final = 0.06
FIRE_SD: Final = 0.5  # of log speed at the order of the fires,
HARMONIC_SD: Final = 0.2  # at twice that order,
OTHER_SD: Final = 0.06  # and at all others, which stand for cylinders that differ
FARTHEST: Final = 1.0  # log period: farther off is chance
STEEPEST_SCALE: Final = 0.3
_GRID: Final = np.arange(720) + 0.5
_PHASE: Final = np.radians(_GRID)[:, None] * ORDERS
_ON_GRID: Final = np.concatenate([np.cos(_PHASE), np.sin(_PHASE)], axis=1)


class Courses(NamedTuple):
    """Courses side by side.

    Parameters
    ----------
    waves : (rows, 2 orders) cosines and sines of log slowness over the cycle
    scale : (rows,) log of how much slower the pace seems for lost edges
    sd : (rows,) scatter of log periods
    fires : (rows,) fires in a turn, which may swing most
    """

    waves: Array
    scale: Array
    sd: Array
    fires: Array

    def take(self, rows: NDArray[np.int64]) -> Courses:
        """Some of them."""
        return Courses(*(column[rows] for column in self))

    def beside(self, others: Courses) -> Courses:
        """These and others."""
        return Courses(*(np.concatenate(columns) for columns in zip(self, others, strict=True)))

    def passages(self, angles: Array) -> Array:
        """Log of the way from tooth to tooth, in degrees at an even speed; ``angles`` (2 k,) of two turns."""
        return passages(_moved(self.waves, angles)) + self.scale[:, None, None]

    def turned(self, by_deg: Array) -> Courses:
        """The same swings so many degrees later."""
        angle = np.radians(by_deg)[:, None] * ORDERS
        cos, sin = np.split(self.waves, 2, axis=1)
        turned = [cos * np.cos(angle) - sin * np.sin(angle), cos * np.sin(angle) + sin * np.cos(angle)]
        return self._replace(waves=np.concatenate(turned, axis=1))


def tried() -> Courses:
    """An even course and single swings of every number of fires and phase."""
    angle = 2.0 * np.pi * np.arange(PHASES) / PHASES
    rows = [np.zeros(2 * len(ORDERS))]
    fires = [FIRES[0]]
    for order in FIRES:
        for phase in angle:
            rows.append(DEPTH * np.concatenate([(order == ORDERS) * np.cos(phase), (order == ORDERS) * np.sin(phase)]))
            fires.append(order)
    n = len(rows)
    return Courses(np.array(rows), np.full(n, np.log(1.0 - LOST)), np.full(n, FIRST_SD), np.array(fires))


def fit(log_period: Array, angles: Array, courses: Courses, rounds: int) -> tuple[Courses, Array]:
    """Courses after some rounds of fitting, and their scores, (rows,): log likelihood less what the swing is unusual.

    Parameters
    ----------
    log_period : (back, rows, n) log times since the edges before, of each course's own train
    angles : (2 k,) angles of the wheel over two turns
    """
    waves, scale, sd, fires = (column.copy() for column in courses)
    usual = np.full((len(waves), len(ORDERS)), OTHER_SD)
    usual[fires[:, None] == ORDERS] = FIRE_SD
    usual[2.0 * fires[:, None] == ORDERS] = HARMONIC_SD
    weight = 1.0 / np.square(np.concatenate([usual, usual], axis=1))
    for _ in range(rounds):
        passage = Courses(waves, scale, sd, fires).passages(angles)
        following = np.roll(passage[:, :, -1], -1, axis=1)
        _, reached, scales = forward(log_period, passage, sd)
        seen, total, square = np.zeros((3, *passage.shape[:2]))
        for edge, _, single in backward(log_period, passage, sd, reached, scales):
            if edge + 1 < log_period.shape[2]:
                off = log_period[0, :, edge + 1][:, None] - following
                single *= np.abs(off) < FARTHEST
                seen += single
                total += single * off
                square += single * np.square(off)
        sd = np.maximum(np.sqrt(square.sum(axis=1) / np.maximum(seen.sum(axis=1), 1e-9)), LEAST_SD)
        seen, total = np.roll(seen, 1, axis=1), np.roll(total, 1, axis=1)
        for row in range(len(waves)):
            slope = np.column_stack([_slope(waves[row], angles), np.ones(len(angles))])
            known = seen[row] / sd[row] ** 2
            pull = np.append(weight[row], 1e-6)
            wanted = total[row] / sd[row] ** 2 + known * (slope[:, :-1] @ waves[row])
            found = np.linalg.solve(slope.T @ (known[:, None] * slope) + np.diag(pull), slope.T @ wanted)
            waves[row] = found[:-1]
            scale[row] += np.clip(found[-1], -STEEPEST_SCALE, STEEPEST_SCALE)
    out = Courses(waves, scale, sd, fires)
    likelihood, _, _ = forward(log_period, out.passages(angles), sd)
    return out, likelihood - 0.5 * np.sum(weight * np.square(waves), axis=1)


def _moved(waves: Array, angles: Array) -> Array:
    """Angles at which the teeth would stand if the speed were even, (rows, 2 k), degrees."""
    total = np.cumsum(np.exp(waves @ _ON_GRID.T), axis=1)
    total = np.concatenate([np.zeros((len(waves), 1)), total], axis=1) * (720.0 / total[:, -1:])
    whole = np.minimum(angles.astype(np.int64), 719)
    out: Array = total[:, whole] + (angles - whole) * (total[:, whole + 1] - total[:, whole])
    return out


def _slope(waves: Array, angles: Array) -> Array:
    """Change of the log of each tooth's period with each wave, (2 k, 2 orders)."""
    slow = np.exp(_ON_GRID @ waves)
    each = np.cumsum(np.column_stack([slow, slow[:, None] * _ON_GRID]), axis=0)
    each = np.concatenate([np.zeros((1, each.shape[1])), each])
    whole = np.minimum(angles.astype(np.int64), 719)
    at = each[whole] + (angles - whole)[:, None] * (each[whole + 1] - each[whole])
    step = np.diff(at, axis=0, prepend=at[-1:] - each[-1:])
    out: Array = step[:, 1:] / step[:, :1] - each[-1, 1:] / each[-1, 0]
    return out
