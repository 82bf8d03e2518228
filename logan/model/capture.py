"""What a reader hands over: one file's content, where it came from, and what was wrong with it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from logan.model.channel import Channel
from logan.model.frames import Frames, Payloads
from logan.model.sensor import Edges, Waveform

PLACES_KEPT = 5
NOTHING_DECODABLE = "nothing_decodable"
"""Kind of the remark on a record whose frames nobody can decode."""
NO_TIME = "no_time"
"""Kind of the remark on a file whose records have an order but no times."""
OTHER_ENGINE = "other_engine"
"""Kind of the remark on a record that holds what the profile's engine cannot have: it is not judged by that profile."""
PERHAPS_OTHER = "perhaps_other_engine"
"""Kind of the remark on a record that holds a single thing which the profile's engine should not have."""
OTHER_IDLE = "other_idle"
"""Kind of the remark on a control module that asks for another idle speed than the profile gives."""
NOT_NAMED = "engine_not_named"
"""Kind of the remark on a crank, cam or pump recording of an engine that nothing names: it is not judged."""
HIGH_VOLTAGE = "high_voltage"
"""Kind of the remark on a vehicle whose high-voltage system can hurt whoever works on it."""
BEWARE = (NOT_NAMED, OTHER_ENGINE, PERHAPS_OTHER, OTHER_IDLE, HIGH_VOLTAGE)
"""Kinds of remarks that stand beside the verdict."""
NOT_UNDERSTOOD = "not_understood"
"""Kind of the remark on columns of a table that nothing is concluded from."""
SENSOR_ALONE = "sensor_alone"
"""Kind of the remark on a cam or pump recording without the crank edges that it would be held against."""
NO_ENGINE = "no_engine"
"""Kind of the remark on a vehicle whose control module says that it has no combustion engine."""
VINS_DIFFER = "vin_differs"
"""Kind of the remark on a file in which more than one vehicle identification number is said."""
NO_ENGINE_SEEN = "no_engine_seen"
"""Kind of the remark on a record of diagnosis that holds nothing of an engine."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something about the data's quality that a reader of the report must know: counted and located, never dropped.

    Parameters
    ----------
    kind : short stable word, e.g. ``bad_line``, ``time_backwards``, ``lost_consecutive_frame``
    text : plain words
    count : how often
    places : the first few places ("line 12", "t = 3.25 s"), at most ``PLACES_KEPT``
    file : name of the file, empty where the remark is about the whole session
    """

    kind: str
    text: str
    count: int = 1
    places: tuple[str, ...] = ()
    file: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A channel table: channels as the header names them, before they are mapped to the standard names.

    ``origin_ns`` is the Unix time of ``t_s == 0`` in ns where ``absolute``, else 0.
    """

    channels: tuple[Channel, ...]
    origin_ns: int = 0
    absolute: bool = False


Content = Frames | Payloads | Table | Edges | Waveform


@dataclass(frozen=True, slots=True)
class Capture:
    """One capture file.

    Parameters
    ----------
    name : file name without folder
    path : path as given
    sha256 : hash of the file as given (of the compressed bytes for a gzip file), 64 hex digits;
        empty where nobody asked for it
    format : plain name of the recognised format
    content : its data
    frames : records read (frames, rows, edges or samples)
    rejected : records that could not be read
    start : Unix time in s of the first record, None where the file has no absolute time
    duration_s : last minus first time, None without time
    remarks : what was wrong or unusual
    metadata : ``# key: value`` comments and the like
    recognised : by what the format was recognised, and how surely, for people
    """

    name: str
    path: str
    sha256: str
    format: str
    content: Content
    frames: int
    rejected: int
    start: float | None
    duration_s: float | None
    remarks: tuple[Remark, ...] = ()
    metadata: dict[str, str] = field(default_factory=dict)
    recognised: str = ""

    @property
    def timed(self) -> bool:
        """Whether the records have times of their own; else only their order is true."""
        return all(remark.kind != NO_TIME for remark in self.remarks)


STAND_IN = "7E8 and 18DAF1xx stand in where the recording gives no CAN identifier"
"""Said beside control modules of a recording that was made above the transport."""


def first_places(places: Iterable[str]) -> tuple[str, ...]:
    """The first few of many places."""
    out: list[str] = []
    for place in places:
        if len(out) == PLACES_KEPT:
            break
        out.append(place)
    return tuple(out)
