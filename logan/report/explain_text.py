"""One fault explained in short, for a person at a terminal."""

from __future__ import annotations

import textwrap
from typing import Final

from logan.model.explanation import Explanation
from logan.report.text import outside, told

WIDTH: Final = 100
MOST: Final = 2
"""Measures named for each fault that looks alike."""
ALONE: Final = "No measure of a drive tells the two apart: only the checks do."


PRACTICE: Final = "Facts of the trade (common practice, no source)"


def text(explanation: Explanation) -> str:
    """What it is, its signs, what it is not, the checks in order, what raises it."""
    lines = [outside(explanation.title), *_wrapped(explanation.meaning)]
    if explanation.unfit or explanation.needs:
        lines += ["", *_wrapped(unfit_words(explanation))]
    if explanation.signs:
        lines += ["", f"What it does to the signals ({outside(explanation.engine)}):"]
        for sign in explanation.signs:
            often = "" if sign.share >= 0.9 else f", in {100 * sign.share:.0f} % of cases"
            lines += _wrapped(f"{sign.title}: {sign.fault}{often} (good engine {sign.good})", "  ")
    if not explanation.unfit:
        lines += ["", "What it is told apart by:", *_wrapped(explanation.told_apart, "  ")]
        told = [neighbour for neighbour in explanation.neighbours if neighbour.differences]
        for neighbour in told:
            by = "; ".join(
                f"{outside(d.title)} {outside(d.here)}, there {outside(d.there)}" for d in neighbour.differences[:MOST]
            )
            lines += _wrapped(f"{neighbour.title}: {by}", "  ")
        alike = [outside(neighbour.title) for neighbour in explanation.neighbours if not neighbour.differences]
        if alike:
            lines += _wrapped(f"Not told from a drive, only by the checks: {'; '.join(alike)}", "  ")
    if explanation.practice:
        lines += ["", f"{PRACTICE}:"]
        for fact in explanation.practice:
            lines += _wrapped(fact, "  ")
    lines += ["", "What to check, in this order:"]
    for k, check in enumerate(explanation.checks, 1):
        tools = f"; {', '.join(check.tools)}" if check.tools else ""
        lines += _wrapped(f"{k}. {check.text} (about {check.minutes:.0f} min{tools})", "  ")
        so, otherwise = (text if text.endswith("?") else f"{text}." for text in check.outcomes)
        lines += _wrapped(f"If so: {so} If not: {otherwise}", "     ")
    lines += ["", "Cautions:"]
    for caution in dict.fromkeys(caution for check in explanation.checks for caution in check.cautions):
        lines += _wrapped(caution, "  ")
    work = work_words(explanation)
    if work:
        lines += ["", *_wrapped(f"Likelier after work on: {'; '.join(work)}.")]
    judged = sum("judgement" in line for line in explanation.sources)
    lines += ["", f"Sources: {len(explanation.sources)}, of which {judged} are judgements; --html lists them all."]
    return "\n".join(lines)


def unfit_words(explanation: Explanation) -> str:
    """Why the engine cannot have the fault, or what it must have for it; empty where it can for all that is known."""
    if explanation.unfit:
        return f"{explanation.unfit}."
    return f"Only an engine with {explanation.needs} can have this fault." if explanation.needs else ""


def work_words(explanation: Explanation) -> list[str]:
    """Recent work with how many times likelier it makes the fault."""
    return [f"{title} (x {factor:g})" for title, factor in sorted(explanation.work, key=lambda pair: -pair[1])]


def _wrapped(words: str, indent: str = "") -> list[str]:
    inner = indent + ("  " if indent else "")
    return textwrap.wrap(told(outside(words, 2000)), WIDTH, initial_indent=indent, subsequent_indent=inner)
