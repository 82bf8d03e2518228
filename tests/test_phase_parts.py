"""Phases of recordings that share no clock: drifts within each of them alone, what is common from all.

Two sound pumps (or one before and after it was taken off) that stand a little apart do not drift.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import msgspec
import numpy as np
import pytest
from numpy.typing import NDArray

from logan.capture import clock
from logan.capture.reader import Tally
from logan.capture.registry import read as read_capture
from logan.dsp.decompose import _whiten, decompose
from logan.measures import phase
from logan.measures.wheel_reading import read
from logan.model.measure import Measure, Missing
from logan.model.sensor import Edges, SensorCapture
from tests.test_phase import cam_edges, crank_edges, holds, record, results, value
from tests.wheel_trains import turning

Array = NDArray[np.float64]

DRIFT, AT_SPEED, DELAY, JITTER, FIXED = (
    f"cam_phase_{name}" for name in ("drift_deg_per_min", "at_speed_deg", "delay_ms", "jitter_deg", "error_deg")
)


def recording(
    seed: int, offset_deg: float, *, drift: float = 0.0, rpm: float = 800.0, delay_ms: float = 0.0, turns: int = 400
) -> SensorCapture:
    """Half a minute of crank and cam."""
    rng = np.random.default_rng(seed)
    motion = turning(turns, rpm, to_rpm=1.05 * rpm)
    cam = cam_edges(
        motion, rng, offset_deg=offset_deg, drift_deg_per_min=drift, jitter_deg=0.05, delay_ms=delay_ms
    )  # fmt: skip
    return replace_file(record(crank_edges(motion, rng), {"cam": cam}).sensors[0], f"crank_{seed}.csv")


def replace_file(capture: SensorCapture, file: str, offset_s: float | None = None) -> SensorCapture:
    return msgspec.structs.replace(capture, file=file, offset_s=offset_s)


def measured(*captures: SensorCapture) -> dict[str, Measure | Missing]:
    held = replace(record(np.empty(0), {}), sensors=captures)
    return results(phase.cam_phase(held, read(held)))


def half(found: dict[str, Measure | Missing], name: str) -> float:
    term = found[name]
    assert isinstance(term, Measure)
    return 0.5 * float(np.mean(term.high) - np.mean(term.low))


@pytest.mark.parametrize("apart_deg", [0.3, -2.0])
def test_what_stands_between_two_recordings_is_no_drift(apart_deg: float) -> None:
    pair = recording(1, 0.0), recording(2, apart_deg)
    there, back = measured(*pair), measured(*reversed(pair))
    for found in (there, back):
        assert holds(found, DRIFT, 0.0)
        assert abs(value(found, DRIFT)) < 0.1
    assert value(there, DRIFT) == pytest.approx(value(back, DRIFT), abs=0.01)
    assert value(there, AT_SPEED) == pytest.approx(value(back, AT_SPEED), abs=0.01)
    # nor is it a jitter from cycle to cycle
    assert value(there, JITTER) == pytest.approx(0.05, abs=0.01)


def test_a_drift_within_each_of_two_recordings_is_pooled() -> None:
    alone = measured(recording(1, 0.0, drift=1.5))
    both = measured(recording(1, 0.0, drift=1.5), recording(2, 1.0, drift=1.5))
    assert holds(both, DRIFT, 1.5)
    assert value(both, DRIFT) == pytest.approx(1.5, abs=0.1)
    assert half(both, DRIFT) < half(alone, DRIFT)


def test_recordings_with_a_clock_in_common_show_what_drifts_between_them() -> None:
    first, second = recording(1, -0.5, drift=1.0), recording(2, 0.5, drift=1.0)
    for pair in ((first, second), (second, first)):
        at = [replace_file(one, one.file, 0.0 if one is first else 60.0) for one in pair]
        found = measured(*at)
        assert holds(found, DRIFT, 1.0)
        # (60 s)^2 between the middles, against (30 s)^2 / 12 twice within
        assert half(found, DRIFT) < 0.5 * half(measured(*pair), DRIFT)


def test_a_difference_beyond_the_scatter_widens_the_interval() -> None:
    alike, apart = measured(recording(1, 0.4), recording(2, 0.4)), measured(recording(1, -1.0), recording(2, 1.0))
    alone = measured(recording(1, 0.4))
    for name in (AT_SPEED, FIXED):
        for truth in (-1.0, 0.0, 1.0):
            assert holds(apart, name, truth)
        assert holds(alike, name, 0.4)
    assert half(apart, AT_SPEED) > 1.0
    assert half(alike, AT_SPEED) < half(alone, AT_SPEED) + 0.2
    term = apart[AT_SPEED]
    assert isinstance(term, Measure)
    assert any("without a common clock" in note and "differ by more than their scatter" in note for note in term.notes)


def test_a_delay_is_told_from_recordings_at_two_speeds() -> None:
    """0.6 ms are 2.9 deg at 800 rpm and 5.8 deg at 1600 rpm (6 N tau)."""
    pair = recording(1, 0.5, delay_ms=0.6), recording(2, 0.5, rpm=1600.0, delay_ms=0.6, turns=800)
    found = measured(*pair)
    assert holds(found, DELAY, 0.6)
    assert value(found, DELAY) == pytest.approx(0.6, abs=0.05)
    assert holds(found, FIXED, 0.5)


def test_short_parts_alone_tell_no_phase() -> None:
    found = measured(*(recording(seed, 0.0, turns=6) for seed in range(3)))
    assert isinstance(found[AT_SPEED], Missing)
    assert "without a common clock" in found[AT_SPEED].why


def joined(captures: Sequence[SensorCapture], folder: Path) -> SensorCapture:
    """One file after the other, as `cat` writes them; each begins at its own zero."""
    lines = ["time_s,channel,edge"]
    for capture in captures:
        content = capture.content
        assert isinstance(content, Edges)
        rows = [(t, name) for name, edge_s in content.falling_s.items() for t in edge_s]
        lines += [f"{t:.7f},{name},falling" for t, name in sorted(rows)]
    path = folder / "joined.csv"
    path.write_text("\n".join(lines) + "\n")
    read_in = read_capture(path).content
    assert isinstance(read_in, Edges)
    return SensorCapture("joined.csv", read_in)


def test_a_clock_that_was_set_back_within_a_file_parts_it(tmp_path: Path) -> None:
    pair = recording(1, 0.0), recording(2, 0.5)
    one_file, two_files = measured(joined(pair, tmp_path)), measured(*pair)
    assert holds(one_file, DRIFT, 0.0)
    for name in (DRIFT, AT_SPEED):
        assert value(one_file, name) == pytest.approx(value(two_files, name), abs=0.02)
        assert half(one_file, name) == pytest.approx(half(two_files, name), rel=0.1)


def test_a_clock_set_back_leaves_a_seam_and_a_counter_that_rolled_over_none() -> None:
    second = 10**9
    seams: list[tuple[int, int]] = []
    t_ns = np.array([0, 1, 2, 3, 0, 1, 2], np.int64) * second + 7 * second
    clock.settle(t_ns, Tally(), 0, seams)
    assert [after for _, after in seams] == [t_ns[4]]
    seams = []
    clock.settle(np.array([0, 2, 4, 3, 5, 7], np.int64) * second // 4, Tally(), 0, seams)
    assert seams == []  # by a quarter of a second: times are off by that much, which no drift feels
    turn_ns = 2**32 * 1_000
    rolled = np.arange(turn_ns - 50 * second // 10, turn_ns + 50 * second // 10, second // 10) % turn_ns
    clock.settle(rolled, Tally(), 0, seams)
    assert seams == []
    assert (np.diff(rolled) > 0).all()


def test_noise_of_one_series_has_nothing_to_do_with_that_of_the_next() -> None:
    """Against the dense covariance, made of a block for each series."""
    rng = np.random.default_rng(5)
    t_s = np.concatenate([np.sort(rng.uniform(-5.0, 5.0, size)) for size in (12, 7)])
    z, weight, share, time_s = rng.normal(size=(19, 3)), rng.uniform(0.3, 1.0, 19), 0.6, 2.0
    series = np.repeat([0, 1], [12, 7])
    wandering = np.exp(-np.abs(t_s[:, None] - t_s) / time_s) * (series[:, None] == series)
    dense = share * wandering + np.diag((1.0 - share) / weight)
    solved, logdet = _whiten(z, t_s, weight, share, time_s)
    assert solved == pytest.approx(np.linalg.solve(dense, z), rel=1e-6, abs=1e-9)
    assert logdet == pytest.approx(np.linalg.slogdet(dense)[1], rel=1e-6)


def test_slopes_of_two_series_with_offsets_of_their_own() -> None:
    t_s = np.concatenate([np.linspace(-10.0, 10.0, 60)] * 2)
    first = np.repeat([1.0, 0.0], 60)
    y = 0.02 * t_s + 3.0 * first + 0.01 * np.random.default_rng(6).normal(size=120)
    design = np.column_stack([t_s, first, 1.0 - first])
    fit = decompose(y, t_s, [(1.0, design)], np.full(3, np.inf))
    assert fit.value == pytest.approx([0.02, 3.0, 0.0], abs=0.01)
