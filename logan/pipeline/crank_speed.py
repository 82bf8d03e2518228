"""Engine speed from a crank recording, where nothing else gives it: idle can then be judged from the sensor alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.wheel import ToothTrain
from logan.measures.conditions import RUNNING_RPM
from logan.measures.wheel_reading import WheelReading, read_all
from logan.model.capture import Remark
from logan.model.channel import FROM_CRANK, Channel, ChannelSet
from logan.model.profile import EngineProfile
from logan.model.sensor import SensorCapture

NAME: Final = "engine_speed"

MOST_RPM: Final = 8_000.0
"""What the channel may be at most."""
AROUND: Final = 5
STRAY_SHARE: Final = 0.15
"""A running engine's speed leaves the median of five turns by no more: inertia (judgement)."""

Array = NDArray[np.float64]


def with_crank_speed(
    found: ChannelSet, sensors: Sequence[SensorCapture], profile: EngineProfile, others_on_clock: bool = True
) -> tuple[ChannelSet, list[Remark]]:
    """Add the speed of a crank recording to channels that hold no engine speed.

    Recordings without a clock in common cannot share one axis, nor with other channels: the one of most turns is
    taken, and what else was recorded must have its clock.

    Returns
    -------
    the channels, and a remark for each recording whose speed was left out
    """
    if NAME in found or any(channel.name == NAME for others in found.others.values() for channel in others):
        return found, []
    pairs = [(capture, reading) for capture in sensors for reading in read_all([capture], profile)]
    pairs.sort(key=lambda pair: -pair[1].train.revolutions)
    taken: list[tuple[Array, Array]] = []
    names: list[str] = []
    remarks = []
    on_clock = others_on_clock
    for capture, reading in pairs:
        t_s, rpm = _speed(reading, profile.cylinders)
        if not len(t_s):
            continue
        alone = not taken and not len(found)
        apart = all(t_s[0] > other_s[-1] or t_s[-1] < other_s[0] for other_s, _ in taken)
        shared = on_clock and capture.offset_s is not None
        if not alone and not (shared and apart):
            beside = f"{names[0]}, whose speed is used" if names else "the other channels"
            why = "it was recorded at the same time as" if shared else "it has no clock in common with"
            text = f"engine speed by its crank edges is not used: {why} {beside}"
            remarks.append(Remark("speed_not_used", text, file=reading.file))
            continue
        taken.append((t_s, rpm))
        names.append(reading.file)
        on_clock = on_clock and capture.offset_s is not None
    if not taken:
        return found, remarks
    taken.sort(key=lambda part: float(part[0][0]))
    t_s, rpm = (np.concatenate([part[k] for part in taken]) for k in (0, 1))
    speed = Channel(NAME, "rpm", t_s, rpm, source=FROM_CRANK, file=", ".join(sorted(names)))
    return replace(found, best={**found.best, NAME: speed}), remarks


def _speed(reading: WheelReading, cylinders: int | None) -> tuple[Array, Array]:
    """Middle of each turn on the session's axis, s, and its mean speed, rpm; (n,) each."""
    train = reading.train
    # with an odd number of cylinders turns are alike from a dead centre only, and such a wheel shows none
    unlike = (cylinders or 0) % 2 == 1 and (train.symmetry > 1 or len(train.angles_deg) == 1)
    t_s, rpm = turn_speed(train, 2 if unlike else 1)
    return t_s + reading.offset_s, rpm


def turn_speed(train: ToothTrain, turns: int = 1) -> tuple[Array, Array]:
    """Mean speed of each turn from the dead centre of cylinder 1 to its next, by the same two teeth each time.

    Speed is least at every dead centre and, with even firing, the same on both sides of it: from there each turn holds
    as much of the swing above the mean as below, with an odd number of cylinders too.

    Parameters
    ----------
    turns : so many turns in each mean

    Returns
    -------
    middle of each turn, s, and its mean speed, rpm; (n,) each; a hole where a tooth beside the dead centre was lost
    """
    turn_before = np.floor(train.angle_deg / 360.0)
    across = np.flatnonzero((np.diff(train.segment) == 0) & (np.diff(turn_before) == 1))
    if not len(across):
        return np.empty(0), np.empty(0)
    # the pair of teeth that stands beside the dead centre most often: one of a damaged wheel may be gone for good
    pair = train.tooth[across].astype(np.int64) * len(train.angles_deg) + train.tooth[across + 1]
    kinds, count = np.unique(pair, return_counts=True)
    before = across[pair == kinds[np.argmax(count)]]
    turn, segment = turn_before[before + 1], train.segment[before]
    share = (360.0 * turn - train.angle_deg[before]) / (train.angle_deg[before + 1] - train.angle_deg[before])
    t_s = train.t_s[before] + share * (train.t_s[before + 1] - train.t_s[before])
    took_s = t_s[turns:] - t_s[:-turns]
    whole = (segment[turns:] == segment[:-turns]) & (turn[turns:] - turn[:-turns] == turns)
    whole &= took_s > 60.0 * turns / MOST_RPM
    middle_s, rpm = 0.5 * (t_s[turns:] + t_s[:-turns])[whole], 60.0 * turns / took_s[whole]
    good = ~_stray(rpm)
    return middle_s[good], rpm[good]


def _stray(rpm: Array) -> NDArray[np.bool_]:
    """Single turns unlike those around: where a wheel has no gap, a lost edge makes one turn of two."""
    if len(rpm) < AROUND:
        return np.zeros(len(rpm), bool)
    around = np.median(np.lib.stride_tricks.sliding_window_view(np.pad(rpm, AROUND // 2, "edge"), AROUND), axis=1)
    return np.asarray((around > RUNNING_RPM) & (np.abs(rpm - around) > STRAY_SHARE * around))
