"""Edges of a sensor recording, as stored or as found in its voltages, and what rounding and noise do to their times."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from logan.dsp.edges import Crossings, crossings
from logan.model.sensor import Edges, SensorCapture, Waveform

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rounding:
    """Step to which a sensor's edge times are rounded, s: at most, and as far as the recording shows.

    Noise that scatters them counts as the step whose rounding would scatter them as far.
    """

    most_s: float
    likely_s: float


NO_ROUNDING: Final = Rounding(0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Noise:
    """White noise in a sensor's voltage.

    Parameters
    ----------
    share : its standard deviation as a share of the signal's swing from peak to peak
    edge_s : standard deviation of an edge's time by it, s
    drowned : whether edges may be lost or made by it, so that none is used
    """

    share: float
    edge_s: float
    drowned: bool


@dataclass(frozen=True, slots=True)
class Flanks:
    """Edges of a recording.

    Parameters
    ----------
    rising, falling : sensor -> (k,) s; none of a sensor whose signal drowns in noise
    resolution_s : step of the times, s; 0 where they lie between samples
    rounding : sensor -> step of its own times
    noise : sensor -> noise of its voltage, where that matters
    """

    rising: dict[str, Array]
    falling: dict[str, Array]
    resolution_s: float
    rounding: dict[str, Rounding]
    noise: dict[str, Noise] = field(default_factory=dict)


_KEPT: Final[WeakKeyDictionary[Waveform, Flanks]] = WeakKeyDictionary()
"""The edges of each sampled recording that is still in use: several stages ask for them."""


def flanks(capture: SensorCapture) -> Flanks:
    """Rising and falling edges of each sensor, the steps of their times and the noise that they were found in."""
    content = capture.content
    if isinstance(content, Edges):
        same = Rounding(content.resolution_s, content.resolution_s)
        rounding = dict.fromkeys((*content.rising_s, *content.falling_s), same)
        return Flanks(content.rising_s, content.falling_s, content.resolution_s, rounding)
    kept = _KEPT.get(content)
    if kept is None:
        kept = _KEPT[content] = _found(content)
    return kept


def _found(content: Waveform) -> Flanks:
    """The edges of sampled voltages."""
    found = {name: crossings(content.t_s, volts) for name, volts in content.volts.items()}
    step_s = float(content.t_s[-1] - content.t_s[0]) / max(len(content.t_s) - 1, 1) if len(content.t_s) else 0.0
    clear = {name: both for name, both in found.items() if not both.drowned}
    # a square wave jumps somewhere between two samples; a coil's crossing is interpolated
    stepped = {name: step_s for name, both in clear.items() if both.kind == "square" and len(both.rising_s)}
    return Flanks(
        {name: both.rising_s for name, both in clear.items()}, {name: both.falling_s for name, both in clear.items()},
        max(stepped.values(), default=0.0),
        {name: _rounding(both, stepped.get(name, 0.0)) for name, both in found.items()},
        {name: Noise(both.noise, both.noise_s, both.drowned) for name, both in found.items() if both.noise},
    )  # fmt: skip


def _rounding(both: Crossings, step_s: float) -> Rounding:
    """Step of the times, and the one that noise amounts to: rounding to a step scatters by it over the root of 12."""
    noise_s = float(np.sqrt(12.0)) * both.noise_s
    return Rounding(float(np.hypot(step_s, noise_s)), float(np.hypot(step_s * both.rounding, noise_s)))


def drowned(sensor: str, noise: Mapping[str, Noise]) -> str:
    """Why a sensor's edges are not used, where its signal drowns in noise; else empty."""
    seen = noise.get(sensor)
    if seen is None or not seen.drowned:
        return ""
    return (
        f"the signal is noisy: the {sensor} voltage carries noise of {100.0 * seen.share:.0f} % of its swing, in which "
        "its edges are not told from the noise"
    )
