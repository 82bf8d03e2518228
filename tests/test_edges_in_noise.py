"""Edges in white noise, against signals whose passages are known in closed form: all of them, or none is used.

Sources: the passages of a sine through zero and its steepness there, ``2 pi f A``; the mean of ``w`` independent values
scatters by their deviation over the root of ``w`` (JCGM 100:2008, 4.2.3); the rate at which noise crosses a level falls
with ``exp(-a^2 / 2)`` (S. O. Rice, Bell System Technical Journal 1944/45, section 3.3, from memory).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from logan.dsp.edge_noise import two_levels, white_noise
from logan.dsp.edges import Crossings, crossings
from logan.measures.flanks import Noise
from logan.measures.phase import cam_phase
from logan.measures.wheel import crank_wheel
from logan.measures.wheel_reading import read
from logan.model.measure import Measure, Missing
from logan.model.record import ChannelSet, Record
from logan.model.sensor import EvenTimes, SensorCapture, Waveform
from logan.pipeline.noisy_signals import noisy_signals
from tests.test_dsp_edges import CAM, TEETH, passages
from tests.test_phase import NO_STATES
from tests.test_phase_rounding import JITTER_DEG, PROFILE, drive, sampled

Array = NDArray[np.float64]

RATE_HZ = 48_000.0
SHARES = [0.03, 0.06, 0.1, 0.15, 0.2, 0.3, 0.5, 1.0]


def noisy(clean: Array, share: float, seed: int) -> Array:
    """A signal and white normal noise of this share of its swing."""
    return clean + share * float(np.ptp(clean)) * np.random.default_rng(seed).standard_normal(len(clean))


def square(edge_s: Array) -> Array:
    """5 V between one edge and the next, 0 V before and after."""
    t = np.arange(int((edge_s[-1] + 0.02) * RATE_HZ)) / RATE_HZ
    return 5.0 * (np.searchsorted(edge_s, t, side="right") % 2)


def swept() -> tuple[Array, Array]:
    """A coil that runs up from 400 to 1200 teeth a second in 4 s, its voltage in step; times of its rising passages."""
    t = np.arange(int(4.0 * RATE_HZ)) / RATE_HZ
    turn = np.arange(1, 3200)
    return (400.0 + 200.0 * t) * np.sin(2.0 * np.pi * (400.0 * t + 100.0 * t**2)), -2.0 + np.sqrt(4.0 + turn / 100.0)


def in_all(found: Crossings, rising: Array, falling: Array) -> bool:
    return (len(found.rising_s), len(found.falling_s)) == (len(rising), len(falling))


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("places", [TEETH, CAM], ids=["crank", "cam"])
def test_a_square_wave_keeps_every_edge_or_is_not_used(places: tuple[float, ...], share: float) -> None:
    edge_s = passages(places, 60, 0.2)
    clean = square(edge_s)
    found = crossings(EvenTimes(len(clean), RATE_HZ), noisy(clean, share, 3))
    rising, falling = edge_s[0::2], edge_s[1::2]
    assert found.drowned or in_all(found, rising, falling)
    if share <= 0.2:  # the narrowest tooth is 30 samples wide
        assert not found.drowned
        assert found.kind == "square"
        error = np.concatenate([found.rising_s - rising, found.falling_s - falling])
        # the step lies anywhere between two samples; the noise moves it as it says
        assert np.std(error) < np.hypot(1.0 / RATE_HZ / np.sqrt(12.0), 1.3 * found.noise_s) + 0.5e-6
        assert abs(np.median(error)) < 0.6 / RATE_HZ
        assert share < 0.06 or found.noise == pytest.approx(share, rel=0.15)


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("seed", [1, 2])
def test_a_coil_keeps_every_passage_or_is_not_used(share: float, seed: int) -> None:
    clean, truth = swept()
    found = crossings(EvenTimes(len(clean), RATE_HZ), noisy(clean, share, seed))
    if found.drowned:
        assert share > 0.1
        return
    assert found.kind == "coil"
    rising = found.rising_s[found.rising_s > 0.5 * truth[0]]  # the first passage may be one with the beginning
    assert abs(len(rising) - len(truth)) <= 1
    common = min(len(rising), len(truth))
    error = rising[:common] - truth[:common]
    assert np.abs(error).max() < 0.1 / 400.0
    if share >= 0.06:
        assert 0.5 * found.noise_s < np.std(error) < 2.0 * found.noise_s


def test_the_noise_is_read_beside_the_edges() -> None:
    """0.3 V of normal noise on a wheel's square wave, on a smooth sine and on nothing."""
    noise = 0.3 * np.random.default_rng(8).standard_normal(200_000)
    wave = np.sin(np.arange(200_000) / 12.0)
    for clean in (np.zeros(200_000), 5.0 * (wave > 0.0), 3.0 * wave):
        found, white = white_noise(clean + noise)
        assert white
        assert found == pytest.approx(0.3, rel=0.2)


