"""Channels: one quantity over time with its unit, validity and origin."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

FROM_TABLE: Final = ("column ", "channel ")
"""How the sources of columns and measured channels begin, whose names and units somebody wrote."""
FROM_CRANK: Final = "crank recording, the mean of each turn"
"""The source of an engine speed that no control module told."""
NOT_AVAILABLE: Final = "not available"
"""Why a value is none where its sender says that it has none to give (SAE J1939-71): normal traffic, no damage."""
Extent = tuple[float, float, float]
"""Lowest, median and highest of some numbers."""


@dataclass(frozen=True, slots=True)
class Channel:
    """One quantity over time.

    Parameters
    ----------
    name : standard name where it has one, else the name from its PID, DBC signal or table header
    unit : unit inside (see ``logan.units``), empty for flags and counts
    t_s : (n,) float64, s, ascending; for a polled value the middle between request and answer
    value : (n,) float64; NaN where the source said "not available" or the value is out of its range
    half_width_s : half the time between request and answer, s: the value was true somewhere within; 0 for broadcasts
    source : where it came from, for people: ``service 01 PID 0C, ECU 7E8``, ``DBC EngineData.Speed``
    file : name of the capture file
    labels : meaning of whole-number values of an enumeration, else empty
    invalid : reason -> number of values that were set to NaN for it
    ecu : sender as printed ("7E8", "18DAF110", "SA 00"), empty where unknown
    """

    name: str
    unit: str
    t_s: NDArray[np.float64]
    value: NDArray[np.float64]
    half_width_s: float = 0.0
    source: str = ""
    file: str = ""
    labels: dict[int, str] = field(default_factory=dict)
    invalid: dict[str, int] = field(default_factory=dict)
    ecu: str = ""

    def __len__(self) -> int:
        return len(self.t_s)

    @property
    def from_table(self) -> bool:
        """Whether it is a column or a measured channel, whose unit somebody wrote and whose rows a recorder filled."""
        return self.source.startswith(FROM_TABLE)

    def finite(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Times and values that are numbers, (k,) each."""
        good = np.isfinite(self.value)
        return self.t_s[good], self.value[good]

    def at(self, t_s: NDArray[np.float64], max_gap_s: float = np.inf) -> NDArray[np.float64]:
        """Linear interpolation at other times, (len(t_s),).

        NaN outside the record and inside gaps longer than ``max_gap_s``.
        """
        t, v = self.finite()
        if len(t) == 0:
            return np.full(len(t_s), np.nan)
        out = np.interp(t_s, t, v, left=np.nan, right=np.nan)
        if np.isfinite(max_gap_s) and len(t) > 1:
            right = np.clip(np.searchsorted(t, t_s, side="left"), 1, len(t) - 1)
            gap = t[right] - t[right - 1]
            out[(gap > max_gap_s) & (t_s != t[right]) & (t_s != t[right - 1])] = np.nan
        return out


class Deferred(Channel):
    """A channel whose values are made when they are first asked for, all finite and in order: most are never looked at.

    Parameters
    ----------
    make : makes the values, (n,) float64
    look : finds their lowest, median and highest without keeping them
    given, named : as for a ``Channel``, ``value`` None where it is to be made
    """

    __slots__ = ("_extent", "_look", "_made", "_make")
    _make: Callable[[], NDArray[np.float64]]
    _look: Callable[[], Extent]
    _made: NDArray[np.float64] | None
    _extent: Extent | None

    def __init__(
        self, *given: Any, make: Callable[[], NDArray[np.float64]] | None = None,
        look: Callable[[], Extent] | None = None, **named: Any,
    ) -> None:  # fmt: skip
        object.__setattr__(self, "_make", make)
        object.__setattr__(self, "_look", look)
        object.__setattr__(self, "_extent", None)
        super().__init__(*given, **named)

    @property
    def value(self) -> NDArray[np.float64]:
        """As of a ``Channel``."""
        if self._made is None:
            object.__setattr__(self, "_made", self._make())
        assert self._made is not None
        return self._made

    @value.setter
    def value(self, value: NDArray[np.float64] | None) -> None:
        object.__setattr__(self, "_made", value)

    def extent(self) -> Extent | None:
        """Lowest, median and highest value, found once; None where nothing is known but the values themselves."""
        if self._extent is None and self._look is not None:
            object.__setattr__(self, "_extent", self._look())
        return self._extent


@dataclass(frozen=True, slots=True)
class ChannelSet:
    """All channels of a session by name; of several sources of one quantity the best one leads and the others stay.

    Parameters
    ----------
    best : name -> the channel that the measures use
    others : name -> further sources of the same quantity
    """

    best: dict[str, Channel]
    others: dict[str, tuple[Channel, ...]] = field(default_factory=dict)

    def get(self, name: str) -> Channel | None:
        """The leading channel of that name, or None."""
        return self.best.get(name)

    def __contains__(self, name: object) -> bool:
        return name in self.best

    def __iter__(self) -> Iterator[Channel]:
        return iter(self.best.values())

    def __len__(self) -> int:
        return len(self.best)
