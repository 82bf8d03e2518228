"""Crank recordings of a record as whole cycles in step with the cam, or the reason why there are none."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.crank_speed import Cycles, cycles
from logan.dsp.run_down import load_per_radian
from logan.dsp.wheel import ToothTrain
from logan.measures.wheel_reading import WheelReading, cam_of_another, lacking, why_none
from logan.model.profile import CrankWheel, EngineProfile
from logan.model.record import Record

Array = NDArray[np.float64]

PAIRS: Final = "the crank alone tells only pairs of cylinders apart, 360 degrees of each other"
IDLE_RPM: Final = (400.0, 1500.0)
"""Below 1500 rpm the gas moves the crank more than the pistons' own mass does (from memory)."""
STEADY_SHARE: Final = 0.04
IDLE_BAND: Final = 0.06
ENOUGH: Final = 40
"""Cycles of a band of idle speeds from which no faster one is looked for."""
UNLIKE: Final = 8.0
"""A cycle this many times as far off the usual one as others are holds a damaged edge; a lost fire stays below."""
CRANKING_RPM: Final = (60.0, 400.0)
MOST_EDGES: Final = 600_000
"""A quarter of an hour of idle and more: beyond it nothing is gained."""
BLOCK_EDGES: Final = 20_000
FAST_BLOCKS: Final = 5
"""Of these, above idle: enough to learn the teeth of the wheel."""
BUILD_UP: Final = 2
"""First cycles of cranking that do not count: pressure builds up, the battery sags."""


@dataclass(frozen=True, slots=True)
class CrankRecord:
    """One sensor recording in step with the cycle.

    Parameters
    ----------
    file : the recording
    t_s : (m,) tooth times on the session's axis where that is known, s
    angle_deg : (m,) cycle angle of each tooth, continuous within a segment, deg
    segment : (m,) number of the run between losses of synchronism
    teeth : places on the wheel
    longest_gap_deg : the widest step between teeth that is no hole, deg
    """

    file: str
    t_s: Array
    angle_deg: Array
    segment: NDArray[np.int32]
    teeth: int
    longest_gap_deg: float

    def cycles(self) -> Cycles:
        """The whole cycles."""
        return cycles(self.t_s, self.angle_deg, self.segment, self.longest_gap_deg)

    def run_downs(self, idle_rad_s: float, cylinders: int) -> Array:
        """Fall of speed squared per radian of each run-down from idle to a stop, (k,) rad/s2."""
        bounds = np.flatnonzero(np.diff(self.segment, prepend=-1, append=-1))
        return np.concatenate(
            [np.empty(0)]
            + [load_per_radian(self.t_s[a:b], self.angle_deg[a:b], idle_rad_s, cylinders) for a, b in pairwise(bounds)]
        )

    def straightened(self, order: NDArray[np.int64], ripple: NDArray[np.complex128]) -> CrankRecord:
        """The same with the teeth of an eccentric or uneven wheel put where they are.

        ``ripple`` is the ripple of apparent speed as a share of speed at each whole ``order``, as a complex amplitude:
        what the wheel feigns at an angle is the derivative of how far its teeth are off there.
        """
        turn = np.radians(self.angle_deg % 360.0)
        off_rad = sum(
            (np.real(one * np.exp(1j * o * turn) / (1j * o)) for o, one in zip(order, ripple, strict=True)),
            np.zeros(len(turn)),
        )
        return replace(self, angle_deg=self.angle_deg - np.degrees(off_rad))


def why_not(profile: EngineProfile) -> str:
    """What the profile lacks for cylinders to be told apart, or nothing."""
    z = profile.cylinders or len(profile.firing_order)
    if not profile.firing_order or sorted(profile.firing_order) != list(range(1, z + 1)):
        return "the engine profile gives no firing order of all cylinders"
    if z < 3 or 240 % z:
        return f"not worked out for {z} cylinders"
    if profile.crank_wheel is None or not profile.crank_wheel.angles_deg():
        return "the engine profile does not describe the crank wheel"
    if profile.cam_wheel is None or not profile.cam_wheel.edges_deg:
        return "the engine profile does not describe the cam target: only pairs of cylinders could be told apart"
    return ""


def crank_records(record: Record, readings: tuple[WheelReading, ...]) -> tuple[list[CrankRecord], str]:
    """Every crank recording that could be brought in step with the cam, and why others could not."""
    why = why_not(record.profile)
    wheel = record.profile.crank_wheel
    if why or wheel is None:
        return [], lacking(record, "crank", why)
    found = []
    for reading in readings:
        if len(reading.active_s.get("cam", ())) < 2:
            why = f"no cam signal in {reading.file}: {PAIRS}"
            continue
        train = reading.train
        used = _slow_edges(train)
        angle = train.angle_deg[used] + reading.sync.offset_deg[train.segment[used]]
        known = np.isfinite(angle)
        if not known.any():
            of_another = cam_of_another([reading])
            why = of_another or f"crank and cam in {reading.file} could not be brought in step: {PAIRS}"
            continue
        t_s = train.t_s[used][known] + reading.offset_s
        teeth = wheel.teeth or _places(wheel)
        found.append(
            CrankRecord(reading.file, t_s, angle[known], train.segment[used][known], teeth, _longest_gap(wheel))
        )
    return found, why if readings else why_none(record)


