"""Crank, cam and pump recordings placed on the wheels of the profile: what the phase and wheel measures start from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Final
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from logan.dsp.damaged_wheel import decode_damaged
from logan.dsp.lost_together import losses, together
from logan.dsp.sync import Sync, synchronise
from logan.dsp.tooth_slip import cut_at_slips
from logan.dsp.wheel import ToothTrain
from logan.dsp.wheel_parts import decode_parts
from logan.measures.cam_target import OtherCam, other_cam
from logan.measures.conditions import RUNNING_RPM
from logan.measures.flanks import Flanks, Noise, Rounding, drowned, flanks
from logan.measures.unread import Places, places
from logan.model.profile import CrankWheel, EngineProfile, Flank
from logan.model.record import NO_PROFILE, Record
from logan.model.sensor import Edges, SensorCapture, Waveform, sensors_of

Array = NDArray[np.float64]

FEWEST_TURNS: Final = 2.0
BOTH_SHARE: Final = 0.8
SUSPECT_DEG: Final = 1.5  # a cam that is off by less needs no explanation
CLEARS: Final = 0.4  # the other flank explains a cam that is off where it leaves less than this of it
IN_PLACE_DEG: Final = (
    0.6  # and surely so where it leaves less than this: a shifted cam would hardly hit a tooth's width
)
FEW_TEETH: Final = 20
GAP: Final = 1.6  # times its neighbours' mean from which a period is a gap
FEWEST_GAPS: Final = 4  # whole turns from which a pattern counts as seen
LEAST_PLACED: Final = 0.3  # share of the edges that must fit the wheel of the profile


@dataclass(frozen=True, slots=True)
class WheelReading:
    """One recording on the wheels.

    Parameters
    ----------
    file : name of the capture file
    train : crank edges on their teeth; where the wires are swapped, the edges of the flank that tells the teeth
    inverted : whether the active flank carries the pattern of the slots, or the other flank alone has the cam in place
    sync : place of the train's segments in the cycle by the cam; nothing known without a cam
    active_s : sensor -> times of its active edges, s
    resolution_s : step of the time stamps, s
    other_shift_deg : common shift of the cam by the crank's flank that was not used; NaN where that flank was not
        recorded or does not carry the teeth's pattern
    pump_other_s : times of the pump's other flank, s: the profile may not say which one it is timed by
    offset_s : what puts the times on the session's axis where that is known, else 0
    clocked : whether it is known, so that the reading shares its clock with all others of which it is
    unread_s : (r, 2) times between which rows of the recording were refused, s
    seams_s : (s, 2) times before and after which the recording was joined from two, s
    holes_s : (h, 2) edges beside each loss within the train that took all sensors, s
    alone : whether several crank edges were lost in one go while another sensor went on
    rounding : sensor -> step to which its times are rounded
    other_cam : what the cam shows that the profile's cam wheel cannot; where that is sure, no segment has its place
    noise : sensor -> noise of its voltage, where that matters
    """

    file: str
    train: ToothTrain
    inverted: bool
    sync: Sync
    active_s: dict[str, Array]
    resolution_s: float
    other_shift_deg: float = float("nan")
    pump_other_s: Array = field(default_factory=lambda: np.empty(0))
    offset_s: float = 0.0
    clocked: bool = False
    unread_s: Array = field(default_factory=lambda: np.empty((0, 2)))
    seams_s: Array = field(default_factory=lambda: np.empty((0, 2)))
    holes_s: Array = field(default_factory=lambda: np.empty((0, 2)))
    alone: bool = False
    rounding: dict[str, Rounding] = field(default_factory=dict)
    other_cam: OtherCam | None = None
    noise: dict[str, Noise] = field(default_factory=dict)

    @property
    def not_recorded(self) -> Places:
        """Where edges that are missing tell nothing of a sensor."""
        return places(self.unread_s, self.seams_s, self.holes_s)

    @property
    def inverted_by_cam(self) -> bool:
        """Whether both flanks carry the teeth's pattern and the cam alone says that the other one is right."""
        return self.inverted and bool(np.isfinite(self.other_shift_deg))


_KEPT: Final[WeakKeyDictionary[Edges | Waveform, tuple[EngineProfile, WheelReading | None]]] = WeakKeyDictionary()
"""The last reading of each recording that is still in use: finding the teeth is the dearest step of all."""


def read(record: Record) -> tuple[WheelReading, ...]:
    """Every sensor recording of a record that holds crank edges."""
    return read_all(record.sensors, record.profile)


def read_all(sensors: Iterable[SensorCapture], profile: EngineProfile) -> tuple[WheelReading, ...]:
    """Every sensor recording that holds crank edges."""
    return tuple(_of(reading, capture) for capture in sensors if (reading := _kept(capture, profile)) is not None)


