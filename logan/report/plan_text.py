"""A plan in short, for a person at a terminal."""

from __future__ import annotations

import textwrap
from typing import Final

from logan.model.plan import Plan, PlannedSignal, SmallestError
from logan.report.text import outside

WIDTH: Final = 100


def text(plan: Plan) -> str:
    """Signals, hook-ups, the drive, what it would show, cautions."""
    lines = [
        f"What to record on {outside(plan.engine)} ({outside(plan.interface)}, {plan.requests_per_second:g} requests/s)"
    ]
    for signal in plan.signals:
        mark = "essential" if signal.essential else "helps"
        lines += _wrapped(f"{signal.channel} ({mark}): {signal.where}{every(signal)}")
    for title, entries in (("Sensors to tap:", plan.hookups), ("Mind:", plan.notes)):
        if entries:
            lines += ["", title, *(line for entry in entries for line in _wrapped(entry))]
    lines += ["", "The drive:"]
    for k, step in enumerate(plan.steps, 1):
        lines += _wrapped(f"{k}. {step.title} ({step.seconds:.0f} s). Stop: {step.stop}.")
    lines += ["", "Smallest error it would show (at least 80 % of cases, 5 % false alarms; noise of readings assumed):"]
    lines += [line for one in plan.smallest if one.value is not None for line in _wrapped(f"{one.title}: {size(one)}")]
    lines += ["", "Cautions (service manual, local rules and licensed practice go first):"]
    lines += [line for caution in plan.cautions for line in _wrapped(caution)]
    return "\n".join(lines)


def every(signal: PlannedSignal) -> str:
    """How often, in words."""
    return f", every {signal.period_s:.2g} s" if signal.period_s else ""


def size(one: SmallestError) -> str:
    """Smallest error with its unit."""
    return "-" if one.value is None else f"{one.value:.2g} {one.unit}".strip()


def _wrapped(words: str) -> list[str]:
    return textwrap.wrap(outside(words, 2000), WIDTH, initial_indent="  ", subsequent_indent="    ")
