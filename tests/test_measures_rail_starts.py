"""Build-up of the rail over several crankings of one record: with and without fuel, from an empty and a held rail.

What is right follows from the definition in docs/conventions.md (first motion of the crank to nine tenths of the
pressure that the engine needs) and from pressures that are straight lines of time here, so that it is known exactly.
"""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from timing_drives import record as record_of

from logan import channels
from logan.knowledge import profiles
from logan.measures.rail_build import rail_build_time
from logan.model.channel import Channel
from logan.model.measure import Measure, Missing
from logan.model.record import Record
from logan.pipeline.gather import gather

ROOT = Path(__file__).parents[1]
NEEDED_KPA = 20_000.0
EVERY_S = 0.02


def record(*crankings: dict[str, float], seed: int = 1, off_s: float = 4.0) -> Record:
    """Crankings one after the other, ``off_s`` apart.

    Parameters
    ----------
    each : ``begin`` pressure when the crank moves, ``rise`` of it a second, ``stands`` at most, ``fires`` after so many
        seconds (0 never), ``seconds`` that it lasts
    """
    speed, pressure = [np.zeros(150)], [np.full(150, crankings[0]["begin"])]
    for one in crankings:
        t_s = np.arange(0.0, one["seconds"], EVERY_S)
        built = np.minimum(one["begin"] + one["rise"] * t_s, one.get("stands", 30_000.0))
        turning = np.full(len(t_s), 200.0)
        if one["fires"]:
            turning = np.where(t_s < one["fires"], 200.0, np.minimum(200.0 + 1500.0 * (t_s - one["fires"]), 800.0))
        rest = np.full(int(off_s / EVERY_S), one.get("left", built[-1]))
        speed += [turning, np.zeros(len(rest))]
        pressure += [built, rest]
    noisy = np.concatenate(pressure)
    noisy = noisy * (1.0 + 0.002 * np.random.default_rng(seed).normal(size=len(noisy)))
    t_s = EVERY_S * np.arange(len(noisy))
    return record_of([
        Channel("fuel_rail_pressure_actual", "kPa", t_s, np.round(noisy, -1), file="drive.log"),
        Channel("engine_speed", "rpm", t_s, np.concatenate(speed), file="drive.log"),
    ])  # fmt: skip


def built(found: Record) -> Measure:
    (result,) = rail_build_time(found)
    assert isinstance(result, Measure), result
    return result


EMPTY_NO_FUEL = {"begin": 300.0, "rise": 9_000.0, "fires": 0.0, "seconds": 9.0, "stands": 26_000.0}
HELD = {"begin": 25_800.0, "rise": 500.0, "stands": 26_000.0, "fires": 1.0, "seconds": 20.0}
TRUE_S = (0.9 * NEEDED_KPA - 300.0) / 9_000.0


def test_a_cranking_without_fuel_tells_the_time_and_a_held_rail_tells_none() -> None:
    """A compression test, then a start on the pressure that it left: the rail had to be built in the first alone."""
    found = built(record(EMPTY_NO_FUEL, HELD))
    assert isinstance(found.low, float)
    assert 1.0 < found.low <= TRUE_S <= found.high  # type: ignore[operator]
    assert found.value == pytest.approx(TRUE_S, abs=0.5)
    assert "from a cranking in which the engine did not start" in found.notes
    assert any("had stood" in note for note in found.notes)
    assert found.provenance.spans_s[0][0] == pytest.approx(3.0, abs=0.05)


def test_a_start_that_rose_to_its_pressure_narrows_what_another_cranking_is_held_against() -> None:
    rising = {"begin": 300.0, "rise": 9_000.0, "fires": (NEEDED_KPA - 300.0) / 9_000.0 + 0.2, "seconds": 20.0}
    found = built(record({**EMPTY_NO_FUEL, "rise": 6_000.0, "left": 300.0}, {**rising, "left": 26_000.0}, HELD))
    slow_s = (0.9 * NEEDED_KPA - 300.0) / 6_000.0
    assert found.low <= slow_s <= found.high  # type: ignore[operator]
    assert found.value == pytest.approx(slow_s, abs=0.1)
    assert "the longest of 2 crankings" in found.notes


