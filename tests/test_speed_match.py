"""Crank recordings placed on a log's axis: pairs made here from a formula, and the simulator's two recorders."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from logan.dsp.speed_match import Place, Refusal, Refused, match, unlike_at
from logan.model.channel import Channel
from logan.model.sensor import Edges, SensorCapture
from logan.pipeline.sensor_clocks import place_sensors

Array = NDArray[np.float64]
TEETH = np.flatnonzero(np.arange(36) != 35) * 10.0
"""A wheel of 36 places with one tooth missing."""


def driven(t_s: Array) -> Array:
    """Start, idle, and two openings of the throttle of different shape, rpm."""
    blip = 1400 * np.exp(-(((t_s - 31.0) / 2.5) ** 2)) + 900 * np.exp(-np.abs(t_s - 44.0) / 3.0)
    return np.where(t_s < 4.0, 0.0, np.where(t_s < 5.0, 220.0, 780.0 + 300 * np.exp(-(t_s - 5.0) / 0.8) + blip))


def steady(t_s: Array) -> Array:
    return 800.0 + 6.0 * np.sin(t_s)


def twice(t_s: Array) -> Array:
    """The same opening of the throttle two times."""
    return 800.0 + sum(1200 * np.exp(-(((t_s - at) / 2.0) ** 2)) for at in (25.0, 75.0))


def edges(speed: Callable[[Array], Array], begin_s: float, end_s: float) -> Array:
    """Times at which the teeth pass, from ``begin_s`` of the drive on, counted from there."""
    t_s = np.arange(0.0, end_s, 2e-4)
    angle = np.cumsum(6.0 * speed(t_s) * 2e-4)  # 6 degrees a second for each rpm
    places = (TEETH[None, :] + 360.0 * np.arange(np.ceil(angle[-1] / 360.0))[:, None]).ravel()
    passed = np.interp(places, angle + 1e-9 * np.arange(len(t_s)), t_s)
    return passed[(passed > begin_s) & (passed < end_s)] - begin_s


def polled(
    speed: Callable[[Array], Array], end_s: float, every_s: float, late_s: float, seed: int
) -> tuple[Array, Array]:
    """What a tester noted: the value of a moment ``late_s`` ago, in steps of a quarter rpm (SAE J1979, PID 0C)."""
    rng = np.random.default_rng(seed)
    t_s = np.arange(0.3, end_s, every_s) + rng.uniform(-0.2, 0.2, len(np.arange(0.3, end_s, every_s))) * every_s
    return t_s, np.round(4 * (speed(t_s - late_s) + rng.normal(0, 3.0, len(t_s)))) / 4


@pytest.mark.parametrize("every_s", [0.1, 0.5, 1.2])
def test_the_interval_holds_the_true_offset(every_s: float) -> None:
    held, widths = 0, []
    for seed in range(12):
        rng = np.random.default_rng(1000 + seed)
        begin_s, late_s = rng.uniform(0.0, 12.0), rng.uniform(0.0, 0.25)
        found = match(*polled(driven, 60.0, every_s, late_s, seed), edges(driven, begin_s, begin_s + 40.0))
        assert isinstance(found, Place), found
        held += found.low_s <= begin_s <= found.high_s
        widths.append(found.high_s - found.low_s)
        assert found.rpm_per_rate == pytest.approx(60.0 / 35.0, rel=0.01)
    assert held >= 11
    assert max(widths) < 1.0


def test_a_recording_that_begins_before_the_log() -> None:
    t_s, rpm = polled(driven, 60.0, 0.2, 0.05, 1)
    late = t_s > 20.0
    found = match(t_s[late] - 20.0, rpm[late], edges(driven, 2.0, 58.0))
    assert isinstance(found, Place)
    assert found.low_s <= -18.0 <= found.high_s


def test_lost_edges_and_a_wrong_value_do_not_move_it() -> None:
    t_s, rpm = polled(driven, 60.0, 0.2, 0.05, 2)
    rpm[::37] = 0.0
    given = edges(driven, 7.0, 50.0)
    kept = np.random.default_rng(3).random(len(given)) > 0.01
    found = match(t_s, rpm, given[kept])
    assert isinstance(found, Place)
    assert found.low_s <= 7.0 <= found.high_s


def test_a_steady_idle_is_placed_nowhere() -> None:
    assert match(*polled(steady, 90.0, 0.1, 0.05, 4), edges(steady, 20.0, 50.0)) == Refused(Refusal.STEADY)


def test_two_places_that_fit_equally_are_both_named() -> None:
    found = match(*polled(twice, 100.0, 0.1, 0.05, 5), edges(twice, 15.0, 40.0))
    assert isinstance(found, Refused)
    assert found.why is Refusal.AMBIGUOUS
    assert [round(at) for at in found.offsets_s] == [15, 65]


def test_another_drive_fits_nowhere() -> None:
    found = match(*polled(driven, 60.0, 0.1, 0.05, 6), edges(twice, 10.0, 50.0))
    assert isinstance(found, Refused)
    assert found.why in (Refusal.UNLIKE, Refusal.STEADY)  # its idle may fit the other one's


def test_too_little_is_said() -> None:
    t_s, rpm = polled(driven, 60.0, 0.1, 0.05, 7)
    assert match(t_s, rpm, edges(driven, 10.0, 14.0)) == Refused(Refusal.SHORT)
    assert match(t_s[:4], rpm[:4], edges(driven, 10.0, 50.0)) == Refused(Refusal.SHORT)
    assert match(t_s, rpm, np.empty(0)) == Refused(Refusal.SHORT)


def test_a_clock_that_jumped_by_a_year_is_refused() -> None:
    t_s, rpm = polled(driven, 60.0, 0.1, 0.05, 8)
    set_on_the_way = np.where(np.arange(len(t_s)) > 100, t_s + 1.7e9, t_s)
    assert match(set_on_the_way, rpm, edges(driven, 10.0, 50.0)) == Refused(Refusal.LONG)


def recorded(begin_s: float, clock_s: float) -> SensorCapture:
    """A crank recording of the drive, and where its clock puts it."""
    at = edges(driven, begin_s, begin_s + 40.0)
    return SensorCapture("edges.csv", Edges({"crank": np.empty(0)}, {"crank": at}, absolute=True), clock_s)


@pytest.mark.parametrize("wrong_s", [0.0, 0.2, -0.2, 1.5, -3.0, 12.0])
def test_a_clock_that_is_wrong_is_found_by_engine_speed(wrong_s: float) -> None:
    t_s, rpm = polled(driven, 60.0, 0.2, 0.05, 9)
    speed = Channel("engine_speed", "rpm", t_s, rpm, file="log")
    (placed,), remarks = place_sensors([recorded(9.0, 9.0 + wrong_s)], speed, absolute=True)
    assert [remark.kind for remark in remarks] == (["clocks_differ"] if abs(wrong_s) > 1 else [])
    assert placed.offset_s == pytest.approx(9.0 if remarks else 9.0 + wrong_s, abs=0.3)


@pytest.mark.parametrize(
    ("apart_s", "kind"), [(7200.0, "clocks_differ"), (-3610.0, "clocks_differ"), (400.0, "clocks_apart")]
)
def test_clocks_by_which_the_two_never_ran_together(apart_s: float, kind: str) -> None:
    t_s, rpm = polled(driven, 60.0, 0.2, 0.05, 9)
    speed = Channel("engine_speed", "rpm", t_s, rpm, file="log")
    (placed,), (remark,) = place_sensors([recorded(9.0, 9.0 + apart_s)], speed, absolute=True)
    assert remark.kind == kind
    assert placed.offset_s == pytest.approx(9.0 if kind == "clocks_differ" else 9.0 + apart_s, abs=0.3)


def test_a_clock_is_believed_where_speed_says_nothing_against_it() -> None:
    t_s, rpm = polled(steady, 90.0, 0.1, 0.05, 10)
    given = edges(steady, 20.0, 50.0)
    assert not unlike_at(t_s, rpm, given, 35.0)
    assert not unlike_at(t_s, rpm, given, 500.0)  # by the clocks they never ran together
    lost = given[np.random.default_rng(5).random(len(given)) > 0.2]
    speed = Channel("engine_speed", "rpm", t_s, rpm, file="log")
    capture = SensorCapture("edges.csv", Edges({"crank": np.empty(0)}, {"crank": lost}, absolute=True), 20.0)
    assert place_sensors([capture], speed, absolute=True) == ((capture,), [])
