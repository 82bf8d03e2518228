"""The drive as spans of one state each."""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.drive.inputs import Inputs, collect
from logan.dsp.idle_level import idle_level, mean_around
from logan.knowledge.drive_states import DriveThresholds, load
from logan.model.channel import ChannelSet
from logan.model.drive import DriveStates, Span
from logan.model.profile import EngineProfile

STATES: Final = (
    "key_on", "cranking", "run_up", "idle_cold", "idle_warm", "tip_in", "cruise", "pull", "overrun", "stopped",
)  # fmt: skip
_NUMBER: Final = {state: k for k, state in enumerate(STATES)}

States = NDArray[np.int64]
Mask = NDArray[np.bool_]


def segment(channels: ChannelSet, profile: EngineProfile) -> DriveStates:
    """Cut a drive into states, told at the instants of the engine speed.

    Works from one value in two seconds up: a state lasts from its first value to the first of the next state.
    """
    limits = load()
    inputs = collect(channels, profile, limits)
    if inputs is None:
        what = "holds a single value at most" if "engine_speed" in channels else "is not recorded"
        return DriveStates((), (f"engine speed {what}: the drive cannot be cut into states",))
    step = np.diff(inputs.t_s)
    hole = max(limits.gap_s, limits.gap_periods * float(np.median(step)))
    cuts = np.concatenate([[0], np.flatnonzero(step > hole) + 1, [len(inputs.t_s)]])
    at_once = _states(inputs, limits, cuts)
    state = _settle(at_once, inputs, limits, cuts)
    if not inputs.pedal_known:
        _departures(state, at_once, inputs, limits)
    spans: list[Span] = []
    for a, b in itertools.pairwise(cuts.tolist()):
        if spans:
            spans.append(Span("gap", spans[-1].end_s, float(inputs.t_s[a])))
        spans += _runs(state[a:b], inputs.t_s[a:b])
    return DriveStates(tuple(spans), inputs.assumed)


def _states(inputs: Inputs, limits: DriveThresholds, cuts: NDArray[np.int64]) -> States:
    """The state at each instant, without regard to how long it lasts."""
    speed = inputs.speed
    state = np.full(len(speed), _NUMBER["cruise"])
    cold_idle_rpm = limits.cold_idle_highest_share * inputs.idle_rpm
    near_idle = speed <= np.where(inputs.warm, _highest_idle(inputs.idle_rpm, limits), cold_idle_rpm)
    state[inputs.tipping & ~inputs.released] = _NUMBER["tip_in"]
    state[inputs.loaded & ~inputs.released] = _NUMBER["pull"]
    state[inputs.released] = _NUMBER["overrun"]
    idle = inputs.released & inputs.standing & near_idle
    state[idle & inputs.warm] = _NUMBER["idle_warm"]
    state[idle & ~inputs.warm] = _NUMBER["idle_cold"]

    at_rest = _without_short(speed < limits.standing_rpm, inputs.t_s, limits.shortest_standing_s)
    turning_limit = min(limits.cranking_max_rpm, limits.cranking_max_share_of_idle * inputs.idle_rpm)
    turning = ~at_rest & ((speed < turning_limit) | ((speed < 1.2 * turning_limit) & inputs.starter))
    ran = np.cumsum(~at_rest & ~turning) > 0
    state[at_rest & ~ran] = _NUMBER["key_on"]
    state[at_rest & ran] = _NUMBER["stopped"]
    # running time up to each instant, and its value where the crank last stood or a hole ended
    ran_s = np.concatenate([[0.0], np.cumsum(np.diff(inputs.t_s) * ~(at_rest | turning)[:-1])])
    anew = at_rest.copy()
    anew[cuts[:-1]] = True
    since_s = np.maximum.accumulate(np.where(anew, ran_s, 0.0))
    for a, b in _true_runs(turning):
        was_faster = a > 0 and a not in cuts and not at_rest[a - 1]
        had_run = was_faster and ran_s[a] - since_s[a] >= limits.shortest_running_s
        ends_at_rest = b < len(speed) and at_rest[b]
        if not was_faster or inputs.starter[a:b].any() or not (had_run or ends_at_rest):
            state[a:b] = _NUMBER["cranking"]
        elif ends_at_rest or b == len(speed):
            state[a:b] = _NUMBER["stopped"]  # the engine runs down; a dip between two running spells stays idle
    for a in _starts(at_rest | (state == _NUMBER["cranking"]), cuts):
        state[a : _run_up_end(inputs, limits, a)] = _NUMBER["run_up"]
    return state


