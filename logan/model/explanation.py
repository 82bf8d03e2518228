"""What is known of one fault on one engine, for a person to read before or after a test."""

from __future__ import annotations

from dataclasses import dataclass

from logan.model.finding import Finding, NextCheck
from logan.model.record import Record


@dataclass(frozen=True, slots=True)
class ShownSign:
    """How the fault shows in one measure, in words; ``main`` marks the sign by which it is known."""

    measure: str
    title: str
    fault: str
    good: str
    share: float
    main: bool
    source: str


@dataclass(frozen=True, slots=True)
class Difference:
    """A measure that tells two faults apart: what each gives, and how far both overlap, 0 (never) to 1 (the same)."""

    title: str
    here: str
    there: str
    overlap: float


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A fault that looks alike, with what tells it apart, the best first; nothing where no measure does."""

    fault: str
    title: str
    differences: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class Explanation:
    """One fault.

    Parameters
    ----------
    engine : name of the engine for which the values hold
    unfit : why this engine cannot have the fault, empty where it can
    signs : its signs on this engine, main ones first
    neighbours : faults that look alike, the nearest first
    checks : in the trade's order
    work : what makes it likelier when it was fitted or opened just before: title and factor
    sources : where the data come from, or what is a judgement
    practice : facts of the trade, common practice without a source
    needs : a part without which no engine has the fault, which no profile names; empty for most
    drawn_on : name of the training engine on which the drives were simulated, empty where there are none
    healthy, faulty : simulated drives without and with the fault
    """

    fault: str
    title: str
    meaning: str
    told_apart: str
    engine: str
    unfit: str
    signs: tuple[ShownSign, ...]
    neighbours: tuple[Neighbour, ...]
    checks: tuple[NextCheck, ...]
    work: tuple[tuple[str, float], ...]
    sources: tuple[str, ...]
    practice: tuple[str, ...] = ()
    needs: str = ""
    drawn_on: str = ""
    healthy: tuple[Record, Finding] | None = None
    faulty: tuple[Record, Finding] | None = None
