"""A plan in short, for a person at a terminal."""

from __future__ import annotations

import textwrap
from typing import Final

from logan.model.plan import Plan, PlannedSignal, SmallestError, SmallestSize, Step
from logan.report.text import outside, told
from logan.units import of_difference

WIDTH: Final = 100
STEP: Final = 11
"""Columns before a step's words: its number and its time."""
TITLE: Final = 50
"""Columns of a fault's title; a longer one takes two lines."""
FEW: Final = 3
"""Up to so many faults everything is written out; for more a table has to do, the rest stands on the page."""
ALARMS: Final = "Shown: in 80 of 100 recordings or more, at 5 false alarms of 100; the noise of readings is assumed."


def text(plan: Plan) -> str:
    """Signals, hook-ups, the drive, what it would show, cautions."""
    return "\n".join(_whole(plan) if len(plan.faults) <= FEW else _short(plan))


def _title(plan: Plan) -> str:
    rate = f"{outside(plan.interface)}, {plan.requests_per_second:g} requests/s"
    return f"What to record on {outside(plan.engine)} ({rate})"


def _whole(plan: Plan) -> list[str]:
    lines = [_title(plan)]
    for signal in plan.signals:
        mark = "essential" if signal.essential else "helps"
        lines += _wrapped(f"{signal.title} ({mark}): {signal.where}; {often(signal)}")
    for title, entries in (("Sensors to tap:", plan.hookups), ("Mind:", plan.notes)):
        if entries:
            lines += ["", title, *(line for entry in entries for line in _wrapped(entry))]
    lines += ["", f"The drive ({clock(sum(step.seconds for step in plan.steps))} in all):"]
    for k, step in enumerate(plan.steps, 1):
        lines += _wrapped(f"{k}. {step.title} ({clock(step.seconds)}, {speeds(step)}).")
        lines += [f"    {line.strip()}" for line in _wrapped(f"Second person: {step.second}. Stop: {step.stop}.")]
    lines += ["", "Smallest size that it would show:"]
    lines += [line for one in plan.sizes for line in _wrapped(f"{one.title}: {smallest(one)}")]
    lines += [f"  {ALARMS}", "", "Smallest error of each measure:"]
    lines += [line for one in plan.smallest if one.value is not None for line in _wrapped(f"{one.title}: {size(one)}")]
    lines += ["", "Cautions (service manual, local rules and licensed practice come first):"]
    return lines + [line for caution in plan.cautions for line in _wrapped(caution)]


def _short(plan: Plan) -> list[str]:
    needed = [signal for signal in plan.signals if signal.essential]
    asked = ", ".join(s.title for s in needed if s.period_s is not None)
    rest = ", ".join(s.title for s in needed if s.period_s is None and s.seen)
    unseen = ", ".join(s.title for s in needed if not s.seen)
    quickest = min((s.period_s for s in needed if s.period_s is not None), default=0.0)
    lines = [_title(plan), *_wrapped(f"Ask for (every {_written(quickest, 2, 's')} and slower): {asked}")]
    if rest:
        lines += _wrapped(f"From the bus, or sensors fitted for the test: {rest}")
    if unseen:
        lines += _wrapped(f"Only seen by a CAN interface that listens, not by this one: {unseen}")
    taps = ", ".join(tap.split(":")[0] for tap in plan.hookups)
    lines += _wrapped(f"Tap: {taps}") if taps else []
    lines.append(f"The drive ({clock(sum(step.seconds for step in plan.steps))} in all):")
    for k, step in enumerate(plan.steps, 1):
        lines += _wrapped(step.title, f"  {k} {clock(step.seconds):>5}  ", " " * STEP)
    lines.append(f"{'Smallest size of each fault that it would show:':<{WIDTH - 20}}{'of usual sizes':>20}")
    lines += [_row(one) for one in plan.sizes]
    lines += [
        "Cautions: high-pressure fuel, hot and turning parts, exhaust gas, batteries, road tests. Read them, the",
        "hook-ups and when to stop on the page (--html FILE) first; the service manual and local rules come first.",
    ]
    return lines


def _row(one: SmallestSize) -> str:
    seen = f"{100 * one.share:.0f} %" if one.share is not None else "-"
    what = f"{told(number(one)):<{WIDTH - TITLE - 14}}{seen:>10}"
    *above, last = textwrap.wrap(told(outside(one.title, 500)), TITLE)
    return "\n".join([*(f"  {line}" for line in above), f"  {last:<{TITLE}}  {what}"])


def clock(seconds: float) -> str:
    """Minutes and seconds."""
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def speeds(step: Step) -> str:
    """Range of engine speed, in words."""
    if step.high_rpm <= 0.0:
        return "engine stands"
    same = step.low_rpm == step.high_rpm
    return f"about {step.high_rpm:.0f} rpm" if same else f"{step.low_rpm:.0f} to {step.high_rpm:.0f} rpm"


def often(signal: PlannedSignal) -> str:
    """How often, and in which request, in words."""
    if not signal.seen:
        return "this interface cannot see it"
    if not signal.period_s:
        return "as often as it is sent"
    turn = f", request {signal.request}" if signal.request is not None else ""
    return f"every {_written(signal.period_s, 2, 's')}{turn}"


def size(one: SmallestError) -> str:
    """Smallest error with its unit."""
    return "-" if one.value is None else _written(one.value, 2, of_difference(one.unit))


def number(one: SmallestSize) -> str:
    """Smallest size of a fault with its unit."""
    if one.value is None:
        return "yes or no" if one.share else "not by these steps at this rate"
    if one.limit is None:
        return f"a change of {_written(one.value, 3, of_difference(one.unit))}"
    size_of = _written(one.value, 3, one.unit)
    return f"{'+-' if one.either_way else ''}{size_of} and {'more' if one.value >= one.limit else 'less'}"


def smallest(one: SmallestSize) -> str:
    """Smallest size of a fault, in words, with its measure and the limit that it has to pass."""
    past = ""
    if one.limit is not None:
        past = f" (limit {'+-' if one.either_way else ''}{_written(one.limit, 6, one.unit)})"
    return f"{outside(one.measure_title)}: {number(one)}{past}"


def _written(value: float, digits: int, unit: str) -> str:
    """A number with so many digits that count, without a power of ten, and its unit as sentences write it."""
    short = f"{value:.{digits}g}"
    return f"{short if 'e' not in short else f'{value:.0f}'} {unit}".strip()


def _wrapped(words: str, first: str = "  ", then: str = "    ") -> list[str]:
    return textwrap.wrap(told(outside(words, 2000)), WIDTH, initial_indent=first, subsequent_indent=then)