def _slow_edges(train: ToothTrain) -> slice | NDArray[np.int64]:
    """Edges that are looked at: all, or of a very long recording the first slow blocks and a few fast ones."""
    if len(train) <= MOST_EDGES:
        return slice(None)
    begin = np.arange(0, len(train) - BLOCK_EDGES, BLOCK_EDGES)
    turns = (train.angle_deg[begin + BLOCK_EDGES - 1] - train.angle_deg[begin]) / 360.0
    rpm = 60.0 * turns / np.maximum(train.t_s[begin + BLOCK_EDGES - 1] - train.t_s[begin], 1e-9)
    slow, fast = begin[rpm < IDLE_RPM[1]], begin[rpm >= IDLE_RPM[1]]
    used = np.sort(np.concatenate([slow[: MOST_EDGES // BLOCK_EDGES - FAST_BLOCKS], fast[:FAST_BLOCKS]]))
    out: NDArray[np.int64] = (used[:, None] + np.arange(BLOCK_EDGES)).ravel()
    return out


def _places(wheel: CrankWheel) -> int:
    """Places for teeth on a wheel that is given by its edges: gaps are few, so the middle step is that of the teeth."""
    angle = np.array(wheel.angles_deg())
    return round(360.0 / float(np.median(np.diff(angle, append=angle[0] + 360.0))))


def _longest_gap(wheel: CrankWheel) -> float:
    """Widest step of a good wheel with one tooth lost beside it, deg."""
    angle = np.array(wheel.angles_deg())
    step = np.sort(np.diff(np.append(angle, angle[0] + 360.0)))
    return float(step[-1] + 1.5 * step[0])


def idle_cycles(all_cycles: Cycles) -> Cycles:
    """Steady cycles of the slowest band of idle speeds that holds enough of them."""
    rpm = all_cycles.speed_rpm
    change = np.full(len(rpm), np.inf)
    if len(rpm) > 2:
        change[1:-1] = np.maximum(np.abs(rpm[2:] - rpm[1:-1]), np.abs(rpm[1:-1] - rpm[:-2]))
        beside = (np.diff(all_cycles.number[:-1]) == 1) & (np.diff(all_cycles.number[1:]) == 1)
        change[1:-1][~beside] = np.inf
    steady = (rpm > IDLE_RPM[0]) & (rpm < IDLE_RPM[1]) & (change < STEADY_SHARE * rpm)
    if not steady.any():
        return all_cycles.select(steady)
    speeds = np.sort(rpm[steady])
    inside = np.searchsorted(speeds, speeds * (1.0 + 2.0 * IDLE_BAND)) - np.arange(len(speeds))
    # the slowest band that holds enough: on the road an engine may turn longer at 1300 rpm under load than it idles
    first = int(np.argmax(inside >= min(ENOUGH, int(inside.max()))))
    low = speeds[int(np.argmax(np.where(speeds <= speeds[first] * (1.0 + 2.0 * IDLE_BAND), inside, 0)))]
    chosen = all_cycles.select(steady & (rpm >= low) & (rpm <= low * (1.0 + 2.0 * IDLE_BAND)))
    off = np.sqrt(np.mean(np.square(chosen.ripple - np.median(chosen.ripple, axis=0)), axis=1))
    return chosen.select(off <= UNLIKE * np.median(off))


def cranking_cycles(all_cycles: Cycles) -> Cycles:
    """Cycles turned by the starter alone: slow, after the build-up, before the speed runs up."""
    rpm = all_cycles.speed_rpm
    slow = (rpm > CRANKING_RPM[0]) & (rpm < CRANKING_RPM[1])
    keep = np.zeros(len(rpm), bool)
    cut = np.flatnonzero(np.diff(all_cycles.number) != 1) + 1
    for rows in np.split(np.arange(len(rpm)), cut):
        here = rows[slow[rows]]
        if not len(here):
            continue
        # from the first slow cycle to the one before the run-up; a stopping engine is fast first
        begin = here[0]
        faster = rows[(rows > begin) & (rpm[rows] > 1.25 * np.median(rpm[here]))]
        end = faster[0] - 1 if len(faster) else here[-1] + 1
        if begin == rows[0]:
            keep[begin + BUILD_UP : end] = slow[begin + BUILD_UP : end]
    return all_cycles.select(keep)
