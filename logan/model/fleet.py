"""Many logs: a row a log, and what they say together about vehicles that one log cannot say."""

from __future__ import annotations

from typing import Literal

import msgspec

from logan.model.comparison import Trend
from logan.model.measure import Measure, Missing

Trouble = Literal["", "capture", "defect", "worker_lost", "not_reached"]
"""Why a log has no result: the capture, a defect of the program, a worker lost twice, files out of a worker's reach."""
Urgency = Literal["fault", "watch", "cannot_tell", "none"]


class FleetFault(msgspec.Struct, frozen=True, kw_only=True):
    """One fault of a log's ranking."""

    fault: str
    title: str
    probability: float
    cylinder: int | None = None


class FleetRemark(msgspec.Struct, frozen=True, kw_only=True):
    """Something about a log's data quality, counted."""

    kind: str
    text: str
    count: int
    file: str = ""


class FleetLog(msgspec.Struct, frozen=True, kw_only=True):
    """One log: a road test's files, analysed, or the error that stands in place of a result.

    Parameters
    ----------
    log, files : name of the log and of its files, as they lie under the places given
    key : hash of contents, version and options, under which the result is kept
    content : SHA-256 of each file
    copy_of : the log whose files are the same byte for byte, which alone counts
    vehicle : VIN, or the name of the folder where that was asked for and no VIN was recorded
    folder : name of the folder in which it lies, where folders were said to be vehicles
    start : Unix time of the first record, s
    profile : the engine profile that it was judged by, as JSON
    blind : faults that the log could not have shown
    seconds : time that the analysis took; the one field that differs from run to run
    """

    log: str = ""
    files: list[str] = []
    key: str = ""
    content: list[str] = []
    copy_of: str | None = None
    vehicle: str | None = None
    vehicle_from: Literal["", "vin", "folder"] = ""
    folder: str = ""
    start: float | None = None
    duration_s: float | None = None
    engine: str = ""
    engine_source: str = ""
    profile: str = ""
    measures: list[Measure] = []
    missing: list[Missing] = []
    verdict: str | None = None
    sentence: str = ""
    faults: list[FleetFault] = []
    not_explained: float | None = None
    blind: list[str] | None = None
    codes: list[str] = []
    frames: int = 0
    rejected: int = 0
    remarks: list[FleetRemark] = []
    error: str | None = None
    trouble: Trouble = ""
    logan_version: str = ""
    seconds: float = 0.0


class Peer(msgspec.Struct, frozen=True, kw_only=True):
    """One number of one vehicle's latest log against the other vehicles of its family.

    ``centre`` and ``spread`` (as a standard deviation) are robust and leave this vehicle out; ``z`` is how many spreads
    it lies from the centre, ``p`` the two-sided probability of that by chance, ``p_adjusted`` the same with all
    comparisons of the fleet taken into account. ``shown``: it survives that, and lies off by more than matters.
    """

    vehicle: str
    log: str
    family: str
    measure: str
    unit: str
    value: float
    low: float
    high: float
    centre: float
    spread: float
    peers: int
    z: float
    p: float
    p_adjusted: float = 1.0
    matters: float | None = None
    shown: bool = False
    cylinder: int | None = None


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """A change of level between two visits: ``at`` is the number of the first visit after it, 0 = first."""

    at: int
    log: str
    change: float
    p: float
    p_adjusted: float = 1.0
    shown: bool = False


class Drift(msgspec.Struct, frozen=True, kw_only=True):
    """One number of one vehicle over its visits: the trend, and the change of level that stands out most."""

    vehicle: str
    trend: Trend
    logs: list[str]
    step: Step | None = None
    limit: float | None = None


class Standing(msgspec.Struct, frozen=True, kw_only=True):
    """One vehicle, as it stands with its latest log.

    ``overlapping`` names its drives that overlap in time with others of it; ``blind`` counts the faults, of all that
    are known, that the latest log could not have shown.
    """

    vehicle: str
    known: bool
    urgency: Urgency
    why: list[str]
    latest: str
    start: float | None
    logs: int
    engine: str
    family: str
    verdict: str
    fault: str = ""
    fault_title: str = ""
    cylinder: int | None = None
    probability: float = 0.0
    overlapping: list[str] = []
    blind: int | None = None
    known_faults: int = 0


class Fleet(msgspec.Struct, frozen=True, kw_only=True):
    """The whole fleet: vehicles with the most urgent first, drifts, comparison with peers, bad logs."""

    logs: int
    vehicles: list[Standing]
    drifts: list[Drift]
    peers: list[Peer]
    families: dict[str, int]
    bad: list[FleetLog]
    copies: list[FleetLog]
    remarks: list[str]
    rate: float