def _of(reading: WheelReading, capture: SensorCapture) -> WheelReading:
    """A reading with what the capture says of its file and its clock."""
    return replace(
        reading, file=capture.file, offset_s=capture.offset_s or 0.0, clocked=capture.offset_s is not None,
        unread_s=capture.content.unread_s, seams_s=capture.content.seams_s,
    )  # fmt: skip


def _kept(capture: SensorCapture, profile: EngineProfile) -> WheelReading | None:
    """The reading of a recording, made once for a profile."""
    of, reading = _KEPT.get(capture.content, (None, None))
    if of is not profile:
        reading = _read_one(capture, profile)
        _KEPT[capture.content] = (profile, reading)
    return reading


def why_none(record: Record) -> str:
    """Why a record has no reading."""
    wheel = record.profile.crank_wheel
    if wheel is None or not wheel.angles_deg():
        return lacking(record, "crank", "the engine profile has no crank wheel")
    if "crank" not in sensors_of(record.sensors):
        return "no crank edges in the recording"
    noisy = next((words for capture in record.sensors if (words := drowned("crank", flanks(capture).noise))), "")
    if noisy:
        return noisy
    why = "no turns of the crank wheel of the engine profile were found in the crank recording"
    if len(wheel.angles_deg()) < FEW_TEETH and not any(_runs(capture, wheel) for capture in record.sensors):
        why += f": {len(wheel.angles_deg())} teeth do not show their gap while a cranking speed swings; record at idle"
    seen = next((words for capture in record.sensors if (words := seen_wheel(capture, wheel.active_edge))), "")
    return f"{why}; {seen}, the profile's wheel {len(wheel.angles_deg())} teeth a turn" if seen else why


def lacking(record: Record, sensor: str, why: str) -> str:
    """Why a sensor is not judged whose edges the profile does not describe; ``why`` where the profile was named."""
    if record.engine_known:
        return why
    held = sensors_of(record.sensors)
    lacks = next((name for name in ("crank", sensor) if name not in held), "")
    return f"no {lacks} edges in the recording" if lacks else NO_PROFILE


def _runs(capture: SensorCapture, wheel: CrankWheel) -> bool:
    """Whether for the most part the crank turns faster than it is cranked."""
    found = flanks(capture)
    period = np.diff(_flank(found.rising, found.falling, "crank", wheel.active_edge))
    return len(period) > 0 and float(np.median(period)) * len(wheel.angles_deg()) < 60.0 / RUNNING_RPM


def seen_wheel(capture: SensorCapture, active: Flank) -> str:
    """Teeth from gap to gap that a crank recording shows, whatever the profile says; empty where none repeat."""
    found = flanks(capture)
    period = np.diff(_flank(found.rising, found.falling, "crank", active))
    if len(period) < FEW_TEETH:
        return ""
    beside = 0.5 * (period[:-2] + period[2:])
    ratio = period[1:-1] / np.maximum(beside, 1e-12)
    gaps = np.flatnonzero(ratio > GAP)
    teeth = np.diff(gaps)
    if len(teeth) < FEWEST_GAPS:
        return ""
    usual = int(np.median(teeth))
    if np.mean(teeth == usual) < BOTH_SHARE:
        return ""
    lacking = round(float(np.median(ratio[gaps]))) - 1
    return f"it shows {usual} teeth from gap to gap, {lacking} missing at the gap ({usual + lacking}-{lacking})"


