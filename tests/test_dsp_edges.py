"""Edges of sampled voltages: the same whatever the chunks, and the same as walking sample by sample."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
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
def test_edges_do_not_depend_on_the_chunks(seed: int, samples: int, holes: int, chunk: int, square: bool) -> None:
    volts = coil(seed, samples, holes)
    if square:
        volts = np.where(np.isfinite(volts), 5.0 * (volts > 0.05), np.nan)
    times = EvenTimes(samples, 10_000.0)
    whole, cut = crossings(times, volts, samples + 1), crossings(times, volts, chunk)
    assert (cut.kind, cut.level) == (whole.kind, whole.level)
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
