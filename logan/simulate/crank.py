"""Crankshaft: kinetic energy integrated over angle, J w dw/dtheta = sum of torques, with the pistons' varying inertia.

The change of kinetic energy over an angle step is the torque times the step, whatever the inertia does meanwhile: the
inertia torque of the pistons is in J(theta), not in the sum (textbook).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np

from logan.simulate.cycle import STEP_DEG, Array

_STEP_RAD: Final = math.radians(STEP_DEG)
SLOW_RAD_S: Final = 45.0
"""Below this speed torques that depend on speed are followed step by step within the interval."""
_LEAST_J: Final = 0.02  # kinetic energy with which the starter drags the crank over a step, J


class Starter(NamedTuple):
    """Engaged starter, seen from the crank: torque at standstill, speed without load, inertia of its armature."""

    stall_nm: float
    free_rad_s: float
    inertia_kgm2: float

    def torque_nm(self, speed_rad_s: float) -> float:
        """Torque at a speed of the crank; a freewheel lets it overtake."""
        return max(0.0, self.stall_nm * (1 - speed_rad_s / self.free_rad_s))


@dataclass(slots=True)
class Crank:
    """State and history of the crank; ``node`` counts table steps since the start of the record."""

    inertia: Array
    node: int = 0
    energy_j: float = 0.0
    angle_nodes: list[Array] = field(default_factory=list)
    time_s: list[Array] = field(default_factory=list)
    speed_rad_s: list[Array] = field(default_factory=list)

    @property
    def steps(self) -> int:
        """Table steps of a firing interval."""
        return len(self.inertia) - 1

    @property
    def turning(self) -> bool:
        """Whether the crank moves."""
        return self.energy_j > 0

    def speed(self) -> float:
        """Speed now, rad/s."""
        return math.sqrt(2 * self.energy_j / float(self.inertia[self.node % self.steps]))

    def start(self, now_s: float) -> None:
        """Set the standing crank in motion."""
        self.energy_j = _LEAST_J
        self._keep(np.array([self.node + 1e-6]), np.array([now_s]), np.array([self.speed()]))

    def turn(self, now_s: float, torque_nm: Array, drag_nm: float) -> float:
        """Turn one whole firing interval with the gas torque less a constant drag; give the time at its end, s."""
        energy = np.empty(self.steps + 1)
        energy[0] = self.energy_j
        np.cumsum((torque_nm - drag_nm) * _STEP_RAD, out=energy[1:])
        energy[1:] += self.energy_j
        np.maximum(energy, _LEAST_J, out=energy)
        speed = np.sqrt(2 * energy / self.inertia)
        time = now_s + np.cumsum(2 * _STEP_RAD / (speed[:-1] + speed[1:]))
        self._keep(np.arange(self.node + 1, self.node + self.steps + 1, dtype=float), time, speed[1:])
        self.node += self.steps
        self.energy_j = float(energy[-1])
        return float(time[-1])

    def turn_slowly(
        self, now_s: float, torque_nm: Array, drag_nm: float, viscous: float, starter: Starter | None
    ) -> float:
        """Turn to the end of the interval or to a standstill, step by step, with the starter where it is engaged."""
        first = self.node % self.steps
        extra = starter.inertia_kgm2 if starter else 0.0
        speed, time = self.speed(), now_s
        energy = 0.5 * (float(self.inertia[first]) + extra) * speed**2
        times: list[float] = []
        speeds: list[float] = []
        for k in range(first, self.steps):
            push = starter.torque_nm(speed) if starter else 0.0
            energy += (float(torque_nm[k]) + push - drag_nm - viscous * speed) * _STEP_RAD
            if energy < _LEAST_J:
                if not starter:
                    energy = 0.0
                    break
                energy = _LEAST_J
            after = math.sqrt(2 * energy / (float(self.inertia[k + 1]) + extra))
            time += 2 * _STEP_RAD / (speed + after)
            speed = after
            times.append(time)
            speeds.append(speed)
        self._keep(self.node + 1 + np.arange(len(times), dtype=float), np.array(times), np.array(speeds))
        self.node += len(times)
        self.energy_j = 0.5 * float(self.inertia[self.node % self.steps]) * speed**2 if energy else 0.0
        return time

    def rock(self, now_s: float, torque_nm: Array, drag_nm: float) -> float:
        """Swing back, and forth again, from a standstill on compression until friction holds it; give the time then, s.

        Parameters
        ----------
        torque_nm : (2 * steps,) gas torque over the interval before the present one and over the present one
        """
        place, time, forward = self.steps + self.node % self.steps, now_s, False
        nodes: list[float] = []
        times: list[float] = []
        speeds: list[float] = []
        while True:
            way, energy, speed, first = (1 if forward else -1), 0.0, 0.0, place
            while 0 < place < 2 * self.steps:
                energy += (way * float(torque_nm[place if forward else place - 1]) - drag_nm) * _STEP_RAD
                if energy < _LEAST_J:
                    break
                place += way
                after = math.sqrt(2 * energy / float(self.inertia[place % self.steps]))
                time += 2 * _STEP_RAD / (speed + after)
                speed = after
                self.node += way
                nodes.append(self.node)
                times.append(time)
                speeds.append(way * speed)
            if place == first:
                break
            speeds[-1] = 0.0
            forward = not forward
        self._keep(np.array(nodes, dtype=float), np.array(times), np.array(speeds))
        return time

    def _keep(self, node: Array, time: Array, speed: Array) -> None:
        self.angle_nodes.append(node)
        self.time_s.append(time)
        self.speed_rad_s.append(speed)

    def motion(self) -> Motion:
        """The whole history as arrays."""
        if not self.time_s:
            none = np.empty(0)
            return Motion(none, none, none)
        return Motion(
            np.concatenate(self.angle_nodes) * STEP_DEG, np.concatenate(self.time_s), np.concatenate(self.speed_rad_s)
        )


@dataclass(frozen=True, slots=True)
class Motion:
    """Crank angle over time.

    Parameters
    ----------
    angle_deg : (n,) deg since the start of the record; 0 is top dead centre of cylinder 1, firing; falls while the
        crank swings back at a stop
    time_s : (n,) s, ascending
    speed_rad_s : (n,) rad/s at those times, negative while it swings back
    """

    angle_deg: Array
    time_s: Array
    speed_rad_s: Array

    def legs(self) -> list[Motion]:
        """The stretches in which the crank turns one way, forwards or backwards, in order of time."""
        way = np.sign(np.diff(self.angle_deg))
        turns = np.flatnonzero(way[1:] != way[:-1]) + 1
        ends = [0, *turns.tolist(), len(self.angle_deg) - 1]
        return [
            Motion(self.angle_deg[a : b + 1], self.time_s[a : b + 1], self.speed_rad_s[a : b + 1])
            for a, b in pairwise(ends)
        ]

    @property
    def forwards(self) -> bool:
        """Whether a leg goes forwards."""
        return bool(self.angle_deg[-1] > self.angle_deg[0])

    def reached_at(self, angle_deg: Array) -> Array:
        """Time at which some angles are first reached, (m,) s, straight between nodes; 0 where it never moved."""
        if not len(self.time_s):
            return np.zeros(len(angle_deg))
        return np.interp(angle_deg, np.maximum.accumulate(self.angle_deg), self.time_s)

    def time_at(self, angle_deg: Array) -> Array:
        """Time at which some angles of a leg pass, (m,) s; cubic between nodes, from the speeds at both ends."""
        way = 1.0 if self.forwards else -1.0
        right = np.clip(np.searchsorted(way * self.angle_deg, way * angle_deg), 1, len(self.angle_deg) - 1)
        left = right - 1
        width = self.angle_deg[right] - self.angle_deg[left]
        x = (angle_deg - self.angle_deg[left]) / width
        rise = self.time_s[right] - self.time_s[left]
        slope = np.radians(width)
        speed = np.where(self.speed_rad_s, self.speed_rad_s, way * 1e-6)
        a, b = slope / speed[left], slope / speed[right]
        cubic = x * (1 - x) * ((1 - x) * (a - rise) + x * (rise - b))
        near = (np.abs(a / rise - 1) < 0.5) & (np.abs(b / rise - 1) < 0.5)  # not over a standstill
        return np.asarray(self.time_s[left] + x * rise + np.where(near, cubic, 0.0))

    def angle_at(self, time_s: Array) -> Array:
        """Angle at some times, (m,) deg; straight between nodes, 0 where the crank never moved."""
        if not len(self.time_s):
            return np.zeros(len(time_s))
        return np.interp(time_s, self.time_s, self.angle_deg)

    def span(self, start_s: float, end_s: float) -> tuple[float, float]:
        """Lowest and highest angle of a stretch of time, deg."""
        inside = self.angle_deg[(self.time_s > start_s) & (self.time_s < end_s)]
        angle = np.append(inside, self.angle_at(np.array([start_s, end_s])))
        return float(angle.min()), float(angle.max())
