"""The catalogue of measures: names, units and words, from ``data/measures.toml``."""

from __future__ import annotations

import msgspec

from logan.knowledge.locate import DATA


class MeasureInfo(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What people need to know of a measure; ``hint`` says how to capture what it needs."""

    name: str
    unit: str
    title: str
    meaning: str
    hint: str
    group: str
    decimals: int = 2
    contract: bool = True


class _File(msgspec.Struct, forbid_unknown_fields=True):
    measure: list[MeasureInfo]


def load() -> dict[str, MeasureInfo]:
    """The catalogue by name, in the order of the file."""
    file = msgspec.toml.decode((DATA / "measures.toml").read_bytes(), type=_File)
    return {info.name: info for info in file.measure}
