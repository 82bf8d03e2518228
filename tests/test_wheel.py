"""Edges on their teeth: wheels of every kind, deep cranking swings, lost and extra edges, swapped wires, speed."""

from __future__ import annotations

import itertools
import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from logan.capture import read
from logan.dsp.wheel import ToothTrain, decode, speed_rpm
from logan.dsp.wheel_pattern import slot_centres, tells_slots
from logan.model.sensor import Edges
from tests.wheel_trains import THREE_GAPS, UNEVEN, Motion, edges, evenly, turning

Array = NDArray[np.float64]

WHEELS = {
    "60-2": evenly(60, 2, 84.0),
    "36-1": evenly(36, 1, 90.0),
    "60-4": evenly(60, 4),
    "36-2-2-2": THREE_GAPS,
    "uneven": UNEVEN,
}


def worst_error(train: ToothTrain, t_s: Array, angle_deg: Array) -> float:
    """Largest error of the angles, once the unknown number of whole turns is taken away."""
    error = train.angle_deg - angle_deg[np.searchsorted(t_s, train.t_s)]
    turns = 360.0 * np.round(np.median(error) / 360.0)
    return float(np.max(np.abs(error - turns)))


@pytest.mark.parametrize("name", WHEELS)
@pytest.mark.parametrize("depth", [0.0, 0.35, 0.5])
@pytest.mark.parametrize("first", [0, 17, 40])
def test_every_edge_finds_its_tooth_while_cranking(name: str, depth: float, first: int) -> None:
    """Speed swings of 35 and 50 % are those of the worked examples gap_ratio_under_(deep_)cranking.

    A wheel of six edges cannot follow a swing of order 3: three edges a swing; it gets a third of it.
    """
    depth = depth / 3.0 if name == "uneven" else depth
    angle = edges(turning(20, 250, depth=depth), WHEELS[name])[first:]
    t = turning(20, 250, depth=depth).time_at(angle)
    train = decode(t, WHEELS[name])
    assert len(train) == len(t)
    assert worst_error(train, t, angle) < 1e-6
    assert (len(train.missing_s), len(train.extra_s), train.unplaced, train.inverted) == (0, 0, 0, False)


def test_worked_example_of_gap_ratios_under_cranking() -> None:
    """The generator itself: gap 2.40..3.77, deep 2.14..4.28 times the period before (worked_examples, simulated)."""
    for depth, low, high in ((0.35, 2.40, 3.77), (0.5, 2.14, 4.28)):
        ratios = []
        for first in np.arange(0.0, 120.0, 0.5):
            motion = turning(4, 250, depth=depth)
            t = motion.time_at(first + 360.0 + np.array([-6.0, 0.0, 18.0]))
            ratios.append((t[2] - t[1]) / (t[1] - t[0]))
        assert (min(ratios), max(ratios)) == (pytest.approx(low, abs=0.01), pytest.approx(high, abs=0.01))


def test_constant_speed_gap_ratios_of_the_worked_examples() -> None:
    """60-2: 58 edges, ratio 3; 36-1: 35 edges, ratio 2; 60-4: 56 edges, ratio 5; 36-2-2-2: 30 edges, three of 3."""
    for wheel, count, ratio, gaps in (
        (evenly(60, 2), 58, 3.0, 1), (evenly(36, 1), 35, 2.0, 1), (evenly(60, 4), 56, 5.0, 1), (THREE_GAPS, 30, 3.0, 3),
    ):  # fmt: skip
        train = decode(turning(8, 800).time_at(edges(turning(8, 800), wheel)), wheel)
        period = np.diff(train.t_s)
        assert len(wheel) == count
        long = period > 1.5 * np.median(period)
        assert period[long] / np.median(period) == pytest.approx(ratio, abs=1e-6)
        inside = train.turn[:-1] == 3
        assert np.count_nonzero(long[inside]) == gaps


