"""Crank and cam edges in closed form: time is written down as a function of crank angle, and each edge is its value.

Nothing here comes from the demonstration simulator or from the measures. What repeats every turn and so does not
average out is drawn anew for each run: tolerance of single teeth 0.02 to 0.1 degrees of each wheel, an eccentric crank
wheel up to 0.1 mm at 80 mm radius, a sensor threshold whose angle falls with speed, rounding of the times, a crank and
cam drive that the forces of inertia twist by 0.06 degrees (standard deviation) from the lowest speed to the highest.
Sizes: common practice, no source (from memory). Bounds: Kay, Fundamentals of Statistical Signal Processing I (from
memory): for a linear model in white Gaussian noise the inverse of the Fisher information.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from accuracy import Case, Sample
from logan.measures.phase import cam_phase
from logan.measures.registry import Results
from logan.measures.wheel import crank_wheel
from logan.measures.wheel_reading import read
from logan.model.channel import ChannelSet
from logan.model.drive import DriveStates
from logan.model.measure import Measure
from logan.model.profile import CamWheel, CrankWheel, EngineProfile
from logan.model.record import Record
from logan.model.sensor import Edges, SensorCapture

Array = NDArray[np.float64]
Rng = np.random.Generator
DEG_PER_RPM_MS = 0.006
REFERENCE_RPM = 800.0

WHEELS = (
    CrankWheel(teeth=60, missing=2, first_edge_deg=12.0),
    CrankWheel(teeth=36, missing=1, first_edge_deg=25.0),
    CrankWheel(teeth=60, missing=4, first_edge_deg=40.0),
    CrankWheel(edges_deg=[10.0 * k for k in range(36) if k not in (5, 6, 14, 15, 32, 33)]),
)
CAMS = (
    (70.0, 190.0, 385.0, 590.0, 610.0),
    (33.0, 153.0, 273.0, 313.0, 393.0, 513.0, 633.0),
    (100.0, 460.0, 520.0),
    (81.0,),
    (50.0, 140.0, 230.0, 320.0, 410.0, 500.0, 590.0, 680.0, 700.0),
)


@dataclass(frozen=True)
class Motion:
    """Time over crank angle: slowness between two speeds in a slow swing, firing ripple that falls with speed squared.

    Parameters
    ----------
    low_rpm, high_rpm : range of speed
    swing_deg : crank angle of one slow swing
    phase_rad : where it begins
    ripple : ((order, relative amplitude of speed at 800 rpm, phase in rad), ...)
    """

    low_rpm: float
    high_rpm: float
    swing_deg: float
    phase_rad: float = 0.0
    ripple: tuple[tuple[float, float, float], ...] = ()

    def slowness(self, angle_deg: Array) -> Array:
        """Seconds a degree, without the ripple."""
        slow, fast = 1.0 / (6.0 * self.low_rpm), 1.0 / (6.0 * self.high_rpm)
        swing = np.cos(2.0 * np.pi * angle_deg / self.swing_deg + self.phase_rad)
        return np.asarray(0.5 * (slow + fast) + 0.5 * (slow - fast) * swing)

    def time(self, angle_deg: Array) -> Array:
        """Seconds at an angle."""
        slow, fast = 1.0 / (6.0 * self.low_rpm), 1.0 / (6.0 * self.high_rpm)
        turn = 2.0 * np.pi * angle_deg / self.swing_deg + self.phase_rad
        out = 0.5 * (slow + fast) * angle_deg + 0.5 * (slow - fast) * self.swing_deg / (2.0 * np.pi) * np.sin(turn)
        size = self.slowness(angle_deg) ** 3 * (6.0 * REFERENCE_RPM) ** 2
        for order, share, phase in self.ripple:
            out = out + size * share * np.degrees(np.sin(order * np.radians(angle_deg) + phase)) / order
        return np.asarray(out)


@dataclass(frozen=True)
class Setting:
    """One drawn recording: what is true of it and what disturbs it."""

    motion: Motion
    wheel: CrankWheel
    cam: tuple[float, ...]
    turns: int
    start_deg: float = 37.0
    fixed_deg: float = 0.0
    delay_ms: float = 0.0
    drift_deg_per_min: float = 0.0
    jitter_deg: float = 0.0
    stamp_s: float = 0.0  # white noise of every edge time
    resolution_s: float = 0.0
    tooth_deg: float = 0.0
    target_deg: float = 0.0
    runout: complex = 0j  # of the spacing, as a share
    crank_threshold_deg: float = 0.0  # at 800 rpm
    cam_threshold_deg: float = 0.0
    twist_deg: float = 0.0  # of the cam against the crank at the highest speed, less that at the lowest
    crank_lost: float = 0.0
    cam_lost: float = 0.0
    extra: dict[str, object] = field(default_factory=dict)

    @property
    def end_deg(self) -> float:
        """Last angle of the record."""
        return self.start_deg + 360.0 * self.turns

    @property
    def middle_s(self) -> float:
        """Middle of the record."""
        ends = self.motion.time(np.array([self.start_deg, self.end_deg]))
        return float(ends.mean())

    def cam_nominal_deg(self) -> Array:
        """Expected angles of the cam edges inside the record."""
        cycles = np.arange(self.end_deg // 720.0 + 1)
        nominal = (720.0 * cycles[:, None] + np.array(self.cam)).ravel()
        return nominal[(nominal > self.start_deg) & (nominal < self.end_deg)]


def record(s: Setting, rng: Rng) -> Record:
    """The recording as the measures get it."""
    teeth = np.array(s.wheel.angles_deg())
    turns = np.arange(s.turns + 2)
    angle = (360.0 * turns[:, None] + teeth + s.tooth_deg * rng.standard_normal(len(teeth))).ravel()
    # where a wheel is off centre its teeth stand off by the integral of the ripple of their spacing
    angle = angle + np.degrees(np.real(s.runout / 1j * np.exp(1j * np.radians(angle))))
    angle = angle[(angle > s.start_deg) & (angle < s.end_deg)]
    crank = s.motion.time(angle + s.crank_threshold_deg * relative(s, angle))
    own = s.target_deg * rng.standard_normal(len(s.cam))
    nominal = s.cam_nominal_deg()
    edge = np.searchsorted(s.cam, nominal % 720.0)
    seen = nominal + s.fixed_deg + own[edge] + s.jitter_deg * rng.standard_normal(len(nominal))
    seen = seen + s.drift_deg_per_min * (s.motion.time(nominal) - s.middle_s) / 60.0
    seen = seen + s.twist_deg * twisted(s, nominal)
    cam = s.motion.time(seen + s.cam_threshold_deg * relative(s, seen)) + 1e-3 * s.delay_ms
    content = Edges(
        rising_s={}, falling_s={"crank": stamped(s, crank, s.crank_lost, rng), "cam": stamped(s, cam, s.cam_lost, rng)},
        resolution_s=s.resolution_s,
    )  # fmt: skip
    profile = EngineProfile(
        name="drawn",
        cylinders=4,
        firing_order=[1, 3, 4, 2],
        crank_wheel=s.wheel,
        cam_wheel=CamWheel(edges_deg=[*s.cam]),
    )
    return Record(
        captures=(), channels=ChannelSet({}), states=DriveStates.__new__(DriveStates), profile=profile,
        sensors=(SensorCapture("edges.csv", content),),
    )  # fmt: skip


def relative(s: Setting, angle_deg: Array) -> Array:
    """Speed of 800 rpm against the speed there: a threshold's angle grows as a coil's voltage falls."""
    return s.motion.slowness(angle_deg) * 6.0 * REFERENCE_RPM


def twisted(s: Setting, angle_deg: Array) -> Array:
    """0 at the lowest speed to 1 at the highest, with the square of speed as forces of inertia grow."""
    low, high = s.motion.low_rpm**2, s.motion.high_rpm**2
    return np.asarray((np.square(1.0 / (6.0 * s.motion.slowness(angle_deg))) - low) / max(high - low, 1.0))


def stamped(s: Setting, t: Array, lost: float, rng: Rng) -> Array:
    """Times as recorded: noise, lost edges, rounding."""
    t = np.sort(t + s.stamp_s * rng.standard_normal(len(t)))
    t = t[rng.random(len(t)) >= lost] if lost else t
    return np.round(t / s.resolution_s) * s.resolution_s if s.resolution_s else t


def stated(results: Results) -> dict[str, Measure]:
    """What was stated, by name."""
    return {r.name: r for r in results if isinstance(r, Measure)}


def cam_of(r: Record) -> dict[str, Measure]:
    """What is stated of the cam."""
    return stated(cam_phase(r, read(r)))


def against(
    found: dict[str, Measure], truth: dict[str, float], bound: dict[str, float] | None = None
) -> dict[str, Sample]:
    """Values beside their truths."""
    return {
        name: Sample(m.value, m.low, m.high, truth[name], (bound or {}).get(name, np.nan))
        for name, m in found.items()
        if name in truth
    }


def phase_truth(s: Setting) -> dict[str, float]:
    """True terms of the cam's phase."""
    return {
        "cam_phase_error_deg": s.fixed_deg, "cam_phase_delay_ms": s.delay_ms,
        "cam_phase_drift_deg_per_min": s.drift_deg_per_min, "cam_phase_jitter_deg": s.jitter_deg,
    }  # fmt: skip


