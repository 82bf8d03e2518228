"""How often each value can be had within the rate of requests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from logan.errors import UsageError

MOST_A_SECOND: Final = 10_000.0
"""A CAN bus of 1 Mbit/s carries some 9000 frames of eight bytes a second (ISO 11898-1: 111 bits each)."""


def requests(
    pids: Mapping[str, int], slow: Mapping[str, float], values_per_request: int, together: Sequence[Sequence[str]] = ()
) -> list[list[int]]:
    """PIDs of each request that takes its turn, in the order of asking; slow ones are asked for on their own.

    Channels ``together`` share a request where one holds them; else their requests follow each other.
    """
    fast = list(dict.fromkeys(pid for name, pid in pids.items() if name not in slow))
    groups: dict[int, list[int]] = {pid: [pid] for pid in fast}
    for names in together:
        members = [pid for pid in dict.fromkeys(pids[name] for name in names if name in pids) if pid in groups]
        joined = [pid for group in {id(groups[pid]): groups[pid] for pid in members}.values() for pid in group]
        for pid in joined:
            groups[pid] = joined
    out: list[list[int]] = []
    for group in {id(groups[pid]): groups[pid] for pid in fast}.values():
        parts = [group[k : k + values_per_request] for k in range(0, len(group), values_per_request)]
        room = next((one for one in out if len(parts) == 1 and len(one) + len(group) <= values_per_request), None)
        if room is None:
            out += [list(part) for part in parts]
        else:
            room += group
    return out


def periods_s(
    pids: Mapping[str, int], slow: Mapping[str, float], requests_per_second: float, values_per_request: int,
    together: Sequence[Sequence[str]] = (),
) -> dict[str, float]:  # fmt: skip
    """Seconds between values of each channel: slow ones at their period, the others take turns in what is left.

    Channels of one PID come in one answer. Slow ones together take half of the requests at most.

    Raises
    ------
    UsageError : the rate is not a positive number, or more than any bus carries
    """
    if not 0.0 < requests_per_second <= MOST_A_SECOND:
        reason = f"--requests-per-second must be above 0 and at most {MOST_A_SECOND:.0f}"
        raise UsageError(reason, do="give the rate that the interface reaches")
    turn = requests(pids, slow, values_per_request, together)
    fast_pids = {pid for one in turn for pid in one}
    slow_pids = {pid: slow[name] for name, pid in pids.items() if name in slow and pid not in fast_pids}
    wanted = sum(1.0 / period for period in slow_pids.values())
    stretch = max(1.0, wanted / (0.5 * requests_per_second)) if fast_pids else max(1.0, wanted / requests_per_second)
    rest = requests_per_second - wanted / stretch
    fast_s = len(turn) / rest if turn else 0.0
    return {name: slow_pids[pid] * stretch if pid in slow_pids else fast_s for name, pid in pids.items()}


def seeming_hz(frequency_hz: float, period_s: float) -> float:
    """Frequency at which a swing shows when it is read every ``period_s`` (folding about half the rate)."""
    rate = 1.0 / period_s
    return abs(frequency_hz - rate * round(frequency_hz / rate))


def half_order_hz(speeds_rpm: Sequence[float]) -> list[float]:
    """Once per four-stroke cycle, Hz."""
    return [speed / 120.0 for speed in speeds_rpm]
