"""Crank, cam and pump sensor recordings: sampled voltages or edge times."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Protocol

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray


class Column(Protocol):
    """One value a sample, read a part at a time: an array, or one that is decoded where it is looked at.

    ``numpy.asarray`` gives all of it at once.
    """

    def __len__(self) -> int: ...

    def __getitem__(self, at: Any, /) -> Any:
        """Values of a slice or of an array of indices, (k,) float."""

    def __array__(self, dtype: Any = None, /) -> NDArray[Any]: ...


class EvenTimes(Struct, frozen=True):
    """Times of evenly taken samples, s, made where they are looked at: ``k / rate_hz``."""

    count: int
    rate_hz: float

    def __len__(self) -> int:
        return self.count

    def __getitem__(self, at: Any, /) -> Any:
        if isinstance(at, np.ndarray):
            return at / self.rate_hz
        chosen = range(self.count)[at]
        if isinstance(chosen, int):
            return chosen / self.rate_hz
        return np.arange(chosen.start, chosen.stop, chosen.step) / self.rate_hz

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> NDArray[Any]:
        return np.asarray(self[:], dtype)


def _nowhere() -> NDArray[np.float64]:
    return np.empty((0, 2))


class Waveform(Struct, frozen=True, eq=False, weakref=True):
    """Sampled sensor voltages on one even or uneven time axis.

    Parameters
    ----------
    t_s : (n,) float64, s; an array or ``EvenTimes``
    volts : name of the sensor (``crank``, ``cam``, ``pump``) -> (n,) float32 or float64, V; long recordings are
        decoded a part at a time
    origin_ns : Unix time of ``t_s == 0`` in ns, or 0
    absolute : whether ``origin_ns`` is a time of day
    unread_s, seams_s : see ``Edges``
    """

    t_s: Column
    volts: Mapping[str, Column]
    origin_ns: int = 0
    absolute: bool = False
    unread_s: NDArray[np.float64] = field(default_factory=_nowhere)
    seams_s: NDArray[np.float64] = field(default_factory=_nowhere)


class Edges(Struct, frozen=True, eq=False, weakref=True):
    """Edge times of each sensor.

    Parameters
    ----------
    rising_s, falling_s : name of the sensor (``crank``, ``cam``, ``pump``) -> (k,) float64, s, ascending
    resolution_s : smallest step of the time stamps, s (0 where unknown)
    origin_ns : Unix time of ``t == 0`` in ns, or 0
    absolute : whether ``origin_ns`` is a time of day
    unread_s : (r, 2) times between which rows of the file were refused, s: of the rows beside them, ascending;
        what is missing there is missing in the file and tells nothing of a sensor
    seams_s : (s, 2) last time before the recorder's clock was set back, and first one after it as it was moved, s: two
        recordings in one file, and nobody knows what lay between them
    """

    rising_s: dict[str, NDArray[np.float64]]
    falling_s: dict[str, NDArray[np.float64]]
    resolution_s: float = 0.0
    origin_ns: int = 0
    absolute: bool = False
    notes: tuple[str, ...] = field(default=())
    unread_s: NDArray[np.float64] = field(default_factory=_nowhere)
    seams_s: NDArray[np.float64] = field(default_factory=_nowhere)


class SensorCapture(Struct, frozen=True):
    """A crank / cam / pump recording with its file; ``offset_s`` puts it on the session's axis where that is known."""

    file: str
    content: Edges | Waveform
    offset_s: float | None = None


def sensors_of(captures: Iterable[SensorCapture]) -> list[str]:
    """Names of the sensors that recordings hold edges or voltages of, in the order crank, cam, pump."""
    found: set[str] = set()
    for capture in captures:
        content = capture.content
        if isinstance(content, Edges):
            for edges_s in (content.rising_s, content.falling_s):
                found |= {name for name, at_s in edges_s.items() if len(at_s)}
        else:
            found |= set(content.volts)
    return [name for name in ("crank", "cam", "pump") if name in found]
