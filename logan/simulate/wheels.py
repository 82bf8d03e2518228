"""Crank, cam and pump wheels and their sensors: edge times within a recording."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.simulate.crank import Motion
from logan.simulate.cycle import Array
from logan.simulate.signals import Signals
from logan.simulate.torsion import Twist

_JITTER_S: Final = 2e-6
_PITCH_DEG: Final = 0.02  # tooth spacing tolerance, repeats every turn
CAM_PLAY_DEG: Final = 0.08  # cycle to cycle
_PUMP_TOOTH_DEG: Final = 12.0
_TURNS: Final = 4  # each takes a tenth or less of the error of the one before
_MARGIN_DEG: Final = 60.0  # an edge may be that far from where the profile has it


@dataclass(frozen=True, slots=True)
class Wheel:
    """Edges of one sensor within the recording.

    Parameters
    ----------
    active_s, other_s : (k,) s of the active flank and of the other one, ascending
    active_deg : (k,) crank angle of the active flank of each tooth that was seen
    active_is_falling : which flank the profile calls active
    lost : teeth that passed unseen
    turned_s : time from which the two wires are swapped, inf = never
    """

    active_s: Array
    other_s: Array
    active_deg: Array
    active_is_falling: bool
    lost: int
    turned_s: float = np.inf

    def flanks(self) -> tuple[Array, Array]:
        """Rising and falling edges as the recorder sees them, (m,) s each."""
        falling, rising = (self.active_s, self.other_s) if self.active_is_falling else (self.other_s, self.active_s)
        swap = self.turned_s
        if np.isinf(swap):
            return rising, falling
        return (
            np.concatenate([rising[rising < swap], falling[falling >= swap]]),
            np.concatenate([falling[falling < swap], rising[rising >= swap]]),
        )


def _angles(edges_deg: Array, period_deg: float, span: tuple[float, float]) -> tuple[Array, NDArray[np.int64]]:
    """Angles of all edges that may pass within a span, with the index of each, (k,) twice; none where it is empty."""
    low, high = (span[0] - _MARGIN_DEG, span[1] + _MARGIN_DEG) if span[1] > span[0] else span
    turn = np.arange(np.floor(low / period_deg) - 1, np.ceil(high / period_deg) + 1)
    angle = (turn[:, None] * period_deg + edges_deg).ravel()
    index = np.tile(np.arange(len(edges_deg), dtype=np.int64), len(turn))
    inside = (angle >= low) & (angle < high)
    return angle[inside], index[inside]


def _lost(keep: NDArray[np.bool_], angle: Array, span: tuple[float, float]) -> int:
    return int((~keep & (angle >= span[0]) & (angle < span[1])).sum())


def _seen(
    motion: Motion,
    twist: Twist,
    active: Array,
    other: Array,
    keep: NDArray[np.bool_],
    late_s: Array,
    rng: np.random.Generator,
) -> tuple[Array, Array]:
    """Times of the active flanks and of the others; a tooth that passes backwards shows its flanks the other way."""
    late = [late_s + _JITTER_S * rng.standard_normal(len(angle)) for angle in (active, other)]
    found: tuple[list[Array], list[Array]] = ([], [])
    for leg in motion.legs() if len(active) else []:
        low, high = sorted((leg.angle_deg[0], leg.angle_deg[-1]))
        for flank, angle in enumerate((active, other)):
            inside = keep & (angle > low) & (angle <= high)
            times = leg.time_at(angle[inside])
            for _ in range(_TURNS):  # the rigid crank is where the twist brings its end to the angle
                times = leg.time_at(angle[inside] - twist.at(times))
            found[flank if leg.forwards else 1 - flank].append(times + late[flank][inside])
    none = np.empty(0)
    return np.sort(np.concatenate([none, *found[0]])), np.sort(np.concatenate([none, *found[1]]))


def crank(signals: Signals, twist: Twist, span: tuple[float, float], rng: np.random.Generator) -> Wheel:
    """Crank wheel: pitch errors, run-out, lost teeth, swapped wires.

    A square-wave sensor sees a tooth of half a pitch; a coil (VR) sees the slot centre as its other flank, so swapped
    wires give two equal long periods at the gap.
    """
    profile, engine = signals.profile, signals.engine
    wheel = profile.crank_wheel
    assert wheel is not None
    edges = np.array(wheel.angles_deg())
    tolerance = _PITCH_DEG * rng.standard_normal(len(edges))
    tolerance -= tolerance.mean()
    angle, index = _angles(edges, 360.0, span)
    nominal_s = signals.run.motion.reached_at(angle)
    # spacing p (1 + r cos) integrates to an angle error of r sin, r in radians
    runout = np.degrees(signals.changes.at("crank_runout_percent", nominal_s) / 100)
    phase = float(rng.uniform(0, 2 * np.pi))
    active = angle + tolerance[index] + runout * np.sin(np.radians(angle) + phase)
    falling = wheel.active_edge == "falling"
    pitch = float(np.diff(edges).min())
    if engine.crank_sensor == "hall":
        other = active + (-pitch / 2 if falling else pitch / 2)
    else:
        following = np.append(active[1:], active[-1:] + pitch)
        other = (active + following) / 2
    chance = signals.changes.at("crank_dropouts_per_1000rev", nominal_s) / 1000 / len(edges)
    keep = rng.random(len(active)) >= chance
    active_s, other_s = _seen(signals.run.motion, twist, active, other, keep, np.zeros(len(active)), rng)
    turned = [start for start, d in signals.changes.steps if d.crank_inverted]
    return Wheel(active_s, other_s, active[keep], falling, _lost(keep, angle, span), min(turned, default=np.inf))


def cam(signals: Signals, twist: Twist, span: tuple[float, float], rng: np.random.Generator) -> Wheel:
    """Cam target: offset, delay, lost edges, play from cycle to cycle."""
    profile, engine = signals.profile, signals.engine
    wheel = profile.cam_wheel
    assert wheel is not None
    edges = np.array(wheel.edges_deg)
    angle, _ = _angles(edges, 720.0, span)
    cycle = np.floor(angle / 720.0).astype(int)
    play = CAM_PLAY_DEG * rng.standard_normal(int(cycle.max(initial=0)) + 1)
    nominal_s = signals.run.motion.reached_at(angle)
    shift = signals.cam_good_deg + signals.changes.at("cam_offset_deg", nominal_s) + play[cycle]
    active = angle + shift
    falling = wheel.active_edge == "falling"
    other = active + (-engine.cam_tooth_deg if falling else engine.cam_tooth_deg)
    chance = signals.changes.at("cam_dropouts_per_1000rev", nominal_s) / 1000 * 2 / len(edges)
    keep = rng.random(len(active)) >= chance
    late = signals.changes.at("cam_delay_ms", nominal_s) * 1e-3
    active_s, other_s = _seen(signals.run.motion, twist, active, other, keep, late, rng)
    return Wheel(active_s, other_s, active[keep], falling, _lost(keep, angle, span))


def pump(signals: Signals, twist: Twist, span: tuple[float, float], rng: np.random.Generator) -> Wheel | None:
    """Sensor on the pump, where the profile has one: a pump set ahead gives early edges."""
    profile = signals.profile
    if profile.pump is None or not profile.pump.edges_deg:
        return None
    angle, _ = _angles(np.array(profile.pump.edges_deg), 720.0, span)
    nominal_s = signals.run.motion.reached_at(angle)
    timing = signals.run.timing
    key = np.array([timing.key_deg(d) for _, d in signals.changes.steps])
    starts = np.array([start for start, _ in signals.changes.steps])
    ahead = key[np.clip(np.searchsorted(starts, nominal_s, side="right") - 1, 0, None)] + timing.static_deg
    drift_per_s = signals.changes.at("timing_drift_deg_per_min", nominal_s) / 60
    began = min((start for start, d in signals.changes.steps if d.timing_drift_deg_per_min), default=0.0)
    active = angle - ahead - drift_per_s * (nominal_s - began)
    everything = np.ones(len(active), bool)
    # the flank that the profile names, else that of the cam, as a reader of the profile has to take it
    flank = profile.pump.active_edge or (profile.cam_wheel.active_edge if profile.cam_wheel else "falling")
    falling = flank == "falling"
    other = active + (-_PUMP_TOOTH_DEG if falling else _PUMP_TOOTH_DEG)
    active_s, other_s = _seen(signals.run.motion, twist, active, other, everything, np.zeros(len(active)), rng)
    return Wheel(active_s, other_s, active, falling, 0)
