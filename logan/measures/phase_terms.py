"""Terms of a phase over time: fixed part, delay, drift, the phase at the mean speed, jitter.

``phase = fixed + 0.006 N delay + drift (t - middle)``, fitted jointly and robustly; the fixed part is referred to zero
speed. Where the speed span cannot tell a delay, one that another record shows is taken off, else the interval of the
fixed part allows for one; the phase at the speed seen is stated in any case. Every interval allows for sensors that
switch at a fixed voltage, which shifts their edges by an angle that falls with speed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import msgspec
import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.decompose import Decomposition, decompose
from logan.measures.align import measure
from logan.model.measure import Measure, Missing, Provenance
from logan.units import DEG_PER_RPM_S

Array = NDArray[np.float64]

PRIOR_DELAY_MS: Final = 0.25
LONGEST_DELAY_MS: Final = 2.0  # that a bad wire, filter or sensor gives a cam's edge (judgement)
MOUNTED_DEG: Final = 1.0  # up to about so much is a sound sensor's mounting off (common practice, no source)
OTHER_INPUT_MS: Final = 0.1
"""How far the delay that a recorder sees may be off that of the control module: their inputs differ (judgement)."""
PRIOR_DRIFT_DEG_PER_MIN: Final = 1.0
SPEED_RATIO: Final = 1.3  # from which a delay is told from a fixed part
TOLD: Final = 0.3  # and where its uncertainty falls to this share of its prior
DRIFT_S: Final = 20.0
MOST_ROWS: Final = 500
THRESHOLD_DEG: Final = 0.08  # at the reference speed: a voltage that grows with speed meets a fixed one (assumption)
REFERENCE_RPM: Final = 800.0
OUTLIER_SD: Final = 4.0
DELAY_FLOOR_MS: Final = 0.003
TWIST_DEG: Final = 0.06  # sd: crank and drive twist otherwise at high speed (derived: first mode of 150 to 400 Hz)
DRIFT_FLOOR_DEG_PER_MIN: Final = 0.003
DEG_PER_RPM_MS: Final = DEG_PER_RPM_S * 1e-3


@dataclass(frozen=True, slots=True)
class Series:
    """Phase over time: (n,) s, degrees, rpm; per-row uncertainty that rows share, degrees; count and origin."""

    t_s: Array
    error_deg: Array
    speed_rpm: Array
    systematic_deg: float
    n: int
    origin: Provenance
    notes: tuple[str, ...] = ()


def terms(
    names: tuple[str, ...], series: Series, known: Measure | None = None, longest_ms: float = 0.0
) -> Iterator[Measure | Missing]:
    """Fixed part, delay, drift, and the phase at the mean speed; a ``known`` delay where the rows tell none.

    Where nothing tells it, a late edge may be a sound one with a delay: the interval of the fixed part then reaches
    down to what a delay of ``longest_ms`` leaves of it, or to a sound sensor's place.
    """
    t, y, speed = _averaged(series)
    mean = float(np.mean(speed))
    slow, fast = (float(v) for v in np.percentile(speed, [3.0, 97.0]))
    columns = {
        "fixed": (np.ones(len(t)), np.inf),
        "drift": ((t - 0.5 * (t[0] + t[-1])) / 60.0, PRIOR_DRIFT_DEG_PER_MIN),
        "delay": (DEG_PER_RPM_MS * speed, PRIOR_DELAY_MS),
    }
    fit, threshold, twist = _fit(t, y, speed, columns, slow, fast)
    separable = fast >= SPEED_RATIO * slow and float(np.hypot(*fit.at(np.eye(3)[2])[1:])) <= TOLD * PRIOR_DELAY_MS
    notes = list(series.notes)
    systematic = [series.systematic_deg]
    reach_deg = np.inf
    why = f"not separable: fixed part or delay (speed only from {slow:.0f} to {fast:.0f} rpm)"
    here = np.array([1.0, 0.0, DEG_PER_RPM_MS * mean])
    if not separable:
        del columns["delay"]
        fit, threshold, _ = _fit(t, y, speed, columns, slow, fast)
        twist = np.zeros(len(columns))
        here = here[:2]
        off_deg, open_deg, note = _delay_allowed_for(known, mean)
        systematic.append(open_deg)
        notes.append(f"{why}: {note}")
        if known is None and longest_ms > 0.0:
            reach_deg, said = _late(float(fit.at(here)[0]), mean, longest_ms)
            notes += said
    else:
        off_deg, known = 0.0, None

    def give(
        name: str, unit: str, point: Array, *shared: float, notes: list[str], off: float = 0.0,
        origin: Provenance = series.origin,
    ) -> Measure:  # fmt: skip
        value, noise, prior = fit.at(point)
        total = float(np.linalg.norm([prior, float(point @ threshold), float(point @ twist), *shared]))
        return measure(name, unit, value - off, noise, total, fit.quantile(), series.n, origin, notes)

    unit, plain = np.eye(len(columns)), list(series.notes)
    # two drives whose delays were read in different ways do not share what their fixed parts are wrong by
    both = series.origin if known is None else _together(series.origin, known.provenance)
    fixed = give(names[0], "deg", unit[0], *systematic, notes=notes, off=off_deg, origin=both)
    yield msgspec.structs.replace(fixed, low=min(float(np.min(fixed.low)), reach_deg))
    yield give(names[4], "deg", here, series.systematic_deg, notes=[*plain, f"at {mean:.0f} rpm, the mean speed"])
    if separable:
        yield give(names[1], "ms", unit[2], DELAY_FLOOR_MS, notes=plain)
    else:
        yield Missing(measure=names[1], why=why, capture_hint="")
    span_s = float(t[-1] - t[0])
    if span_s < DRIFT_S or np.hypot(*fit.at(unit[1])[1:]) > TOLD * PRIOR_DRIFT_DEG_PER_MIN:
        yield Missing(measure=names[2], why=f"not separable: a drift does not show in {span_s:.0f} s", capture_hint="")
    else:
        yield give(names[2], "deg/min", unit[1], DRIFT_FLOOR_DEG_PER_MIN, notes=plain)


def _together(origin: Provenance, other: Provenance) -> Provenance:
    """Where a value comes from that two records gave."""
    return Provenance(
        files=[*dict.fromkeys((*origin.files, *other.files))], channels=[*origin.channels, *other.channels],
        spans_s=origin.spans_s,
    )  # fmt: skip


def _late(phase_deg: float, speed_rpm: float, longest_ms: float) -> tuple[float, list[str]]:
    """Lowest fixed part of a late phase that may be a delay, degrees, and the words for it; inf where none is needed.

    At one speed it is an offset or a delay: the same degrees.
    """
    per_ms = DEG_PER_RPM_MS * speed_rpm
    least = max(phase_deg - longest_ms * per_ms, -MOUNTED_DEG)
    if phase_deg <= 0.0 or least >= phase_deg - 1.96 * PRIOR_DELAY_MS * per_ms:
        return np.inf, []
    alone = phase_deg / per_ms
    said = (
        f"a delay of {alone:.1f} ms alone would look the same"
        if alone <= longest_ms
        else f"a delay of up to {longest_ms:g} ms would look the same as part of it"
    )
    return least, [f"at one speed the cam is an angle off or late by a time, one looks as the other: {said}"]


def _delay_allowed_for(known: Measure | None, speed_rpm: float) -> tuple[float, float, str]:
    """What a delay makes of the phase at a speed, its standard uncertainty, both in degrees, and the words for it."""
    if known is None or isinstance(known.value, list) or isinstance(known.low, list) or isinstance(known.high, list):
        note = f"the interval allows for a delay of 0 +- {2 * PRIOR_DELAY_MS:g} ms, an assumption"
        return 0.0, DEG_PER_RPM_MS * PRIOR_DELAY_MS * speed_rpm, note
    sd_ms = float(np.hypot(0.5 * (known.high - known.low) / 1.96, OTHER_INPUT_MS))
    note = f"the delay is taken from the control module's broadcast, {known.value:.3f} +- {1.96 * sd_ms:.2f} ms"
    return DEG_PER_RPM_MS * speed_rpm * known.value, DEG_PER_RPM_MS * speed_rpm * sd_ms, note


def _fit(
    t: Array, y: Array, speed: Array, columns: dict[str, tuple[Array, float]], slow: float, fast: float
) -> tuple[Decomposition, Array, Array]:
    """Joint fit with the rows weighed by how much scatter their speed brings.

    Also by how much each coefficient, (p,), would be moved by a switching threshold of the usual size, and by a twist
    that grows with the square of speed, as forces of inertia do, between the slow speed and the fast one.
    """
    design = np.column_stack([values for values, _ in columns.values()])
    scale = _scatter(design, y, speed)
    fit = decompose(y / scale, t, [(1.0, design / scale[:, None])], np.array([sd for _, sd in columns.values()]))
    twist = TWIST_DEG * (np.square(speed) - slow**2) / max(fast**2 - slow**2, 1.0)
    return fit, fit.hat @ (THRESHOLD_DEG * REFERENCE_RPM / speed / scale), fit.hat @ (twist / scale)


def _scatter(design: Array, y: Array, speed: Array) -> Array:
    """Standard deviation of each row against the usual one, (n,): a fixed angle and a fixed time, squared and added."""
    off = np.square(y - design @ np.linalg.lstsq(design, y, rcond=None)[0])
    off = np.minimum(off, OUTLIER_SD**2 * float(np.median(off)) / 0.455)  # the median of chi-square of one
    share = np.square(speed / np.mean(speed))
    parts = scipy.optimize.nnls(np.column_stack([np.ones(len(y)), share]), off)[0]
    usual = float(parts.sum())
    return np.sqrt((parts[0] + parts[1] * share) / usual) if usual > 0.0 else np.ones(len(y))


def _averaged(series: Series) -> tuple[Array, Array, Array]:
    """Means over so many neighbours that at most ``MOST_ROWS`` rows remain; the model is linear, so nothing is lost."""
    n = len(series.t_s)
    order = np.argsort(series.t_s, kind="stable")
    start = np.arange(0, n, -(-n // MOST_ROWS))
    size = np.diff(np.append(start, n))
    t, y, speed = (np.add.reduceat(c[order], start) / size for c in (series.t_s, series.error_deg, series.speed_rpm))
    return t, y, speed


def jitter(name: str, value: float, freedom: float, rounded_deg: tuple[float, float], series: Series) -> Measure:
    """Standard deviation with the interval of chi-square, freed of what rounded times likely add to it.

    Parameters
    ----------
    value : standard deviation as it is, degrees, of so many degrees of ``freedom``
    rounded_deg : what rounding brings into it, at most and most likely; the interval reaches from the most taken off,
        and a third of its variance more since rounding is not quite as random as that, to nothing taken off
    """
    most, likely = rounded_deg
    low, high = (value**2 * freedom / float(scipy.special.chdtri(freedom, p)) for p in (0.025, 0.975))
    freed = [float(np.sqrt(max(square, 0.0))) for square in (low - 4 / 3 * most**2, value**2 - likely**2, high)]
    return Measure(
        name=name, value=freed[1], unit="deg", low=freed[0], high=freed[2], n=series.n, provenance=series.origin,
        statistical=float(value / np.sqrt(2.0 * freedom)), systematic=most / 3.0, notes=list(series.notes),
    )  # fmt: skip
