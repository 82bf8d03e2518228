"""Edges of sampled voltages: the same whatever the chunks, and the same as walking sample by sample."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from logan.dsp.edges import SQUARE_HYSTERESIS, crossings
from logan.model.sensor import EvenTimes

Array = NDArray[np.float64]


def coil(seed: int, samples: int, holes: int) -> Array:
    """A coil whose voltage grows, with a gap, noise and samples that are no number."""
    random = np.random.default_rng(seed)
    k = np.arange(samples)
    volts = (0.2 + k / samples) * np.sin(k / random.uniform(3.0, 30.0))
    volts[(k // 97) % 5 == 0] = 0.0
    volts += random.normal(0.0, 0.002, samples)
    volts[random.integers(0, samples, holes)] = random.choice([np.nan, np.inf], holes)
    return volts


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(20, 3000), st.integers(0, 20), st.integers(1, 4000), st.booleans())
@example(377, 20, 0, 1, False)
def test_edges_do_not_depend_on_the_chunks(seed: int, samples: int, holes: int, chunk: int, square: bool) -> None:
    volts = coil(seed, samples, holes)
    if square:
        volts = np.where(np.isfinite(volts), 5.0 * (volts > 0.05), np.nan)
    times = EvenTimes(samples, 10_000.0)
    whole, cut = crossings(times, volts, samples + 1), crossings(times, volts, chunk)
    assert cut.kind == whole.kind
    assert np.array_equal(cut.level, whole.level, equal_nan=True)  # levels that droop have no one middle
    assert np.array_equal(cut.rising_s, whole.rising_s)
    assert np.array_equal(cut.falling_s, whole.falling_s)
    assert np.isfinite(whole.rising_s).all()
    assert np.isfinite(whole.falling_s).all()


def walked(volts: Array, low: float, high: float) -> list[tuple[float, bool]]:
    """Edges by a walk over all samples: the middle of the first and last crossing between two armed samples."""
    level, reach = 0.5 * (low + high), SQUARE_HYSTERESIS * (high - low)
    armed, before = 0, 0.0
    crossed: list[float] = []
    out: list[tuple[float, bool]] = []
    for k, v in enumerate(volts - level):
        if k and np.sign(v) != np.sign(before):
            crossed.append(k - 1 + before / (before - v))
        side = 0 if not np.isfinite(v) else int(v > reach) - int(v < -reach)
        if side and armed == -side:
            out.append((0.5 * (crossed[0] + crossed[-1]), side > 0))
        if side or not np.isfinite(v):
            armed, crossed = side, []
        before = v
    return out


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 50))
def test_square_edges_as_a_walk_finds_them(seed: int, chunk: int) -> None:
    random = np.random.default_rng(seed)
    volts = np.repeat(random.choice([0.0, 5.0], 60), random.integers(1, 9, 60)) + random.normal(0, 0.01, 1)
    volts[random.integers(0, len(volts), 8)] = random.uniform(1.0, 4.0, 8)
    volts[random.integers(0, len(volts), 5)] = np.nan
    found = crossings(np.arange(len(volts), dtype=float), volts, chunk)
    if found.kind != "square" or not len(found.rising_s):
        return
    edges = walked(volts, *np.percentile(volts[np.isfinite(volts)], [0.1, 99.9]))
    assert found.rising_s == pytest.approx([t for t, up in edges if up])
    assert found.falling_s == pytest.approx([t for t, up in edges if not up])


def test_no_edge_goes_past_a_value_that_is_no_number() -> None:
    volts = np.tile([-1.0, -1.0, 1.0, 1.0], 10)
    volts = np.concatenate([volts, [-1.0, np.nan, 1.0], volts])
    found = crossings(np.arange(len(volts), dtype=float), volts)
    assert (len(found.rising_s), len(found.falling_s)) == (20, 20)
    assert not ((found.rising_s > 40) & (found.rising_s < 42)).any()


def passages(share: tuple[float, ...], turns: int, stands_s: float) -> Array:
    """Times of edges at shares of a turn, s: the wheel stands, then gains speed evenly from 3 to 13 turns a second."""
    angle = (np.arange(turns)[:, None] + np.array(share)).ravel()
    gain = 10.0 / (2.0 * turns / 16.0)  # turns / s2: the way is the mean speed times the time
    return stands_s + (np.sqrt(9.0 + 2.0 * gain * angle) - 3.0) / gain


def through_high_pass(edge_s: Array, cut_hz: float, rate_hz: float, step_v: float = 4.0) -> Array:
    """Square wave behind a first-order high-pass in closed form: every step passes whole, then dies away.

    Source: step response of the first-order high-pass, ``exp(-t / tau)`` with ``tau = 1 / (2 pi f)`` (any handbook of
    circuits); recorders with AC-coupled inputs: common practice, no source.
    """
    t = np.arange(int((edge_s[-1] + 0.05) * rate_hz)) / rate_hz
    start, at = np.empty(len(edge_s)), 0.0
    for k, gone_s in enumerate(np.diff(edge_s, prepend=edge_s[0])):
        at = at * np.exp(-2.0 * np.pi * cut_hz * gone_s) + (step_v if k % 2 == 0 else -step_v)
        start[k] = at
    last = np.searchsorted(edge_s, t, side="right") - 1
    after: Array = start[last] * np.exp(-2.0 * np.pi * cut_hz * np.maximum(t - edge_s[last], 0.0))
    after[last < 0] = 0.0
    return after


TEETH = tuple((np.arange(116) / 2.0 / 60.0).tolist())
CAM = (0.0, 0.06, 0.25, 0.27, 0.5, 0.95)


@pytest.mark.parametrize("noise_v", [0.0, 0.1])
@pytest.mark.parametrize("rate_hz", [8000.0, 48_000.0])
@pytest.mark.parametrize("share", [TEETH, CAM], ids=["crank", "cam"])
@pytest.mark.parametrize("cut_hz", [0.05, 0.3, 3.0, 20.0])
def test_a_high_pass_loses_no_edge_of_a_square_wave(
    cut_hz: float, share: tuple[float, ...], rate_hz: float, noise_v: float
) -> None:
    edge_s = passages(share, 60, 1.0)
    volts = through_high_pass(edge_s, cut_hz, rate_hz)
    volts += noise_v * np.random.default_rng(5).standard_normal(len(volts))
    found = crossings(EvenTimes(len(volts), rate_hz), volts)
    assert found.kind == "square"
    rising, falling = edge_s[0::2], edge_s[1::2]
    assert (len(found.rising_s), len(found.falling_s)) == (len(rising), len(falling))
    assert np.abs(found.rising_s - rising).max() < 1.0 / rate_hz
    assert np.abs(found.falling_s - falling).max() < 1.0 / rate_hz


@pytest.mark.parametrize("cut_off_v", [0.12, 0.9, np.inf])
@pytest.mark.parametrize("rate_hz", [8000.0, 48_000.0])
def test_a_coil_that_runs_up_keeps_every_swing(rate_hz: float, cut_off_v: float) -> None:
    """Amplitude in step with speed (induction); the recorder's range may cut the peaks off."""
    t = np.arange(int(6.0 * rate_hz)) / rate_hz
    volts = np.clip((0.15 + 0.3 * t) * np.sin(2.0 * np.pi * (30.0 * t + 30.0 * t**2)), -cut_off_v, cut_off_v)
    found = crossings(EvenTimes(len(volts), rate_hz), volts)
    # phase 30 t + 30 t2 in turns: rising through zero at whole numbers, falling half-way
    turn = np.arange(1, int(30.0 * 6.0 + 30.0 * 36.0))
    truth = -0.5 + np.sqrt(0.25 + turn / 30.0)
    assert len(found.rising_s) == pytest.approx(len(truth), abs=1)
    place = np.clip(np.searchsorted(found.rising_s, truth), 1, len(found.rising_s) - 1)
    near = np.minimum(np.abs(found.rising_s[place] - truth), np.abs(found.rising_s[place - 1] - truth))
    assert near[:-1].max() < 1e-4  # a hundredth of the first swing's period
