"""What to record and how to drive, from ``data/plan.toml``."""

from __future__ import annotations

import msgspec

from logan.knowledge.load import toml
from logan.knowledge.locate import DATA


class _Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class Interface(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What asks the control module, and how often it can."""

    id: str
    title: str
    requests_per_second: float
    values_per_request: int
    source: str


class HookUp(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How a sensor is tapped; ``measures`` are names or their beginnings."""

    sensor: str
    text: str
    measures: list[str]
    cautions: list[str]


class Stretch(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Steady running."""

    speed_rpm: float
    load_percent: float
    seconds: float


class Manoeuvre(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One step of the drive; ``measures`` are names or their beginnings."""

    id: str
    title: str
    seconds: float
    watch: str
    stop: str
    measures: list[str]
    cautions: list[str]
    stretch: list[Stretch] = []


class Noise(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Scatter of one reading, how long readings hang together in s, and what no averaging removes."""

    reading: float
    together_s: float
    fixed: float


class PlanData(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The whole file."""

    interface: list[Interface]
    pid: dict[str, int]
    spn: dict[str, int]
    slow: dict[str, float]
    hookup: list[HookUp]
    manoeuvre: list[Manoeuvre]
    noise: dict[str, Noise]


def load() -> PlanData:
    """Read the file.

    Raises
    ------
    KnowledgeError : it is wrong
    """
    return toml(DATA / "plan.toml", PlanData)[0]


def named(measure: str, entry: HookUp | Manoeuvre) -> bool:
    """Whether a hook-up or a manoeuvre serves a measure."""
    return any(measure == word or (word.endswith("_") and measure.startswith(word)) for word in entry.measures)
