"""The engine driven through its script: exact values of everything over time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from logan.simulate import parameters
from logan.simulate.crank import Motion
from logan.simulate.cycle import Array
from logan.simulate.injection import Timing
from logan.simulate.machine import STANDING_S, Machine
from logan.simulate.spec import Spec, defects_over_time
from logan.simulate.torsion import Shaft


@dataclass(frozen=True, slots=True)
class Firings:
    """Every whole firing interval of the run.

    Parameters
    ----------
    time_s : (k,) s, its start: top dead centre of ``cylinder``
    cylinder : (k,) number of the cylinder, from 1
    gas_work_j : (k,) work of the gas of all cylinders over the interval, J
    own_work_j : (k,) work of that cylinder's gas over its whole cycle, J (without what its valves pump)
    load_work_j : (k,) work that the driveline took over the interval, J
    """

    time_s: Array
    cylinder: NDArray[np.int64]
    gas_work_j: Array
    own_work_j: Array
    load_work_j: Array


@dataclass(frozen=True, slots=True)
class Run:
    """What the engine did: exact values, before any sensor or bus.

    Parameters
    ----------
    trace : column name -> (n,) value at ``trace["time_s"]``
    correction : (n, z) percent, balance correction of each cylinder
    """

    trace: dict[str, Array]
    correction: Array
    motion: Motion
    shaft: Shaft
    firings: Firings
    timing: Timing
    end_s: float


def drive(spec: Spec, rng: np.random.Generator) -> Run:
    """Drive one engine through its script."""
    machine = Machine(spec, parameters.profile(spec.profile), parameters.engine(spec.profile), rng)
    changes = defects_over_time(spec)
    index = 0
    rows: list[dict[str, float]] = []
    corrections: list[list[float]] = []
    while not machine.driver.done and (spec.duration_s is None or machine.now_s < spec.duration_s):
        while index + 1 < len(changes) and machine.now_s >= changes[index + 1][0]:
            index += 1
        d = changes[index][1]
        if machine.driver.starting and not machine.crank.turning:
            machine.crank.start(machine.now_s)
            machine.shaft.rest()
            machine.started_node = machine.crank.node
        if machine.crank.turning:
            machine.interval(d)
        else:
            machine.fuel = [0.0, 0.0, 0.0]
            machine.line.step(STANDING_S, 0.0, True, machine.engine.inertia_kgm2)
            machine.now_s += STANDING_S
            machine.move(STANDING_S, d)
        rows.append(machine.record())
        corrections.append(machine.balance.correction.copy())
    firings = machine.firings
    return Run(
        trace={name: np.array([row[name] for row in rows]) for name in machine.record()},
        correction=np.array(corrections),
        motion=machine.crank.motion(),
        shaft=machine.shaft,
        firings=Firings(
            np.array([f.time_s for f in firings]),
            np.array([f.cylinder for f in firings], np.int64),
            np.array([f.gas_work_j for f in firings]),
            np.array([f.own_work_j for f in firings]),
            np.array([f.load_work_j for f in firings]),
        ),
        timing=machine.timing,
        end_s=machine.now_s,
    )
