"""The shortest extra recording that would show a fault to which a record was blind."""

from __future__ import annotations

from logan.knowledge.plan import PlanData, named, serves, shortest
from logan.ranking.hypotheses import Suspect


def extra_recording(suspect: Suspect, plan: PlanData) -> str:
    """The shortest step of a planned drive that shows a main sign of the fault; empty where none does."""
    signs = [name for name, sign in suspect.signs.items() if sign.main]
    step = shortest(signs, plan)
    if step is None:
        return ""
    told = [name for name in signs if any(serves(word, name) for word in step.tells)]
    taps = [tap.sensor for tap in plan.hookup if any(named(name, tap) for name in told)]
    tapped = f", {' and '.join(taps)} tapped" if taps else ""
    return f"{step.title} ({int(step.seconds) // 60}:{int(step.seconds) % 60:02d} min{tapped})"
