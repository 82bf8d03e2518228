"""Injection timing: how its actual value follows the command, and the steady rows that the error is judged on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.robust import mad_sigma
from logan.measures.align import PLATEAU_S, Pair, Windows, near, rounding, step_of, windows
from logan.measures.conditions import NOT_JUDGED, RUNNING_RPM
from logan.measures.timing_follower import Follower
from logan.model.channel import Channel
from logan.model.record import Record

PEDALS: Final = ("accelerator_pedal_d", "accelerator_pedal_e", "idle_validation")
STOP_PERCENT: Final = 2.0  # duty this near to 0 or 100 % has no authority left (science: within 2 % of a stop)
STEADY_DEG: Final = 0.3  # what lag may feign in a steady row
LOOSE_DEG: Final = 1.0  # the same where a record has hardly any steady row
FEW_ROWS: Final = 12
WIDTH_SHARES: Final = (1.0, 0.7, 1.4)

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Rows:
    """Plateaus of about two seconds, (w,) each, with the masks that say what each is good for.

    ``error`` is actual minus what a follower with the fitted lag and no other error would show; ``by_lag`` is how that
    changes with a second of lag; ``sides`` are where the command came from, -1 from below .. +1 from above, for a few
    widths of play about the fitted one.
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
    by_lag: Array
    sides: list[Array]
    steady: Mask
    running: Mask
    rounding: float


def running_mask(record: Record, t_s: Array) -> Mask:
    """Instants at which the engine runs and injects; overrun is told apart only where a pedal was recorded."""
    speed = record.channels.best["engine_speed"]
    good: Mask = near(speed, t_s) >= RUNNING_RPM
    cut_off = ("overrun",) if any(name in record.channels for name in PEDALS) else ()
    return good & ~record.states.mask(t_s, *NOT_JUDGED, *cut_off)


def slow_terms(record: Record, t_s: Array) -> list[Array]:
    """What moves the error but is no lag of the follower, at some instants, (n,) each.

    Time, speed, load, their product (the flow of fuel), and the supply pressure where it was recorded.
    """
    u = (t_s - t_s[0]) / max(float(np.ptp(t_s)), 1.0)
    out = [u, u**2, np.nan_to_num(near(record.channels.best["engine_speed"], t_s)) / 1000.0]
    load, supply = (_near(record.channels.get(name), t_s) for name in ("calculated_load", "fuel_supply_pressure"))
    if load is not None:
        out += [np.nan_to_num(load) / 100.0, np.nan_to_num(load) / 100.0 * out[2]]
    if supply is not None:
        out.append(np.nan_to_num(supply) / 100.0)
    return out


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

    running = cut.mean(running_mask(record, joined.t_s)[keep].astype(float)) > 0.99
    running &= cut.count >= 0.5 * np.median(cut.count)
    screen_s = max(follower.lag_s, joined.period_s / 2.0, joined.skew_s, 0.1)
    feigned = np.abs(cut.mean(follower.unrest(joined, screen_s)[keep]))
    known = np.ones(len(running), bool)
    if follower.size_deg > 0.0:
        known = cut.mean(joined.off_grid(follower.came_from(joined)[1].astype(float))[keep]) > 0.99
    steady = known & (feigned <= STEADY_DEG)
    if np.count_nonzero(steady & running) < FEW_ROWS:
        steady = feigned <= LOOSE_DEG
    sides = [cut.mean(joined.off_grid(follower.came_from(joined, share)[0])[keep]) for share in WIDTH_SHARES]
    return Rows(
        windows=cut, t_s=cut.t_s, error=cut.middle((joined.error - joined.trailing(follower.lag_s))[keep]),
        actual=cut.middle(joined.actual[keep]), commanded=cut.middle(joined.commanded[keep]),
        speed=cut.mean(speed[keep]), load=of(load), temperature=of(temperature), duty=of(duty),
        by_lag=cut.mean(follower.by_lag(joined)[keep]), sides=sides, steady=steady, running=running,
        rounding=_rounding(record, joined, keep, cut),
    )  # fmt: skip


def _rounding(record: Record, joined: Pair, keep: Mask, cut: Windows) -> float:
    """Standard uncertainty of one plateau that comes from rounding to the steps of both numbers."""
    parts = []
    for name, value in (("injection_timing_actual", joined.actual), ("injection_timing_commanded", joined.commanded)):
        within = float(np.mean(cut.mean(np.square(value[keep])) - np.square(cut.mean(value[keep]))))
        parts.append(rounding(step_of(record.channels.best[name]), within))
    return float(np.linalg.norm(parts))


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
        short = at_end & (error < usual - max(0.7, 4.0 * mad_sigma(rest)))
        if np.count_nonzero(short) >= 4 and np.ptp(rows.commanded[short]) > 1.0 > np.ptp(rows.actual[short]):
            out |= at_end  # those just short of the end are cut off in part
    return out


def stuck(rows: Rows, used: Mask) -> bool:
    """Whether actual timing stands still although the command moves."""
    command, actual = rows.commanded[used], rows.actual[used]
    moved = float(np.ptp(np.percentile(command, [5.0, 95.0])))
    return moved > 3.0 and float(np.ptp(np.percentile(actual, [5.0, 95.0]))) < 0.15 * moved


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