def _without_short(flag: Mask, t_s: NDArray[np.float64], shortest_s: float) -> Mask:
    """A flag without its short spells: a crank that slows down at each compression does not stand."""
    out = flag.copy()
    for a, b in _true_runs(flag):
        if a > 0 and b < len(flag) and t_s[b] - t_s[a] < shortest_s:
            out[a:b] = False
    return out


def _starts(before: Mask, cuts: NDArray[np.int64]) -> list[int]:
    """First running instants after standing or cranking, gaps apart."""
    firsts = np.flatnonzero(before[:-1] & ~before[1:]) + 1
    return [int(a) for a in firsts if a not in cuts]


def _run_up_end(inputs: Inputs, limits: DriveThresholds, first: int) -> int:
    """Index after the run-up: the speed has settled, or the longest time is over."""
    t_s, speed = inputs.t_s, inputs.speed
    last = int(np.searchsorted(t_s, t_s[first] + limits.run_up_longest_s))
    for k in range(first, last):
        end = int(np.searchsorted(t_s, t_s[k] + limits.run_up_settled_s, "right"))
        window = slice(k, min(max(end, k + 2), len(t_s)))
        moved = np.ptp(speed[window]) / max(t_s[window][-1] - t_s[k], limits.run_up_settled_s)
        if moved < limits.run_up_settled_rpm_per_s:
            return max(k, first + 1)
    return max(last, first + 1)


def _settle(state: States, inputs: Inputs, limits: DriveThresholds, cuts: NDArray[np.int64]) -> States:
    """States that are too short give way to the one before (the first to the next), shortest dwell first."""
    state = state.copy()
    dwell = np.array([limits.dwell_s.get(name, 0.0) for name in STATES])
    ends = np.append(inputs.t_s[1:], inputs.t_s[-1])
    for name in sorted(limits.dwell_s, key=lambda key: limits.dwell_s[key]):
        for a, b in _true_runs(state == _NUMBER[name]):
            inner = [int(c) for c in cuts if a < c < b]
            for begin, end in zip([a, *inner], [*inner, b], strict=True):
                if ends[end - 1] - inputs.t_s[begin] >= dwell[_NUMBER[name]]:
                    continue
                if begin > 0 and begin not in cuts and dwell[state[begin - 1]] > 0.0:
                    state[begin:end] = state[begin - 1]
                elif end < len(state) and end not in cuts and dwell[state[end]] > 0.0:
                    state[begin:end] = state[end]
    return state


def _departures(state: States, at_once: States, inputs: Inputs, limits: DriveThresholds) -> None:
    """Take short rises above every idle speed out of idle: with no pedal recorded, they alone tell of a foot on it."""
    t_s, speed = inputs.t_s, inputs.speed
    names = [_NUMBER["idle_cold"], _NUMBER["idle_warm"]]
    warm = [slice(a, b) for a, b in _true_runs(state == _NUMBER["idle_warm"])]
    level = idle_level([mean_around(t_s[part], speed[part]) for part in warm], inputs.idle_rpm)
    above = np.isin(state, names) & ~np.isin(at_once, names) & (speed > _highest_idle(level, limits))
    ends = np.append(t_s[1:], t_s[-1])
    for a, b in _true_runs(above):
        if ends[b - 1] - t_s[a] >= limits.departure_s:
            state[a:b] = _NUMBER["cruise"]


def _highest_idle(idle_rpm: float, limits: DriveThresholds) -> float:
    """Speed up to which a warm engine may idle, rpm."""
    return max(idle_rpm * limits.idle_highest_share, idle_rpm + limits.idle_highest_margin_rpm)


def _true_runs(mask: Mask) -> list[tuple[int, int]]:
    """Begin and end (exclusive) of each stretch of true values."""
    edge = np.diff(np.concatenate([[0], mask.astype(np.int8), [0]]))
    return list(zip(np.flatnonzero(edge == 1).tolist(), np.flatnonzero(edge == -1).tolist(), strict=True))


def _runs(state: States, t_s: NDArray[np.float64]) -> list[Span]:
    first = np.concatenate([[0], np.flatnonzero(np.diff(state)) + 1])
    end_s = np.append(t_s[first[1:]], t_s[-1])
    return [Span(STATES[state[a]], float(t_s[a]), float(e)) for a, e in zip(first, end_s, strict=True) if e > t_s[a]]