def phase_bound(s: Setting, terms: tuple[str, ...]) -> dict[str, float]:
    """Least standard deviation of the terms that are unknown, with the teeth beside each cam edge as the reference."""
    nominal = s.cam_nominal_deg()
    teeth = np.array(s.wheel.angles_deg())
    before = np.searchsorted(teeth, nominal % 360.0, side="right") - 1
    left = np.where(before < 0, teeth[-1] - 360.0, teeth[before])
    right = np.where(before == len(teeth) - 1, teeth[0] + 360.0, teeth[(before + 1) % len(teeth)])
    f = (nominal % 360.0 - left) / (right - left)
    rpm = 1.0 / (6.0 * s.motion.slowness(nominal))
    variance = (6.0 * rpm) ** 2 * s.stamp_s**2 * (1.0 + (1.0 - f) ** 2 + f**2) + s.jitter_deg**2
    columns = {
        "cam_phase_error_deg": np.ones(len(nominal)),
        "cam_phase_delay_ms": DEG_PER_RPM_MS * rpm,
        "cam_phase_drift_deg_per_min": (s.motion.time(nominal) - s.middle_s) / 60.0,
    }
    design = np.column_stack([columns[name] for name in terms])
    inverse = np.linalg.inv(design.T @ (design / variance[:, None]))
    bound = dict(zip(terms, np.sqrt(np.diag(inverse)).tolist(), strict=True))
    bound["cam_phase_jitter_deg"] = s.jitter_deg / np.sqrt(2.0 * len(nominal))
    return bound


