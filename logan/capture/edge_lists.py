"""Edge times of sensors from lists of edges and from levels over time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import sensor_names
from logan.model.sensor import Edges

_BLOCK: Final = 1 << 18


def edges_of(
    t_ns: NDArray[np.int64], sensor: NDArray[np.int8], rising: NDArray[np.bool_], origin_ns: int,
    unread_s: NDArray[np.float64], seams_s: NDArray[np.float64],
) -> Edges:  # fmt: skip
    """Edges of each sensor from one row an edge.

    Parameters
    ----------
    t_ns : (n,) int64, ns after the origin, ascending
    sensor : (n,) int8, index into ``sensor_names.SENSORS``
    rising : (n,) bool
    origin_ns : Unix time of the zero, 0 where unknown
    unread_s, seams_s : see ``Edges``
    """
    present = [(name, sensor == k) for k, name in enumerate(sensor_names.SENSORS) if (sensor == k).any()]
    return Edges(
        rising_s={name: t_ns[mine & rising] / 1e9 for name, mine in present},
        falling_s={name: t_ns[mine & ~rising] / 1e9 for name, mine in present},
        resolution_s=resolution_s(t_ns), origin_ns=origin_ns, absolute=bool(origin_ns), unread_s=unread_s,
        seams_s=seams_s,
    )  # fmt: skip


def from_levels(
    t_ns: NDArray[np.int64],
    levels: Sequence[NDArray[np.floating]] | NDArray[np.floating],
    names: Sequence[str],
    origin_ns: int,
    unread_s: NDArray[np.float64],
    seams_s: NDArray[np.float64],
) -> tuple[Edges, tuple[str, ...]]:
    """Edges where a logic level differs from the row before, and notes on the names.

    Parameters
    ----------
    t_ns : (n,) int64, ns after the origin, ascending
    levels : one (n,) float a signal, 0 or 1; NaN keeps the level before
    names : plain names of the signals
    origin_ns : Unix time of the zero, 0 where unknown
    unread_s, seams_s : see ``Edges``
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
        unread_s=unread_s, seams_s=seams_s,
    ), notes  # fmt: skip


def unread_s(
    spoilt: NDArray[np.int64], t_ns: NDArray[np.int64], rows: NDArray[np.int64] | slice
) -> NDArray[np.float64]:
    """Times of the rows before and after those that were refused, (r, 2), s; refused rows in a row are one place.

    Parameters
    ----------
    spoilt : (k,) int64, how many rows of the table precede each refused one (a refused row of the table: its number)
    t_ns, rows : (n,) times of the rows that were kept and their numbers in the table, as a ``Timeline`` has them
    """
    if not len(spoilt) or len(t_ns) < 2:
        return np.empty((0, 2))
    if isinstance(rows, slice):
        after = np.unique(spoilt)
    else:
        if (rows[1:] < rows[:-1]).any():
            order = np.argsort(rows)
            t_ns, rows = t_ns[order], rows[order]
        after = np.unique(np.searchsorted(rows, spoilt))
    after = after[(after > 0) & (after < len(t_ns))]
    between = np.stack([t_ns[after - 1], t_ns[after]], axis=1) / 1e9
    # where one sensor's list ends and the next one's begins, time goes back
    forward = between[between[:, 0] <= between[:, 1]]
    out: NDArray[np.float64] = forward[np.argsort(forward[:, 0], kind="stable")]
    return out


def resolution_s(t_ns: NDArray[np.int64]) -> float:
    """The step that all differences of time stamps are multiples of, s; 0 where there is none."""
    step = 0
    for at in range(0, len(t_ns), _BLOCK):
        step = int(np.gcd.reduce(np.diff(t_ns[at : at + _BLOCK + 1]), initial=step))
    return step / 1e9
