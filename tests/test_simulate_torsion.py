"""Elastic crank against closed forms of torsional vibration; what it does to the orders and to the weak cylinder."""

from __future__ import annotations

import re

import numpy as np
import pytest
from numpy.typing import NDArray

from logan import simulate
from logan.errors import UsageError
from logan.measures import cylinders as measure
from logan.measures.wheel_reading import read
from logan.model.channel import ChannelSet
from logan.model.drive import DriveStates
from logan.model.measure import Measure
from logan.model.record import Record
from logan.model.sensor import Edges, SensorCapture
from logan.simulate import cycle, parameters, torsion
from logan.simulate.machine import Machine
from logan.simulate.spec import Spec, defects_over_time

Array = NDArray[np.float64]


def test_two_inertias_swing_at_the_closed_form() -> None:
    """w = sqrt(k (J1 + J2) / (J1 J2)), the node divides the shaft as J2 : J1 (textbook on torsional vibration)."""
    j1, j2, k = 0.35, 0.62, 3.5e5
    mode = torsion.first_mode(np.array([j1, j2]), np.array([k]))
    assert mode.rad_s == pytest.approx(np.sqrt(k * (j1 + j2) / (j1 * j2)), rel=1e-9)
    assert mode.shape[0] / mode.shape[1] == pytest.approx(-j2 / j1, rel=1e-9)


def test_three_inertias_swing_at_the_closed_form() -> None:
    """Roots of w^4 - w^2 (k1/J1 + (k1 + k2)/J2 + k2/J3) + k1 k2 (J1 + J2 + J3) / (J1 J2 J3) (textbook)."""
    j1, j2, j3, k1, k2 = 0.06, 0.3, 0.7, 9e5, 4e5
    a = k1 / j1 + (k1 + k2) / j2 + k2 / j3
    b = k1 * k2 * (j1 + j2 + j3) / (j1 * j2 * j3)
    mode = torsion.first_mode(np.array([j1, j2, j3]), np.array([k1, k2]))
    assert mode.rad_s**2 == pytest.approx((a - np.sqrt(a**2 - 4 * b)) / 2, rel=1e-9)


def test_static_twist_is_that_of_a_round_shaft() -> None:
    """twist = T L / (G Ip), Ip = pi d^4 / 32 (textbook), G of steel 80 GPa (from memory).

    The free shaft turns as a whole under T on one end, so only T J2 / (J1 + J2) passes through it.
    """
    j1, j2, torque = 0.35, 0.62, 400.0
    k = 80e9 * np.pi * 0.055**4 / 32 / 0.30
    mode = torsion.first_mode(np.array([j1, j2]), np.array([k]))
    time = np.arange(0, 0.4, torsion.GRID_S)
    held = torsion.response(time, np.full(len(time), mode.shape[0] * torque), mode.rad_s, 0.05)
    twist = (mode.shape[0] - mode.shape[1]) * held
    assert twist == pytest.approx(torque * j2 / (j1 + j2) / k, rel=1e-6)


def test_swing_after_a_step_is_the_closed_form() -> None:
    """q = F/w^2 (1 - e^(-d w t) (cos wd t + d w / wd sin wd t)), wd = w sqrt(1 - d^2) (textbook)."""
    w, d = 2 * np.pi * 180.0, 0.05
    time = np.arange(0, 0.5, torsion.GRID_S)
    after = time - 0.25
    swing = torsion.response(time, (after > 0).astype(float), w, d) * w**2
    wd = w * np.sqrt(1 - d**2)
    expected = 1 - np.exp(-d * w * after) * (np.cos(wd * after) + d * w / wd * np.sin(wd * after))
    assert swing[after > 0.002] == pytest.approx(expected[after > 0.002], abs=0.06)  # half a step of the grid
    assert swing[after < -0.002] == pytest.approx(0.0, abs=0.02)


@pytest.mark.parametrize("place", [1, 3, 6])
def test_first_mode_moves_the_front_as_the_whole_chain_does(place: int) -> None:
    """Harmonic torque on a throw: (K - w^2 M)^-1 T of all inertias, less the rigid turn (textbook)."""
    e = parameters.engines()["training_rotary_six"]
    mode = torsion.crank_mode(e.inertia_kgm2, e.flywheel_share, 6, e.throw_stiffness_nm_per_rad)
    rest = e.inertia_kgm2 * (1 - e.flywheel_share)
    inertia = np.array([0.15 * rest, *[0.85 * rest / 6] * 6, e.inertia_kgm2 * e.flywheel_share])
    k = np.zeros((8, 8))
    for i in range(7):
        k[i : i + 2, i : i + 2] += e.throw_stiffness_nm_per_rad * np.array([[1, -1], [-1, 1]])
    w = 2 * np.pi * 80.0  # order 6 at idle
    torque = np.eye(8)[place] * 100.0
    whole = np.linalg.solve(k - w**2 * np.diag(inertia), torque)[0] + 100.0 / (w**2 * e.inertia_kgm2)
    alone = mode.shape[0] * mode.shape[place] * 100.0 / (mode.rad_s**2 - w**2)
    assert alone == pytest.approx(whole, abs=0.3 * abs(mode.shape[0] * mode.shape[1]) * 100.0 / mode.rad_s**2)


