"""A crank of its own for the tests: slider-crank masses, polytropic compression, two pulses of heat, governor, torsion.

Written apart from the program's measures and simulator; other exponents, valve times and burn laws than theirs.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from logan.model.channel import ChannelSet
from logan.model.drive import DriveStates
from logan.model.profile import CamWheel, CrankWheel, EngineProfile
from logan.model.record import Record
from logan.model.sensor import Edges, SensorCapture

FINE = 720  # steps of one degree a cycle
ORDERS = {4: [1, 3, 4, 2], 6: [1, 5, 3, 6, 2, 4], 8: [1, 8, 4, 3, 6, 5, 7, 2]}


@dataclass
class Engine:
    z: int = 4
    litres: float = 0.5  # a cylinder
    ratio: float = 17.0
    rod: float = 0.31
    inertia: float = 0.35
    mass: float = 1.0
    radius: float = 0.045
    friction: float = 30.0
    starter: float = 260.0
    burn_from: float = -1.0
    premixed: float = 0.3


def _geometry(e: Engine) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    a = np.radians(np.arange(-360, 360) + 0.5)
    s = np.sqrt(1 - (e.rod * np.sin(a)) ** 2)
    y = (1 - np.cos(a)) + (1 - s) / e.rod
    dy = np.sin(a) + e.rod * np.sin(a) * np.cos(a) / s
    return a, e.litres * 1e-3 * (1 / (e.ratio - 1) + y / 2), dy


def torques(e: Engine, leak: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Torque over a cylinder's cycle (-360..360): motored, and of heat that gives 1 J of work."""
    a, v, dy = _geometry(e)
    deg = np.degrees(a)
    dv = e.litres * 1e-3 / 2 * dy
    ivc, evo = np.searchsorted(deg, -145), np.searchsorted(deg, 125)

    def press(heat: np.ndarray) -> np.ndarray:
        p = np.full(FINE, 1e5)
        now = 1e5
        for k in range(ivc, evo):
            n = 1.34 if deg[k] < 0 else 1.35
            now *= (v[k - 1] / v[k]) ** n
            now += (n - 1) * heat[k] / v[k]
            now -= leak * (now - 1e5) * 0.02
            p[k] = now
        p[evo:] = 1e5 + (now - 1e5) * np.exp(-(deg[evo:] - 125) / 12)
        return p - 1e5

    x = np.clip(deg - e.burn_from, 0, None)
    burnt = e.premixed * (1 - np.exp(-5 * (x / 14) ** 2.5)) + (1 - e.premixed) * (1 - np.exp(-5 * (x / 60) ** 1.8))
    dry = press(np.zeros(FINE)) * dv
    fired = press(np.diff(burnt, prepend=0) * 100.0) * dv - dry
    return dry, fired / (fired.sum() * np.radians(1))


@dataclass
class Recording:
    t: np.ndarray
    angle: np.ndarray
    cam: np.ndarray
    own: np.ndarray  # work of each firing position, J a cycle, (z,)
    interval: np.ndarray  # work of all gas over its firing interval, J
    dips: np.ndarray  # fall of true speed squared into each dip, rad2/s2
    rises: np.ndarray  # rise out of each dip, rad2/s2
    net: np.ndarray  # change of true speed squared from half a firing interval before each dip to as much after it


