"""A recording planned: signals, how often to ask, hook-ups, the drive, and what it could show."""

from __future__ import annotations

import msgspec


class PlannedSignal(msgspec.Struct, frozen=True, kw_only=True):
    """A channel, where it is asked for, and the seconds between its values (None where it is only broadcast).

    ``request`` is the number of the request that it shares with others, in the order of asking; None where it is asked
    for on its own, now and then, or only broadcast. ``title`` is what the trade calls it; ``seen`` tells whether the
    interface can record it at all: what is only broadcast, one that only asks does not see.
    """

    channel: str
    where: str
    essential: bool
    period_s: float | None = None
    request: int | None = None
    title: str = ""
    seen: bool = True


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One step of the drive: what the driver does, what the second person does, and when to stop.

    ``low_rpm``..``high_rpm`` are engine speeds; both 0 where the engine stands.
    """

    title: str
    seconds: float
    watch: str
    stop: str
    second: str = ""
    low_rpm: float = 0.0
    high_rpm: float = 0.0
    cautions: list[str] = []


class SmallestError(msgspec.Struct, frozen=True, kw_only=True):
    """Smallest error of a measure that the plan would show in 80 % of cases at 5 % false alarm; None: not computed."""

    measure: str
    title: str
    unit: str
    value: float | None
    method: str


class SmallestSize(msgspec.Struct, frozen=True, kw_only=True):
    """Smallest size of a fault that the plan would show, by the main sign that shows most of its usual sizes.

    ``value`` is the true value of the measure whose interval lies past ``limit`` in 80 % of recordings (None: none, or
    the sign has no size); ``either_way`` where the other direction counts as well; ``share`` of the usual sizes of the
    fault that are at least so large.
    """

    fault: str
    title: str
    measure: str
    measure_title: str
    unit: str
    value: float | None
    limit: float | None
    either_way: bool
    share: float | None
    method: str


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """What to record, and how to drive."""

    engine: str
    faults: list[str]
    interface: str
    requests_per_second: float
    signals: list[PlannedSignal]
    hookups: list[str]
    steps: list[Step]
    smallest: list[SmallestError]
    cautions: list[str]
    notes: list[str]
    sizes: list[SmallestSize] = []