@pytest.mark.parametrize(("teeth", "missing", "normal", "long"), [(36, 1, 33, 1.5), (60, 2, 56, 2.0)])
def test_swapped_wires_give_two_equal_long_periods(teeth: int, missing: int, normal: int, long: float) -> None:
    """Worked examples vr_reversed_36_1 (an open engine-controller wiki) and vr_reversed_60_2 (derived)."""
    wheel = evenly(teeth, missing)
    slots = slot_centres(wheel)
    pitch = np.diff(np.append(slots, slots[0] + 360.0)) * teeth / 360.0
    assert np.count_nonzero(np.isclose(pitch, 1.0)) == normal
    assert np.sort(pitch)[-2:] == pytest.approx([long, long])
    motion = turning(20, 250, depth=0.3)
    angle = edges(motion, slots)
    train = decode(motion.time_at(angle), wheel)
    assert train.inverted
    assert worst_error(train, motion.time_at(angle), angle) < 1e-6
    assert not decode(motion.time_at(edges(motion, wheel)), wheel).inverted


@pytest.mark.parametrize(("teeth", "gap"), [(4, 1), (6, 1), (8, 1), (12, 1), (12, 2), (24, 1), (24, 2), (36, 1)])
@pytest.mark.parametrize("order", [0.5, 1.5, 2.0, 3.0])
def test_a_running_engine_shows_swapped_wires_on_coarse_wheels_too(teeth: int, gap: int, order: float) -> None:
    """Half of a missing tooth goes to either slot beside it (common practice, no source), at every speed alike."""
    rng = np.random.default_rng(teeth)
    wheel = evenly(teeth, gap)
    for rpm, depth in ((650.0, 0.03), (900.0, 0.05)):
        motion = turning(60, rpm, to_rpm=1.8 * rpm, depth=depth, order=order)
        for angles in (wheel, slot_centres(wheel)):
            angle = edges(motion, angles)[3:]
            train = decode(motion.time_at(angle) + 2e-6 * rng.standard_normal(len(angle)), wheel)
            assert len(train) > 0.95 * len(angle)
            assert train.inverted == (angles is not wheel)
            assert not len(train.missing_s)


@pytest.mark.parametrize(("teeth", "gap"), [(4, 1), (6, 1), (8, 1), (12, 1), (24, 1)])
def test_no_swing_of_the_speed_makes_right_wires_look_swapped(teeth: int, gap: int) -> None:
    wheel = evenly(teeth, gap)
    for order, depth, first in itertools.product((0.5, 1.0, 1.5, 2.0, 3.0), (0.1, 0.2, 0.3), (0.0, 70.0)):
        motion = turning(40, 600.0, to_rpm=1000.0, depth=depth, order=order)
        assert not decode(motion.time_at(edges(motion, (wheel + first) % 360.0)), (wheel + first) % 360.0).inverted


def test_polarity_is_open_on_a_wheel_without_a_gap() -> None:
    assert not tells_slots(evenly(24, 0))
    assert tells_slots(evenly(60, 2))
    assert tells_slots(evenly(36, 1))


@pytest.mark.parametrize("name", ["60-2", "36-1", "60-4", "36-2-2-2"])
@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_lost_and_extra_edges_are_counted_exactly(name: str, seed: int) -> None:
    """One lost edge and one extra edge in every sixth turn, anywhere, beside the gap too."""
    rng = np.random.default_rng(seed)
    wheel = WHEELS[name]
    motion = turning(26, 700, depth=0.03)
    angle = edges(motion, wheel)
    lost = np.array([rng.integers(k * len(wheel), (k + 1) * len(wheel)) for k in (4, 16)])
    keep = np.ones(len(angle), bool)
    keep[lost] = False
    near = np.array([rng.integers(k * len(wheel), (k + 1) * len(wheel)) for k in (10, 21)])
    extra = angle[near] + rng.uniform(0.25, 0.75, 2) * (angle[near + 1] - angle[near])
    all_angles = np.sort(np.concatenate([angle[keep], extra]))
    t = motion.time_at(all_angles) + 1e-6 * rng.standard_normal(len(all_angles))
    train = decode(t, wheel)
    assert (len(train.missing_s), len(train.extra_s)) == (2, 2)
    assert np.sort(train.extra_s) == pytest.approx(motion.time_at(np.sort(extra)), abs=1e-5)
    assert np.sort(train.missing_deg % 360.0) == pytest.approx(np.sort(angle[lost] % 360.0))
    assert worst_error(train, t, all_angles) < 1e-6


