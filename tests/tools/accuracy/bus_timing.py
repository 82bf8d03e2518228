"""Injection timing: offset, delay, load, drift, hysteresis and lag of known size in independent drives."""

from __future__ import annotations

import numpy as np

from accuracy import Case
from accuracy.bus import Array, Rng, Row, follower, link, record, road, rows
from logan.measures.timing import timing_error
from logan.measures.timing_effort import DRIFT, LOST, timing_effort

NAMES = (
    "timing_error_static_deg", "timing_error_delay_ms", "timing_error_load_deg", "timing_error_drift_deg_per_min",
)  # fmt: skip


def _backlash(command: Array, width: float) -> Array:
    """Play, one sample after the other."""
    out, at = np.empty_like(command), float(command[0])
    for k, x in enumerate(command.tolist()):
        at = min(max(at, x - width / 2.0), x + width / 2.0)
        out[k] = at
    return out


def _friction(command: Array, width: float, turn: float) -> Array:
    """Dry friction: the follower stays behind by half the width, and turns over within ``turn`` of travel."""
    out, at = np.empty_like(command), 0.0
    before = float(command[0])
    for k, x in enumerate(command.tolist()):
        at = min(max(at + 2.0 * (x - before) / turn, -1.0), 1.0)
        out[k] = x - 0.5 * width * at
        before = x
    return out


def drive(seed: int, *, sticking: bool = False) -> dict[str, Row]:
    """One drive; with a sticking actuator hysteresis and lag are large and judged, without they are small."""
    rng: Rng = np.random.default_rng(seed)
    way = road(rng, rng.uniform(7.0, 16.0))
    minutes = way.t_s / 60.0
    command = rng.uniform(0, 6) + way.speed * rng.uniform(0.002, 0.005) + way.load * rng.uniform(-0.03, 0.05)
    truths = {
        NAMES[0]: rng.normal(0.0, 3.0), NAMES[1]: rng.uniform(-0.1, 0.5), NAMES[2]: rng.normal(0.0, 2.0),
        NAMES[3]: rng.normal(0.0, 0.2),
    }  # fmt: skip
    lag_s = rng.uniform(0.3, 1.2) if sticking else rng.uniform(0.04, 0.25)
    follows = follower(command, lag_s)
    if sticking:
        width = rng.uniform(0.8, 4.0)
        backlash, turn = float(rng.choice([0.0, 1.0, rng.random()])), rng.uniform(0.5, 1.0)

        def sticks(x: Array) -> Array:
            slack, rest = backlash * width, (1.0 - backlash) * width
            x = _backlash(x, slack) if slack > 0.0 else x
            return _friction(x, rest, turn * rest) if rest > 0.0 else x

        # a worn linkage stands before the slow part, a piston that sticks after it
        follows = sticks(follower(command, lag_s)) if rng.random() < 0.4 else follower(sticks(command), lag_s)
        truths = {"timing_hysteresis_deg": width, "timing_response_lag_s": lag_s}
    static, delay, load, drift = (truths.get(name, 0.0) for name in NAMES)
    # the module's own angle: pitch tolerance of its teeth, 0.02 to 0.1 deg, which does not average out; a few us of its
    # sensor and clock; a mount that gives a little under load
    delay, load = delay + rng.normal(0.0, 0.003), load + rng.normal(0.0, 0.03)
    error = static - 0.006 * way.speed * delay + load * way.load / 100.0 + drift * minutes
    error = error + rng.uniform(-0.08, 0.08)
    via, step = link(rng), float(rng.choice([1 / 128, 0.05, 0.1]))
    noise, rho, heavy = rng.uniform(0.05, 0.4), rng.uniform(0.0, 0.8), rng.random() < 0.3
    give = via.channel
    channels = [
        give(rng, "injection_timing_commanded", way.t_s, command, step, 0),
        give(rng, "injection_timing_actual", way.t_s, follows + error, step, 1, noise, rho, heavy),
        give(rng, "engine_speed", way.t_s, way.speed, 0.25, 2),
        give(rng, "calculated_load", way.t_s, way.load, 100.0 / 255.0, 3),
    ]  # fmt: skip
    return rows(timing_error(record(channels)), truths)


def effort(seed: int) -> dict[str, Row]:
    """A closed loop that holds timing on its command by a duty that drifts by 0.1 to 8 %/min, up to its stop."""
    rng: Rng = np.random.default_rng(seed)
    way = road(rng, rng.uniform(8.0, 16.0))
    minutes = way.t_s / 60.0
    command = rng.uniform(0, 6) + way.speed * rng.uniform(0.002, 0.005) + way.load * rng.uniform(-0.03, 0.05)
    drift = rng.choice([-1.0, 1.0]) * np.exp(rng.uniform(np.log(0.1), np.log(8.0)))
    needs_per_deg = rng.uniform(2.0, 4.0)
    needs = rng.uniform(20, 40) + needs_per_deg * command + way.speed * rng.uniform(-0.004, 0.004) + drift * minutes
    duty = np.clip(follower(needs, rng.uniform(0.1, 0.4)), 0.0, 100.0)
    error = (duty - needs) / needs_per_deg * ((duty <= 0.0) | (duty >= 100.0))
    lost = 100.0 * float(np.mean(((duty <= 2.0) | (duty >= 98.0)) & (np.abs(error) > 0.5)))
    via, step = link(rng), 1 / 128
    give = via.channel
    noise, rho = rng.uniform(0.05, 0.3), rng.uniform(0.0, 0.6)
    channels = [
        give(rng, "injection_timing_commanded", way.t_s, command, step, 0),
        give(rng, "injection_timing_actual", way.t_s, command + error, step, 1, noise, rho),
        give(rng, "engine_speed", way.t_s, way.speed, 0.25, 2),
        give(rng, "calculated_load", way.t_s, way.load, 100.0 / 255.0, 3),
        give(rng, "timing_actuator_duty", way.t_s, duty, 0.4, 4, rng.uniform(0.2, 1.5), rng.uniform(0, 0.6)),
    ]  # fmt: skip
    return rows(timing_effort(record(channels)), {LOST: lost, DRIFT: drift})


CASES = {
    "timing, parts of the error": Case(NAMES, drive, "offset, delay, load, drift, healthy lag; the angle's tolerance"),
    "timing, sticking actuator": Case(
        ("timing_hysteresis_deg", "timing_response_lag_s"), lambda seed: drive(seed, sticking=True),
        "backlash, friction or both, before or after a slow part",
    ),
    "timing, effort of a closed loop": Case((LOST, DRIFT), effort, "the duty drifts and may meet its stop"),
}  # fmt: skip
