"""Injection timing: how its actual value follows the command, and the steady rows that the error is judged on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.decompose import MAD_TO_SD
from logan.dsp.hysteresis import play
from logan.measures.align import PLATEAU_S, Pair, Windows, near, pair, windows
from logan.model.channel import Channel
from logan.model.record import Record

RUNNING_RPM: Final = 400.0
NOT_JUDGED: Final = ("key_on", "cranking", "run_up", "stopped", "gap", "overrun")
STOP_PERCENT: Final = 2.0  # duty this near to 0 or 100 % has no authority left (science: within 2 % of a stop)
STEADY_DEG: Final = 0.3  # what lag may feign in a steady row
LOOSE_DEG: Final = 1.0  # the same where a record has hardly any steady row
FEW_ROWS: Final = 12
_LAGS_S: Final = np.array([0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.7, 0.9, 1.2, 1.6, 2.2, 3.0])
_WIDTHS_DEG: Final = np.array([0.0, 0.3, 0.5, 0.8, 1.2, 1.7, 2.4, 3.4, 4.8])
_MOST_ROWS: Final = 6000

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Follower:
    """How actual timing follows its command, from the transients of the record.

    Parameters
    ----------
    lag_s : time constant, s
    lag_sd_s : its standard uncertainty, inf where the record has no transient
    width_deg : play that fits best, 0 for none
    moves : how many separate moves of the command told it
    """

    lag_s: float
    lag_sd_s: float
    width_deg: float
    moves: int


@dataclass(frozen=True, slots=True)
class Rows:
    """Plateaus of about two seconds, (w,) each, with the masks that say what each is good for.

    ``side`` is where the command came from: -1 moved up (from below) .. +1 moved down (from above), 0 unknown, one row
    for each candidate of the play (``widths_deg``).
    """

    windows: Windows
    t_s: Array
    error: Array
    actual: Array
    commanded: Array
    speed: Array
    load: Array | None
    temperature: Array | None
    duty: Array | None
    trailing: Array
    widths_deg: Array
    side: list[Array]
    steady: Mask
    running: Mask
    resolution: float


def running_pair(record: Record) -> Pair | None:
    """Timing pairs while the engine runs on fuel; None where there is nothing to pair."""
    actual = record.channels.get("injection_timing_actual")
    commanded = record.channels.get("injection_timing_commanded")
    if actual is None or commanded is None:
        return None
    return pair(actual, commanded)


def running_mask(record: Record, t_s: Array) -> Mask:
    """Instants at which the engine runs and injects."""
    speed = record.channels.best["engine_speed"]
    good: Mask = near(speed, t_s) >= RUNNING_RPM
    return good & ~record.states.mask(t_s, *NOT_JUDGED)


def follow(record: Record, joined: Pair) -> Follower:
    """Lag and play of the follower by robust least squares over the transients."""
    good = running_mask(record, joined.t_s)
    rows = np.flatnonzero(good)
    nothing = Follower(0.0, np.inf, 0.0, 0)
    activity = np.abs(joined.trailing(1.0))
    busy = rows[activity[rows] > max(0.5, 3.0 * _ripple(joined))]
    if len(busy) < 8:
        return nothing
    moves = 1 + int(np.count_nonzero(np.diff(joined.t_s[busy]) > 2.0))
    rows = rows[:: max(1, int(np.ceil(len(rows) / _MOST_ROWS)))]
    slow = [np.ones(len(rows)), near(record.channels.best["engine_speed"], joined.t_s[rows]) / 1000.0]
    load = record.channels.get("calculated_load")
    if load is not None:
        slow.append(np.nan_to_num(near(load, joined.t_s[rows])) / 100.0)
    basis, _ = np.linalg.qr(np.column_stack(slow))
    error = joined.error[rows]

    def left(lag_s: float, width_deg: float) -> Array:
        command = play(joined.grid, width_deg)[0] if width_deg else joined.grid
        rest = error - joined.trailing(lag_s, command)[rows]
        out: Array = rest - basis @ (basis.T @ rest)
        return out

    scale = max(float(np.median(np.abs(left(0.0, 0.0)))) / MAD_TO_SD, joined.resolution, 1e-3)

    def cost(lag_s: float, width_deg: float) -> float:
        u = np.abs(left(lag_s, width_deg)) / scale
        return float(np.sum(np.where(u < 2.0, 0.5 * u**2, 2.0 * u - 2.0)))

    lag_s, width_deg = 0.0, 0.0
    for _ in range(2):
        lag_s = _LAGS_S[int(np.argmin([cost(lag, width_deg) for lag in _LAGS_S]))]
        width_deg = _WIDTHS_DEG[int(np.argmin([cost(lag_s, width) for width in _WIDTHS_DEG]))]
    at = int(np.argmin(np.abs(_LAGS_S - lag_s)))
    bounds = (float(_LAGS_S[max(at - 1, 0)]), float(_LAGS_S[min(at + 1, len(_LAGS_S) - 1)]))
    found = scipy.optimize.minimize_scalar(
        cost, bounds=bounds, args=(width_deg,), method="bounded", options={"xatol": 0.005}
    )
    lag_s = float(found.x)
    ahead = left(lag_s + 0.05, width_deg) - left(max(lag_s - 0.05, 0.0), width_deg)
    slope = ahead / (0.05 + min(lag_s, 0.05))
    rest = np.clip(left(lag_s, width_deg), -3.0 * scale, 3.0 * scale)
    block = np.floor((joined.t_s[rows] - joined.t_s[rows[0]]) / 5.0).astype(np.int64)
    score = np.bincount(block, slope * rest)
    information = float(slope @ slope)
    sd = float(np.sqrt(score @ score)) / information if information > 0 else np.inf
    return Follower(lag_s, float(np.hypot(sd, joined.skew_s)), float(width_deg), moves)


def plateaus(record: Record, joined: Pair, follower: Follower) -> Rows | None:
    """Cut the drive into plateaus; None where nothing runs."""
    speed = near(record.channels.best["engine_speed"], joined.t_s)
    keep = np.isfinite(speed)
    load = _near(record.channels.get("calculated_load"), joined.t_s)
    duty = _near(record.channels.get("timing_actuator_duty"), joined.t_s)
    temperature = _temperature(record, joined.t_s)
    if load is not None:
        keep &= np.isfinite(load)
    if np.count_nonzero(keep) < 3:
        return None
    cut = windows(joined.t_s[keep], max(PLATEAU_S, 2.0 * joined.period_s))

    def of(value: Array | None) -> Array | None:
        return None if value is None else cut.mean(value[keep])

    trailing = cut.mean(joined.trailing(max(follower.lag_s, 0.1))[keep])
    screen = cut.mean(joined.trailing(max(follower.lag_s, joined.period_s / 2.0, joined.skew_s, 0.1))[keep])
    usual = float(np.median(cut.count))
    ripple = _ripple(joined)
    running = cut.mean(running_mask(record, joined.t_s)[keep].astype(float)) > 0.99
    running &= cut.count >= 0.5 * usual
    steady = np.abs(screen) <= STEADY_DEG
    if np.count_nonzero(steady & running) < FEW_ROWS:
        steady = np.abs(screen) <= LOOSE_DEG
    width = max(follower.width_deg, 0.5, 4.0 * ripple)
    widths = width * np.array([1.0, 0.7, 1.4])
    sides = []
    for candidate in widths:
        follows, settled = play(joined.grid, candidate)
        side = np.where(settled, (follows - joined.grid) / (0.5 * candidate), 0.0)
        sides.append(cut.mean(np.clip(joined.off_grid(side), -1.0, 1.0)[keep]))
    return Rows(
        windows=cut, t_s=cut.t_s, error=cut.middle(joined.error[keep]), actual=cut.middle(joined.actual[keep]),
        commanded=cut.middle(joined.commanded[keep]), speed=cut.mean(speed[keep]), load=of(load),
        temperature=of(temperature), duty=of(duty), trailing=trailing, widths_deg=widths, side=sides, steady=steady,
        running=running, resolution=joined.resolution,
    )  # fmt: skip


def without_authority(rows: Rows, used: Mask) -> Mask:
    """Rows at the end of the follower's reach: duty at a stop, or actual at its end while the command goes on."""
    out = np.zeros(len(used), bool)
    if rows.duty is not None:
        out |= (rows.duty <= STOP_PERCENT) | (rows.duty >= 100.0 - STOP_PERCENT)
    out &= used
    for sign in (1.0, -1.0):
        actual, error = sign * rows.actual, sign * rows.error
        free = used & ~out
        if np.count_nonzero(free) < 2 * FEW_ROWS:
            break
        end = float(np.percentile(actual[free], 99.0))
        at_end = free & (actual >= end - 0.4)
        rest = error[free & ~at_end]
        if len(rest) < FEW_ROWS or np.count_nonzero(at_end) < 4:
            continue
        usual = float(np.median(rest))
        noise = float(np.median(np.abs(rest - usual))) / MAD_TO_SD
        short = at_end & (error < usual - max(0.7, 4.0 * noise))
        if np.count_nonzero(short) >= 4 and np.ptp(rows.commanded[short]) > 1.0 > np.ptp(rows.actual[short]):
            out |= short
    return out


def stuck(rows: Rows, used: Mask) -> bool:
    """Whether actual timing stands still although the command moves."""
    command, actual = rows.commanded[used], rows.actual[used]
    moved = float(np.ptp(np.percentile(command, [5.0, 95.0])))
    return moved > 3.0 and float(np.ptp(np.percentile(actual, [5.0, 95.0]))) < 0.15 * moved


def _ripple(joined: Pair) -> float:
    """Noise of the command from value to value, deg."""
    return (
        float(np.median(np.abs(np.diff(joined.commanded, 2)))) / (MAD_TO_SD * np.sqrt(6.0))
        if len(joined.t_s) > 3
        else 0.0
    )


def _near(channel: Channel | None, t_s: Array) -> Array | None:
    return None if channel is None or not len(channel.finite()[0]) else near(channel, t_s)


def _temperature(record: Record, t_s: Array) -> Array | None:
    """Fuel temperature, else coolant or oil: slow, so that it may be held across gaps and beyond its ends."""
    for name in ("fuel_temperature", "coolant_temperature", "oil_temperature"):
        channel = record.channels.get(name)
        if channel is not None and len(channel.finite()[0]) > 1:
            out: Array = np.interp(t_s, *channel.finite())
            return out
    return None
