"""Repair of a recorder's clock: stray stamps, small disorder, and a clock that was set back or rolled over."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan import parallel
from logan.capture.reader import Tally
from logan.dsp.grouping import distinct

JITTER_NS: Final = 1_000_000_000
"""Records up to this far behind their predecessor are only out of order (several buses, buffers); from memory."""
_BITS: Final = (16, 24, 32)
_TICKS_NS: Final = (1_000, 10_000, 100_000, 1_000_000, 10_000_000)
_TURNS_NS: Final = np.array(
    sorted({*(2**bits * tick for bits in _BITS for tick in _TICKS_NS), 86_400 * 10**9}), np.int64
)
"""After how long counters of usual widths and ticks begin anew, and the time of day, ns, ascending (judgement)."""
_MOST_STEPS: Final = 3.0
"""A step over the seam is at most so many times as long as nearly all others (judgement)."""
_FINER: Final = 10
_AT_ONCE: Final = 1 << 15
_MOST_STRAYS: Final = 10_000


def settle(
    t_ns: NDArray[np.int64], tally: Tally, jitter_ns: int = JITTER_NS, seams: list[tuple[int, int]] | None = None
) -> NDArray[np.int64] | None:
    """Make times ascend; what was done is counted.

    A single stamp far from both neighbours is dropped with its record. A backward step of more than ``jitter_ns`` is
    a clock set back or rolled over: all later times move so that time goes on (in place), by the whole turn of a
    counter that plainly rolled over, else so that the step is the usual one. Smaller disorder is sorted.

    Parameters
    ----------
    t_ns : (n,) int64, ns, changed in place
    jitter_ns : largest step back that is only disorder; 0 where one recorder wrote one signal
    seams : takes the times before and after each place where the clock was set back by more than ``JITTER_NS``, ns, as
        they are moved; where it rolled over it went on, which is no seam

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
        usual = int(np.median(step[step >= 0])) if (step >= 0).any() else 0
        shift = np.zeros(len(t), np.int64)
        turn = _turns(t, step, back)
        for length in distinct(turn).tolist():
            text = "clock set back or rolled over: later times moved so that time goes on"
            if length:
                text = f"clock rolled over, as it does every {length / 1e9:.12g} s: later times moved by as much"
            tally.add_rows(
                "time_backwards", text, back[turn == length],
                lambda at: f"{_place(t, at + 1)}, by {-step[at] / 1e9:.6g} s",
            )  # fmt: skip
        shift[back + 1] = np.where(turn > 0, turn, usual - step[back])
        t += np.cumsum(shift)
        t_ns[rows] = t
        if seams is not None:
            seams += [(int(t[at]), int(t[at + 1])) for at in back[(turn == 0) & (step[back] < -JITTER_NS)].tolist()]
    behind = np.flatnonzero(np.diff(t) < 0)
    if len(behind):
        text = "times out of order by up to a second: sorted"
        tally.add_rows("time_disorder", text, behind, lambda at: _place(t, at + 1))
        rows = rows[np.argsort(t, kind="stable")]
    return rows


def seams_s(seams: Sequence[tuple[int, int]], zero_ns: int = 0) -> NDArray[np.float64]:
    """Seams as ``Edges`` has them, (s, 2), s after a zero."""
    out: NDArray[np.float64] = (np.array(seams, np.int64).reshape(-1, 2) - zero_ns) / 1e9
    return out


def _turns(t_ns: NDArray[np.int64], step: NDArray[np.int64], back: NDArray[np.int64]) -> NDArray[np.int64]:
    """By how much a counter rolled over at each backward step, ns, (k,); 0 where it may as well have been set back.

    It is sure where the stamps are the counter's own (none before zero, none beyond its turn) and the turn leaves a
    step as others are; where they count from another zero, only if every backward step fits the same turn.

    Parameters
    ----------
    step : (n - 1,) from stamp to stamp; ``back`` are the places of those that go back
    """
    out = np.zeros(len(back), np.int64)
    forward = step[step > 0]
    if not len(forward):
        return out
    most = _MOST_STEPS * float(np.quantile(forward, 0.99))
    unit = int(np.gcd.reduce(t_ns))  # stamps in whole seconds do not show a turn of some microseconds
    left = _TURNS_NS[:, None] + step[back]
    fits = (left >= 0) & (left <= most)
    fits &= (_TURNS_NS[:, None] % max(unit, 1) == 0) | (left >= _FINER * unit)
    own = fits & (t_ns[back] <= _TURNS_NS[:, None]) & (t_ns[back + 1] >= 0)
    for turn, of_all, of_own in zip(_TURNS_NS, fits, own, strict=True):
        out[(of_own | (of_all.all() & (len(back) > 1))) & (out == 0)] = turn
    return out


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
