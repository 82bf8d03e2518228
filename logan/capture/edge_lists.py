"""Edge times of sensors from lists of edges and from levels over time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import sensor_names
from logan.model.sensor import Edges

_BLOCK: Final = 1 << 18


def edges_of(t_ns: NDArray[np.int64], sensor: NDArray[np.int8], rising: NDArray[np.bool_], origin_ns: int) -> Edges:
    """Edges of each sensor from one row an edge.

    Parameters
    ----------
    t_ns : (n,) int64, ns after the origin, ascending
    sensor : (n,) int8, index into ``sensor_names.SENSORS``
    rising : (n,) bool
    origin_ns : Unix time of the zero, 0 where unknown
    """
    present = [(name, sensor == k) for k, name in enumerate(sensor_names.SENSORS) if (sensor == k).any()]
    return Edges(
        rising_s={name: t_ns[mine & rising] / 1e9 for name, mine in present},
        falling_s={name: t_ns[mine & ~rising] / 1e9 for name, mine in present},
        resolution_s=resolution_s(t_ns), origin_ns=origin_ns, absolute=bool(origin_ns),
    )  # fmt: skip


def from_levels(
    t_ns: NDArray[np.int64],
    levels: Sequence[NDArray[np.floating]] | NDArray[np.floating],
    names: Sequence[str],
    origin_ns: int,
) -> tuple[Edges, tuple[str, ...]]:
    """Edges where a logic level differs from the row before, and notes on the names.

    Parameters
    ----------
    t_ns : (n,) int64, ns after the origin, ascending
    levels : one (n,) float a signal, 0 or 1; NaN keeps the level before
    names : plain names of the signals
    origin_ns : Unix time of the zero, 0 where unknown
    """
    steps = []
    for level in levels:
        known = np.flatnonzero(np.isfinite(level))
        change = np.diff((level[known] > 0.5).astype(np.int8))
        at = np.flatnonzero(change)
        steps.append((known[at + 1], change[at] > 0))
    found, notes = sensor_names.assign(names, [len(at) for at, _ in steps])
    return Edges(
        rising_s={sensor: t_ns[steps[k][0][steps[k][1]]] / 1e9 for sensor, k in found.items()},
        falling_s={sensor: t_ns[steps[k][0][~steps[k][1]]] / 1e9 for sensor, k in found.items()},
        resolution_s=resolution_s(t_ns), origin_ns=origin_ns, absolute=bool(origin_ns), notes=notes,
    ), notes  # fmt: skip


def resolution_s(t_ns: NDArray[np.int64]) -> float:
    """The step that all differences of time stamps are multiples of, s; 0 where there is none."""
    step = 0
    for at in range(0, len(t_ns), _BLOCK):
        step = int(np.gcd.reduce(np.diff(t_ns[at : at + _BLOCK + 1]), initial=step))
    return step / 1e9
