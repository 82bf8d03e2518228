"""A recording planned: signals, how often to ask, hook-ups, the drive, and what it could show."""

from __future__ import annotations

import msgspec


class PlannedSignal(msgspec.Struct, frozen=True, kw_only=True):
    """A channel, where it is asked for, and the seconds between its values (None where it is only broadcast)."""

    channel: str
    where: str
    essential: bool
    period_s: float | None = None


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One step of the drive."""

    title: str
    seconds: float
    watch: str
    stop: str


class SmallestError(msgspec.Struct, frozen=True, kw_only=True):
    """Smallest error of a measure that the plan would show in 80 % of cases at 5 % false alarm; None: not computed."""

    measure: str
    title: str
    unit: str
    value: float | None
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