def run(
    e: Engine, *, cycles: int = 60, rpm: float = 750.0, work: np.ndarray | None = None, leak: np.ndarray | None = None,
    scatter: float = 0.03, jitter_s: float = 1e-6, pitch_deg: float = 0.0, runout: float = 0.0,
    swing_rpm: float = 0.0, teeth: int = 60, missing: int = 2, offset_deg: float = 0.0, crank: bool = False,
    seed: int = 0, failed: tuple[tuple[int, int], ...] = (), first_mode_hz: float = 0.0, front: bool = True,
) -> Recording:  # fmt: skip
    """Teeth of an idling (or cranked) engine; ``work`` (relative) and ``leak`` by position; fires that ``failed``.

    With ``first_mode_hz`` the crank is elastic and its wheel sits at the ``front`` or at the flywheel.
    """
    rng = np.random.default_rng(seed)
    z, step = e.z, FINE // e.z
    work = np.ones(z) if work is None else np.asarray(work, float)
    leak = np.zeros(z) if leak is None else np.asarray(leak, float)
    w = rpm * np.pi / 30
    mean_j = 0.0 if crank else e.friction * 4 * np.pi / z
    dry = []
    for k in range(z):
        d, f = torques(e, leak[k])
        dry.append(np.roll(d, -360 + k * step))
        fire = np.roll(f, -360)
    lost = np.array([-d.sum() for d in dry]) * np.radians(1)  # what motoring each cylinder costs
    _, _, dy = _geometry(e)
    iner = e.inertia + e.mass * e.radius**2 * sum(np.roll(dy**2, k * step) for k in range(z))
    dry_sum = np.sum(dry, axis=0)
    fires = np.array([np.roll(fire, k * step) for k in range(z)])
    energy = 0.5 * e.inertia * w * w
    target = energy
    out, own = [], np.zeros(z)
    interval = np.zeros(z)
    drag = e.friction if not crank else 0.0
    for c in range(cycles + 4):
        gain = 1 + (-0.3 * (energy - target) / max(mean_j * z, 1)) if not crank else 0.0
        cycle_work = (
            (0.0 if crank else 1.0)
            * (mean_j * gain + lost.mean())
            * work
            / work.mean()
            * (1 + scatter * rng.standard_normal(z))
        )
        for cycle, position in failed:
            cycle_work[position] *= cycle != c
        torque = dry_sum + cycle_work @ fires
        if crank:
            # a starter whose torque falls in a straight line to nothing at its free speed
            step_e = np.empty(FINE)
            for i in range(FINE):
                step_e[i] = energy
                pull = max(e.starter * (1 - np.sqrt(2 * energy / iner[i]) / (1.5 * w)), 0.0) - e.friction
                energy = max(energy + (torque[i] + pull) * np.radians(1), 0.5)
            out.append(np.sqrt(2 * step_e / iner))
            continue
        period = 0.75 * swing_rpm * 4 * e.inertia * w / 30 * np.cos(2 * np.pi * 0.08 * c)
        load = drag + period / 6
        path = energy + np.cumsum((torque - load) * np.radians(1))
        out.append(np.sqrt(2 * np.concatenate([[energy], path[:-1]]) / iner))
        energy = path[-1]
        if c >= 2:
            own += cycle_work - lost
            interval += torque.reshape(z, step).sum(1) * np.radians(1)
    omega = np.concatenate(out)
    mid = 0.5 * (omega[:-1] + omega[1:])
    t = np.concatenate([[0.0], np.cumsum(np.radians(1) / mid)])
    pitch = 360.0 / teeth
    count = np.arange(int(720 * (cycles + 3) / pitch))
    tooth = count % teeth
    keep = tooth < teeth - missing
    first = 84.0
    nominal = first + count * pitch
    error = pitch_deg * np.random.default_rng(seed + 1).standard_normal(teeth)[tooth]
    error = error + np.degrees(runout) * np.sin(np.radians(nominal - 40.0))
    if first_mode_hz:
        push = np.array(dry) + ((mean_j + lost.mean()) * work / work.mean())[:, None] * fires
        at = twist_deg(e, push, w, first_mode_hz)[0 if front else -1]
        error = error - np.interp(nominal % FINE, np.arange(FINE), at, period=FINE)
    when = np.interp((nominal + error + offset_deg)[keep], np.arange(len(t)), t)
    when = when + jitter_s * rng.standard_normal(len(when))
    marks = (np.arange(cycles + 3)[:, None] * 720.0 + CAM_DEG).ravel()
    cam = np.interp(marks, np.arange(len(t)), t)
    square = (omega.reshape(-1, FINE)[4:] ** 2).mean(0)
    top = np.arange(z)[:, None] * step
    bottom = square[(top + np.arange(-step // 2, step // 2)) % FINE].min(1)
    dips = square[(top - np.arange(step)) % FINE].max(1) - bottom
    rises = square[(top + np.arange(step)) % FINE].max(1) - bottom
    half = top[:, 0] + step // 2
    net = square[half % FINE] - square[(half - step) % FINE]
    return Recording(when, nominal[keep], cam, own / (cycles + 2), interval / (cycles + 2), dips, rises, net)


def twist_deg(e: Engine, push: np.ndarray, speed_rad_s: float, first_mode_hz: float) -> np.ndarray:
    """How far each inertia of an elastic crank (pulley, throws, flywheel) is ahead of the rigid one, (p, FINE) deg.

    All modes at once, harmonic by harmonic: (K (1 + 0.08 j) - w^2 M) x = T (textbook); the springs between neighbours
    are alike and as stiff as the first mode asks for. ``push`` (z, FINE) is the gas torque by firing position.
    """
    throws = 4 if e.z == 8 else e.z
    throw = (np.array(ORDERS[e.z]) - 1) // (e.z // throws)  # two cylinders of an eight share one
    mass = np.array([0.06, *[0.32 / throws] * throws, 0.62]) * e.inertia
    spring = np.diag(np.r_[1.0, np.full(throws, 2.0), 1.0]) - np.eye(throws + 2, k=1) - np.eye(throws + 2, k=-1)
    own = np.sort(np.linalg.eigvals(spring / mass[:, None]).real)[1]
    spring *= (2 * np.pi * first_mode_hz) ** 2 / own
    _, _, dy = _geometry(e)
    swing = np.roll(-e.mass * e.radius**2 * speed_rad_s**2 * dy * np.gradient(dy, np.radians(1)), -360)
    torque = np.zeros((throws + 2, FINE))
    for k in range(e.z):
        torque[1 + throw[k]] += push[k] + np.roll(swing, k * FINE // e.z)
    force = np.fft.rfft(torque)
    moved = np.zeros_like(force)
    for h in range(1, 60):
        dynamic = spring * (1 + 0.08j) - (0.5 * h * speed_rad_s) ** 2 * np.diag(mass)
        moved[:, h] = np.linalg.solve(dynamic, force[:, h])
    moved -= mass @ moved / mass.sum()
    return np.degrees(np.fft.irfft(moved, FINE))


CAM_DEG = np.array([70.0, 250.0, 430.0, 610.0, 652.0])


def profile(e: Engine, teeth: int = 60, missing: int = 2) -> EngineProfile:
    """Its profile."""
    return EngineProfile(
        ignition="compression", cylinders=e.z, firing_order=ORDERS[e.z],
        crank_wheel=CrankWheel(teeth=teeth, missing=missing, first_edge_deg=84.0),
        cam_wheel=CamWheel(edges_deg=CAM_DEG.tolist()),
    )  # fmt: skip


def record(e: Engine, made: Recording, *, cam: bool = True, teeth: int = 60, missing: int = 2) -> Record:
    """What a session would hold of it: crank and cam edges alone."""
    falling = {"crank": made.t + 1.0} | ({"cam": made.cam + 1.0} if cam else {})
    capture = SensorCapture("crank.csv", Edges(rising_s={}, falling_s=falling))
    return Record(
        captures=(), channels=ChannelSet({}), states=DriveStates(), profile=profile(e, teeth, missing),
        sensors=(capture,),
    )  # fmt: skip


def by_cylinder(e: Engine, by_position: np.ndarray) -> np.ndarray:
    """From firing order into cylinder order."""
    out = np.empty(e.z)
    out[np.array(ORDERS[e.z]) - 1] = by_position
    return out
