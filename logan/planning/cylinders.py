"""The smallest lack of work of one cylinder that planned cycles at idle would show."""

from __future__ import annotations

import bisect
import functools
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp import cylinder_work, gas_torque

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

TEETH_PER_ORDER: Final = 3.5
GRID: Final = np.geomspace(0.01, 1.2, 60)
"""Shares of the mean work that are tried."""
FROM_ONE_END: Final = 0.618
"""Next firing, as a share of the row of cylinders: firing orders spread their neighbours so (judgement)."""
Z_95: Final = 1.959964
Z_POWER: Final = 0.841621


@dataclass(frozen=True, slots=True)
class Idle:
    """An engine at idle whose crank is recorded; ``scatter`` of the work of one firing, as a share of the mean."""

    cylinders: int
    teeth: int
    speed_rpm: float
    cycles: int
    ignition: str
    scatter: float

    @property
    def orders(self) -> int:
        """Half orders that the wheel resolves."""
        return min(4 * self.cylinders, int(2 * self.teeth / TEETH_PER_ORDER))

    @property
    def speed_rad_s(self) -> float:
        """Speed."""
        return self.speed_rpm * math.pi / 30.0

    @property
    def level(self) -> float:
        """Mean work of a firing as twice the work over the inertia, rad2/s2, from how fast engines stop."""
        return 2.0 * self.speed_rad_s / cylinder_work.STOPS_WITHIN_S[0] * 4.0 * math.pi / self.cylinders


def spectrum(engine: Idle, lacks: float, random: np.random.Generator) -> Complex:
    """Half orders of speed squared of each cycle, (c, h), when the first cylinder lacks a share of the mean work."""
    z = engine.cylinders
    work = engine.level * engine.scatter * random.standard_normal((engine.cycles, z))
    work[:, 0] -= engine.level * lacks
    work -= work.mean()
    half_orders = np.arange(1, engine.orders + 1)
    kind = cylinder_work.KINDS[engine.ignition]
    shape = gas_torque.shapes(kind.ratio[0], kind.start_deg[0], kind.burn_deg[0]).combustion
    pulse = gas_torque.harmonics(shape, half_orders) / (0.5j * half_orders)
    turn = np.exp(-0.5j * half_orders[:, None] * np.radians(720.0 / z) * np.arange(z))
    out: Complex = work @ (pulse[:, None] * turn).T
    return out


def read(engine: Idle, lacks: float, random: np.random.Generator, fixed: float) -> tuple[float, float, float]:
    """Share of work that the first cylinder seems to give beyond the mean, half of its interval, and its scatter.

    Through ``dsp.cylinder_work.balance``, with teeth off their places by the usual amount; the mean work is known to
    what a run-down of engines of the kind tells, and ``fixed`` is left open besides, as a share of it.
    """
    orders = np.arange(1, engine.orders + 1) / 2.0
    error = cylinder_work.tooth_error(engine.speed_rad_s, orders, cylinder_work.USUAL_TOOTH_DEG, engine.teeth)
    found = cylinder_work.balance(
        spectrum(engine, lacks, random), engine.cylinders, engine.speed_rad_s, engine.level, engine.ignition, error,
        place=np.argsort(np.arange(engine.cylinders) * FROM_ONE_END % 1.0).astype(np.int64),
    )  # fmt: skip
    share = float(found.beyond[0]) / engine.level
    carried = 0.5 * (1.0 - cylinder_work.interval_share(engine.cylinders, engine.ignition))
    neighbour = float(found.beyond[0] - found.beyond[-1]) / engine.level
    additive = np.linalg.norm([math.sqrt(found.covariance[0, 0]) / engine.level, carried * neighbour, fixed])
    known = 1.0 - math.exp(-Z_95 * cylinder_work.STOPS_WITHIN_S[1])
    half = math.hypot(Z_95 * float(additive), known * abs(share))
    scatter = float(np.std(found.each[:, 0])) / engine.level / math.sqrt(engine.cycles)
    return share, half, scatter


@functools.lru_cache(maxsize=32)
def smallest(engine: Idle, fixed: float) -> float:
    """Smallest lack of work whose interval leaves zero in 80 % of recordings, share of the mean; inf: none."""
    if engine.orders <= engine.cylinders or engine.cycles < 2:
        return math.inf

    def shown(k: int) -> bool:
        share, half, scatter = read(engine, float(GRID[k]), np.random.default_rng(1), fixed)
        return -share - half > Z_POWER * math.hypot(scatter, fixed)

    k = bisect.bisect_left(range(len(GRID)), True, key=shown)
    return float(GRID[k]) if k < len(GRID) else math.inf
