"""Measures declare what they give and need; the registry runs those that can run and explains the others."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from logan.knowledge.measures import MeasureInfo
from logan.model.measure import Measure, Missing
from logan.model.record import Record

Results = Iterable[Measure | Missing]
Function = Callable[[Record], Results]


@dataclass(frozen=True, slots=True)
class Rule:
    """One function that gives measures.

    Parameters
    ----------
    gives : names of the measures; every one comes back as ``Measure`` or ``Missing``
    needs : channels without which it cannot run
    sensors : whether it needs a crank / cam recording
    """

    gives: tuple[str, ...]
    needs: tuple[str, ...]
    sensors: bool
    function: Function


_RULES: list[Rule] = []


def gives(*names: str, needs: tuple[str, ...] = (), sensors: bool = False) -> Callable[[Function], Function]:
    """Declare that a function gives these measures."""

    def declare(function: Function) -> Function:
        _RULES.append(Rule(names, needs, sensors, function))
        return function

    return declare


def rules() -> tuple[Rule, ...]:
    """All rules declared so far."""
    return tuple(_RULES)


def run(record: Record, info: dict[str, MeasureInfo]) -> tuple[list[Measure], list[Missing]]:
    """Every measure of a record, in the order of the catalogue, and the reasons for those that are absent.

    A measure may have several rules (from the bus, from a sensor recording); the first value counts, and it is
    missing only where every rule says so.
    """
    found: dict[str, Measure] = {}
    absent: dict[str, Missing] = {}

    def miss(name: str, why: str) -> None:
        absent.setdefault(name, Missing(measure=name, why=why, capture_hint=info[name].hint if name in info else ""))

    for rule in _RULES:
        lacking = [name for name in rule.needs if name not in record.channels]
        if rule.sensors and not record.sensors:
            for name in rule.gives:
                miss(name, "no crank / cam recording in the capture")
            continue
        if lacking:
            for name in rule.gives:
                miss(name, f"not in the capture: {', '.join(lacking)}")
            continue
        for result in rule.function(record):
            if isinstance(result, Measure):
                found.setdefault(result.name, result)
            else:
                miss(result.measure, result.why)
        for name in rule.gives:
            if name not in found:
                miss(name, "the record does not hold what it is computed on")
    order = {name: k for k, name in enumerate(info)}

    def rank(name: str) -> int:
        return order.get(name, len(order))

    measures = sorted(found.values(), key=lambda m: rank(m.name))
    missing = sorted((m for m in absent.values() if m.measure not in found), key=lambda m: rank(m.measure))
    return measures, missing
