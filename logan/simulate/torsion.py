"""Elastic crankshaft: its first torsional mode, which moves the sensor's end of the crank about the rigid one.

A chain of inertias (front pulley, throws, flywheel) joined by equal springs; its lowest mode that twists is kept, with
each cylinder acting at its own throw. The twist is small against a turn, so the rigid crank drives it and not the other
way round.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, Literal, NamedTuple

import numpy as np

from logan.simulate.crank import Motion
from logan.simulate.cycle import STEP_DEG, Array
from logan.simulate.parameters import Engine

End = Literal["front", "flywheel"]

GRID_S: Final = 1e-4
"""Step on which the mode is followed: ten of a swing of 1 kHz."""
_PAD_S: Final = 1.0  # the swing has died away within it, so that a Fourier series may be used
_MARGIN_S: Final = 0.3
_FRONT_SHARE: Final = 0.15  # of what turns in front of the flywheel, in the pulley


class Mode(NamedTuple):
    """A mode of a shaft: natural speed, twist of each place for a modal inertia of 1 kg m2, (p,)."""

    rad_s: float
    shape: Array


def first_mode(inertia_kgm2: Array, stiffness_nm_per_rad: Array) -> Mode:
    """First mode that twists a free chain of inertias (p,) joined by springs (p - 1,).

    With two inertias its speed is sqrt(k (J1 + J2) / (J1 J2)) (textbook).
    """
    k = np.zeros((len(inertia_kgm2),) * 2)
    for place, stiffness in enumerate(stiffness_nm_per_rad):
        k[place : place + 2, place : place + 2] += stiffness * np.array([[1.0, -1.0], [-1.0, 1.0]])
    scale = 1 / np.sqrt(inertia_kgm2)
    square, vectors = np.linalg.eigh(scale[:, None] * k * scale)
    return Mode(float(np.sqrt(square[1])), vectors[:, 1] * scale)


def crank_mode(inertia_kgm2: float, flywheel_share: float, throws: int, throw_stiffness_nm_per_rad: float) -> Mode:
    """First mode of a crank: places are front pulley, throws from the front on, flywheel."""
    rest = inertia_kgm2 * (1 - flywheel_share)
    inner = np.full(throws, rest * (1 - _FRONT_SHARE) / throws)
    chain = np.concatenate([[rest * _FRONT_SHARE], inner, [inertia_kgm2 * flywheel_share]])
    return first_mode(chain, np.full(throws + 1, throw_stiffness_nm_per_rad))


@dataclass(slots=True)
class Shaft:
    """Crankshaft that twists in its first mode, and what drives the mode while the engine turns.

    Parameters
    ----------
    mode, damping : damping as a share of the critical
    softness : 0 = rigid, 1 = as the mode has it, 2 = half as stiff
    lever : (z,) shape of the mode at the throw of each cylinder
    moving : (z * n,) force on the mode by the moving masses over a cycle, times speed squared
    node : table step at which the crank stands
    forces : force on the mode over the step that led to each node of the crank's history, without moving masses
    """

    mode: Mode
    damping: float
    softness: float
    lever: Array
    moving: Array
    node: float
    forces: list[Array] = field(default_factory=list)

    @classmethod
    def of(cls, engine: Engine, cylinders: int, moving: Array, softness: float, node: int) -> Shaft:
        """The shaft of one engine; ``moving`` (z, z, n) as in the tables of torque."""
        throws = engine.throws if len(engine.throws) == cylinders else list(range(1, cylinders + 1))
        mode = crank_mode(engine.inertia_kgm2, engine.flywheel_share, max(throws), engine.throw_stiffness_nm_per_rad)
        lever = mode.shape[np.array(throws)]
        return cls(mode, engine.torsion_damping, softness, lever, np.einsum("j,kjn->kn", lever, moving).ravel(), node)

    def force(self, gas_nm: Array, friction_nm: float, load_nm: float) -> Array:
        """Force on the mode: gas (z, n) and friction at the throws, driveline less starter at the flywheel."""
        return np.asarray(self.lever @ gas_nm - self.lever.mean() * friction_nm - self.mode.shape[-1] * load_nm)

    def rest(self) -> None:
        """The crank is set in motion: a node without a step."""
        self.forces.append(np.zeros(1))

    def keep(self, nodes: Array, first: int, force: Array) -> None:
        """Store the force over the steps that led to some nodes, forwards or back; ``force`` begins at a first node."""
        forwards = np.diff(nodes, prepend=self.node) > 0
        self.forces.append(force[(np.where(forwards, nodes - 1, nodes) - first).astype(int)])
        self.node = float(nodes[-1]) if len(nodes) else self.node

    def twist(self, motion: Motion, end: End, start_s: float, end_s: float) -> Twist:
        """How one end of the crank moves about the rigid one over a stretch of time."""
        time = np.arange(start_s - _MARGIN_S, end_s + _MARGIN_S, GRID_S)
        if not self.softness or len(motion.time_s) < 2:
            return Twist(time, np.zeros(len(time)))
        step = np.round(np.minimum(motion.angle_deg[1:], motion.angle_deg[:-1]) / STEP_DEG).astype(int)
        speed = 0.5 * (motion.speed_rad_s[1:] + motion.speed_rad_s[:-1])
        force = np.concatenate(self.forces)[1:] + self.moving[step % len(self.moving)] * speed**2
        middle = 0.5 * (motion.time_s[1:] + motion.time_s[:-1])
        swing = response(time, np.interp(time, middle, force), self.mode.rad_s / np.sqrt(self.softness), self.damping)
        place = 0 if end == "front" else -1
        return Twist(time, np.degrees(self.mode.shape[place] * swing))


class Twist(NamedTuple):
    """Angle of one end of the crank less that of the rigid crank, (n,) deg, at (n,) s."""

    time_s: Array
    deg: Array

    def at(self, time_s: Array) -> Array:
        """Twist at some times, (m,) deg."""
        return np.interp(time_s, self.time_s, self.deg)


def response(time_s: Array, force: Array, rad_s: float, damping: float) -> Array:
    """Swing q, (n,), of q'' + 2 d w q' + w^2 q = force at evenly spaced times, (n,) s.

    ``force`` (n,) is held before its beginning and after its end until the swing has died away.
    """
    pad = round(_PAD_S / GRID_S)
    held = np.concatenate([np.full(pad, force[0]), force, np.linspace(force[-1], force[0], pad)])
    w = 2 * np.pi * np.fft.rfftfreq(len(held), float(time_s[1] - time_s[0]))
    q = np.fft.irfft(np.fft.rfft(held) / (rad_s**2 - w**2 + 2j * damping * rad_s * w), len(held))
    return np.asarray(q[pad : pad + len(force)])
