"""How headings of tables and recordings are understood, from ``data/table_headers.toml``."""

from __future__ import annotations

import functools

import msgspec

from logan.knowledge.load import toml
from logan.knowledge.locate import DATA


class TableHeaders(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Spellings; the head of the data file says how they are written."""

    time: list[str]
    date: list[str]
    time_units: dict[str, float]
    sensors: dict[str, list[str]]
    units: dict[str, str]

    def sensor(self, name: str) -> str | None:
        """The sensor (``crank``, ``cam``, ``pump``) that a plain heading names, or None."""
        return next((sensor for sensor, names in self.sensors.items() if name in names), None)


@functools.cache
def load() -> TableHeaders:
    """The spellings.

    Raises
    ------
    KnowledgeError : the file is wrong
    """
    return toml(DATA / "table_headers.toml", TableHeaders)[0]