@pytest.mark.parametrize("name", sorted(parameters.engines()))
def test_each_cylinder_acts_at_its_own_throw(name: str) -> None:
    z = parameters.profile(name).cylinders or 0
    asked = simulate.make_spec(profile=name)
    machine = Machine(asked, parameters.profile(name), parameters.engines()[name], np.random.default_rng(1))
    good = defects_over_time(asked)[0][1]
    machine.start = [int(np.searchsorted(cycle.START_DEG, 10.0))] * 3
    without = [machine.gas_torque(position, good) for position in range(z)]
    for fired, away in ((0, -1), (1, 0), (2, 1)):  # last, present and next firing
        machine.fuel = [20.0 * (k == fired) for k in range(3)]
        for position in range(z):
            moved = np.abs(machine.gas_torque(position, good) - without[position]).sum(axis=1)
            assert np.flatnonzero(moved).tolist() == [machine.tables.cylinder[(position + away) % z]]
    hardest = np.abs(machine.tables.closed).max(axis=2).argmax(axis=0)  # firing interval in which each is squeezed most
    opens = np.argsort(machine.tables.cylinder)
    assert set(((opens - hardest) % z).tolist()) <= {0, 1}


def test_starter_pushes_the_flywheel_and_friction_holds_the_throws() -> None:
    e = parameters.engines()["training_rotary_six"]
    shaft = torsion.Shaft.of(e, 6, np.zeros((6, 6, 40)), 1.0, 0)
    none = np.zeros((6, 40))
    front, flywheel = shaft.mode.shape[0], shaft.mode.shape[-1]
    assert (shaft.force(none, 0.0, -300.0) * flywheel > 0).all()  # the flywheel end goes ahead, the front lags
    assert (shaft.force(none, 0.0, -300.0) * front < 0).all()
    assert (shaft.force(none, 60.0, 0.0) * front < 0).all()
    along = np.array([front, *shaft.lever, flywheel])  # pulley, throws 1 to 6, flywheel: the mode falls from end to end
    assert (np.diff(along) * np.sign(front) < 0).all()


def test_crank_of_a_real_size() -> None:
    # first modes of crankshafts with flywheel: about 150 to 400 Hz, the lower the longer (from memory)
    found = {}
    for name, e in parameters.engines().items():
        throws = max(e.throws, default=parameters.profile(name).cylinders or 0)
        mode = torsion.crank_mode(e.inertia_kgm2, e.flywheel_share, throws, e.throw_stiffness_nm_per_rad)
        found[name] = mode.rad_s / (2 * np.pi)
    assert all(150 < hertz < 400 for hertz in found.values())
    assert min(found, key=lambda name: found[name]) == "training_rotary_six"


def spec(**keywords: object) -> Spec:
    common = {"drive": "idle_only", "duration_s": 45, "bus": None, "sensors": {"start_s": 15, "seconds": 30}}
    return simulate.make_spec(**common | keywords)


def test_rigid_crank_shows_its_teeth_where_they_are() -> None:
    made = simulate.run(spec(torsion=0))
    assert made.recording is not None
    wheel = made.recording.sensors["crank"]
    assert wheel.active_s == pytest.approx(made.run.motion.time_at(wheel.active_deg[: len(wheel.active_s)]), abs=1e-5)
    assert made.recording.twist_p2p_deg == 0


def test_teeth_come_early_by_the_twist() -> None:
    rigid, soft = (simulate.run(spec(torsion=softness)) for softness in (0, 1))
    np.testing.assert_array_equal(rigid.run.motion.time_s, soft.run.motion.time_s)
    assert rigid.recording is not None
    assert soft.recording is not None
    a, b = rigid.recording.sensors["crank"].active_s, soft.recording.sensors["crank"].active_s
    speed = np.interp(a, soft.run.motion.time_s, np.degrees(soft.run.motion.speed_rad_s))
    twist = soft.recording.twist.at(b)
    assert 0.1 < soft.truth()["also"]["crank_twist_p2p_deg"] < 0.5  # at the front of a six at idle
    assert (a - b) * speed == pytest.approx(twist, abs=0.02)  # degrees; the jitter of the sensor is the same in both


