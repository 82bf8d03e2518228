"""Drawings of a comparison: the outcomes as a strip, the differences on one scale, a number over several drives."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from typing import Final

from markupsafe import Markup

from logan.model.comparison import Difference, Outcome, Trend
from logan.report.svg import picture, tag, together
from logan.report.text import Catalogue, counted, measure_title, number

OUTCOMES: Final[dict[Outcome, tuple[str, str]]] = {
    # in the order in which they are shown: words, colour role
    "worse": ("worse", "share1"),
    "better": ("better", "share-none"),
    "changed": ("changed, no limit says which way is good", "share3"),
    "cannot_tell": ("cannot be told", "share-else"),
    "same": ("the same", "share-rest"),
}
SPAN: Final = 4.0
"""Ends of the common scale, in changes that matter."""
ROW: Final = 38
WIDE, TALL = 440.0, 200.0
MOST_TICKS: Final = 8


def difference_title(row: Difference | Trend, catalogue: Catalogue) -> str:
    """Title with the cylinder."""
    title = measure_title(row.measure, catalogue)
    return title if row.cylinder is None else f"{title}, cylinder {row.cylinder}"


def strip(rows: Sequence[Difference]) -> Markup:
    """How many numbers came to which outcome, as one strip."""
    counts = [(words, sum(row.outcome == one for row in rows), role) for one, (words, role) in OUTCOMES.items()]
    start, out = 0.0, []
    for _, count, role in counts:
        width = 100.0 * count / max(len(rows), 1)
        out.append(tag("rect", class_=role, x=f"{start:.3f}%", width=f"{width:.3f}%", y=0, height=26))
        start += width
    label = f"{counted(len(rows), 'number')} compared: " + "; ".join(f"{words} {count}" for words, count, _ in counts)
    return picture(label, together(out), class_="shares", width="100%", height=26)


def differences(shown: Sequence[Difference], catalogue: Catalogue) -> Markup:
    """Differences with their intervals, each in units of the change that matters, which must be known."""
    height = ROW * len(shown) + 34
    parts = [
        tag(
            "rect",
            style="fill:var(--band)",
            x=f"{_at(-1):.2f}%",
            width=f"{_at(1) - _at(-1):.2f}%",
            y=20,
            height=height - 34,
        )
    ]
    for tick in range(-int(SPAN), int(SPAN) + 1):
        x = f"{_at(tick):.2f}%"
        parts.append(tag("line", class_="tick" if tick else "axis", x1=x, x2=x, y1=20, y2=height - 14))
        words = f"{tick:+d}".replace("-", "\N{MINUS SIGN}") if tick else "0"
        parts.append(tag("text", words, x=x, y=13, text_anchor="middle"))
    for k, row in enumerate(shown):
        parts += _row(row, 20 + ROW * k, catalogue)
    label = "Differences, after minus before, each in units of the change that matters; the table gives the numbers"
    return picture(label, together(parts), class_="bar", width="100%", height=height)


def _row(row: Difference, top: int, catalogue: Catalogue) -> list[Markup]:
    scale = row.matters or 1.0
    low, value, high = (max(-SPAN, min(SPAN, x / scale)) for x in (row.low, row.difference, row.high))
    side = {"better": "for", "worse": "against"}.get(row.outcome)
    colour = "var(--for)" if side == "for" else "var(--against)" if side else "var(--muted)"
    y = top + 27
    return [
        tag("text", difference_title(row, catalogue), x=f"{_at(-SPAN):.2f}%", y=top + 15),
        tag(
            "line", style=f"stroke:{colour};stroke-width:2.4", x1=f"{_at(low):.2f}%", x2=f"{_at(high):.2f}%", y1=y, y2=y
        ),
        tag("circle", style=f"fill:{colour}", cx=f"{_at(value):.2f}%", cy=y, r=4.5),
    ]


def _at(x: float) -> float:
    return 50.0 + 47.0 * x / SPAN


def over_drives(
    trend: Trend, limit: float | None, decimals: int, catalogue: Catalogue, level_from: int | None = None
) -> Markup:
    """One number over the drives with its intervals, the limit, and the slope or the two levels of a step."""
    ends = [*trend.lows, *trend.highs, *([] if limit is None else [limit])]
    bottom, top = min(ends), max(ends)
    room = (top - bottom) or 1.0
    first, last = trend.at[0], trend.at[-1]

    def x(t: float) -> float:
        return 70.0 + (WIDE - 90.0) * (t - first) / ((last - first) or 1.0)

    def y(value: float) -> float:
        return TALL - 34.0 - (TALL - 60.0) * (value - bottom) / room

    parts = [tag("line", class_="axis", x1=60.0, x2=60.0, y1=18.0, y2=TALL - 30.0)]
    parts += [
        axis_number(value, trend.unit, decimals, x=54.0, y=y(value) + 4.0, text_anchor="end") for value in (bottom, top)
    ]
    if limit is not None:
        parts.append(
            tag(
                "line",
                style="stroke:var(--against);stroke-dasharray:5 4;stroke-width:1.4",
                x1=60.0,
                x2=WIDE - 12.0,
                y1=y(limit),
                y2=y(limit),
            )
        )
        parts.append(tag("text", "limit", x=WIDE - 12.0, y=y(limit) - 5.0, text_anchor="end"))
    for t0, v0, t1, v1 in _lines(trend, level_from):
        ends_of_line = [max(bottom, min(top, v)) for v in (v0, v1)]
        parts.append(
            tag(
                "line",
                style="stroke:var(--fit);stroke-width:1.6",
                x1=x(t0),
                x2=x(t1),
                y1=y(ends_of_line[0]),
                y2=y(ends_of_line[1]),
            )
        )
    every = -(-len(trend.at) // MOST_TICKS)
    for k, (t, value, low, high) in enumerate(zip(trend.at, trend.values, trend.lows, trend.highs, strict=True)):
        parts.append(tag("line", style="stroke:var(--point);stroke-width:2", x1=x(t), x2=x(t), y1=y(low), y2=y(high)))
        parts.append(tag("circle", style="fill:var(--point2)", cx=x(t), cy=y(value), r=4.0))
        if k % every == 0:
            parts.append(tag("text", f"{t:.3g}", x=x(t), y=TALL - 12.0, text_anchor="middle"))
    label = f"{difference_title(trend, catalogue)} over {len(trend.at)} drives"
    return picture(
        label, together(parts), viewBox=f"0 0 {WIDE:g} {TALL:g}", style="width:100%;height:auto;max-width:620px"
    )


def axis_number(value: float, unit: str, decimals: int, **attributes: object) -> Markup:
    """A number at an axis without its unit; the page converts it like those of the tables."""
    of_page = {"data_value": repr(value), "data_unit": unit, "data_decimals": decimals, "data_bare": "yes"}
    return tag("text", number(value, decimals), class_="q", **of_page, **attributes)


def _lines(trend: Trend, level_from: int | None) -> list[tuple[float, float, float, float]]:
    """Ends of the line of the slope, or of those of the levels before and from one drive on: time, value, twice."""
    if level_from is None:
        rest = sorted(v - trend.slope * t for t, v in zip(trend.at, trend.values, strict=True))
        first, last, middle = trend.at[0], trend.at[-1], rest[len(rest) // 2]
        return [(first, middle + trend.slope * first, last, middle + trend.slope * last)]
    parts = [slice(0, level_from), slice(level_from, None)]
    levels = [(trend.at[part], median(trend.values[part])) for part in parts]
    return [(at[0], level, at[-1], level) for at, level in levels]
