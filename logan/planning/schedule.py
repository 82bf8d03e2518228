"""How often each value can be had within the rate of requests."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from logan.errors import UsageError


def periods_s(
    pids: Mapping[str, int], slow: Mapping[str, float], requests_per_second: float, values_per_request: int
) -> dict[str, float]:
    """Seconds between values of each channel: slow ones at their period, the others take turns in what is left.

    Channels of one PID come in one answer. Slow ones together take half of the requests at most.

    Raises
    ------
    UsageError : the rate is not a positive number
    """
    if not (math.isfinite(requests_per_second) and requests_per_second > 0.0):
        raise UsageError("--requests-per-second must be above 0", do="give the rate that the interface reaches")
    slow_pids = {pid: max(slow[name], 0.0) for name, pid in pids.items() if name in slow}
    fast_pids = {pid for name, pid in pids.items() if name not in slow}
    slow_pids = {pid: period for pid, period in slow_pids.items() if pid not in fast_pids}
    wanted = sum(1.0 / period for period in slow_pids.values())
    stretch = max(1.0, wanted / (0.5 * requests_per_second)) if fast_pids else max(1.0, wanted / requests_per_second)
    rest = requests_per_second - wanted / stretch
    fast_s = math.ceil(len(fast_pids) / values_per_request) / rest if fast_pids else 0.0
    return {name: slow_pids[pid] * stretch if pid in slow_pids else fast_s for name, pid in pids.items()}


def seeming_hz(frequency_hz: float, period_s: float) -> float:
    """Frequency at which a swing shows when it is read every ``period_s`` (folding about half the rate)."""
    rate = 1.0 / period_s
    return abs(frequency_hz - rate * round(frequency_hz / rate))


def half_order_hz(speeds_rpm: Sequence[float]) -> list[float]:
    """Once per four-stroke cycle, Hz."""
    return [speed / 120.0 for speed in speeds_rpm]
