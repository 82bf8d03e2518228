"""Where crank and cam recordings without a clock of the log's stand on its axis."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import structs

from logan.dsp import speed_match
from logan.measures.wheel_reading import flanks
from logan.model.capture import Remark, first_places
from logan.model.channel import Channel
from logan.model.sensor import SensorCapture


def place_sensors(
    sensors: Sequence[SensorCapture], speed: Channel | None, absolute: bool
) -> tuple[tuple[SensorCapture, ...], list[Remark]]:
    """Place sensor recordings without a clock of the log's by its engine speed.

    Parameters
    ----------
    sensors : recordings; those with an offset already share the log's clock if that is absolute
    speed : engine speed of the log
    absolute : whether the log has absolute time

    Returns
    -------
    the recordings, and for each one tried its offset with the interval or why there is none
    """
    out: list[SensorCapture] = []
    remarks: list[Remark] = []
    for capture in sensors:
        if speed is not None and not (absolute and capture.offset_s is not None):
            offset_s, remark = _place(capture, speed)
            capture = structs.replace(capture, offset_s=offset_s)
            remarks.append(remark)
        out.append(capture)
    return tuple(out), remarks


def _place(capture: SensorCapture, speed: Channel) -> tuple[float | None, Remark]:
    rising, falling, _ = flanks(capture)
    edges = falling.get("crank", np.empty(0)) if len(falling.get("crank", ())) else rising.get("crank", np.empty(0))
    found = speed_match.match(*speed.finite(), edges, speed.half_width_s)
    if isinstance(found, speed_match.Refused):
        text = (
            f"has no clock in common with {speed.file} and could not be aligned by engine speed: {found.why}; let both "
            "record the start and some changes of speed, each of its own shape"
        )
        places = first_places(f"recording begins at t = {at:.1f} s" for at in found.offsets_s)
        return None, Remark("not_aligned", text, max(1, len(found.offsets_s)), places, capture.file)
    text = (
        f"has no clock in common with {speed.file}: aligned by engine speed over {found.overlap_s:.0f} s, its time 0 "
        f"is {found.offset_s:.2f} s in the log (95 % interval {found.low_s:.2f} to {found.high_s:.2f} s); that both "
        "are of one drive is taken on trust: another one of the same speeds would fit as well"
    )
    return found.offset_s, Remark("aligned_by_speed", text, file=capture.file)
