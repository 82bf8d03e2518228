"""Engine speed from a crank recording, where nothing else gives it: idle can then be judged from the sensor alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.wheel import ToothTrain
from logan.measures.wheel_reading import WheelReading, read_all
from logan.model.capture import Remark
from logan.model.channel import FROM_CRANK, Channel, ChannelSet
from logan.model.profile import EngineProfile
from logan.model.sensor import SensorCapture

NAME: Final = "engine_speed"

Array = NDArray[np.float64]


def with_crank_speed(
    found: ChannelSet, sensors: Sequence[SensorCapture], profile: EngineProfile
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
    clocked = {capture.file for capture in sensors if capture.offset_s is not None}
    readings = sorted(read_all(sensors, profile), key=lambda one: -one.train.revolutions)
    taken: list[tuple[Array, Array]] = []
    names: list[str] = []
    remarks = []
    for reading in readings:
        t_s, rpm = _speed(reading)
        if not len(t_s):
            continue
        alone = not taken and not len(found)
        apart = all(t_s[0] > other_s[-1] or t_s[-1] < other_s[0] for other_s, _ in taken)
        if not alone and not ({reading.file, *names} <= clocked and apart):
            beside = f"{names[0]}, whose speed is used" if names else "the other channels"
            text = f"engine speed by its crank edges is not used: it has no clock in common with {beside}"
            remarks.append(Remark("speed_not_used", text, file=reading.file))
            continue
        taken.append((t_s, rpm))
        names.append(reading.file)
    if not taken:
        return found, remarks
    taken.sort(key=lambda part: float(part[0][0]))
    t_s, rpm = (np.concatenate([part[k] for part in taken]) for k in (0, 1))
    speed = Channel(NAME, "rpm", t_s, rpm, source=FROM_CRANK, file=", ".join(sorted(names)))
    return replace(found, best={**found.best, NAME: speed}), remarks


def _speed(reading: WheelReading) -> tuple[Array, Array]:
    """Middle of each turn on the session's axis, s, and its mean speed, rpm; (n,) each."""
    t_s, rpm = turn_speed(reading.train)
    return t_s + reading.offset_s, rpm


def turn_speed(train: ToothTrain) -> tuple[Array, Array]:
    """Mean speed of each turn from the dead centre of cylinder 1 to its next, by the same two teeth each time.

    Speed is least at every dead centre and, with even firing, the same on both sides of it: from there each turn holds
    as much of the swing above the mean as below, with an odd number of cylinders too.

    Returns
    -------
    middle of each turn, s, and its mean speed, rpm; (n,) each; a hole where a tooth beside the dead centre was lost
    """
    last, first = float(train.angles_deg[-1]), float(train.angles_deg[0]) + 360.0
    across = (train.tooth[:-1] == len(train.angles_deg) - 1) & (train.tooth[1:] == 0)
    across &= (np.diff(train.segment) == 0) & (np.diff(train.angle_deg) < first - last + 1.0)
    before = np.flatnonzero(across)
    share = (360.0 - last) / (first - last)
    t_s = train.t_s[before] + share * (train.t_s[before + 1] - train.t_s[before])
    turn, segment = np.round((train.angle_deg[before] - last) / 360.0), train.segment[before]
    whole = (np.diff(segment) == 0) & (np.diff(turn) == 1)
    return 0.5 * (t_s[1:] + t_s[:-1])[whole], 60.0 / np.diff(t_s)[whole]
