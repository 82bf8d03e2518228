"""Phase rows of several recordings on one axis, and which of them share a clock.

Recordings without a common clock, and what lies before and after a clock that was set back, have no times in common:
they are parts of their own. Nobody knows how long it was from one to the next, nor whether the engine was the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.phase import Cycles, PhaseRows
from logan.measures.wheel_reading import WheelReading

Array = NDArray[np.float64]
Index = NDArray[np.int64]

APART_S: Final = 1.0
"""From the last row of a part to the first one of the next, on the axis that they are laid out on."""
MOST_PARTS: Final = 20
"""Each has an offset of its own: of more, those with most cycles count (judgement)."""


def together(rows: Sequence[PhaseRows], readings: Sequence[WheelReading]) -> tuple[PhaseRows, Array]:
    """Rows of several recordings one after the other, and the times at which parts without a common clock begin.

    Cycles keep numbers of their own. The rows of one recording with one clock stay as they are.
    """
    starts: list[tuple[int, int]] = []  # recording and piece of it that a part begins with
    label = []
    shared: int | None = None
    for number, (one, reading) in enumerate(zip(rows, readings, strict=True)):
        piece = np.searchsorted(reading.seams_s[:, 1], one.t_s, side="right")
        mine = np.empty(len(piece), np.int64)
        for k in np.unique(piece).tolist():
            if k == 0 and reading.clocked and shared is not None:
                mine[piece == k] = shared
                continue
            if k == 0 and reading.clocked:
                shared = len(starts)
            mine[piece == k] = len(starts)
            starts.append((number, k))
        label.append(mine)
    if len(rows) == 1 and len(starts) == 1:
        return rows[0], rows[0].t_s[:1]
    part = np.concatenate(label)
    t_s = np.concatenate([one.t_s + reading.offset_s for one, reading in zip(rows, readings, strict=True)])
    begins = np.zeros(len(starts))
    at = 0.0
    for k in range(len(starts)):
        here = part == k
        begins[k] = at
        t_s[here] += at - float(t_s[here].min())
        at = float(t_s[here].max()) + APART_S
    cycle, number = [], 0
    for one in rows:
        cycle.append(one.cycle + number)
        number = int(cycle[-1].max()) + 1
    return PhaseRows(
        t_s, np.concatenate([one.error_deg for one in rows]), np.concatenate([one.edge for one in rows]),
        np.concatenate(cycle), np.concatenate([one.speed_rpm for one in rows]), sum(one.expected for one in rows),
        np.concatenate([one.lost_s for one in rows]), sum(one.extra for one in rows),
        sum(one.dropped for one in rows), sum(one.revolutions for one in rows),
    ), begins  # fmt: skip


def part_of(t_s: Array, begins_s: Array) -> Index:
    """Part in which each time lies, (n,)."""
    out: Index = np.maximum(np.searchsorted(begins_s, t_s, side="right") - 1, 0)
    return out


def without_part_medians(rows: PhaseRows, begins_s: Array) -> Array:
    """Phase errors, (n,), less what is particular to each part; as they are where there is but one."""
    if len(begins_s) < 2:
        return rows.error_deg
    part, out = part_of(rows.t_s, begins_s), rows.error_deg.copy()
    for k in np.unique(part):
        out[part == k] -= np.median(out[part == k])
    return out


def told_parts(cycles: Cycles, begins_s: Array, fewest: int) -> tuple[NDArray[np.bool_], Index]:
    """Cycles of parts that hold enough of them, (c,), and the part of each of these, numbered from 0."""
    part = part_of(cycles.t_s, begins_s)
    count = np.bincount(part, minlength=len(begins_s))
    order = np.argsort(-count, kind="stable")[:MOST_PARTS]
    good = order[count[order] >= fewest]
    keep = np.isin(part, good)
    return keep, np.unique(part[keep], return_inverse=True)[1].astype(np.int64)
