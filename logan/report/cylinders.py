"""Cylinders side by side: contribution about the mean, compression against the best."""

from __future__ import annotations

import statistics
from collections.abc import Collection, Sequence

from markupsafe import Markup

from logan.model.measure import Measure
from logan.report.svg import picture, tag, together
from logan.report.text import MINUS, number

HEIGHT = 210
LONGEST_WHISKER = 2.0
"""How far an interval may stretch the axis: so many times the range of the values or the usual length of a whisker."""
_LEFT, _STEP, _TOP, _FOOT = 44, 58, 14, 34


def ends(measures: Sequence[Measure], floor: float | None) -> tuple[float, float] | None:
    """Lowest and highest value of an axis that holds some lists with their intervals; None without a number.

    One interval that is open to a side, or far longer than the others, does not flatten all that there is to see.
    """
    base = 0.0 if floor is None else floor
    known = [
        (value, end)
        for m in measures
        if isinstance(m.value, list)
        for row in (m.value, m.low, m.high)
        if isinstance(row, list)
        for value, end in zip(m.value, row, strict=True)
        if value == value and end == end
    ]
    if not known:
        return None
    values = [base, *(value for value, _ in known)]
    reach = LONGEST_WHISKER * max(max(values) - min(values), statistics.median(abs(end - v) for v, end in known))
    everything = [base, *(min(max(end, value - reach), value + reach) for value, end in known)]
    bottom, top = min(everything), max(everything)
    margin = 0.08 * (top - bottom) or 1.0
    return (bottom - margin if floor is None else floor), top + margin


def beyond(measure: Measure) -> bool:
    """Whether an interval of the list goes on beyond a drawing of its own."""
    limits = ends([measure], None)
    rows = [row for row in (measure.low, measure.high) if isinstance(row, list)]
    return limits is not None and any(not limits[0] <= end <= limits[1] for row in rows for end in row if end == end)


def draw(
    measure: Measure,
    title: str,
    floor: float | None,
    axis: tuple[float, float] | None = None,
    marked: Collection[int | None] = (),
) -> Markup | None:
    """Bars with whiskers for a measure in cylinder order, or None where it is no list.

    Parameters
    ----------
    measure : the list
    title : words for it
    floor : lowest value of the axis, or None to fit it to the values about zero
    axis : ends of the axis where they shall be those of another drawing
    marked : the cylinders in question, from 1: dark, with a frame round their name; the others are quiet
    """
    if not isinstance(measure.value, list) or not isinstance(measure.low, list) or not isinstance(measure.high, list):
        return None
    limits = axis or ends([measure], floor)
    if limits is None:
        return None
    bottom, top = limits
    width = _LEFT + _STEP * len(measure.value) + 8

    def y(value: float) -> float:
        return _TOP + (top - value) / (top - bottom) * (HEIGHT - _TOP - _FOOT)

    base = 0.0 if floor is None else floor
    parts = []
    for tick in _ticks(bottom, top):
        parts.append(tag("line", class_="grid", x1=_LEFT, x2=width - 8, y1=y(tick), y2=y(tick)))
        parts.append(tag("text", number(tick, 0), class_="small", x=_LEFT - 6, y=y(tick) + 4, text_anchor="end"))
    for k, (value, low, high) in enumerate(zip(measure.value, measure.low, measure.high, strict=True)):
        middle = _LEFT + (k + 0.5) * _STEP
        suspect = k + 1 in marked
        name = _name(k + 1, middle, suspect)
        if value != value:
            parts += [name, tag("text", "–", class_="small", x=middle, y=y(base) - 4, text_anchor="middle")]
            continue
        upper, lower = sorted((y(value), y(base)))
        kind = "suspect" if suspect else "bar"
        words = f"cylinder {k + 1}: {number(value, 1)} %, 95 % interval {number(low, 1)} to {number(high, 1)} %"
        words += ", in question" if suspect else ""
        parts += [
            tag(
                "rect",
                tag("title", words),
                class_=kind,
                x=middle - 15,
                width=30,
                y=upper,
                height=max(lower - upper, 0.5),
            ),
            name,
        ]
        if low == low and high == high:
            from_, to = max(low, bottom), min(high, top)
            halo = [tag("line", class_="halo", x1=middle, x2=middle, y1=y(from_), y2=y(to))] if suspect else []
            parts += [
                *halo,
                tag("line", class_="whisker", x1=middle, x2=middle, y1=y(from_), y2=y(to)),
                # an interval that goes on beyond the drawing has no end in it
                *(
                    tag("line", class_="whisker", x1=middle - 5, x2=middle + 5, y1=y(end), y2=y(end))
                    for end in (low, high)
                    if bottom <= end <= top
                ),
            ]
    parts.append(tag("line", class_="axis", x1=_LEFT, x2=width - 8, y1=y(base), y2=y(base)))
    label = f"{title}: " + ", ".join(f"cylinder {k + 1} {number(v, 1)} %" for k, v in enumerate(measure.value))
    return picture(label.replace(MINUS, "minus "), together(parts), class_="cylinders", viewBox=f"0 0 {width} {HEIGHT}")


def _name(cylinder: int, middle: float, suspect: bool) -> Markup:
    """The cylinder's number below its bar; framed where it is in question."""
    word = tag(
        "text", f"cyl. {cylinder}", class_="small suspect-name" if suspect else "small", x=middle, y=HEIGHT - 10,
        text_anchor="middle",
    )  # fmt: skip
    if not suspect:
        return word
    frame = tag("rect", class_="frame", x=middle - 24, y=HEIGHT - 25, width=48, height=21, rx=3)
    return together([frame, word])


def _ticks(bottom: float, top: float) -> list[float]:
    span = top - bottom
    step = next((s for s in (1, 2, 5, 10, 20, 25, 50, 100, 200, 500) if span / s <= 5), span / 4)
    first = int(-(-bottom // step))
    return [k * step for k in range(first, int(top // step) + 1)]
