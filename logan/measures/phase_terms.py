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
PART_DEG: Final = 0.1  # sd: a phase differs so much from one recording to the next, warmer or fitted anew (judgement)
DEG_PER_RPM_MS: Final = DEG_PER_RPM_S * 1e-3


@dataclass(frozen=True, slots=True)
class Series:
    """Phase over time: (n,) s, degrees, rpm; per-row uncertainty that rows share, degrees; count and origin.

    ``part``: (n,) number from 0 of the part with one clock that a row is of; None where all share one.
    """

    t_s: Array
    error_deg: Array
    speed_rpm: Array
    systematic_deg: float
    n: int
    origin: Provenance
    notes: tuple[str, ...] = ()
    part: NDArray[np.int64] | None = None


@dataclass(frozen=True, slots=True)
class _Rows:
    """Averaged rows, (n,) each, part after part; ``t_s`` counts from the middle of each part."""

    t_s: Array
    error_deg: Array
    speed_rpm: Array
    part: NDArray[np.int64]
    slow_rpm: float
    fast_rpm: float

    @property
    def parts(self) -> int:
        return int(self.part[-1]) + 1


@dataclass(frozen=True, slots=True)
class _Fit:
    """Coefficients, and by how much each, (p,), would be moved by a switching threshold and by a twist."""

    of: Decomposition
    threshold: Array
    twist: Array

    def sd(self, point: Array) -> float:
        """Standard uncertainty of a linear function of the coefficients by noise and priors."""
        return float(np.hypot(*self.of.at(point)[1:]))


def terms(
    names: tuple[str, ...], series: Series, known: Measure | None = None, longest_ms: float = 0.0
) -> Iterator[Measure | Missing]:
    """Fixed part, delay, drift, and the phase at the mean speed; a ``known`` delay where the rows tell none.

    Where nothing tells it, a late edge may be a sound one with a delay: the interval of the fixed part then reaches
    down to what a delay of ``longest_ms`` leaves of it, or to a sound sensor's place.
    """
    rows = _averaged(series)
    mean = float(np.mean(rows.speed_rpm))
    slow, fast = rows.slow_rpm, rows.fast_rpm
    columns = {
        "fixed": (np.ones(len(rows.t_s)), np.inf),
        "drift": (rows.t_s / 60.0, PRIOR_DRIFT_DEG_PER_MIN),
        "delay": (DEG_PER_RPM_MS * rows.speed_rpm, PRIOR_DELAY_MS),
    }
    fit, within, apart_deg = _pooled(rows, columns)
    separable = fast >= SPEED_RATIO * slow and fit.sd(_unit(fit, 2)) <= TOLD * PRIOR_DELAY_MS
    notes = list(series.notes)
    why = f"not separable: fixed part or delay (speed only from {slow:.0f} to {fast:.0f} rpm)"
    reach_deg, off_deg, systematic = np.inf, 0.0, [series.systematic_deg]
    if not separable:
        del columns["delay"]
        fit, within, apart_deg = _pooled(rows, columns)
    here = _unit(fit, 0)
    if separable:
        here[2], known = DEG_PER_RPM_MS * mean, None
    else:
        off_deg, open_deg, note = _delay_allowed_for(known, mean)
        systematic.append(open_deg)
        notes.append(f"{why}: {note}")
        if known is None and longest_ms > 0.0:
            reach_deg, said = _late(float(fit.of.at(here)[0]), mean, longest_ms)
            notes += said
    plain = list(series.notes)
    if rows.parts > 1:
        said_apart = _apart(rows.parts, apart_deg)
        notes, plain = [*notes, said_apart], [*plain, said_apart]
        # with what the fit allows for the mean of the parts it makes the spread of one part
        apart_deg *= float(np.sqrt(1.0 - 1.0 / rows.parts))
        systematic.append(apart_deg)

    def give(
        name: str, unit: str, point: Array, *shared: float, notes: list[str], off: float = 0.0,
        origin: Provenance = series.origin, by: _Fit = fit,
    ) -> Measure:  # fmt: skip
        value, noise, prior = by.of.at(point)
        total = float(np.linalg.norm([prior, float(point @ by.threshold), float(point @ by.twist), *shared]))
        return measure(name, unit, value - off, noise, total, by.of.quantile(), series.n, origin, notes)

    # two drives whose delays were read in different ways do not share what their fixed parts are wrong by
    both = series.origin if known is None else _together(series.origin, known.provenance)
    fixed = give(names[0], "deg", _unit(fit, 0), *systematic, notes=notes, off=off_deg, origin=both)
    yield msgspec.structs.replace(fixed, low=min(float(np.min(fixed.low)), reach_deg))
    at_mean = [*plain, f"at {mean:.0f} rpm, the mean speed"]
    yield give(names[4], "deg", here, series.systematic_deg, apart_deg, notes=at_mean)
    if separable:
        yield give(names[1], "ms", _unit(fit, 2), DELAY_FLOOR_MS, notes=plain)
    else:
        yield Missing(measure=names[1], why=why, capture_hint="")
    span_s = max(float(np.ptp(rows.t_s[rows.part == k])) for k in range(rows.parts))
    drift = _unit(within, 1)
    if span_s < DRIFT_S or within.sd(drift) > TOLD * PRIOR_DRIFT_DEG_PER_MIN:
        yield Missing(measure=names[2], why=f"not separable: a drift does not show in {span_s:.0f} s", capture_hint="")
    else:
        yield give(names[2], "deg/min", drift, DRIFT_FLOOR_DEG_PER_MIN, notes=plain, by=within)