@pytest.mark.parametrize(("lost_share", "extra_share"), [(0.1, 0.0), (0.06, 0.0), (0.05, 0.05), (0.0, 0.1)])
@pytest.mark.parametrize(("rpm", "depth"), [(200, 0.3), (900, 0.02)])
def test_hardly_a_turn_without_damage(lost_share: float, extra_share: float, rpm: float, depth: float) -> None:
    """One edge in ten lost or too many leaves not one turn in a hundred whole: the train is followed edge by edge."""
    rng = np.random.default_rng(17)
    wheel = WHEELS["60-2"]
    motion = turning(40, rpm, depth=depth)
    angle = edges(motion, wheel)
    kept = angle[rng.random(len(angle)) >= lost_share]
    more = rng.uniform(angle[0], angle[-1], round(extra_share * len(angle)))
    t = motion.time_at(kept)
    train = decode(np.sort(np.concatenate([t, motion.time_at(more)])), wheel)
    right = np.isin(train.t_s, t)
    off = (train.angle_deg[right] - kept[np.searchsorted(t, train.t_s[right])] + 180.0) % 360.0 - 180.0
    assert np.mean(np.abs(off) < 1e-6) > 0.99
    assert len(train) > 0.9 * len(kept)  # the first turns stay open
    assert len(train.missing_s) / train.revolutions == pytest.approx((len(angle) - len(kept)) / 40.0, rel=0.15, abs=0.1)
    assert len(train.extra_s) / train.revolutions == pytest.approx(len(more) / 40.0, rel=0.15, abs=0.2)


@pytest.mark.parametrize(("teeth", "gap"), [(4, 1), (6, 1), (8, 1), (12, 1), (24, 2), (36, 1)])
@pytest.mark.parametrize("cylinders", [3, 4, 6])
@pytest.mark.parametrize("lost_share", [0.0, 0.02, 0.05])
def test_a_coarse_wheel_in_deep_cranking_swings_is_right_or_not_placed(
    teeth: int, gap: int, cylinders: int, lost_share: float
) -> None:
    """The speed swings by half of itself with every fire: what lies between good turns is right or counted as lost."""
    rng = np.random.default_rng(teeth * cylinders)
    wheel = evenly(teeth, gap)
    angle = np.arange(0.0, 360.0 * 25, 0.05)
    speed_deg_s = 1200.0 * (1.0 + 0.5 * np.cos(np.radians(0.5 * cylinders * angle)))
    motion = Motion(np.concatenate([[0.0], np.cumsum(0.05 / speed_deg_s[:-1])]), angle)
    every = edges(motion, wheel)
    kept = every[rng.random(len(every)) >= lost_share][3:]
    t = motion.time_at(kept)
    train = decode(t, wheel)
    off = (train.angle_deg - kept[np.searchsorted(t, train.t_s)] + 180.0) % 360.0 - 180.0
    # before the first gap and after the last one no further gap confirms the count
    inside = (train.t_s > motion.time_at(720.0)) & (train.t_s < motion.time_at(angle[-1] - 720.0))
    assert np.all(np.abs(off[inside]) < 1e-6)
    assert len(train) + train.unplaced + len(train.extra_s) == len(kept)
    if lost_share == 0.0 and teeth >= 24:
        assert len(train) > 0.9 * len(kept)


def test_a_train_of_another_wheel_or_of_noise_is_not_followed() -> None:
    rng = np.random.default_rng(2)
    motion = turning(40, 900, depth=0.02)
    t = motion.time_at(edges(motion, WHEELS["36-1"]))
    for other in (evenly(60, 2), evenly(12, 1), evenly(24, 2)):
        assert len(decode(t, other)) == 0
    assert len(decode(np.sort(rng.uniform(0.0, 20.0, 5000)), WHEELS["60-2"])) < 500


