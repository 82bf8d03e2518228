"""What each cylinder holds while the starter turns the engine: depth of its dip in speed squared, and what it loses."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp import cylinder_work, stats
from logan.dsp.crank_speed import SAMPLES, Cycles
from logan.measures.crank_cycles import CrankRecord
from logan.measures.cylinder_lists import in_cylinder_order, named, provenance
from logan.measures.registry import Results, all_missing
from logan.model.measure import Measure
from logan.model.record import Record

Array = NDArray[np.float64]

COMPRESSION: Final = "cylinder_compression_percent"
LOSS: Final = "cylinder_cranking_loss_percent"
NAMES: Final = (COMPRESSION, LOSS)

FEWEST_CRANKING: Final = 3
LEAST_DEPTH: Final = 0.02
"""Standard uncertainty of one dip against another (teeth, overlap of neighbours), share of the deepest (judgement)."""
LEAST_LOSS: Final = 0.02
"""Standard uncertainty of one net change against another (heat, friction, a dip's depth), share of the deepest dip."""
LOW_FROM: Final = 0.06
"""The same of the deepest dip."""
LEAST_DIP: Final = 0.02
"""Share of speed squared that the deepest dip has at least (an engine that is cranked loses a tenth or more)."""


def cranked(record: Record, source: CrankRecord, chosen: Cycles) -> Results:
    """Compression and loss of each cylinder while the starter turns the engine."""
    z = len(record.profile.firing_order)
    why = ""
    highest = min(3 * z, int(0.6 * source.teeth))
    if len(chosen) < FEWEST_CRANKING:
        why = f"{len(chosen)} cycles of cranking after the first two were recorded; {FEWEST_CRANKING} are needed"
    elif source.teeth < 4 * z:
        why = f"a crank wheel of {source.teeth} places is too coarse for {z} cylinders"
    elif dips(smooth(chosen.ripple.mean(axis=0), highest), z)[0].max() < LEAST_DIP * chosen.speed_rad_s.mean() ** 2:
        why = "the cranking speed shows no dips of compression"
    if why:
        yield from all_missing((COMPRESSION, LOSS), why)
        return
    yield _compression(record, source, chosen, highest)
    yield _loss(record, source, chosen, highest)


def _wheel_doubt(source: CrankRecord, mean: Array, z: int, speed_rad_s: float, highest: int) -> float:
    """Standard uncertainty of a difference of speed squared at two places, by teeth off their own, rad2/s2."""
    off_deg = cylinder_work.tooth_deg(mean, z, speed_rad_s, source.teeth)
    error = cylinder_work.tooth_error(speed_rad_s, np.arange(1.0, highest // 2 + 1), off_deg, source.teeth)
    return float(np.sqrt(2.0 * np.sum(error**2)))


def _loss(record: Record, source: CrankRecord, chosen: Cycles, highest: int) -> Measure:
    """What each cylinder takes from the crank across its top dead centre and does not give back.

    Gas that is compressed and expands again gives its work back but for heat and blow-by, so speed squared half a
    firing interval after top dead centre is what it was half an interval before, but for what leaked. The pistons stand
    alike at both places, so their own inertia takes nothing. The starter pushes less the faster it turns: less while a
    leaking cylinder slows it less, and more after it, so that the leak counts for more than its gas and the next
    cylinder seems to give work. That is part of the value, as the measure is of the crank.
    """
    z = len(record.profile.firing_order)
    mean = smooth(chosen.ripple.mean(axis=0), highest)
    deepest = float(dips(mean, z)[0].max())
    lost = -net_change(mean, z) / deepest
    noise = np.array([stats.mean(column).sd for column in net_change(smooth(chosen.ripple, highest), z).T]) / deepest
    raw = chosen.ripple.mean(axis=0)
    wheel = _wheel_doubt(source, raw, z, float(chosen.speed_rad_s.mean()), highest) / deepest
    sd = np.sqrt(noise**2 + LEAST_LOSS**2 + wheel**2)
    return Measure(
        name=LOSS, unit="%", value=in_cylinder_order(record, 100.0 * lost),
        low=in_cylinder_order(record, 100.0 * (lost - 1.96 * sd)),
        high=in_cylinder_order(record, 100.0 * (lost + 1.96 * sd)), n=len(chosen),
        provenance=provenance(source, chosen), statistical=100.0 * float(noise.max()),
        systematic=100.0 * float(np.hypot(LEAST_LOSS, wheel)),
        notes=["against the mean of all: cylinders that all leak alike would not show"],
    )  # fmt: skip


def net_change(ripple: Array, z: int) -> Array:
    """Change of speed squared from half a firing interval before each top dead centre to as much after it, (.., z)."""
    step = SAMPLES // z
    at = np.arange(z) * step
    before, after = at - step / 2.0, at + step / 2.0
    grid = np.arange(SAMPLES)
    rows = [
        np.interp(after, grid, row, period=SAMPLES) - np.interp(before, grid, row, period=SAMPLES)
        for row in np.atleast_2d(ripple)
    ]
    return np.array(rows if ripple.ndim > 1 else rows[0])


def _compression(record: Record, source: CrankRecord, chosen: Cycles, highest: int) -> Measure:
    z = len(record.profile.firing_order)
    mean = chosen.ripple.mean(axis=0)
    ahead, behind = dips(smooth(mean, highest), z)
    speed = float(chosen.speed_rad_s.mean())
    each = np.array([dips(row, z)[0] for row in smooth(chosen.ripple, highest)])
    best = int(np.argmax(ahead))
    value = ahead / ahead[best]
    noise = np.array([stats.mean(column).sd for column in each.T]) / ahead[best]
    # by its fall alone or by fall and rise: which of them a dip's depth is, is a matter of words (gas that a cylinder
    # loses it does not give back, so its rise is less), and the truth may lie anywhere between
    both = ahead + behind
    other = both / both[best]
    # teeth off their place: both ends of a fall, of the cylinder and of the best
    wheel = _wheel_doubt(source, mean, z, speed, highest) / ahead[best]
    sd = np.sqrt(noise**2 + (value * noise[best]) ** 2 + LEAST_DEPTH**2 + wheel**2 * (1.0 + value**2))
    low = np.maximum(np.minimum(value, other) - 1.96 * sd, 0.0)
    high = np.minimum(np.maximum(value, other) + 1.96 * sd, 1.0)
    form = 0.5 * np.abs(value - other) / np.sqrt(3.0)
    own = np.sqrt(noise**2 + form**2 + LEAST_DEPTH**2 + wheel**2)
    lowest = named(record, "lowest", value, np.hypot(own[:, None], own), LOW_FROM)
    return Measure(
        name=COMPRESSION, unit="%", value=in_cylinder_order(record, 100.0 * value),
        low=in_cylinder_order(record, 100.0 * low), high=in_cylinder_order(record, 100.0 * high), n=len(chosen),
        provenance=provenance(source, chosen), statistical=100.0 * float(noise.max()),
        systematic=100.0 * float(np.sqrt(form.max() ** 2 + LEAST_DEPTH**2 + 2.0 * wheel**2)),
        notes=["relative only: cylinders that are all alike low would not show", *([lowest] if lowest else [])],
    )  # fmt: skip


def smooth(ripple: Array, highest: int) -> Array:
    """Ripple without the half orders above a highest one, as ``ripple``."""
    spectrum = np.fft.rfft(ripple, axis=-1)
    spectrum[..., highest + 1 :] = 0.0
    out: Array = np.fft.irfft(spectrum, ripple.shape[-1], axis=-1)
    return out


def dips(ripple: Array, z: int) -> tuple[Array, Array]:
    """Fall of speed squared into, and rise out of, the dip at each top dead centre, (z,) rad2/s2."""
    step = SAMPLES // z
    top = np.arange(z) * step
    around = np.arange(-step // 2, step // 2 + 1)
    bottom = ripple[(top[:, None] + around) % SAMPLES].min(axis=1)
    before = ripple[(top[:, None] - np.arange(step + 1)) % SAMPLES].max(axis=1)
    after = ripple[(top[:, None] + np.arange(step + 1)) % SAMPLES].max(axis=1)
    return before - bottom, after - bottom