def orders_rpm(made: simulate.Simulation, wanted: tuple[float, ...]) -> Array:
    """Amplitudes of orders of the tooth speed, by a plain Fourier sum over whole cycles."""
    assert made.recording is not None
    wheel = made.recording.sensors["crank"]
    passed = wheel.active_deg[: len(wheel.active_s)]  # the last ones never came by
    speed = np.diff(passed) / np.diff(wheel.active_s) / 6.0
    angle = 0.5 * (passed[1:] + passed[:-1])
    first = np.ceil(angle[0] / 720) * 720
    even = np.arange(first, first + 720 * 150, 3.0)
    value = np.interp(even, angle, speed)
    return np.array([abs(2 * (value * np.exp(-1j * o * np.radians(even))).mean()) for o in wanted])


def test_only_low_orders_are_safe_from_torsion() -> None:
    # the frequency analysis of the crankshaft's speed variation, J. Eng. Gas Turbines Power 123(2), 2001 (abstract)
    common = {"fault": "cylinder_fuel_low", "size": 60, "cylinder": 1}
    rigid, soft = (orders_rpm(simulate.run(spec(torsion=t, **common)), (0.5, 1.0, 3.0, 6.0)) for t in (0, 1))
    change = np.abs(soft / rigid - 1)
    assert change[0] < 0.02
    assert change[1] < 0.1
    assert change[3] > 0.2  # at the front of the crank


def weakest(made: simulate.Simulation, name: str) -> tuple[Measure, Array]:
    assert made.recording is not None
    edges = made.recording.edges()
    seen = Edges(rising_s={k: e[0] for k, e in edges.items()}, falling_s={k: e[1] for k, e in edges.items()})
    record = Record(
        captures=(), channels=ChannelSet({}), states=DriveStates(), profile=parameters.profile(name),
        sensors=(SensorCapture("crank.csv", seen),),
    )  # fmt: skip
    results = measure.cylinders(record, read(record))
    found = next(r for r in results if isinstance(r, Measure) and r.name == measure.CONTRIBUTION)
    return found, np.array(made.truth()["measures"][measure.CONTRIBUTION])


@pytest.mark.parametrize("softness", [1.0, 2.0])
@pytest.mark.parametrize(
    ("name", "cylinder"),
    [("training_rotary_six", 1), ("training_rotary_six", 4), ("training_rotary_six", 6), ("training_rail_four", 3),
     ("training_rail_v8", 5), ("training_spark_four", 2)],
)  # fmt: skip
def test_weak_cylinder_keeps_its_name_on_an_elastic_crank(name: str, cylinder: int, softness: float) -> None:
    """Twice as soft as these cranks is as soft as real ones come (a first mode of 130 Hz on the six, from memory)."""
    faulty = spec(profile=name, torsion=softness, fault="cylinder_fuel_low", size=40, cylinder=cylinder, seed=cylinder)
    found, truth = weakest(simulate.run(faulty), name)
    low, high = np.array(found.low), np.array(found.high)
    assert int(np.argmin(found.value)) == cylinder - 1
    assert high[cylinder - 1] < 0
    assert np.mean((low <= truth) & (truth <= high)) > 0.8
    named = next(note for note in found.notes if note.startswith("weak"))
    assert named.startswith(f"weak: cylinder {cylinder}")


@pytest.mark.parametrize(("name", "cylinder", "size"), [("training_rail_v8", 4, 30), ("training_rotary_six", 6, 20)])
def test_a_crank_softer_than_any_leaves_the_name_open_rather_than_wrong(name: str, cylinder: int, size: int) -> None:
    """Where orders disagree: this cylinder or another one, its neighbour in firing first (a first mode of 90 Hz)."""
    faulty = spec(profile=name, torsion=5.0, fault="cylinder_fuel_low", size=size, cylinder=cylinder, seed=cylinder)
    found, _ = weakest(simulate.run(faulty), name)
    told = next(note for note in found.notes if note.startswith("weak"))
    assert str(cylinder) in re.findall(r"\d+", told)
    assert " or " in told


def test_good_engine_on_an_elastic_crank_has_no_weak_cylinder() -> None:
    found, truth = weakest(simulate.run(spec(torsion=2.0, seed=5)), "training_rotary_six")
    assert not [note for note in found.notes if note.startswith("weak")]
    assert ((np.array(found.low) <= truth) & (truth <= np.array(found.high))).all()


@pytest.mark.parametrize("softness", [-0.1, 11.0, float("nan")])
def test_a_crank_softer_than_any_is_refused(softness: float) -> None:
    with pytest.raises(UsageError, match="how soft the crank is"):
        spec(torsion=softness)
