"""Trains with edges lost at random while the speed swings by half of itself: right, or said to be open.

Two or three fires a turn at 150 to 300 rpm and swings of 35 to 50 % are those of cranking (worked examples
``gap_ratio_under_(deep_)cranking``; loss of one edge in ten: common practice of a bad plug, no source).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from logan.dsp.phase import phase_rows
from logan.dsp.sync import synchronise
from logan.dsp.tooth_slip import cut_at_slips
from logan.dsp.wheel import ToothTrain, decode
from tests.wheel_trains import Motion, edges, evenly

Array = NDArray[np.float64]
THIRDS = np.array([0.0, 40.0, 120.0, 160.0, 240.0, 280.0])
THIRDS_OF_36 = np.array([k * 10.0 for k in range(36) if k % 12 < 10])


def cranking(rng: np.random.Generator, turns: int, fires: float, depth: float) -> Motion:
    """A crank whose fires differ by a tenth, as a whole and from each other."""
    angle = np.arange(0.0, 360.0 * turns, 0.25)
    phase = angle / 360.0 * fires + rng.uniform()
    size = 1.0 + 0.1 * rng.standard_normal(int(turns * fires) + 3)
    swing = depth * np.interp(phase, np.arange(len(size)), size) * np.cos(2.0 * np.pi * phase)
    speed_deg_s = 6.0 * rng.uniform(150.0, 300.0) * (1.0 + swing)
    return Motion(np.concatenate([[0.0], np.cumsum(0.25 / speed_deg_s[:-1])]), angle)


def lossy(rng: np.random.Generator, motion: Motion, wheel: Array, lost: float) -> tuple[Array, Array]:
    """Times and angles of the edges that are left, each off by some hundredths of a degree."""
    every = edges(motion, wheel)
    kept = every[rng.random(len(every)) >= lost]
    return motion.time_at(kept + 0.05 * rng.standard_normal(len(kept))), kept


def wrong(train: ToothTrain, t_s: Array, angle_deg: Array) -> int:
    """Edges on another tooth, or in another turn than most of their segment."""
    off = np.round(train.angle_deg - angle_deg[np.searchsorted(t_s, train.t_s)], 3)
    usual = [np.median(off[slice(*train.span(k))]) for k in train.segment]
    part = 360.0 / train.symmetry
    apart = np.abs((off + 0.5 * part) % part - 0.5 * part) > 0.01
    return int(np.count_nonzero(apart | (off != usual)))


@pytest.mark.parametrize(("teeth", "gap"), [(60, 2), (36, 1), (12, 1)])
@pytest.mark.parametrize("fires", [1.5, 2.0, 3.0])
def test_a_tenth_of_the_edges_lost_in_deep_cranking_swings(teeth: int, gap: int, fires: float) -> None:
    rng = np.random.default_rng(teeth + int(2 * fires))
    wheel = evenly(teeth, gap)
    t, angle = lossy(rng, cranking(rng, 20, fires, 0.5), wheel, 0.1)
    train = decode(t, wheel)
    assert wrong(train, t, angle) == 0
    assert len(train) > 0.9 * len(t)
    assert len(train.missing_s) == pytest.approx(20 * len(wheel) - len(t), rel=0.1)


@pytest.mark.parametrize("wheel", [evenly(4, 1), THIRDS, THIRDS_OF_36], ids=["4-1", "6 in thirds", "36 in thirds"])
@pytest.mark.parametrize("fires", [1.5, 2.0, 3.0])
def test_what_cannot_be_told_is_left_open(wheel: Array, fires: float) -> None:
    """Three gaps a turn under three fires a turn look like one another; a third is then the cam's to tell."""
    rng = np.random.default_rng(len(wheel))
    t, angle = lossy(rng, cranking(rng, 40, fires, 0.5), wheel, 0.1)
    assert wrong(decode(t, wheel), t, angle) == 0


def test_a_signal_that_fades_where_the_crank_is_slow_puts_no_tooth_elsewhere() -> None:
    """A coil's voltage falls with the speed (common practice, no source): the same teeth are lost in every cycle."""
    placed = apart = 0
    angle = np.arange(0.0, 360.0 * 30, 0.5)
    for seed in range(12):
        rng = np.random.default_rng(seed)
        wheel = evenly(36, 1 + seed % 2)
        swing = 0.6 * np.cos(np.radians(1.5 * angle) + rng.uniform(0.0, 6.3))
        for order in (0.5, 1.0, 1.5, 3.0):
            swing += 0.06 * rng.standard_normal() * np.cos(np.radians(order * angle) + rng.uniform(0.0, 6.3))
        motion = Motion(np.concatenate([[0.0], np.cumsum(0.5 / (1200.0 * np.exp(swing[:-1])))]), angle)
        every = edges(motion, wheel)
        seen = np.interp(every, angle, swing)
        fades = 1.0 / (1.0 + np.exp((seen - np.quantile(seen, 0.12)) / 0.03))
        kept = every[rng.random(len(every)) > fades]
        t = motion.time_at(kept + 0.3 * rng.standard_normal(len(kept)))
        train = decode(t, wheel)
        placed += len(train)
        apart += wrong(train, t, kept)
    assert apart <= 0.005 * placed


@pytest.mark.parametrize("wheel", [evenly(360, 1), evenly(900, 1)], ids=["360-1", "900-1"])
def test_fine_wheels_are_read_as_far_as_their_scatter_allows(wheel: Array) -> None:
    """Edges off by a twentieth of a tooth say which is which over a whole turn, off by a third they do not."""
    rng = np.random.default_rng(5)
    motion = cranking(rng, 6, 2.0, 0.4)
    every = edges(motion, wheel)
    pitch = wheel[1] - wheel[0]
    for scatter, least in ((0.04, 0.95), (0.3, 0.0)):
        t = np.sort(motion.time_at(every + scatter * pitch * rng.standard_normal(len(every))))
        train = decode(t, wheel)
        assert len(train) >= least * len(t)
        assert wrong(train, t, every) == 0


def test_a_wheel_without_a_mark_is_cut_where_the_cam_shows_a_tooth_too_many() -> None:
    """Five edges where four teeth passed: from there on the cam would miss at its place and stand at another one."""
    rng = np.random.default_rng(1)
    wheel, cam = evenly(36, 0), np.array([70.0, 190.0, 385.0, 590.0, 610.0])
    motion = cranking(rng, 30, 2.0, 0.3)
    t = motion.time_at(edges(motion, wheel))
    more = np.concatenate([t[:401], np.linspace(t[400], t[404], 6)[1:-1], t[404:]])
    train = decode(t, wheel)
    cam_s = motion.time_at(edges(motion, cam, 720.0))
    assert cut_at_slips(train, synchronise(train, cam_s, cam), cam_s, cam) is train
    slipped = decode(more, wheel)
    placed = synchronise(slipped, cam_s, cam)
    found = cut_at_slips(slipped, placed, cam_s, cam)
    assert len(phase_rows(slipped, placed, cam_s, cam).lost_s) > 0
    assert len(phase_rows(found, synchronise(found, cam_s, cam), cam_s, cam).lost_s) == 0
