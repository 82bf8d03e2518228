"""Missing edges by the control module's counter: hand-counted records."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import scipy.stats
from ranking_cases import record

from logan.measures import signal_errors
from logan.model.channel import Channel, ChannelSet
from logan.model.record import Record


def rate(t_s: np.ndarray, count: np.ndarray, rpm: float = 1200.0) -> Any:
    speed = Channel("engine_speed", "rpm", t_s, np.full(len(t_s), rpm))
    errors = Channel("crank_signal_errors", "count", t_s, count)
    return next(iter(signal_errors.crank_errors(with_channels(speed, errors))))


def with_channels(*channels: Channel) -> Record:
    return replace(record("training_rotary_six"), channels=ChannelSet({c.name: c for c in channels}, {}))


def test_rate_by_hand() -> None:
    """1200 rpm for 100 s are 2000 turns; 6 errors make 3 in 1000; Jeffreys interval of 6: gamma(6.5) by scipy."""
    t_s = np.arange(0.0, 100.01, 0.1)
    found = rate(t_s, 250.0 + np.floor(t_s / 100.0 * 6.0))
    assert found.value == pytest.approx(3.0, rel=1e-3)
    low, high = scipy.stats.gamma(6.5).ppf([0.025, 0.975]) / 2.0
    assert (found.low, found.high) == (pytest.approx(low, abs=0.01), pytest.approx(high, abs=0.01))


def test_a_cleared_counter_goes_on() -> None:
    t_s = np.arange(0.0, 100.01, 0.1)
    count = np.where(t_s < 50.0, np.floor(t_s / 10.0), np.floor((t_s - 50.0) / 10.0))
    found = rate(t_s, count)
    assert found.value * 2.0 == pytest.approx(4 + 5, abs=0.01)
    assert any("cleared" in note for note in found.notes)


def test_too_few_turns_are_told() -> None:
    t_s = np.arange(0.0, 2.0, 0.1)
    assert "50 are needed" in rate(t_s, np.zeros(len(t_s))).why