TERMS = ("cam_phase_error_deg", "cam_phase_delay_ms", "cam_phase_drift_deg_per_min")
CAM = (*TERMS, "cam_phase_jitter_deg")


def firing(rng: Rng, cylinders: int = 4) -> tuple[tuple[float, float, float], ...]:
    """Ripple of speed of an idling engine: firing order and its double, a little of the half order."""
    order = cylinders / 2.0
    return tuple(
        (o, share * rng.uniform(0.3, 1.0), rng.uniform(0.0, 2.0 * np.pi))
        for o, share in ((order, 0.02), (2.0 * order, 0.006), (0.5, 0.003), (1.0, 0.002))
    )


def one_speed(seed: int) -> dict[str, Sample]:
    """Clean edges at one steady speed: white noise of the times alone."""
    rng = np.random.default_rng([1, seed])
    rpm = rng.uniform(600.0, 2500.0)
    s = Setting(
        Motion(rpm, rpm, 1e5), WHEELS[rng.integers(len(WHEELS))], CAMS[rng.integers(len(CAMS))], 300,
        start_deg=rng.uniform(0.0, 720.0), fixed_deg=rng.uniform(-3.0, 3.0), stamp_s=rng.uniform(1e-6, 8e-6),
    )  # fmt: skip
    name = CAM[0]
    return against(cam_of(record(s, rng)), {name: s.fixed_deg}, phase_bound(s, (name,)))


def many_speeds(seed: int) -> dict[str, Sample]:
    """Clean edges over a range of speeds: white noise of the times, or scatter of the cam, alone."""
    rng = np.random.default_rng([2, seed])
    low = rng.uniform(650.0, 1000.0)
    noisy = rng.random() < 0.5
    s = Setting(
        Motion(low, low * rng.uniform(2.0, 4.0), 360.0 * rng.uniform(150.0, 400.0), rng.uniform(0.0, 6.0)),
        WHEELS[rng.integers(len(WHEELS))], CAMS[rng.integers(len(CAMS))], 1000,
        start_deg=rng.uniform(0.0, 720.0), fixed_deg=rng.uniform(-3.0, 3.0), delay_ms=rng.uniform(-0.3, 0.5),
        drift_deg_per_min=rng.uniform(-2.0, 2.0), stamp_s=rng.uniform(1e-6, 8e-6) if noisy else 2e-7,
        jitter_deg=0.0 if noisy else rng.uniform(0.05, 1.0),
    )  # fmt: skip
    truth = phase_truth(s)
    if noisy:
        del truth[CAM[3]]
    return against(cam_of(record(s, rng)), truth, phase_bound(s, TERMS))


