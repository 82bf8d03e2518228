"""The shortest extra recording that would show a fault to which a record was blind."""

from __future__ import annotations

from logan.knowledge.limits import key_words
from logan.knowledge.plan import PlanData, named, serves, shortest
from logan.ranking.hypotheses import Suspect


def extra_recording(suspect: Suspect, plan: PlanData) -> str:
    """The shortest step of a planned drive that shows a main sign of the fault; empty where none does.

    A sign that the engine profile gives no limit for is recorded all the same: the limit is then named beside it.
    """
    signs = [name for name, sign in suspect.signs.items() if sign.main]
    needs = ""
    if not signs:
        main = dict.fromkeys(expect.measure for expect in suspect.fault.expect if expect.main)
        signs = [name for name in main if name in suspect.lacking]
        keys = dict.fromkeys(key_words(suspect.lacking[name]) for name in signs)
        needs = f"; with it the engine profile must give {' and '.join(keys)}"
    step = shortest(signs, plan)
    if step is None:
        return ""
    told = [name for name in signs if any(serves(word, name) for word in step.tells)]
    taps = [tap.sensor for tap in plan.hookup if any(named(name, tap) for name in told)]
    tapped = f", {' and '.join(taps)} tapped" if taps else ""
    return f"{step.title} ({int(step.seconds) // 60}:{int(step.seconds) % 60:02d} min{tapped}){needs}"
