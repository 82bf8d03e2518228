"""Crank, cam and pump sensor recordings: sampled voltages or edge times."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Waveform:
    """Sampled sensor voltages on one even or uneven time axis.

    Parameters
    ----------
    t_s : (n,) float64, s
    volts : name of the sensor (``crank``, ``cam``, ``pump``) -> (n,) float32 or float64, V
    origin_ns : Unix time of ``t_s == 0`` in ns, or 0
    absolute : whether ``origin_ns`` is a time of day
    """

    t_s: NDArray[np.float64]
    volts: dict[str, NDArray[np.floating]]
    origin_ns: int = 0
    absolute: bool = False


@dataclass(frozen=True, slots=True)
class Edges:
    """Edge times of each sensor.

    Parameters
    ----------
    rising_s, falling_s : name of the sensor (``crank``, ``cam``, ``pump``) -> (k,) float64, s, ascending
    resolution_s : smallest step of the time stamps, s (0 where unknown)
    origin_ns : Unix time of ``t == 0`` in ns, or 0
    absolute : whether ``origin_ns`` is a time of day
    """

    rising_s: dict[str, NDArray[np.float64]]
    falling_s: dict[str, NDArray[np.float64]]
    resolution_s: float = 0.0
    origin_ns: int = 0
    absolute: bool = False
    notes: tuple[str, ...] = field(default=())