@pytest.mark.parametrize("angles", [evenly(60, 2), evenly(36, 1), THREE_GAPS, evenly(24, 1)], ids=len)
@pytest.mark.parametrize("turns", [0.2, 0.5, 1.0, 1.3])
def test_edges_lost_in_one_go_are_counted_exactly(angles: Array, turns: float) -> None:
    """Whatever the place in the turn: those that were taken away are missing, and none after them is an extra one."""
    motion = turning(40, 800, depth=0.03)
    every = motion.time_at(edges(motion, angles))
    number = round(turns * len(angles))
    for first in range(15 * len(angles), 16 * len(angles), 3):
        train = decode(np.delete(every, np.arange(first, first + number)), angles)
        assert (len(train.missing_s), len(train.extra_s), train.unplaced) == (number, 0, 0), first
        assert train.missing_s == pytest.approx(every[first : first + number], abs=0.04 * turns * 60.0 / 800.0)


def test_a_noise_burst_does_not_shift_the_count() -> None:
    rng = np.random.default_rng(3)
    wheel, motion = WHEELS["60-2"], turning(40, 800)
    angle = edges(motion, wheel)
    burst = np.sort(rng.uniform(5000.0, 5060.0, 25))
    every = np.sort(np.concatenate([angle, burst]))
    train = decode(motion.time_at(every), wheel)
    clean = (train.t_s < motion.time_at(4990.0)) | (train.t_s > motion.time_at(5070.0))
    error = train.angle_deg[clean] - every[np.searchsorted(motion.time_at(every), train.t_s[clean])]
    assert np.ptp(error) < 1e-6
    assert len(train.extra_s) + train.unplaced >= 20


@pytest.mark.parametrize("back_deg", [10.0, 30.0, 90.0])
@pytest.mark.parametrize("name", ["60-2", "36-1"])
def test_kick_back_at_stop_loses_nothing_and_shifts_nothing(name: str, back_deg: float) -> None:
    """The last compression throws the crank back (common practice, no source): its edges come twice, in reverse."""
    step_s = 2e-5
    t = np.arange(0.0, 4.0, step_s)
    fall = np.clip(t - 2.0, 0.0, None)
    speed = 4800.0 * np.clip(1.0 - fall / 1.2, 0.0, None) * (1.0 + 0.35 * np.minimum(fall, 1.0) * np.cos(57.0 * fall))
    rocking = (fall > 1.2) & (fall < 1.35)
    speed[rocking] = -back_deg * np.pi / 0.3 * np.sin(np.pi * (fall[rocking] - 1.2) / 0.15)
    angle = 131.0 + np.cumsum(speed) * step_s
    passing = [np.flatnonzero(np.diff(np.floor((angle - tooth) / 360.0)) != 0) for tooth in WHEELS[name]]
    at = np.sort(np.concatenate(passing))
    train = decode(t[at], WHEELS[name])
    assert len(train) > 0.97 * np.count_nonzero(t[at] < 3.2)
    assert (len(train.missing_s), len(train.extra_s)) == (0, 0)
    off = train.angle_deg - angle[np.searchsorted(t, train.t_s)]
    assert np.ptp(off) < 0.5
    assert (np.median(off) + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.5)


def test_a_standstill_ends_a_segment_and_no_edge_counts_as_lost() -> None:
    wheel, motion = WHEELS["60-2"], turning(10, 200, depth=0.2)
    t = motion.time_at(edges(motion, wheel))
    both = np.concatenate([t[:-7], t[13:] + t[-1] + 3.0])
    train = decode(both, wheel)
    assert (len(train.missing_s), int(train.segment[-1]), len(train)) == (0, 1, len(both))
    assert train.revolutions == pytest.approx(19.5, abs=0.4)


