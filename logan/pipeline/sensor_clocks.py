"""Where crank and cam recordings stand on a log's axis: without a clock in common, or with one that must be wrong."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from msgspec import structs
from numpy.typing import NDArray

from logan.dsp import speed_match
from logan.measures.flanks import flanks
from logan.model.capture import SENSOR_ALONE, Remark, first_places
from logan.model.channel import Channel
from logan.model.sensor import SensorCapture, sensors_of
from logan.pipeline.clocks import QUARTER_HOUR_S

_CLOCK_S: Final = 0.5
"""Recorders set by one time server are not farther apart (judgement)."""
_SET_BY_HAND_S: Final = 60.0
"""Clocks that were set by hand are not farther apart, but for their time zones (judgement)."""


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
        if speed is not None and "crank" in sensors_of([capture]) and not (absolute and capture.offset_s is not None):
            offset_s, remark = _place(capture, speed)
            capture = structs.replace(capture, offset_s=offset_s)
            remarks.append(remark)
        elif speed is not None and capture.offset_s is not None:
            capture, found = _checked(capture, speed, capture.offset_s)
            remarks += found
        out.append(capture)
    return tuple(out), remarks


def without_crank(sensors: Sequence[SensorCapture]) -> Iterator[Remark]:
    """Said of each recording of a cam or pump alone: it stands by itself, whatever else was recorded."""
    with_crank = [capture.file for capture in sensors if "crank" in sensors_of([capture])]
    for capture in sensors:
        held = sensors_of([capture])
        if not held or "crank" in held:
            continue
        text = f"its {' and '.join(held)} edges are not used: "
        if with_crank:
            text += (
                f"the crank edges stand in {' and '.join(with_crank)}, and nothing tells that the files share one "
                "clock to the hundredth of a millisecond, as this needs; record all sensors into one file or, where "
                "one recorder made the files with one clock, put the rows of all into one"
            )
        else:
            text += "no crank edges were recorded to hold them against; record the crank beside them, into one file"
        yield Remark(SENSOR_ALONE, text, file=capture.file)


def _checked(capture: SensorCapture, speed: Channel, clock_s: float) -> tuple[SensorCapture, list[Remark]]:
    """A recording whose clock contradicts engine speed stands where that puts it, if it does so at one place alone.

    Where it never ran together with the log by the clocks, that place must lie a difference of time zones away.
    """
    t_s, rpm = speed.finite()
    edges = _crank_edges(capture)
    if not len(t_s) or not len(edges):
        return capture, []
    apart_s = max(edges[0] + clock_s - t_s[-1], t_s[0] - edges[-1] - clock_s)
    if apart_s <= 0 and not speed_match.unlike_at(t_s, rpm, edges, clock_s, speed.half_width_s):
        return capture, []
    found = speed_match.match(t_s, rpm, edges, speed.half_width_s)
    if isinstance(found, speed_match.Place) and not found.low_s - _CLOCK_S <= clock_s <= found.high_s + _CLOCK_S:
        from_zone_s = (found.offset_s - clock_s + QUARTER_HOUR_S / 2) % QUARTER_HOUR_S - QUARTER_HOUR_S / 2
        if apart_s <= 0 or abs(from_zone_s) < _SET_BY_HAND_S:
            where = "outside of" if apart_s > 0 else "where its engine speed differs from that of"
            text = (
                f"by its clock its time 0 is at t = {clock_s:.2f} s, {where} {speed.file}; the speeds agree at t = "
                f"{found.offset_s:.2f} s (95 % interval {found.low_s:.2f} to {found.high_s:.2f} s): aligned by it, the "
                f"clocks are taken to be {abs(found.offset_s - clock_s):.1f} s apart"
            )
            moved = structs.replace(capture, offset_s=found.offset_s)
            return moved, [Remark("clocks_differ", text, file=capture.file)]
    if apart_s <= 0:
        return capture, []
    text = f"was recorded {apart_s:.0f} s before or after {speed.file} by their clocks: the two never ran together"
    return capture, [Remark("clocks_apart", text, file=capture.file)]


def _crank_edges(capture: SensorCapture) -> NDArray[np.float64]:
    """Edges of one flank of the crank sensor, s; none without such a sensor."""
    found = flanks(capture)
    falling = found.falling.get("crank", np.empty(0))
    return falling if len(falling) else found.rising.get("crank", np.empty(0))


def _place(capture: SensorCapture, speed: Channel) -> tuple[float | None, Remark]:
    found = speed_match.match(*speed.finite(), _crank_edges(capture), speed.half_width_s)
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
