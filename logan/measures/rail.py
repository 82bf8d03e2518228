"""Rail pressure while the engine runs: error under load, and periodic swing at a steady command."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp import stats
from logan.dsp.decompose import decompose, student_95
from logan.dsp.hysteresis import lagged
from logan.dsp.swing import SIGNIFICANT, Stretch, strongest_swing, third_harmonic_shows
from logan.measures.align import FINEST_S, GRID_S, PLATEAU_S, Pair, measure, near, pair, period_s, sources, windows
from logan.measures.conditions import NOT_JUDGED, RUNNING_RPM, UNDER_LOAD_PERCENT
from logan.measures.registry import Results, gives
from logan.model.channel import Channel
from logan.model.measure import Measure, Missing
from logan.model.record import Record

LAG_S: Final = 0.3  # what a rail may lag behind its command without fault (common practice, no source)
STEADY_PERCENT: Final = (0.4, 1.5)  # what that lag may feign in a steady row; the second where the first leaves little
DRIFT_PERCENT: Final = 1.0  # standard uncertainty of a pressure sensor in time (common practice, no source)
LEAST_S: Final = 10.0
USUAL_S: Final = 18.0
SLOW_S: Final = 2.0
VARIES: Final = 0.02  # what the quadratic mean adds to a size that changes by a fifth with speed and load (assumption)
TRIANGLE: Final = np.pi**2 / 8.0 - 1.0  # by how much half of a triangle's peak to peak exceeds its fundamental
FASTEST_SHOWN_HZ: Final = 10.0

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
NEEDS: Final = ("fuel_rail_pressure_actual", "fuel_rail_pressure_commanded", "engine_speed")


def joined(record: Record) -> tuple[Pair, Array, Mask] | None:
    """Rail pairs, their error in percent of the command, and where the engine runs; None without common instants."""
    names = ("fuel_rail_pressure_actual", "fuel_rail_pressure_commanded")
    both = pair(*(record.channels.best[name] for name in names), finest_s=FINEST_S)
    if both is None:
        return None
    speed = near(record.channels.best["engine_speed"], both.t_s)
    running = (speed >= RUNNING_RPM) & (both.commanded > 0.0) & ~record.states.mask(both.t_s, *NOT_JUDGED)
    error = 100.0 * both.error / np.where(both.commanded > 0.0, both.commanded, np.inf)
    return both, error, running


@gives("rail_error_percent", needs=(*NEEDS, "calculated_load"))
def rail_error(record: Record) -> Results:
    """Median of actual against commanded while the load is 60 % and more.

    What a lag feigns while the command moves is kept out: where the command is steady counts, as long as there is
    enough of it; the difference to all rows under load goes into the systematic part.
    """
    name = "rail_error_percent"
    found = joined(record)
    if found is None:
        yield Missing(measure=name, why="commanded and actual pressure were not recorded together", capture_hint="")
        return
    both, error, running = found
    load_channel = record.channels.best["calculated_load"]
    heavy = running & (near(load_channel, both.t_s) >= UNDER_LOAD_PERCENT)
    if np.count_nonzero(heavy) < 4:
        why = f"load never stayed at {UNDER_LOAD_PERCENT:.0f} % or more"
        yield Missing(measure=name, why=why, capture_hint="")
        return
    lag_s = max(LAG_S, both.skew_s, both.apart_s)
    feigned = 100.0 * both.trailing(lag_s) / np.maximum(both.commanded, 1.0)
    enough = max(4, 0.15 * np.count_nonzero(heavy))
    limit = next((x for x in STEADY_PERCENT if np.count_nonzero(heavy & (np.abs(feigned) <= x)) >= enough), np.inf)
    steady = heavy & (np.abs(feigned) <= limit)
    notes = [] if np.isfinite(limit) else ["the command was hardly ever steady under load: lag is part of this figure"]
    value = float(np.median(error[steady]))
    cut = windows(both.t_s[steady], max(PLATEAU_S, 2.0 * both.period_s))
    row = cut.middle(error[steady])
    if len(row) >= 4:
        fit = decompose(row, cut.t_s, [(1.0, np.ones((len(row), 1)))], np.array([np.inf]))
        noise, quantile = fit.at(np.ones(1))[1], fit.quantile()
    else:
        scatter = stats.mean(error[steady])
        noise, quantile = scatter.sd, student_95(scatter.n_eff - 1.0)
    most = _most(error[steady], both.t_s[steady], both.period_s)
    if quantile * noise > 1.96 * most:
        noise, quantile = most, 1.96
    # rows in motion hold the lag, which may be anything up to lag_s, and pressures of their own: off by up to the whole
    doubts = [float(np.median(error[heavy])) - value, float(np.median(feigned[steady]))]
    # nor does anything but judgement say how steady is steady enough
    doubts += [float(np.median(error[heavy & (np.abs(feigned) <= x)])) - value for x in STEADY_PERCENT if x > limit]
    late_s = 0.5 * period_s(load_channel) + load_channel.half_width_s
    for shift_s in (-late_s, late_s):  # when the load rose and fell is known to within its values
        shifted = running & (near(load_channel, both.t_s + shift_s) >= UNDER_LOAD_PERCENT) & (np.abs(feigned) <= limit)
        if np.count_nonzero(shifted) >= 4:
            doubts.append(float(np.median(error[shifted])) - value)
    systematic = float(np.linalg.norm(doubts) / np.sqrt(3.0))
    channels = [record.channels.get(channel) for channel in (*NEEDS, "calculated_load")]
    spans = cut.spans(np.ones(len(row), bool))
    n = int(np.count_nonzero(steady))
    yield measure(name, "%", value, noise, systematic, quantile, n, sources(channels, spans), notes)


def _most(error: Array, t_s: Array, period_s: float) -> float:
    """Most that noise moves the median of rows, percent: what differs from row to row, and a sensor that drifts.

    How the error differs from hold to hold is pressure, of which the median is asked for; only as much of it as a
    sensor wanders by may be the sensor.
    """
    next_to = np.diff(t_s) <= 2.5 * period_s
    steps = np.diff(error)[next_to] if next_to.any() else error - np.mean(error)
    fast = np.sqrt(np.pi / 2.0) * float(np.sqrt(np.mean(np.square(steps)) / 2.0 / len(error)))
    return float(np.hypot(fast, DRIFT_PERCENT))


@gives("rail_swing_percent", needs=NEEDS)
def rail_swing(record: Record) -> Results:
    """Periodic swing of the pressure where command and speed are steady for 10 s and more."""
    name = "rail_swing_percent"
    found = joined(record)
    if found is None:
        yield Missing(measure=name, why="commanded and actual pressure were not recorded together", capture_hint="")
        return
    both, error, running = found
    stretches = steady_stretches(both, record.channels.best["engine_speed"], running) if running.any() else []
    if not stretches:
        why = f"no stretch of {LEAST_S:.0f} s with steady command and speed and enough values"
        yield Missing(measure=name, why=why, capture_hint="")
        return
    wave = strongest_swing([Stretch(both.t_s[s], error[s]) for s in stretches])
    actual = record.channels.best["fuel_rail_pressure_actual"]
    # a value that holds somewhere within +- half_width_s flattens it
    flattened = max(float(np.sinc(2.0 * wave.frequency_hz * actual.half_width_s)), 0.5)
    if wave.chance <= SIGNIFICANT:
        value, sd = wave.amplitude / flattened, wave.amplitude_sd / flattened
        half = 1.96 * float(np.hypot(sd, VARIES * value))
        low, high, notes = max(value - half, 0.0), value + half, [f"at {wave.frequency_hz:.2f} Hz"]
        if not third_harmonic_shows(wave.frequency_hz, 1.0 / both.period_s):
            high = value + float(np.hypot(half, TRIANGLE * value))
            notes.append("sampled too slowly to show its shape: a triangular swing would be larger by up to 23 %")
    else:
        value, sd = wave.as_one_sine / flattened, wave.noise_amplitude / flattened
        low, high, notes = 0.0, value + 1.96 * sd, ["nothing periodic stands out of the noise"]
    rate_hz = 1.0 / period_s(actual)
    if rate_hz < FASTEST_SHOWN_HZ:
        notes.append(f"sampled at {rate_hz:.1f} Hz: a faster swing shows its size here, but at another frequency")
    channels = [record.channels.get(channel) for channel in NEEDS]
    spans = [(round(float(both.t_s[s][0]), 3), round(float(both.t_s[s][-1]), 3)) for s in stretches]
    yield Measure(
        name=name, unit="%", value=value, low=low, high=high, n=sum(s.stop - s.start for s in stretches),
        provenance=sources(channels, spans), statistical=sd, systematic=VARIES * value, notes=notes,
    )  # fmt: skip


def steady_stretches(both: Pair, speed: Channel, running: Mask) -> list[slice]:
    """Rows where command and speed move slowly, cut into stretches of 10 to about 25 s."""
    # what a slow follower trails behind measures how much its leader moved over the last seconds
    calm = running & (np.abs(both.trailing(SLOW_S)) < 0.04 * both.commanded)
    on_grid = np.interp(both.grid_s, *speed.finite())
    calm &= np.abs(both.off_grid(lagged(on_grid, GRID_S, SLOW_S) / on_grid.clip(1.0)) - 1.0) < 0.06
    out: list[slice] = []
    edge = np.flatnonzero(np.diff(np.concatenate([[0], calm.astype(np.int8), [0]])))
    for first, last in zip(edge[::2], edge[1::2], strict=True):
        t = both.t_s[first:last]
        breaks = np.flatnonzero(np.diff(t) > max(1.0, 3.0 * both.period_s)) + 1
        for a, b in zip([0, *breaks.tolist()], [*breaks.tolist(), len(t)], strict=True):
            length = float(t[b - 1] - t[a])
            if length < LEAST_S:
                continue
            parts = max(1, round(length / USUAL_S))
            cuts = a + np.searchsorted(t[a:b], t[a] + length * np.arange(1, parts) / parts)
            for c, d in zip([a, *cuts.tolist()], [*cuts.tolist(), b], strict=True):
                if d - c >= 12:
                    out.append(slice(int(first + c), int(first + d)))
    return out