@pytest.mark.parametrize(("name", "cylinders"), [("60-2", 5), ("60-2", 4), ("36-1", 3), ("36-2-2-2", 6)])
@pytest.mark.parametrize("lost", [(), (901,)])
def test_a_gap_at_top_dead_centre_of_a_first_fire_loses_nothing(
    name: str, cylinders: int, lost: tuple[int, ...]
) -> None:
    """Speed falls to 0.4 of itself before each top dead centre and comes back within the gap; the count rules."""
    wheel, firing = WHEELS[name], 720.0 / cylinders
    gap = float(np.argmax(np.diff(np.append(wheel, wheel[0] + 360.0))))
    top = wheel[int(gap)] + 0.5 * 360.0 / len(wheel)
    angle = np.arange(0.0, 360.0 * 40, 0.25)
    since = (angle - top) % firing
    speed_deg_s = 1300.0 * np.minimum(1.0 - 0.6 * since / firing, 0.4 + 0.6 * since / 12.0)
    motion = Motion(np.concatenate([[0.0], np.cumsum(0.25 / speed_deg_s[:-1])]), angle)
    every = edges(motion, wheel)
    t = np.delete(motion.time_at(every), lost)
    train = decode(t, wheel)
    assert (len(train.missing_s), len(train.extra_s), int(train.segment[-1])) == (len(lost), 0, 0)
    assert len(train) > len(t) - 2.5 * len(wheel)
    assert worst_error(train, t, np.delete(every, lost)) < 1e-6


def test_speed() -> None:
    wheel = WHEELS["60-2"]
    train = decode(turning(10, 800).time_at(edges(turning(10, 800), wheel)), wheel)
    speed = speed_rpm(train)
    assert np.isnan(speed[0])
    assert speed[1:] == pytest.approx(800.0, rel=1e-6)


@pytest.mark.parametrize("count", [0, 1, 5, 40])
def test_too_few_or_senseless_edges_give_an_empty_train(count: int) -> None:
    t = np.sort(np.random.default_rng(1).uniform(0.0, 1.0, count))
    train = decode(t, WHEELS["60-2"])
    assert (len(train), train.revolutions, train.unplaced) == (0, 0.0, count)


def test_two_million_edges_take_little_time() -> None:
    wheel = WHEELS["60-2"]
    motion = turning(500, 3000, depth=0.02)
    turn = motion.time_at(edges(motion, wheel))
    length = motion.t_s[-1]
    t = (np.arange(70)[:, None] * length + turn).ravel()
    begin = time.perf_counter()
    train = decode(t, wheel)
    assert len(train) == len(t) > 2_000_000
    assert time.perf_counter() - begin < 4.0


def test_real_cranking_has_58_teeth_between_gaps(captures: Path) -> None:
    """Open recordings, file crank_cam/cranking_i_8channels_60_2.csv: 58 teeth between gaps, a 60-2 wheel (measured)."""
    content = read(captures / "crank_cam" / "cranking_i_8channels_60_2.csv").content
    assert isinstance(content, Edges)
    edges = [flank["crank"] for flank in (content.rising_s, content.falling_s)]
    trains = [decode(edge_s, evenly(60, 2)) for edge_s in edges]
    assert sorted(train.inverted for train in trains) == [False, True]  # a coil: one flank at the teeth, one between
    (edge_s, best), *_ = [pair for pair in zip(edges, trains, strict=True) if not pair[1].inverted]
    assert len(best) > 0.95 * len(edge_s)
    starts = best.t_s[best.tooth == 0]
    between = np.diff(np.searchsorted(edge_s, starts))
    assert np.mean(between == 58) > 0.9
    wrong = decode(edge_s, evenly(36, 1))
    assert len(wrong) < 0.1 * len(best)


@pytest.mark.parametrize(("file", "teeth"), [("noisy_trigger_1.csv", 34), ("running_k_3tooth_cam.csv", 34)])
def test_real_wheels_of_36_less_2(captures: Path, file: str, teeth: int) -> None:
    """Open recordings: 34 teeth between gaps (36-2); the first one is noisy."""
    content = read(captures / "crank_cam" / file).content
    assert isinstance(content, Edges)
    trains = [decode(flank["crank"], evenly(36, 2)) for flank in (content.rising_s, content.falling_s)]
    best = max(trains, key=len)
    assert len(best.angles_deg) == teeth
    assert len(best) > 0.8 * max(len(flank["crank"]) for flank in (content.rising_s, content.falling_s))
