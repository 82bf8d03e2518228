"""Jitter of the cam where edge times are rounded, or might be: what a recorder makes of a known scatter.

Source: a time rounded to a step is off by a variance of step squared over twelve, JCGM 100:2008, F.2.2.1. Recorders
with an anti-alias filter let a step rise over the sample in which it falls: common practice, no source.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from logan.dsp.edges import crossings
from logan.measures.phase import cam_phase
from logan.measures.wheel_reading import read
from logan.model.measure import Measure
from logan.model.profile import CamWheel, CrankWheel, EngineProfile
from logan.model.record import ChannelSet, Record
from logan.model.sensor import Edges, EvenTimes, SensorCapture, Waveform
from tests.test_phase import NO_STATES

Array = NDArray[np.float64]

PROFILE = EngineProfile(
    name="rounded", ignition="compression", cylinders=4, firing_order=[1, 3, 4, 2],
    crank_wheel=CrankWheel(teeth=60, missing=2, first_edge_deg=84.0, active_edge="rising"),
    cam_wheel=CamWheel(edges_deg=[100.0, 220.0, 460.0, 640.0], active_edge="rising"),
)  # fmt: skip
CYCLES = 400
JITTER_DEG = 0.15


def drive(jitter_deg: float, seed: int) -> tuple[Array, Array]:
    """Times of crank and cam edges at 790 rpm that drift a little, s; the cam scatters."""
    random = np.random.default_rng(seed)
    tooth = np.concatenate([84.0 + 360.0 * k + 6.0 * np.arange(58) for k in range(2 * CYCLES)])
    cam = np.concatenate([720.0 * k + np.array([100.0, 220.0, 460.0, 640.0]) for k in range(CYCLES)])
    cam = cam[(cam > 90.0) & (cam < tooth[-1] - 30.0)] + 0.0
    cam += jitter_deg * random.standard_normal(len(cam))

    def when(angle: Array) -> Array:
        """Closed form: speed of 4740 deg/s that swings by 1 % in some 9 s."""
        t = angle / 4740.0
        return 0.01 + t + 0.01 * np.sin(0.7 * t)

    return when(tooth), when(cam)


def sampled(edge_s: Array, width_s: float, rate_hz: float, smoothed: bool) -> Array:
    """Square pulses of 5 V at each sample: as they are at that instant, or as their mean over the sample."""
    count = int((edge_s[-1] + 0.05) * rate_hz)
    k = (np.arange(count + 1) - 0.5) / rate_hz
    up = np.arange(len(edge_s) + 1) * width_s
    if not smoothed:
        t = np.arange(count) / rate_hz
        return 5.0 * (np.searchsorted(edge_s, t) - np.searchsorted(edge_s + width_s, t))
    # time on so far is linear in between: its differences are the means
    knot, on = np.sort(np.concatenate([edge_s, edge_s + width_s])), np.repeat(up, 2)[1:-1]
    out: Array = 5.0 * rate_hz * np.diff(np.interp(k, knot, on))
    return out


def jitter(content: Edges | Waveform) -> Measure:
    held = Record(
        captures=(), channels=ChannelSet({}), states=NO_STATES, profile=PROFILE,
        sensors=(SensorCapture("crank.wav", content),),
    )  # fmt: skip
    found = next(m for m in cam_phase(held, read(held)) if isinstance(m, Measure) and m.name == "cam_phase_jitter_deg")
    assert isinstance(found.value, float)
    assert isinstance(found.low, float)
    assert isinstance(found.high, float)
    assert found.low <= found.value <= found.high
    assert found.high > found.low
    return found


@pytest.mark.parametrize("smoothed", [True, False], ids=["smoothed", "instants"])
@pytest.mark.parametrize("jitter_deg", [0.0, 0.04, JITTER_DEG])
@pytest.mark.parametrize("rate_hz", [22_050.0, 96_000.0])
def test_sampled_squares_hold_the_true_scatter(rate_hz: float, jitter_deg: float, smoothed: bool) -> None:
    crank_s, cam_s = drive(jitter_deg, 4)
    volts = {
        "crank": sampled(crank_s, 5e-4, rate_hz, smoothed), "cam": sampled(cam_s, 5e-3, rate_hz, smoothed),
    }  # fmt: skip
    count = min(len(v) for v in volts.values())
    found = jitter(Waveform(EvenTimes(count, rate_hz), {name: v[:count] for name, v in volts.items()}))
    assert found.low <= jitter_deg <= found.high
    if jitter_deg == JITTER_DEG:
        assert found.value == pytest.approx(jitter_deg, rel=0.07)
    if smoothed and jitter_deg:
        assert found.value == pytest.approx(jitter_deg, rel=0.25)


@pytest.mark.parametrize(("smoothed", "step"), [(True, 0.2), (False, 1.0)])
def test_what_the_voltages_show_of_the_rounding(smoothed: bool, step: float) -> None:
    """Means over a sample: the line errs by ``w (1/2 - w) / (1 - w)``, 0.2 steps by the square mean over ``w``."""
    volts = sampled(drive(0.0, 1)[0], 5e-4, 48_000.0, smoothed)
    assert crossings(EvenTimes(len(volts), 48_000.0), volts).rounding == pytest.approx(step, abs=0.05)


@pytest.mark.parametrize("step_s", [1e-6, 2e-5, 5e-5])
def test_rounded_stamps_hold_the_true_scatter(step_s: float) -> None:
    crank_s, cam_s = (np.round(t / step_s) * step_s for t in drive(JITTER_DEG, 7))
    found = jitter(Edges({"crank": crank_s, "cam": cam_s}, {}, resolution_s=step_s))
    assert found.low <= JITTER_DEG <= found.high
    assert found.value == pytest.approx(JITTER_DEG, rel=0.07)


def test_the_interval_reaches_to_the_plain_standard_deviation() -> None:
    """Rounding that may not be there is not taken off at the high end: the same edges, told to be rounded and not."""
    crank_s, cam_s = drive(JITTER_DEG, 9)
    plain, told = (jitter(Edges({"crank": crank_s, "cam": cam_s}, {}, resolution_s=step)) for step in (0.0, 5e-5))
    assert told.high == pytest.approx(plain.high)
    assert isinstance(told.low, float)
    assert isinstance(plain.low, float)
    assert told.low < plain.low
