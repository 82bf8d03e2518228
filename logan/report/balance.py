"""The evidence balance: what speaks for a fault to the right, what speaks against it to the left, on one scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from logan.model.finding import SPEAKS, RankedFault
from logan.report.svg import picture, tag, together
from logan.report.text import Quantity, times

_SUPERSCRIPT = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")


@dataclass(frozen=True, slots=True)
class Weighing:
    """One row of the balance: words, figures, its factor and its bar, and what the measure itself remarks."""

    text: str
    observed: str | Quantity
    expected: str
    factor: str
    side: str
    bar: Markup
    notes: tuple[str, ...] = ()


def scale(faults: Sequence[RankedFault]) -> float:
    """Half width of the common scale, a whole number of powers of ten that holds every weight shown."""
    widest = max((abs(piece.weight) for fault in faults for piece in fault.evidence), default=0.0)
    return max(1.0, math.ceil(widest - 1e-9))


def side(weight: float) -> str:
    """``for``, ``against`` or ``neutral``."""
    if abs(weight) < SPEAKS:
        return "neutral"
    return "for" if weight > 0 else "against"


def bar(weight: float, half_width: float) -> Markup:
    """One bar from the middle of the scale, with its factor at the end."""
    at = 50.0 + 42.0 * max(-1.0, min(1.0, weight / half_width))
    left, right = sorted((50.0, at))
    ticks = together(
        tag("line", class_="tick", x1=f"{x:.3f}%", x2=f"{x:.3f}%", y1=0, y2=24)
        for power in range(-int(half_width), int(half_width) + 1)
        if power and half_width <= 8
        for x in (50.0 + 42.0 * power / half_width,)
    )
    body = together(
        [
            ticks,
            tag(
                "rect",
                class_=side(weight),
                x=f"{left:.3f}%",
                width=f"{max(right - left, 0.2):.3f}%",
                y=5,
                height=14,
                rx=2,
            ),
            tag("line", class_="axis", x1="50%", x2="50%", y1=0, y2=24),
        ]
    )
    words = {"for": "speaks for it", "against": "speaks against it", "neutral": "tips no balance"}[side(weight)]
    return picture(f"{times(weight)}, {words}", body, class_="bar", width="100%", height=24)


def head(half_width: float) -> Markup:
    """The scale above the bars: which side is which, and the factors at its ends."""
    end = f"10{str(int(half_width)).translate(_SUPERSCRIPT)}" if half_width > 3 else str(10 ** int(half_width))
    words = (
        ("8%", "middle", f"÷ {end}"),
        ("47%", "end", "against it"),
        ("53%", "start", "for it"),
        ("92%", "middle", f"× {end}"),
    )
    body = together(tag("text", text, x=x, y=13, text_anchor=anchor) for x, anchor, text in words)
    return picture(
        f"Scale: against it to the left, for it to the right, up to a factor of {end}",
        body,
        class_="bar",
        width="100%",
        height=18,
    )


def shares(parts: Sequence[tuple[str, float, str]]) -> Markup:
    """All hypotheses as one strip: words, share 0..1, class."""
    start, out = 0.0, []
    for _, share, kind in parts:
        out.append(tag("rect", class_=kind, x=f"{100 * start:.3f}%", width=f"{100 * share:.3f}%", y=0, height=26))
        if start > 0:
            out.append(tag("line", class_="cut", x1=f"{100 * start:.3f}%", x2=f"{100 * start:.3f}%", y1=0, y2=26))
        start += share
    label = "How the probability is shared: " + "; ".join(f"{words} {100 * share:.0f} %" for words, share, _ in parts)
    return picture(label, together(out), class_="shares", width="100%", height=26)
