"""Engines written apart from the program (tests/cylinders_crank.py): which cylinder is weak, and by how much.

Drawn anew for each run: size, inertia, friction and masses of the engine, scatter from cycle to cycle, tolerance of the
teeth, run-out. Noise of the edge times 0.2 to 2 us: at least what the 60 dB of the public six-cylinder data amounts to.
"""

from __future__ import annotations

import numpy as np

from accuracy import Case, Sample
from logan.measures.cranking import COMPRESSION, LOSS
from logan.measures.cylinders import CONTRIBUTION, cylinders
from logan.measures.wheel_reading import read
from logan.model.measure import Measure
from tests.cylinders_crank import ORDERS, Engine, by_cylinder, record, run

NAME = "wrong cylinder names"
SPREAD = 0.25
"""Of the logarithms of inertia and of friction from engine to engine: flywheels for one or two masses, oil cold or hot,
generator and other drives idle or loaded (common practice, no source)."""


def engine(rng: np.random.Generator) -> Engine:
    """Four or six cylinders."""
    size = float(rng.uniform(0.3, 1.0))
    z = int(rng.choice([4, 6]))
    return Engine(
        z=z, litres=size, ratio=rng.uniform(15.5, 18.5), rod=rng.uniform(0.27, 0.33),
        inertia=0.75 * size * np.exp(SPREAD * rng.standard_normal()) * z / 4.0, mass=2.0 * size * rng.uniform(0.8, 1.2),
        radius=0.0567 * size ** (1.0 / 3.0), friction=60.0 * size * np.exp(SPREAD * rng.standard_normal()) * z / 4.0,
        starter=520.0 * size * z / 4.0, burn_from=rng.uniform(-4.0, 4.0), premixed=rng.uniform(0.1, 0.5),
    )  # fmt: skip


def misnamed(m: Measure, word: str, worst: int) -> float:
    """1 where one cylinder alone is named and it is another one."""
    text = next((note for note in m.notes if note.startswith(word)), "")
    return float("another one does not" in text and f"cylinder {worst + 1};" not in text)


def weak(seed: int, *, elastic: bool = False) -> dict[str, Sample]:
    """One cylinder that gives 25 to 90 % less, on a rigid crank or an elastic one."""
    rng = np.random.default_rng([11, seed])
    e = engine(rng)
    position = int(rng.integers(e.z))
    work = np.ones(e.z) + 0.03 * rng.standard_normal(e.z)
    work[position] -= rng.uniform(0.25, 0.9)
    made = run(
        e, cycles=60, rpm=rng.uniform(650.0, 850.0), work=work, scatter=rng.uniform(0.01, 0.05),
        jitter_s=rng.uniform(2e-7, 2e-6), pitch_deg=rng.uniform(0.02, 0.1), runout=rng.uniform(0.0, 0.00125), seed=seed,
        first_mode_hz=rng.uniform(150.0, 400.0) if elastic else 0.0, front=bool(rng.integers(2)),
    )  # fmt: skip
    held = record(e, made)
    found = {m.name: m for m in cylinders(held, read(held)) if isinstance(m, Measure)}
    if CONTRIBUTION not in found:
        return {}
    m = found[CONTRIBUTION]
    truth = by_cylinder(e, 100.0 * (made.interval / made.interval.mean() - 1.0))
    worst, other = int(np.argmin(truth)), int(np.argmax(truth))
    wrong = misnamed(m, "weak", worst)
    return {
        NAME: Sample(wrong, wrong, wrong, 0.0),
        CONTRIBUTION: Sample(m.value[worst], m.low[worst], m.high[worst], truth[worst]),
        CONTRIBUTION + ", best": Sample(m.value[other], m.low[other], m.high[other], truth[other]),
    }


def leaking(seed: int) -> dict[str, Sample]:
    """One cylinder that leaks, turned by the starter."""
    rng = np.random.default_rng([12, seed])
    e = engine(rng)
    position = int(rng.integers(e.z))
    leak = np.zeros(e.z)
    leak[position] = rng.uniform(0.3, 2.0)
    made = run(
        e, cycles=14, rpm=rng.uniform(180.0, 260.0), leak=leak, jitter_s=rng.uniform(2e-7, 2e-6),
        pitch_deg=rng.uniform(0.02, 0.1), runout=rng.uniform(0.0, 0.00125), crank=True, seed=seed,
    )  # fmt: skip
    held = record(e, made)
    found = {m.name: m for m in cylinders(held, read(held)) if isinstance(m, Measure)}
    if COMPRESSION not in found:
        return {}
    m = found[COMPRESSION]
    depth = made.dips if rng.random() < 0.5 else made.dips + made.rises  # what a dip's depth is, is a matter of words
    truth = by_cylinder(e, 100.0 * depth / depth.max())
    worst = int(np.argmin(truth))
    wrong = misnamed(m, "lowest", worst)
    out = {
        NAME: Sample(wrong, wrong, wrong, 0.0),
        COMPRESSION: Sample(m.value[worst], m.low[worst], m.high[worst], truth[worst]),
    }
    if LOSS in found:
        m = found[LOSS]
        lost = by_cylinder(e, -100.0 * made.net / made.dips.max())  # of the exact speed at single degrees
        leaks = ORDERS[e.z][position] - 1
        other = int(rng.choice(np.delete(np.arange(e.z), leaks)))
        out[LOSS] = Sample(m.value[leaks], m.low[leaks], m.high[leaks], lost[leaks])
        out[LOSS + ", another"] = Sample(m.value[other], m.low[other], m.high[other], lost[other])
    return out


def weak_elastic(seed: int) -> dict[str, Sample]:
    """The same on a crank whose first torsional mode lies at 150 to 400 Hz (from memory), wheel at either end."""
    return weak(seed, elastic=True)


CASES = {
    "weak cylinder at idle": Case(
        (NAME, CONTRIBUTION, CONTRIBUTION + ", best"), weak, "25 to 90 % less work; wheel and noise drawn"
    ),
    "weak cylinder, elastic crank": Case(
        (NAME, CONTRIBUTION, CONTRIBUTION + ", best"),
        weak_elastic,
        "the same with a first torsional mode of 150 to 400 Hz, the wheel at the front or the flywheel",
    ),
    "leaking cylinder, cranked": Case(
        (NAME, COMPRESSION, LOSS, LOSS + ", another"),
        leaking,
        "one cylinder leaks; a name counts where it stands alone; the loss also of a sound one, drawn at random",
    ),
}