def _unit(fit: _Fit, k: int) -> Array:
    out: Array = np.eye(len(fit.of.value))[k]
    return out


def _apart(parts: int, apart_deg: float) -> str:
    """What is said of recordings without a common clock."""
    said = f"{parts} recordings or parts without a common clock: a drift is that within each of them"
    if apart_deg <= 0.0:
        return said
    return f"{said}; they differ by more than their scatter, {apart_deg:.2f} deg (one sigma), which the interval holds"


def _pooled(rows: _Rows, columns: dict[str, tuple[Array, float]]) -> tuple[_Fit, _Fit, float]:
    """The terms over all rows, the same with an offset of its own for each part, and how far the parts are apart.

    The latter is the standard deviation of the offsets beyond their own uncertainties, degrees: moments of the random
    effects model (DerSimonian and Laird 1986, from memory). Over all rows an offset has that much room and a little
    more. The offset of the first part takes the place of the fixed one in the fit with offsets of their own.
    """
    if rows.parts == 1:
        fit = _fit(rows, columns)
        return fit, fit, 0.0
    of_part = [np.asarray(rows.part == k, float) for k in range(rows.parts)]
    own = {**columns, "fixed": (of_part[0], np.inf)} | {f"part {k}": (of_part[k], np.inf) for k in range(1, rows.parts)}
    within = _fit(rows, own)
    at = np.array([0, *range(len(columns), len(own))])
    offset, known = within.of.value[at], (within.of.noise + within.of.prior)[np.ix_(at, at)]
    less_mean = np.eye(rows.parts) - 1.0 / rows.parts
    beyond = float(offset @ less_mean @ offset) - float(np.sum(less_mean * known))
    apart_deg = float(np.sqrt(max(beyond, 0.0) / (rows.parts - 1)))
    room = float(np.hypot(apart_deg, PART_DEG))
    return _fit(rows, columns | {f"part {k}": (of_part[k], room) for k in range(rows.parts)}), within, apart_deg


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


def _fit(rows: _Rows, columns: dict[str, tuple[Array, float]]) -> _Fit:
    """Joint fit with the rows weighed by how much scatter their speed brings.

    Also by how much each coefficient would be moved by a switching threshold of the usual size, and by a twist that
    grows with the square of speed, as forces of inertia do, between the slow speed and the fast one; where no delay
    is fitted, the latter is not told from it and left to what is allowed for a delay.
    """
    y, speed = rows.error_deg, rows.speed_rpm
    design = np.column_stack([values for values, _ in columns.values()])
    scale = _scatter(design, y, speed)
    sds = np.array([sd for _, sd in columns.values()])
    fit = decompose(y / scale, rows.t_s, [(1.0, design / scale[:, None])], sds)
    twist = TWIST_DEG * (np.square(speed) - rows.slow_rpm**2) / max(rows.fast_rpm**2 - rows.slow_rpm**2, 1.0)
    by_twist = fit.hat @ (twist / scale) if "delay" in columns else np.zeros(len(columns))
    return _Fit(fit, fit.hat @ (THRESHOLD_DEG * REFERENCE_RPM / speed / scale), by_twist)


def _scatter(design: Array, y: Array, speed: Array) -> Array:
    """Standard deviation of each row against the usual one, (n,): a fixed angle and a fixed time, squared and added."""
    off = np.square(y - design @ np.linalg.lstsq(design, y, rcond=None)[0])
    off = np.minimum(off, OUTLIER_SD**2 * float(np.median(off)) / 0.455)  # the median of chi-square of one
    share = np.square(speed / np.mean(speed))
    parts = scipy.optimize.nnls(np.column_stack([np.ones(len(y)), share]), off)[0]
    usual = float(parts.sum())
    return np.sqrt((parts[0] + parts[1] * share) / usual) if usual > 0.0 else np.ones(len(y))


def _averaged(series: Series) -> _Rows:
    """Means over so many neighbours that about ``MOST_ROWS`` rows remain; the model is linear, so nothing is lost."""
    n = len(series.t_s)
    part = np.zeros(n, np.int64) if series.part is None else series.part
    order = np.lexsort((series.t_s, part))
    ends = np.append(np.flatnonzero(np.diff(part[order])) + 1, n)
    start = np.concatenate([np.arange(a, b, -(-n // MOST_ROWS)) for a, b in zip([0, *ends[:-1]], ends, strict=True)])
    size = np.diff(np.append(start, n))
    t, y, speed = (np.add.reduceat(c[order], start) / size for c in (series.t_s, series.error_deg, series.speed_rpm))
    of = part[order][start]
    middle = [0.5 * (t[of == k][0] + t[of == k][-1]) for k in range(int(of[-1]) + 1)]
    slow, fast = (float(v) for v in np.percentile(speed, [3.0, 97.0]))
    return _Rows(t - np.array(middle)[of], y, speed, of, slow, fast)


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
