"""Invented tooth trains: any wheel, any course of speed, jitter, lost and extra edges, with the truth kept."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def evenly(teeth: int, missing: int, first_deg: float = 0.0) -> Array:
    """Angles of an n-m wheel."""
    return np.sort((first_deg + np.arange(teeth - missing) * 360.0 / teeth) % 360.0)


THREE_GAPS = np.array([k * 10.0 for k in range(36) if k not in (10, 11, 20, 21, 34, 35)])
"""36-2-2-2: three gaps of two teeth."""
UNEVEN = np.array([0.0, 50.0, 90.0, 180.0, 250.0, 310.0])


@dataclass(frozen=True)
class Motion:
    """A turning crank: angle over time."""

    t_s: Array
    angle_deg: Array

    def time_at(self, angle_deg: Array) -> Array:
        return np.interp(angle_deg, self.angle_deg, self.t_s)


def turning(turns: float, rpm: float, *, to_rpm: float | None = None, depth: float = 0.0, order: float = 3.0) -> Motion:
    """A crank whose speed goes to another value and back, and swings by a share of it at an order."""
    angle = np.linspace(0.0, 360.0 * turns, int(turns * 1440) + 1)
    rise = (to_rpm if to_rpm is not None else rpm) - rpm
    speed = rpm + rise * 0.5 * (1.0 - np.cos(2.0 * np.pi * angle / angle[-1]))
    speed = speed * (1.0 + depth * np.cos(np.radians(order * angle)))
    steps = np.diff(angle) / (6.0 * 0.5 * (speed[1:] + speed[:-1]))
    return Motion(np.concatenate([[0.0], np.cumsum(steps)]), angle)


def edges(motion: Motion, angles_deg: Array, period_deg: float = 360.0) -> Array:
    """Angles of all edges that pass during the motion."""
    turns = np.arange(np.ceil(motion.angle_deg[-1] / period_deg))
    every = (turns[:, None] * period_deg + np.sort(angles_deg)).ravel()
    return every[every <= motion.angle_deg[-1]]
