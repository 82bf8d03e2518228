"""Lists by cylinder: their order, what they were taken from, and which cylinder they name."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logan.dsp.crank_speed import Cycles
from logan.measures.crank_cycles import CrankRecord
from logan.model.measure import Provenance
from logan.model.record import Record

Array = NDArray[np.float64]


def named(record: Record, word: str, share: Array, doubt: Array, least: float) -> str:
    """Which cylinder lies lowest, and every other one that the record does not tell from it; nothing where none does.

    Parameters
    ----------
    share : (z,) by firing position, share of the mean or of the best
    doubt : (z, z) standard uncertainty of the difference of two positions
    least : how far below the middle of the others the lowest one lies at least
    """
    order, lowest = record.profile.firing_order, int(np.argmin(share))
    if np.median(np.delete(share, lowest)) - share[lowest] < least:
        return ""
    close = [
        str(order[k]) for k in range(len(share)) if k != lowest and share[k] - share[lowest] < 1.96 * doubt[lowest, k]
    ]
    rest = ", or " + " or ".join(close) if close else "; another one does not explain the record"
    return f"{word}: cylinder {order[lowest]}{rest}"


def in_cylinder_order(record: Record, by_position: Array) -> list[float]:
    """Values by firing position, (z,), as a list in cylinder order, rounded to what is shown."""
    out = np.empty(len(by_position))
    out[np.array(record.profile.firing_order) - 1] = by_position
    return [round(float(v), 3) for v in out]


def provenance(source: CrankRecord, chosen: Cycles) -> Provenance:
    """The recording and the spans of time that some cycles of it cover."""
    cut = np.flatnonzero(np.diff(chosen.number) != 1) + 1
    parts = np.split(np.arange(len(chosen)), cut)
    spans = [(round(float(chosen.start_s[p[0]]), 3), round(float(chosen.end_s[p[-1]]), 3)) for p in parts if len(p)]
    return Provenance(files=[source.file], channels=["crank", "cam"], spans_s=spans)