def drawn(rng: Rng, low: float, high: float, turns: int) -> Setting:
    """A recording with all that does not average out."""
    wheel, cam = WHEELS[rng.integers(len(WHEELS))], CAMS[rng.integers(len(CAMS))]
    return Setting(
        Motion(low, high, 360.0 * rng.uniform(0.3, 1.0) * turns, rng.uniform(0.0, 6.3), firing(rng)), wheel, cam, turns,
        start_deg=rng.uniform(0.0, 720.0), fixed_deg=rng.choice([0.0, rng.uniform(-12.0, 12.0)]),
        delay_ms=rng.choice([0.0, rng.uniform(0.0, 0.5)]), drift_deg_per_min=rng.choice([0.0, rng.uniform(-2.0, 2.0)]),
        jitter_deg=10.0 ** rng.uniform(-1.3, 0.1), stamp_s=rng.uniform(2e-7, 3e-6),
        resolution_s=float(rng.choice([0.0, 1e-7, 1e-6, 1e-5])), tooth_deg=rng.uniform(0.02, 0.1),
        target_deg=2.0 * rng.uniform(0.02, 0.1) if rng.random() < 0.5 else rng.uniform(0.02, 0.1),
        runout=0.1 / 80.0 * rng.uniform(0.0, 1.0) * np.exp(2j * np.pi * rng.random()),
        crank_threshold_deg=rng.uniform(-0.1, 0.1), cam_threshold_deg=rng.uniform(-0.1, 0.1),
        twist_deg=0.06 * rng.standard_normal(),
    )  # fmt: skip


def workshop(seed: int) -> dict[str, Sample]:
    """Idle and raised speed with everything that does not average out."""
    rng = np.random.default_rng([3, seed])
    low = rng.uniform(650.0, 900.0)
    s = drawn(rng, low, low * rng.uniform(1.5, 4.0), int(rng.uniform(300, 1500)))
    return against(cam_of(record(s, rng)), phase_truth(s))


def idle_only(seed: int) -> dict[str, Sample]:
    """Idle alone with everything that does not average out: the phase at the speed seen."""
    rng = np.random.default_rng([4, seed])
    low = rng.uniform(650.0, 900.0)
    s = drawn(rng, low, 1.05 * low, int(rng.uniform(200, 600)))
    truth = phase_truth(s)
    nominal = s.cam_nominal_deg()
    rpm = 1.0 / (6.0 * s.motion.slowness(nominal))
    truth["cam_phase_at_speed_deg"] = s.fixed_deg + DEG_PER_RPM_MS * s.delay_ms * float(np.mean(rpm))
    return against(cam_of(record(s, rng)), truth)


def health(seed: int) -> dict[str, Sample]:
    """Lost edges of both wheels and an eccentric crank wheel, at idle and above."""
    rng = np.random.default_rng([5, seed])
    low = rng.uniform(650.0, 900.0)
    s = drawn(rng, low, low * rng.uniform(1.5, 3.0), int(rng.uniform(300, 800)))
    eccentric = rng.choice([0.0, rng.uniform(0.002, 0.02)])
    lost = 10.0 ** rng.uniform(-4.5, -3.0, 2)
    s = Setting(**{
        **{k: getattr(s, k) for k in s.__dataclass_fields__},
        "runout": eccentric * np.exp(2j * np.pi * rng.random()), "crank_lost": lost[0], "cam_lost": lost[1],
    })  # fmt: skip
    r = record(s, rng)
    truth = {
        "crank_dropouts_per_1000rev": 1000.0 * lost[0] * len(s.wheel.angles_deg()),
        "cam_dropouts_per_1000rev": 500.0 * lost[1] * len(s.cam),
        "crank_wheel_runout_percent": 100.0 * eccentric,
    }
    return against({**cam_of(r), **stated(crank_wheel(r, read(r)))}, truth)


CASES = {
    "clean edges, one speed": Case(CAM[:1], one_speed, "white noise of 1 to 8 us on every edge, nothing else"),
    "clean edges, many speeds": Case(
        CAM, many_speeds, "white noise of the times, or scatter of the cam, alone; speed over a factor of 2 to 4"
    ),
    "workshop recording": Case(
        CAM,
        workshop,
        "idle and raised speed, tolerances of both wheels, run-out, thresholds, twist, rounding up to 10 us",
    ),
    "idle alone": Case(
        (CAM[0], "cam_phase_at_speed_deg", *CAM[2:]),
        idle_only,
        "the same at one speed, where an angle and a delay look alike",
    ),
    "crank wheel": Case(
        ("crank_dropouts_per_1000rev", "cam_dropouts_per_1000rev", "crank_wheel_runout_percent"),
        health,
        "lost edges and an eccentric wheel; all else as in the workshop recording",
    ),
}