@pytest.mark.parametrize("samples", [2.7, 3.3, 4.0, 5.0, 6.0, 9.0])
def test_few_samples_a_period_are_no_noise(samples: float) -> None:
    volts = np.sin(2.0 * np.pi * np.arange(60_000) / samples + 0.3)
    found = crossings(EvenTimes(len(volts), RATE_HZ), volts)
    assert (found.kind, found.drowned) == ("coil", False)
    assert len(found.rising_s) == pytest.approx(60_000 / samples, abs=2)


@pytest.mark.parametrize("share", [0.02, 0.06, 0.1])
def test_noise_that_is_not_white_makes_no_coil_of_a_square_wave(share: float) -> None:
    """A mean over neighbours as noise: differences of several orders disagree, the two levels are there still."""
    edge_s = passages(CAM, 60, 0.2)
    clean = square(edge_s)
    slow = np.convolve(np.random.default_rng(4).standard_normal(len(clean) + 8), np.full(9, 1.0 / 3.0), mode="valid")
    found = crossings(EvenTimes(len(clean), RATE_HZ), clean + share * 5.0 * slow)
    assert found.kind == "square"
    assert in_all(found, edge_s[0::2], edge_s[1::2])


def test_lobes_are_not_two_levels() -> None:
    """A coil at a cam with a single tooth: at rest for most of the turn, then a high lobe and a lower one."""
    t = np.arange(200_000) / RATE_HZ
    place = (t % 0.1 - 0.05) / 0.002
    volts = 3.0 * np.exp(-(place**2)) - 1.0 * np.exp(-((place - 2.0) ** 2))
    for share in (0.001, 0.03, 0.08):
        with_noise = noisy(volts, share, 6)
        assert two_levels(with_noise) is None
        assert two_levels(with_noise, share * 4.0) is None


@pytest.mark.parametrize("chunk", [777, 12_345])
def test_noisy_edges_do_not_depend_on_the_chunks(chunk: int) -> None:
    for clean, share in ((square(passages(CAM, 40, 0.2)), 0.2), (swept()[0], 0.1)):
        volts = noisy(clean, share, 2)
        times = EvenTimes(len(volts), RATE_HZ)
        whole, cut = crossings(times, volts), crossings(times, volts, chunk)
        assert len(whole.rising_s)
        assert (cut.kind, cut.level, cut.drowned) == (whole.kind, whole.level, whole.drowned)
        assert np.array_equal(cut.rising_s, whole.rising_s)
        assert np.array_equal(cut.falling_s, whole.falling_s)


def recorded(crank: float, cam: float, late_deg: float = 0.0) -> Record:
    """Crank and cam at 790 rpm, 5 V, each with white noise of a share of it; the cam so much late."""
    crank_s, cam_s = drive(JITTER_DEG, 4)
    volts = {
        "crank": noisy(sampled(crank_s, 6e-4, RATE_HZ, False), crank, 11),
        "cam": noisy(sampled(cam_s + late_deg / 4740.0, 5e-3, RATE_HZ, False), cam, 12),
    }
    count = min(len(v) for v in volts.values())
    content = Waveform(EvenTimes(count, RATE_HZ), {name: v[:count] for name, v in volts.items()})
    return Record(
        captures=(), channels=ChannelSet({}), states=NO_STATES, profile=PROFILE,
        sensors=(SensorCapture("crank.wav", content),),
    )  # fmt: skip


