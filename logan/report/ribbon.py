"""The drive ribbon: drive states, codes and gaps as one strip."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from markupsafe import Markup

from logan.model.drive import Span
from logan.model.record import Record
from logan.report.palette import LIGHT, STATES
from logan.report.svg import picture, tag, together
from logan.report.text import outside

MOST_SPANS = 400
MOST_CODE_NAMES = 5
_TOP = 0.1


def words(state: str) -> str:
    """What a state is called on the page."""
    return STATES[state][0] if state in STATES else outside(state, 30)


def spans(record: Record) -> tuple[Span, ...]:
    """The spans to draw, the longest of them where there are very many, in order of time."""
    every = [span for span in record.states.spans if span.duration_s > 0]
    longest = sorted(every, key=lambda span: -span.duration_s)[:MOST_SPANS]
    return tuple(sorted(longest, key=lambda span: span.start_s))


def code_times(record: Record) -> dict[float, str]:
    """When trouble codes were read, s -> the first code and how many more, for those whose time is known."""
    moments: dict[float, list[str]] = {}
    for code in record.vehicle.codes:
        if code.t_s is not None:
            moments.setdefault(code.t_s, []).append(outside(code.code, 12))
    return {
        t: codes[0] + (f" and {len(codes) - 1} more" if len(codes) > 1 else "") for t, codes in sorted(moments.items())
    }


def shapes(record: Record) -> list[dict[str, Any]]:
    """The ribbon as shapes of a time plot: a strip below the plot area that moves with its time axis."""
    out = [
        {
            "type": "rect", "xref": "x", "yref": "paper", "x0": round(span.start_s, 3), "x1": round(span.end_s, 3),
            "y0": 0.01, "y1": _TOP, "layer": "below",
            "fillcolor": STATES.get(span.state, STATES["unknown"])[1],
            "line": {"width": 0.5 if span.state == "gap" else 0, "color": LIGHT["faint"], "dash": "dot"},
        }
        for span in spans(record)
    ]  # fmt: skip
    out += [
        {"type": "line", "xref": "x", "yref": "paper", "x0": t_s, "x1": t_s, "y0": 0.01, "y1": 1,
         "line": {"width": 1, "color": LIGHT["fit"], "dash": "dot"}}
        for t_s in code_times(record)
    ]  # fmt: skip
    return out


def legend(record: Record) -> list[tuple[str, str, float]]:
    """States that occur: class, words and seconds in all, in the order of the palette."""
    seconds: dict[str, float] = {}
    for span in record.states.spans:
        seconds[span.state] = seconds.get(span.state, 0.0) + span.duration_s
    return [(f"state-{name.replace('_', '-')}", words(name), seconds[name]) for name in STATES if name in seconds]


def not_drawn(record: Record) -> int:
    """How many short stretches the ribbon leaves out."""
    return max(0, sum(span.duration_s > 0 for span in record.states.spans) - MOST_SPANS)


def draw(record: Record) -> Markup | None:
    """The whole drive as one strip with a time scale, or None where no state is known."""
    shown = spans(record)
    if not shown:
        return None
    start, end = shown[0].start_s, max(span.end_s for span in shown)
    per_s = 100.0 / (end - start)
    codes = code_times(record)
    top = 16 if codes else 0
    parts = [
        tag(
            "rect",
            tag("title", f"{words(span.state)}, {span.start_s:.1f} to {span.end_s:.1f} s"),
            class_=f"state-{span.state.replace('_', '-') if span.state in STATES else 'unknown'}",
            x=f"{(span.start_s - start) * per_s:.3f}%",
            width=f"{span.duration_s * per_s:.3f}%",
            y=top,
            height=30,
        )
        for span in shown
    ]
    for t_s in _round_times(start, end):
        x = f"{(t_s - start) * per_s:.3f}%"
        parts.append(tag("line", class_="tick", x1=x, x2=x, y1=top + 30, y2=top + 35))
        parts.append(tag("text", f"{t_s:g} s", x=x, y=top + 48, text_anchor="middle"))
    for t_s, names in codes.items():
        share = (t_s - start) * per_s
        anchor, dx = ("start", 5) if share < 50 else ("end", -5)
        parts.append(tag("line", class_="code", x1=f"{share:.3f}%", x2=f"{share:.3f}%", y1=0, y2=top + 30))
        if len(codes) <= MOST_CODE_NAMES:
            parts.append(tag("text", names, class_="code-name", x=f"{share:.3f}%", dx=dx, y=11, text_anchor=anchor))
    listed: Sequence[tuple[str, str, float]] = legend(record)
    label = "Drive states: " + ", ".join(f"{name} {seconds:.0f} s" for _, name, seconds in listed)
    return picture(label, together(parts), class_="ribbon", width="100%", height=top + 52)


def _round_times(start: float, end: float) -> list[float]:
    """Four to eight round times inside the span, away from its ends."""
    span = end - start
    step = next((s for s in (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 3600) if span / s <= 8), span / 4)
    first = int(start // step) + 1
    times = [k * step for k in range(first, first + 9)]
    return [t for t in times if start + 0.04 * span <= t <= end - 0.04 * span]
