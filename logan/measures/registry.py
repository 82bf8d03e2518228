"""Measures declare what they give and need; the registry runs those that can run and explains the others."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import msgspec
import numpy as np

from logan.knowledge.measures import MeasureInfo
from logan.measures.perhaps import lacking
from logan.model.measure import Measure, Missing
from logan.model.record import NO_PROFILE, Record
from logan.model.sensor import sensors_of

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
_NO_TIME = "no line of {} has a time: this needs more than the order of the values"
_NAME_IT = "Name the engine (--engine NAME): the recording is there."
_NO_TIME_HINT = "Record again with a time on every line."


def gives(*names: str, needs: tuple[str, ...] = (), sensors: bool = False) -> Callable[[Function], Function]:
    """Declare that a function gives these measures."""

    def declare(function: Function) -> Function:
        _RULES.append(Rule(names, needs, sensors, function))
        return function

    return declare


def rules() -> tuple[Rule, ...]:
    """All rules declared so far."""
    return tuple(_RULES)


def all_missing(names: Iterable[str], why: str) -> Iterator[Missing]:
    """The same reason for several measures."""
    for name in names:
        yield Missing(measure=name, why=why, capture_hint="")


def _plain(found: Measure) -> Measure | None:
    """The measure in plain numbers; None where its value or a bound is not a number."""
    bounds = {key: np.asarray(getattr(found, key), float) for key in ("value", "low", "high")}
    if not all(np.isfinite(values).all() for values in bounds.values()):
        return None
    return msgspec.structs.replace(found, **{key: values.tolist() for key, values in bounds.items()})


def _untimed(rule: Rule, record: Record) -> str:
    """Name of a file without times that the rule's channels come from, empty where there is none."""
    if rule.sensors:
        return ""
    names = {capture.name for capture in record.captures if not capture.timed}
    used = [record.channels.best[name] for name in rule.needs] or list(record.channels)
    return next((channel.file for channel in used if channel.file in names), "")


def run(record: Record, info: dict[str, MeasureInfo]) -> tuple[list[Measure], list[Missing]]:
    """Every measure of a record, in the order of the catalogue, and the reasons for those that are absent.

    A measure may have several rules (from the bus, from a sensor recording); the first value counts, and it is
    missing only where every rule says so. The reason of a rule that could run goes before that of one that could not.
    """
    found: dict[str, Measure] = {}
    absent: dict[str, Missing] = {}
    could_not_run: dict[str, Missing] = {}

    def miss(name: str, why: str, among: dict[str, Missing]) -> None:
        hint = info[name].hint if name in info else ""
        if why.endswith(NO_PROFILE) and not record.engine_known:
            hint = _NAME_IT
        among.setdefault(name, Missing(measure=name, why=why, capture_hint=hint))

    for rule in _RULES:
        lacks = lacking(rule.needs, record.channels)
        if rule.sensors and not record.sensors:
            for name in rule.gives:
                miss(name, "no crank / cam recording in the capture", could_not_run)
            continue
        if lacks:
            from_edges = lacks.endswith(": engine_speed") and "crank" in sensors_of(record.sensors)
            for name in rule.gives:
                by_crank = from_edges and name.startswith("idle_") and not record.engine_known
                miss(name, f"{lacks}; {NO_PROFILE}" if by_crank else lacks, could_not_run)
            continue
        untimed = _untimed(rule, record)
        hidden = {name for name in rule.gives if untimed and not (name in info and info[name].level)}
        for name in hidden:
            absent.setdefault(name, Missing(measure=name, why=_NO_TIME.format(untimed), capture_hint=_NO_TIME_HINT))
        for result in rule.function(record) if hidden != set(rule.gives) else ():
            if (result.measure if isinstance(result, Missing) else result.name) in hidden:
                continue
            if isinstance(result, Missing):
                miss(result.measure, result.why, absent)
            elif (plain := _plain(result)) is not None:
                found.setdefault(plain.name, plain)
            else:
                miss(result.name, "the record does not bound it: its interval has no end", absent)
        for name in rule.gives:
            if name not in found:
                miss(name, "the record does not hold what it is computed on", absent)
    order = {name: k for k, name in enumerate(info)}

    def rank(name: str) -> int:
        return order.get(name, len(order))

    measures = sorted(found.values(), key=lambda m: rank(m.name))
    missing = sorted(
        (m for m in (could_not_run | absent).values() if m.measure not in found), key=lambda m: rank(m.measure)
    )
    return measures, missing
