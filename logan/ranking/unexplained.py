"""What speaks for something that is not in the catalogue: the readings that neither a good engine nor a fault gives."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from logan.knowledge.faults import Family
from logan.knowledge.measures import MeasureInfo
from logan.model.finding import SPEAKS, Evidence
from logan.ranking.reading import Reading
from logan.ranking.signs import Good
from logan.ranking.weigh import Piece
from logan.ranking.words import expected, number, title

MOST: Final = 3


def speaking(
    pieces: Sequence[Piece], good: Mapping[str, Good], families: Mapping[str, Family], info: dict[str, MeasureInfo]
) -> list[Evidence]:
    """The measures and codes that make something else likelier, the heaviest first, with what a good engine gives."""
    found = [piece for piece in pieces if piece.kind in ("measure", "dtc") and float(piece.weight[-1]) > SPEAKS]
    found.sort(key=lambda piece: -float(piece.weight[-1]))
    return [
        _measure(piece, good[piece.name], info) if piece.kind == "measure" else _code(piece, families[piece.family])
        for piece in found[:MOST]
    ]


def sentence(found: Sequence[Evidence]) -> str:
    """What differs, in one sentence a piece; empty where nothing stands out."""
    return " ".join(f"{piece.text}." for piece in found)


def _measure(piece: Piece, good: Good, info: dict[str, MeasureInfo]) -> Evidence:
    name = piece.name
    cylinder = max(piece.readings, key=lambda k: _past(good, piece.readings[k]))
    reading = piece.readings[cylinder]
    usual = expected(good.usual, name, info)
    side = info[name].side(reading.low, reading.high) if name in info else ""
    where = f" in cylinder {cylinder} against the median of the others" if cylinder else ""
    observed = number(reading.value, name, info)
    return Evidence(
        kind="measure",
        name=name,
        observed=observed if cylinder else reading.value,
        expected=usual,
        weight=round(float(piece.weight[-1]), 3),
        text=f"{title(name, info)} is {observed}{side}{where}; a good engine gives {usual}",
        group=piece.group,
    )


def _past(good: Good, reading: Reading) -> float:
    """How far a reading lies outside of what a good engine gives."""
    low, high = good.zone if good.zone is not None else (0.0, 0.0)
    value = good.scaled(reading).value
    return max(value - high, low - value)


def _code(piece: Piece, family: Family) -> Evidence:
    return Evidence(
        kind="dtc",
        name=piece.name,
        observed=piece.observed,
        expected=None,
        weight=round(float(piece.weight[-1]), 3),
        text=f"The control module stored {piece.name} ({piece.observed}): {family.title}",
        group=piece.group,
    )