@pytest.mark.parametrize(("crank", "cam"), [(0.1, 0.1), (0.18, 0.0), (0.0, 0.25)])
def test_the_phase_is_right_in_noise(crank: float, cam: float) -> None:
    """Noise adds no jitter to that of the cam, moves no phase and loses no edge."""
    record = recorded(crank, cam, 1.0)
    readings = read(record)
    found = {
        m.name: m for m in (*cam_phase(record, readings), *crank_wheel(record, readings)) if isinstance(m, Measure)
    }
    phase, jitter = found["cam_phase_at_speed_deg"], found["cam_phase_jitter_deg"]
    low, high = (float(np.asarray(v)) for v in (phase.low, phase.high))
    assert low <= 1.0 <= high
    assert high - low < 1.0
    assert float(np.asarray(jitter.low)) <= JITTER_DEG <= float(np.asarray(jitter.high))
    assert float(np.asarray(jitter.value)) == pytest.approx(JITTER_DEG, rel=0.25)
    assert found["cam_dropouts_per_1000rev"].value == 0.0
    assert found["crank_dropouts_per_1000rev"].value == 0.0
    kinds = [(remark.kind, "is noisy" in remark.text) for remark in noisy_signals(record.sensors)]
    assert kinds == [("noisy_signal", True)] * ((crank > 0.0) + (cam > 0.0))


def test_a_drowned_sensor_is_not_judged() -> None:
    """Noise of twice the swing: a mean over a tooth's 29 samples leaves two deviations to either side, not four."""
    record = recorded(2.0, 0.0)
    readings = read(record)
    missing = [m for m in (*cam_phase(record, readings), *crank_wheel(record, readings)) if isinstance(m, Missing)]
    assert {m.measure for m in missing} >= {"cam_phase_error_deg", "crank_dropouts_per_1000rev"}
    assert all(m.why.startswith("the signal is noisy: the crank voltage carries noise of") for m in missing)
    assert ["not used" in remark.text for remark in noisy_signals(record.sensors)] == [True]
    record = recorded(0.0, 6.0)
    readings = read(record)
    missing = [m for m in cam_phase(record, readings) if isinstance(m, Missing)]
    assert {"cam_phase_error_deg", "cam_dropouts_per_1000rev"} <= {m.measure for m in missing}
    assert all(m.why.startswith("the signal is noisy: the cam voltage") for m in missing)


def test_edges_missing_beside_extra_ones_are_not_surely_lost_in_noise() -> None:
    """A sensor that loses edges makes none: twelve missing and twelve extra are doubtful in noise, twelve alone not."""
    record = recorded(0.0, 0.0)
    (clean,) = read(record)
    some_s = clean.train.t_s[500:6500:500]
    lost = replace(clean.train, missing_s=some_s, missing_deg=np.linspace(0.0, 300.0, len(some_s)))
    both = replace(lost, extra_s=some_s + 1e-4)
    noise = {"cam": Noise(0.1, 1e-6, drowned=False)}
    low = {}
    for name, train, seen in (("lost", lost, noise), ("both", both, noise), ("both, clean", both, {})):
        found = crank_wheel(record, (replace(clean, train=train, noise=seen),))
        low[name] = next(float(np.asarray(m.low)) for m in found if m.name == "crank_dropouts_per_1000rev")
    assert low["both"] == 0.0
    assert low["lost"] == low["both, clean"] > 0.0


def test_strays_in_greater_number_refuse_a_phase() -> None:
    """Edges at any angle beside those of the target: as many more as make its own ones the fewer."""
    record = recorded(0.0, 0.0)
    (clean,) = read(record)
    cam_s = clean.active_s["cam"]
    random = np.random.default_rng(3)
    for times, phase in ((1, True), (3, False)):
        strays = random.uniform(cam_s[0], cam_s[-1], times * len(cam_s))
        seen = replace(clean, active_s={**clean.active_s, "cam": np.sort(np.concatenate([cam_s, strays]))})
        found = {m.name: m for m in cam_phase(record, (seen,)) if isinstance(m, Measure)}
        assert ("cam_phase_at_speed_deg" in found) == phase
        assert "cam_dropouts_per_1000rev" in found


def test_a_clean_recording_says_nothing_of_noise() -> None:
    assert not list(noisy_signals(recorded(0.0, 0.0).sensors))
    assert not list(noisy_signals(recorded(0.004, 0.004).sensors))
