"""Periodogram against scipy, false alarms and detection against published and simulated figures."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.signal

from logan.dsp import spectrum


def uneven(rng: np.random.Generator, seconds: float, rate: float) -> np.ndarray:
    n = int(seconds * rate)
    return np.sort((np.arange(n) + rng.uniform(-0.2, 0.2, n)) / rate)


def test_against_the_reference_library() -> None:
    """scipy.signal.lombscargle with a floating mean, normalised: an independent implementation."""
    rng = np.random.default_rng(1)
    t = np.sort(rng.uniform(0.0, 40.0, 150))
    y = 800.0 + 3.0 * np.sin(2.0 * np.pi * 0.7 * t + 1.0) + rng.standard_normal(150)
    frequency = spectrum.grid(t, 0.05, 3.0)
    ours = spectrum.periodogram(t, y, frequency)
    theirs = scipy.signal.lombscargle(t, y, 2.0 * np.pi * frequency, floating_mean=True, normalize=True)
    np.testing.assert_allclose(ours.share, theirs, atol=1e-9)
    irregular = np.array([0.2, 0.7, 1.9])
    np.testing.assert_allclose(
        spectrum.periodogram(t, y, irregular).share,
        scipy.signal.lombscargle(t, y, 2.0 * np.pi * irregular, floating_mean=True, normalize=True),
        atol=1e-9,
    )


def test_worked_peak() -> None:
    """t_k = k + 0.3 sin(1.7 k), y = 2 cos(2 pi 0.13 t + 0.4): scipy's raw peak is 99.04, near A^2 n / 4 = 100."""
    k = np.arange(100.0)
    t = k + 0.3 * np.sin(1.7 * k)
    y = 2.0 * np.cos(2.0 * np.pi * 0.13 * t + 0.4)
    found = spectrum.periodogram(t, y, np.array([0.13]))
    assert found.share[0] == pytest.approx(1.0)
    assert found.amplitude[0] == pytest.approx(2.0)
    frequency, sd, amplitude = spectrum.refine(t, y + 0.01 * np.cos(3.0 * k), 0.1305)
    assert frequency == pytest.approx(0.13, abs=3.0 * sd + 1e-6)
    assert amplitude == pytest.approx(2.0, abs=0.01)


@pytest.mark.parametrize(
    ("rate", "swing_hz", "found_share"),
    [
        (2.0, 0.5, {10: 0.10, 20: 0.47, 30: 0.80, 60: 1.00}),
        (1.0, 0.3, {20: 0.09, 30: 0.29, 60: 0.86, 120: 0.997}),
    ],
)
def test_detection_rates(rate: float, swing_hz: float, found_share: dict[int, float]) -> None:
    """Amplitude = noise, 20 % jitter, 1 % false alarms: rates of an independent simulation (300 trials each)."""
    rng = np.random.default_rng(7)
    for seconds, expected in found_share.items():
        hits = 0
        for _ in range(150):
            t = uneven(rng, seconds, rate)
            y = 5.0 * np.cos(2.0 * np.pi * swing_hz * t + rng.uniform(0.0, 6.3)) + 5.0 * rng.standard_normal(len(t))
            share = spectrum.periodogram(t, y, spectrum.grid(t, 0.2 / seconds, rate / 2.0)).share.max()
            hits += spectrum.false_alarm(float(share), len(t), spectrum.width(t, rate / 2.0)) < 0.01
        assert hits / 150 == pytest.approx(expected, abs=0.11), f"{seconds} s"


def test_false_alarms_of_white_noise() -> None:
    """Baluev 2008: about as many as asked for, never many more."""
    rng = np.random.default_rng(8)
    hits = 0
    for _ in range(500):
        t = uneven(rng, 30.0, 2.0)
        share = spectrum.periodogram(t, rng.standard_normal(len(t)), spectrum.grid(t, 1.0 / 150.0, 1.0)).share.max()
        hits += spectrum.false_alarm(float(share), len(t), spectrum.width(t, 1.0)) < 0.05
    assert 0.02 <= hits / 500 <= 0.075


@pytest.mark.parametrize(("true_hz", "rate", "seen_hz"), [(6.25, 5.0, 1.25), (6.25, 10.0, 3.75), (37.5, 10.0, 2.5)])
def test_folded_frequencies(true_hz: float, rate: float, seen_hz: float) -> None:
    """Half order at 750 rpm polled at 5 and 10 Hz, firing frequency at 10 Hz: |f - round(f / fs) fs|."""
    assert spectrum.folded(true_hz, rate) == pytest.approx(seen_hz)


def test_background_of_remembering_noise() -> None:
    """An AR(1) series has the spectrum s^2 (1 - r^2) / (1 - 2 r cos w + r^2): found within a third in the band."""
    rng = np.random.default_rng(4)
    rate, rho, n = 10.0, 0.7, 3000
    y = np.zeros(n)
    for k in range(1, n):
        y[k] = rho * y[k - 1] + rng.standard_normal()
    t = np.arange(n) / rate
    y += 2.0 * np.sin(2.0 * np.pi * 0.9 * t)  # a peak that must not lift the background
    frequency = np.arange(1, 1400) / t[-1]
    power = 0.5 * spectrum.periodogram(t, y, frequency).share * np.var(y) * n
    found = spectrum.background(frequency, power)
    for f in (0.1, 0.5, 0.9, 2.0):
        truth = 1.0 / (1.0 - 2.0 * rho * np.cos(2.0 * np.pi * f / rate) + rho**2)
        assert found.at(np.array([f]))[0] == pytest.approx(truth, rel=0.35)
