"""Drive states: what the engine was asked to do, as spans of time."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time in one state.

    Parameters
    ----------
    state : ``key_on``, ``cranking``, ``run_up``, ``idle_cold``, ``idle_warm``, ``tip_in``, ``cruise``, ``pull``,
        ``overrun``, ``stopped`` (engine stands after it ran), ``gap`` (no data), ``unknown``
    start_s, end_s : s on the session's axis
    """

    state: str
    start_s: float
    end_s: float

    @property
    def duration_s(self) -> float:
        """Length in s."""
        return self.end_s - self.start_s


@dataclass(frozen=True, slots=True)
class DriveStates:
    """The whole drive as spans that follow each other without overlap, with what was assumed to find them."""

    spans: tuple[Span, ...] = ()
    assumed: tuple[str, ...] = field(default=())

    def of(self, *states: str) -> tuple[Span, ...]:
        """The spans in any of some states, in order of time."""
        return tuple(span for span in self.spans if span.state in states)

    def mask(self, t_s: NDArray[np.float64], *states: str) -> NDArray[np.bool_]:
        """Which of some times lie in any of some states, (len(t_s),) bool."""
        out = np.zeros(len(t_s), bool)
        for span in self.of(*states):
            out |= (t_s >= span.start_s) & (t_s < span.end_s)
        return out