def test_a_rail_that_held_its_pressure_was_not_built() -> None:
    """A nought would speak for a good pump and a tight rail, and neither was tried."""
    (missing,) = rail_build_time(record(HELD))
    assert isinstance(missing, Missing)
    assert "before the crank moved" in missing.why
    assert "stood" in missing.capture_hint


def test_a_rail_that_is_built_before_a_slow_speed_is_shown_is_quick() -> None:
    """Speed once a second: the first value that is not nought comes when the rail is there already."""
    quick = {"begin": 300.0, "rise": 60_000.0, "stands": 26_000.0, "fires": 1.5, "seconds": 20.0}
    fine = record(quick)
    speed = fine.channels.best["engine_speed"]
    slow = replace(speed, t_s=speed.t_s[49::50], value=speed.value[49::50])
    found = built(record_of([fine.channels.best["fuel_rail_pressure_actual"], slow]))
    assert found.value == 0.0
    assert found.low <= (0.9 * NEEDED_KPA - 300.0) / 60_000.0 <= found.high  # type: ignore[operator]


def test_a_rail_that_held_a_part_is_said_to() -> None:
    part = {"begin": 9_000.0, "rise": 9_000.0, "fires": (NEEDED_KPA - 9_000.0) / 9_000.0 + 0.2, "seconds": 20.0}
    found = built(record(part))
    assert found.value == pytest.approx(1.0, abs=0.1)
    assert any("from empty it takes longer" in note for note in found.notes)


def test_a_cranking_that_ended_too_early_counts_with_the_next() -> None:
    """2 s of cranking brought two thirds, which the rail kept, the next the rest in 1 s: from empty it takes 3 s."""
    rise = NEEDED_KPA * 0.9 / 3.0
    early = {"begin": 0.0, "rise": rise, "fires": 0.0, "seconds": 2.0}
    then = {"begin": 2.0 * rise, "rise": rise, "fires": 1.0 + 0.1 * NEEDED_KPA / rise + 0.2, "seconds": 20.0}
    found = built(record(early, then))
    assert found.low <= 3.0 <= found.high  # type: ignore[operator]
    assert found.value == pytest.approx(3.0, abs=0.15)
    assert any("ended too early" in note for note in found.notes)


def test_a_pump_that_was_switched_off_for_a_cranking_is_not_slow() -> None:
    """Fuelling disabled at the pump: nine seconds without pressure say nothing of the two that the start took."""
    dry = {"begin": 300.0, "rise": 3_000.0, "stands": 900.0, "fires": 0.0, "seconds": 9.0}
    start = {"begin": 900.0, "rise": 9_000.0, "fires": (NEEDED_KPA - 900.0) / 9_000.0 + 0.2, "seconds": 20.0}
    found = built(record(dry, start))
    assert found.value == pytest.approx((0.9 * NEEDED_KPA - 900.0) / 9_000.0, abs=0.15)
    assert "in a cranking of 9.0 s the rail did not get there" in found.notes


def test_no_start_at_all_is_said() -> None:
    (missing,) = rail_build_time(record(EMPTY_NO_FUEL))
    assert isinstance(missing, Missing)
    assert "did not start in 9.0 s" in missing.why


def test_the_compression_test_of_the_samples() -> None:
    """The interval holds what the exact simulation says; the first motion, before any speed is shown, is its own."""
    truth = json.loads((ROOT / "sample_logs/cylinder_compression_low.truth.json").read_text())
    profile, _ = profiles.load(truth["profile"], ())
    found = gather([ROOT / "sample_logs/cylinder_compression_low.log.gz"])
    best, _ = channels.build(found.signals, profile)
    measure = built(cast("Any", SimpleNamespace(channels=best)))
    assert measure.low <= truth["measures"]["rail_build_time_s"] <= measure.high  # type: ignore[operator]
    assert measure.value == pytest.approx(1.27, abs=0.2)
