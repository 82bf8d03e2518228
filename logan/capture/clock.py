"""Repair of a recorder's clock: stray stamps, small disorder, and a clock that was set back or rolled over."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan import parallel
from logan.capture.reader import Tally

JITTER_NS: Final = 1_000_000_000
"""Records up to this far behind their predecessor are only out of order (several buses, buffers); from memory."""
_AT_ONCE: Final = 1 << 15
_MOST_STRAYS: Final = 10_000


def settle(t_ns: NDArray[np.int64], tally: Tally, jitter_ns: int = JITTER_NS) -> NDArray[np.int64] | None:
    """Make times ascend; what was done is counted.

    A single stamp far from both neighbours is dropped with its record. A backward step of more than ``jitter_ns`` is
    a clock set back or rolled over: all later times move so that time goes on (in place). Smaller disorder is sorted.

    Parameters
    ----------
    t_ns : (n,) int64, ns, changed in place
    jitter_ns : largest step back that is only disorder; 0 where one recorder wrote one signal

    Returns
    -------
    (k,) int64, the rows to keep, in order of time; None where all rows stay as they are
    """
    if _ascends(t_ns):
        return None
    rows = np.arange(len(t_ns))
    strays = _strays(t_ns, jitter_ns)
    if len(strays):
        text = "single time stamp far from its neighbours: record set aside"
        tally.add_rows("time_stray", text, strays, lambda row: _place(t_ns, row))
        rows = np.delete(rows, strays)
    t = t_ns[rows]
    step = np.diff(t)
    back = np.flatnonzero(step < -jitter_ns)
    if len(back):
        text = "clock set back or rolled over: later times moved so that time goes on"
        tally.add_rows("time_backwards", text, back, lambda at: f"{_place(t, at + 1)}, by {-step[at] / 1e9:.6g} s")
        usual = int(np.median(step[step >= 0])) if (step >= 0).any() else 0
        shift = np.zeros(len(t), np.int64)
        shift[back + 1] = usual - step[back]
        t += np.cumsum(shift)
        t_ns[rows] = t
    behind = np.flatnonzero(np.diff(t) < 0)
    if len(behind):
        text = "times out of order by up to a second: sorted"
        tally.add_rows("time_disorder", text, behind, lambda at: _place(t, at + 1))
        rows = rows[np.argsort(t, kind="stable")]
    return rows


def _ascends(t_ns: NDArray[np.int64]) -> bool:
    def part(at: int) -> bool:
        return bool((t_ns[at + 1 : at + _AT_ONCE + 1] >= t_ns[at : at + _AT_ONCE][: len(t_ns) - at - 1]).all())

    return all(parallel.each(part, range(0, len(t_ns), _AT_ONCE), pays=len(t_ns) >= parallel.MANY))


def _strays(t_ns: NDArray[np.int64], jitter_ns: int) -> NDArray[np.int64]:
    """Rows whose time alone is far off: the records on both sides agree without it."""
    out: list[int] = []
    last = len(t_ns) - 1
    back = np.flatnonzero(np.diff(t_ns) < -jitter_ns)
    for at in back[:_MOST_STRAYS].tolist():
        before = t_ns[at - 1] if at else None
        after = t_ns[at + 2] if at + 2 <= last else None
        if before is not None and t_ns[at + 1] >= before:
            out.append(at)  # the earlier one leapt ahead
        elif after is None or after >= t_ns[at]:
            out.append(at + 1)  # the later one fell behind
        elif before is None:
            out.append(at)
    return np.unique(np.array(out, np.int64))


def _place(t_ns: NDArray[np.int64], row: int) -> str:
    return f"record {row + 1}, t = {t_ns[row] / 1e9:.6f} s"
