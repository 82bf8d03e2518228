"""Drawings of a fleet: the vehicles by urgency as a strip, one number of all vehicles of a family on a line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from markupsafe import Markup

from logan.model.fleet import Fleet, Peer, Urgency
from logan.report.compare_figures import axis_number
from logan.report.svg import picture, tag, together
from logan.report.text import counted, outside

URGENCIES: Final[dict[Urgency, tuple[str, str]]] = {
    # in the order in which they are shown: words, colour role
    "fault": ("a fault is likely", "share1"),
    "watch": ("to be watched", "share3"),
    "cannot_tell": ("cannot be told", "share-else"),
    "none": ("nothing found", "share-none"),
}
WIDE: Final = 440.0
LEFT, RIGHT = 24.0, 416.0
LINE_Y, LABEL_ROWS = 64.0, 3
LABEL_CHARACTERS: Final = 20


def strip(fleet: Fleet) -> Markup:
    """How many vehicles are how urgent."""
    counts = [(words, sum(one.urgency == key for one in fleet.vehicles), role)
              for key, (words, role) in URGENCIES.items()]  # fmt: skip
    start, out = 0.0, []
    for _, count, role in counts:
        width = 100.0 * count / max(len(fleet.vehicles), 1)
        out.append(tag("rect", class_=role, x=f"{start:.3f}%", width=f"{width:.3f}%", y=0, height=26))
        start += width
    label = f"{counted(len(fleet.vehicles), 'vehicle')}: " + "; ".join(f"{words} {count}" for words, count, _ in counts)
    return picture(label, together(out), class_="shares", width="100%", height=26)


def among_peers(rows: Sequence[Peer], decimals: int, title: str) -> Markup:
    """One number of every vehicle of a family; those that stand out are named."""
    low, high = min(row.value for row in rows), max(row.value for row in rows)
    room = (high - low) or 1.0

    def x(value: float) -> float:
        return LEFT + (RIGHT - LEFT) * (value - low) / room

    middle = sorted(rows, key=lambda row: row.value)[len(rows) // 2]
    shown = sorted((row for row in rows if row.shown), key=lambda row: row.value)
    band = [max(min(x(middle.centre + side * middle.spread), RIGHT), LEFT) for side in (-1.0, 1.0)]
    parts = [
        tag("rect", style="fill:var(--band)", x=band[0], width=max(band[1] - band[0], 1.0), y=LINE_Y - 16.0, height=32),
        tag("line", class_="axis", x1=LEFT, x2=RIGHT, y1=LINE_Y, y2=LINE_Y),
    ]
    parts += [
        tag("circle", style="fill:var(--point);fill-opacity:.55", cx=x(row.value), cy=LINE_Y, r=4.0)
        for row in rows
        if not row.shown
    ]
    # Names stand to the right of their line, near the right edge to its left; so staggered no line crosses a name.
    left = [row for row in shown if x(row.value) < 0.65 * WIDE]
    right = [row for row in reversed(shown) if x(row.value) >= 0.65 * WIDE]
    for anchor, named in (("start", left), ("end", right)):
        for k, row in enumerate(named):
            at, label_y = x(row.value), 14.0 + 14.0 * (k % LABEL_ROWS)
            parts += [
                tag("line", style="stroke:var(--against)", x1=at, x2=at, y1=label_y + 4.0, y2=LINE_Y - 4.0),
                tag("circle", style="fill:var(--against)", cx=at, cy=LINE_Y, r=5.0),
                tag("text", outside(row.vehicle, LABEL_CHARACTERS), x=at, y=label_y, text_anchor=anchor),
            ]
    parts += [
        axis_number(value, rows[0].unit, decimals, x=x(value), y=LINE_Y + 32.0, text_anchor="middle")
        for value in ((low, high) if high > low else (low,))
    ]
    return picture(
        f"{title}: {counted(len(rows), 'vehicle')}, {len(shown)} {'stands' if len(shown) == 1 else 'stand'} out",
        together(parts),
        class_="bar",
        viewBox=f"0 0 {WIDE:g} {LINE_Y + 40.0:g}",
        style="width:100%;height:auto;max-width:620px",
    )
