"""Measures: numbers with unit, interval, count and provenance, or the reason why there is none."""

from __future__ import annotations

import msgspec


class Provenance(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """What a measure was computed on."""

    files: list[str] = []
    channels: list[str] = []
    spans_s: list[tuple[float, float]] = []
    note: str = ""


class Measure(msgspec.Struct, frozen=True, kw_only=True):
    """One measure (docs/reference.md).

    ``low``..``high`` is the 95 % interval that combines the statistical and the systematic part; both parts are kept
    (standard uncertainties, ``None`` where they were not told apart). Lists are in cylinder order. ``parts`` are the
    single readings that a value stands for, in the order of the profile (the edges of a target), None where not seen.
    """

    name: str
    value: float | list[float]
    unit: str
    low: float | list[float]
    high: float | list[float]
    n: int
    provenance: Provenance = Provenance()
    statistical: float | None = None
    systematic: float | None = None
    notes: list[str] = []
    parts: list[float | None] = []


class Missing(msgspec.Struct, frozen=True, kw_only=True):
    """A measure that could not be computed: why, and how to capture what it needs."""

    measure: str
    why: str
    capture_hint: str