def _read_one(capture: SensorCapture, profile: EngineProfile) -> WheelReading | None:
    wheel = profile.crank_wheel
    if wheel is None or not wheel.angles_deg():
        return None
    found = flanks(capture)
    rising, falling, resolution_s = found.rising, found.falling, found.resolution_s
    angles = np.array(wheel.angles_deg())
    crank_s = _flank(rising, falling, "crank", wheel.active_edge)
    cut_s = capture.content.seams_s[:, 0]
    train = decode_parts(crank_s, angles, cut_s)
    inverted = train.inverted
    other: Flank = "rising" if wheel.active_edge == "falling" else "falling"
    other_s = ({"rising": rising, "falling": falling}[other]).get("crank", np.empty(0))
    teeth = decode_parts(other_s, angles, cut_s)
    both = not teeth.inverted and len(teeth) >= BOTH_SHARE * len(train) > 0
    if inverted and both:
        train, crank_s = replace(teeth, inverted=True), other_s
    cam = profile.cam_wheel
    active, pump_other_s = {"crank": crank_s}, np.empty(0)
    if cam is not None:
        active["cam"] = _flank(rising, falling, "cam", cam.active_edge)
    if profile.pump is not None and profile.pump.edges_deg:
        # where the profile does not tell: the same kind of sensor as at the cam, most likely
        pump_flank = profile.pump.active_edge or (cam or wheel).active_edge
        active["pump"] = _flank(rising, falling, "pump", pump_flank)
        pump_other_s = (falling if pump_flank == "rising" else rising).get("pump", pump_other_s)
    cam_deg = np.array(cam.edges_deg if cam is not None else [], float)
    cam_s = active.get("cam", np.empty(0))
    cam_other_s = _others(rising, falling, "cam", cam_s)
    if train.revolutions < FEWEST_TURNS or len(train) < LEAST_PLACED * len(crank_s):
        trains = decode_damaged(crank_s, angles)
        if not trains:
            return None
        told, cam_s = _by_target(trains[0], cam_s, cam_other_s, cam_deg)
        # several teeth may be the lost one: the cam is where it should be by the right one
        damaged = [(train, synchronise(train, cam_s, cam_deg)) for train in trains]
        train, sync = min(damaged, key=lambda pair: _misfit(pair[1]))
        whole = WheelReading(
            capture.file,
            train,
            False,
            sync,
            active,
            resolution_s,
            pump_other_s=pump_other_s,
            rounding=found.rounding,
            noise=found.noise,
            other_cam=told,
        )
        return _with_holes(whole, found)
    told, cam_s = _by_target(train, cam_s, cam_other_s, cam_deg)
    sync = synchronise(train, cam_s, cam_deg)
    before, train = train, cut_at_slips(train, sync, cam_s, cam_deg)
    sync = sync if train is before else synchronise(train, cam_s, cam_deg)
    other_shift = float("nan")
    if both and not inverted:
        # a square wave carries the teeth's pattern by both flanks, a tooth's width apart: the cam tells which one it is
        by_other = synchronise(teeth, cam_s, cam_deg)
        other_shift = shift_deg(by_other)
        if abs(shift_deg(sync)) > SUSPECT_DEG and abs(other_shift) < min(IN_PLACE_DEG, CLEARS * abs(shift_deg(sync))):
            other_shift, inverted = shift_deg(sync), True
            train, sync, active["crank"] = replace(teeth, inverted=True), by_other, other_s
    whole = WheelReading(
        capture.file,
        train,
        inverted,
        sync,
        active,
        resolution_s,
        other_shift,
        pump_other_s,
        rounding=found.rounding,
        noise=found.noise,
        other_cam=told,
    )
    return _with_holes(whole, found)


def _with_holes(reading: WheelReading, found: Flanks) -> WheelReading:
    """The reading with the places where all sensors lost edges at once."""
    others = [
        edge_s for flank in (found.rising, found.falling) for name, edge_s in flank.items()
        if name != "crank" and len(edge_s)
    ]  # fmt: skip
    train, lost = reading.train, losses(reading.train)
    of_all, alone = together(train, lost, others)
    holes_s = np.stack([train.t_s[lost.before[of_all]], train.t_s[lost.after[of_all]]], axis=1)
    return replace(reading, holes_s=holes_s, alone=bool((alone & (lost.count > 1)).any()))


def _misfit(sync: Sync) -> tuple[float, float]:
    """How badly the cam fits: edges without a place first, then the common shift."""
    known = np.isfinite(sync.offset_deg)
    return (1.0 - round(float(np.max(sync.share[known])), 1), abs(shift_deg(sync))) if known.any() else (2.0, 0.0)


def shift_deg(sync: Sync) -> float:
    """Common shift of the cam over all segments, degrees; NaN where none is placed."""
    known = np.isfinite(sync.offset_deg)
    return float(np.median(sync.shift_deg[known])) if known.any() else float("nan")


def _flank(rising: dict[str, Array], falling: dict[str, Array], sensor: str, flank: Flank) -> Array:
    """Active edges of a sensor; the other flank where only that one was recorded."""
    first, second = (falling, rising) if flank == "falling" else (rising, falling)
    chosen = first.get(sensor, np.empty(0))
    return chosen if len(chosen) else second.get(sensor, np.empty(0))


def _by_target(train: ToothTrain, cam_s: Array, other_s: Array, cam_deg: Array) -> tuple[OtherCam | None, Array]:
    """What the cam shows that its target cannot, and the edges that tell a place in the cycle: none by another one."""
    told = other_cam(train, cam_s, other_s, cam_deg)
    return told, np.empty(0) if told is not None and told.sure else cam_s


def _others(rising: dict[str, Array], falling: dict[str, Array], sensor: str, taken: Array) -> Array:
    """Edges of the flank of a sensor that was not taken."""
    both = (each.get(sensor, np.empty(0)) for each in (rising, falling))
    return next((edge_s for edge_s in both if edge_s is not taken), np.empty(0))


def cam_of_another(readings: Iterable[WheelReading]) -> str:
    """Why nothing is read by the cam's target, nor by other angles of the profile; empty where nothing speaks so."""
    told = next((r.other_cam for r in readings if r.other_cam is not None and r.other_cam.sure), None)
    if told is None:
        return ""
    return f"the profile gives {told.text}: another engine's profile, or another cam target is fitted"
