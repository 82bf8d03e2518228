"""What the states are told from, at the instants of the engine speed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.knowledge.drive_states import DriveThresholds
from logan.model.channel import Channel, ChannelSet
from logan.model.profile import EngineProfile

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Look = Callable[[str], Array | None]

REST_SHARE: Final = 40.0
"""A pedal track whose lowest value is above this was never seen released, %."""
REST_QUANTILE: Final = 0.01
"""Lowest share of a pedal track that is passed over when its rest is learned."""
SPEED_QUANTILE: Final = 0.1
"""Share of the running time that is taken as slower than idle speed, where the profile names none."""


@dataclass(frozen=True, slots=True)
class Inputs:
    """Everything at the instants of the engine speed, (n,) each.

    Parameters
    ----------
    t_s, speed : s, rpm; every value finite
    standing : the vehicle stands
    released : the pedal is released
    warm : the engine is warm
    loaded : the load is that of a pull
    tipping : the driver's demand rises fast
    starter : the starter is engaged
    pedal_known : whether anything recorded tells the pedal's position
    idle_rpm : idle speed, of the profile or learned; NaN where the engine never ran
    assumed : what had to be assumed
    """

    t_s: Array
    speed: Array
    standing: Mask
    released: Mask
    warm: Mask
    loaded: Mask
    tipping: Mask
    starter: Mask
    pedal_known: bool
    idle_rpm: float
    assumed: tuple[str, ...]


def latch(value: Array, on: float, off: float) -> Mask:
    """Schmitt trigger: true from ``on`` and above until ``off`` and below; values between and NaN keep the state.

    ``on`` may lie below ``off``: then it is true below.
    """
    if on < off:
        value, on, off = -value, -on, -off
    with np.errstate(invalid="ignore"):
        mark = np.where(value >= on, 1, np.where(value <= off, -1, 0))
    last = np.maximum.accumulate(np.where(mark != 0, np.arange(len(mark)), -1))
    first = mark[np.argmax(mark != 0)] if len(mark) else 0
    # before the first clear value the state is that of the first clear value
    return np.where(last >= 0, mark[last], first) > 0


def collect(channels: ChannelSet, profile: EngineProfile, limits: DriveThresholds) -> Inputs | None:
    """Bring everything onto the instants of the engine speed; None without engine speed."""
    engine_speed = channels.get("engine_speed")
    if engine_speed is None:
        return None
    t_s, speed = engine_speed.finite()
    if len(t_s) < 2:
        return None
    assumed: list[str] = []

    def at(name: str) -> Array | None:
        channel = channels.get(name)
        if channel is None or not np.isfinite(channel.value).any():
            return None
        return believed(channel, t_s, limits)

    def flag(value: Array | None, on: float, off: float, otherwise: bool) -> Mask:
        return np.full(len(t_s), otherwise) if value is None else latch(value, on, off)

    road, load = at("vehicle_speed"), at("calculated_load")
    standing = flag(road, limits.standing_kmh, limits.moving_kmh, True)
    loaded = flag(load, limits.pull_load_percent, limits.pull_end_percent, False)
    idle_rpm = profile.idle.target_rpm
    if idle_rpm is None:
        running = speed > limits.cranking_max_rpm
        among = running & standing if (running & standing).any() else running
        idle_rpm = _quantile_by_time(t_s, speed, among)

    votes = _pedal_votes(at, limits)
    if not votes and road is None and profile.idle.target_rpm is None and idle_rpm > limits.idle_learned_most_rpm:
        idle_rpm = np.nan  # nothing but its speed could tell an idle, and no engine idles as fast
    if votes:
        share = np.mean(votes, axis=0)
        released = np.where(share == 0.5, votes[0], share > 0.5) & ~loaded  # the first track decides a tie
        tipping = _rising(t_s, at("accelerator_pedal_d"), limits.tip_in_percent_per_s)
    else:
        released = flag(load, limits.light_load_percent, limits.light_load_percent + 5.0, True)
        released &= speed <= idle_rpm + limits.idle_highest_margin_rpm
        released |= flag(load, limits.coasting_load_percent, limits.coasting_load_percent + 2.0, False)
        tipping = _rising(t_s, load, limits.tip_in_load_percent_per_s)
        told = "a light load near idle speed" if load is not None else "a speed near idle"
        assumed.append(f"no pedal position is recorded: the pedal is taken as released at {told}")
    if road is None:
        assumed.append("road speed is not recorded: the vehicle is taken as standing while the engine idles")
    warm = _warm(at, profile, limits, assumed, len(t_s))
    starter = flag(at("starter_active"), 0.5, 0.49, False)
    return Inputs(
        t_s, speed, standing, released, warm, loaded, tipping, starter, bool(votes), float(idle_rpm), tuple(assumed)
    )


def believed(channel: Channel, t_s: Array, limits: DriveThresholds) -> Array:
    """Values of a slower channel: interpolated, held past its ends and into holes for a few periods, then NaN."""
    own_t_s, value = channel.finite()
    step = np.diff(own_t_s)
    usual = float(np.median(step[step > 0])) if (step > 0).any() else limits.believe_s
    reach = max(limits.believe_s, limits.believe_periods * usual)
    out: Array = np.interp(t_s, own_t_s, value)
    right = np.clip(np.searchsorted(own_t_s, t_s), 1, len(own_t_s) - 1) if len(own_t_s) > 1 else np.zeros(len(t_s), int)
    nearest = np.minimum(np.abs(t_s - own_t_s[right - 1]), np.abs(t_s - own_t_s[right]))
    out[nearest > reach] = np.nan
    return out


def _quantile_by_time(t_s: Array, value: Array, among: Mask) -> float:
    """Value below which it is for ``SPEED_QUANTILE`` of the chosen time; NaN where none is chosen."""
    lasts_s = np.minimum(np.gradient(t_s), 10.0 * float(np.median(np.diff(t_s))))[among]
    order = np.argsort(value[among], kind="stable")
    until = np.cumsum(lasts_s[order])
    if not len(until):
        return np.nan
    return float(value[among][order][np.searchsorted(until, SPEED_QUANTILE * until[-1])])


def _pedal_votes(at: Look, limits: DriveThresholds) -> list[Mask]:
    """What each witness of the pedal says: released or not."""
    votes = []
    for name in ("accelerator_pedal_d", "accelerator_pedal_e"):
        track = at(name)
        if track is None or not np.isfinite(track).any():
            continue
        rest = float(np.nanquantile(track, REST_QUANTILE))
        if rest > REST_SHARE:
            votes.append(np.zeros(len(track), bool))
        else:
            votes.append(latch(track, rest + limits.pedal_released_percent, rest + limits.pedal_pressed_percent))
    validation = at("idle_validation")
    if validation is not None:
        votes.append(validation >= 0.5)
    return votes


def _warm(at: Look, profile: EngineProfile, limits: DriveThresholds, assumed: list[str], n: int) -> Mask:
    limit = profile.idle.warm_coolant_degc
    for name, words in (("coolant_temperature", ""), ("oil_temperature", "oil temperature stands in for it")):
        temperature = at(name)
        if temperature is None:
            continue
        if words:
            assumed.append(f"coolant temperature is not recorded: {words}")
        return latch(temperature, limit, limit - limits.warm_hysteresis_degc)
    assumed.append("coolant temperature is not recorded: the engine is taken as warm")
    return np.ones(n, bool)


def _rising(t_s: Array, demand: Array | None, per_s: float) -> Mask:
    """Where the demand rises faster than a limit, over at least 0.2 s (a polled step counts over its own period)."""
    if demand is None:
        return np.zeros(len(t_s), bool)
    before = np.clip(np.searchsorted(t_s, t_s - 0.2, "right") - 1, 0, None)
    with np.errstate(invalid="ignore", divide="ignore"):
        rate = (demand - demand[before]) / (t_s - t_s[before])
        return rate > per_s
