"""One kind of picture of two drives, on one scale, with how far apart the two are in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from logan.model.finding import Finding
from logan.model.measure import Measure
from logan.model.record import Record
from logan.report import cylinders, ring, timing_plane
from logan.report.document import Block, Chart, Drawing, Pair
from logan.report.figures import FROM_NOTHING, Figure, TimePlot, base_layout, rounded, time_plots
from logan.report.palette import LIGHT
from logan.report.svg import picture, tag, together
from logan.report.text import Catalogue, measure_title, number, scalar, unit_words

Array = NDArray[np.float64]

WHOLE: Final = 0.15
"""Difference in parts of the axis from which a whole drive shows it; else the stretch that was measured is drawn."""
DRIVEN: Final = frozenset({"speed"})
"""Panels that follow the driver: over a whole drive two of them differ by how it was driven."""
ROOM: Final = 0.05
RING_DEG: Final = 10.0
"""Shift of a ring's edges that nobody can overlook."""
STEPS: Final = 400
DEGREES: Final = "timing error, degrees"


@dataclass(frozen=True, slots=True)
class Drive:
    """One simulated drive, with its words."""

    words: str
    record: Record
    finding: Finding

    @property
    def measures(self) -> dict[str, Measure]:
        """Its measures by name."""
        return {measure.name: measure for measure in self.finding.measures}


@dataclass(frozen=True, slots=True)
class Picture:
    """Both drives side by side; ``apart`` is how far they differ in it, in parts of its axis."""

    view: str
    apart: float
    blocks: tuple[Block, ...]


NOTHING: Final = Picture("", 0.0, ())


def planes(drives: Sequence[Drive]) -> Picture:
    """The timing planes; a drift that was found is taken out of them."""
    fits = [timing_plane.fit_of(drive.measures) for drive in drives]
    errors = [timing_plane.points(drive.record, fit) for drive, fit in zip(drives, fits, strict=True)]
    alone = [timing_plane.figure(drive.record, fit) for drive, fit in zip(drives, fits, strict=True)]
    ends = [end for figure in alone if figure is not None for end in figure["layout"]["yaxis"]["range"]]
    if not ends or any(found is None for found in errors):
        return NOTHING
    charts = []
    for drive, fit in zip(drives, fits, strict=True):
        figure = timing_plane.figure(drive.record, fit, (min(ends), max(ends)))
        if figure is not None:
            title = f"Simulated, {drive.words}: timing error at each engine speed"
            title += ", its drift taken out" if fit.drift_deg_per_min else ""
            charts.append(Chart(name("timing", drive), title, figure, title, "plane", key=timing_plane.key(figure)))
    values = [found[1] for found in errors if found is not None]
    return Picture("timing", _apart(values[0], values[1], max(ends) - min(ends)), tuple(charts))


def errors_over_time(drives: Sequence[Drive]) -> Picture:
    """Timing error as the drive goes on, which shows a drift."""
    found = [timing_plane.errors(drive.record) for drive in drives]
    rows = [one for one in found if one is not None]
    if len(rows) < len(drives):
        return NOTHING
    low, high = _ends([np.percentile(error, [0.5, 99.5]) for _, error, _, _ in rows])
    charts = []
    for drive, (t_s, error, _, _) in zip(drives, rows, strict=True):
        layout = base_layout("time, s", DEGREES)
        layout["hovermode"] = "closest"
        layout["yaxis"] |= {"range": [low, high]}
        step = max(1, len(t_s) // timing_plane.POINTS)
        figure: Figure = {
            "data": [{
                "type": "scatter", "mode": "markers", "name": "timing error", "x": rounded(t_s[::step], 1),
                "y": rounded(error[::step], 2), "marker": {"color": LIGHT["point"], "size": 4, "opacity": 0.55},
                "hovertemplate": "%{x:.0f} s, %{y:.2f}°<extra></extra>",
            }],
            "layout": layout | {"meta": {"unit": ""}},
        }  # fmt: skip
        title = f"Simulated, {drive.words}: timing error as the drive goes on"
        charts.append(Chart(name("drift", drive), title, figure, title, "plane"))
    late = [error[-max(1, len(error) // 4) :] for _, error, _, _ in rows]
    return Picture("drift", _apart(late[0], late[1], high - low), tuple(charts))


def rings(drives: Sequence[Drive]) -> Picture:
    """The cycle rings."""
    drawn = [one for one in map(_ring, drives) if one is not None]
    if len(drawn) < len(drives):
        return NOTHING
    shifts = [shift for shift, _ in drawn]
    return Picture("cycle", abs(shifts[1] - shifts[0]) / RING_DEG, (Pair(tuple(drawing for _, drawing in drawn)),))


def _ring(drive: Drive) -> tuple[float, Drawing] | None:
    measure, single = drive.measures.get("cam_phase_error_deg"), drive.measures.get("cam_edge_outlier_deg")
    if measure is None:
        return None
    shift, low, high = scalar(measure.value), scalar(measure.low), scalar(measure.high)
    if shift is None or low is None or high is None:
        return None
    own = single.parts if single is not None else []
    drawing = ring.draw(drive.record.profile, shift, low, high, own)
    words = f"Simulated, {drive.words}: outside, the cam edges expected; inside, {ring.INSIDE[bool(own)]}."
    return None if drawing is None else (shift, Drawing(drawing, words))


def bars(measure: str, drives: Sequence[Drive], catalogue: Catalogue) -> Picture:
    """The bars of a measure by cylinder."""
    lists = [drive.measures[measure] for drive in drives if measure in drive.measures]
    ends = cylinders.ends(lists, None)
    if ends is None or len(lists) < len(drives):
        return NOTHING
    drawings = []
    for drive, one in zip(drives, lists, strict=True):
        title = f"Simulated, {drive.words}: {measure_title(measure, catalogue).lower()}"
        marked = {f.cylinder for f in drive.finding.ranking.faults[:1] if f.probability >= 0.5}
        drawing = cylinders.draw(one, title, None, ends, marked)
        if drawing is not None:
            drawings.append(Drawing(drawing, f"{title}, {unit_words(one.unit)}."))
    good, bad = (np.asarray(one.value, float) for one in lists)
    apart = float(np.max(np.abs(bad - good))) / (max(ends) - min(ends) or 1.0) if good.shape == bad.shape else 0.0
    return Picture(measure, apart, (Pair(tuple(drawings)),)) if drawings else NOTHING


def plots(panel: str, measure: str, drives: Sequence[Drive]) -> Picture:
    """A panel over the whole drive where that shows the fault, else over the longest stretch that was measured."""
    found = [plot for drive in drives for plot in time_plots(drive.record) if plot.panel.id == panel]
    if len(found) < len(drives):
        return NOTHING
    whole = [(float("-inf"), float("inf"))] * len(drives)
    out = _over(panel, found, drives, whole, "")
    spans = [_longest(drive, measure) for drive in drives]
    parts = [span for span in spans if span is not None]
    if (out.apart >= WHOLE and panel not in DRIVEN) or not parts:
        return out
    near = _over(panel, found, drives, [span or parts[0] for span in spans], ", where it is measured")
    return near if near.apart > out.apart else out


def _longest(drive: Drive, measure: str) -> tuple[float, float] | None:
    """The longest stretch on which a measure was made."""
    found = drive.measures.get(measure)
    if found is None or not found.provenance.spans_s:
        return None
    return max(found.provenance.spans_s, key=lambda span: span[1] - span[0])


def _over(
    panel: str, found: Sequence[TimePlot], drives: Sequence[Drive], windows: Sequence[tuple[float, float]], where: str
) -> Picture:
    inside = [_inside(plot.figure, window) for plot, window in zip(found, windows, strict=True)]
    values = [value for traces in inside for _, value in traces.values() if len(value)]
    if not values:
        return NOTHING
    low, high = _ends(values)
    low = 0.0 if low < 0.0 <= min(float(v.min()) for v in values) and panel in FROM_NOTHING else low
    charts = []
    for plot, drive, window in zip(found, drives, windows, strict=True):
        layout = plot.figure["layout"] | {}
        layout["yaxis"] = layout["yaxis"] | {"range": [low, high]}
        if np.isfinite(window[0]):
            layout["xaxis"] = layout["xaxis"] | {"range": [round(end, 2) for end in window]}
        title = f"Simulated, {drive.words}: {plot.panel.title.lower()}{where}"
        figure = {"data": plot.figure["data"], "layout": layout}
        label = f"{title}. {plot.label}"
        charts.append(Chart(name(panel, drive), title, figure, label, "time", plot.panel.unit, plot.key))
    apart = max(
        (_apart(*_aligned(inside[0][key], inside[1][key]), high - low) for key in inside[0] if key in inside[1]),
        default=0.0,
    )
    return Picture(panel, apart, tuple(charts))


def _inside(figure: Figure, window: tuple[float, float]) -> dict[str, tuple[Array, Array]]:
    """Times and values of each trace within a window."""
    out: dict[str, tuple[Array, Array]] = {}
    for trace in figure["data"]:
        t_s, value = (np.array(trace[axis], dtype=float) for axis in "xy")
        keep = np.isfinite(value) & (t_s >= window[0]) & (t_s <= window[1])
        out[trace["name"]] = (t_s[keep], value[keep])
    return out


def _aligned(good: tuple[Array, Array], bad: tuple[Array, Array]) -> tuple[Array, Array]:
    """Both traces at the same times from the begin of each."""
    if not len(good[0]) or not len(bad[0]):
        return np.empty(0), np.empty(0)
    end = min(t[-1] - t[0] for t, _ in (good, bad))
    grid = np.linspace(0.0, end, STEPS)
    return np.interp(grid, good[0] - good[0][0], good[1]), np.interp(grid, bad[0] - bad[0][0], bad[1])


def _apart(good: Array, bad: Array, axis: float) -> float:
    """How far two sets of values lie apart, by their middle or by their spread, in parts of an axis."""
    if not len(good) or not len(bad) or axis <= 0.0:
        return 0.0
    spread = [float(np.subtract(*np.percentile(values, [95.0, 5.0]))) for values in (good, bad)]
    middle = float(np.median(np.abs(bad - good)) if len(good) == len(bad) else abs(np.median(bad) - np.median(good)))
    return max(middle, abs(spread[1] - spread[0])) / axis


def _ends(values: Sequence[Any]) -> tuple[float, float]:
    low, high = float(min(np.min(v) for v in values)), float(max(np.max(v) for v in values))
    margin = ROOM * (high - low) or 1.0
    return low - margin, high + margin


def levels(measure: str, drives: Sequence[Drive], catalogue: Catalogue) -> Picture:
    """One number of both drives with its intervals, where no picture of the drive itself shows the fault."""
    found = [(drive.words, drive.measures[measure]) for drive in drives if measure in drive.measures]
    rows = [_level(words, one) for words, one in found]
    levels = [row for row in rows if row is not None]
    if len(levels) < len(drives):
        return NOTHING
    low, high = _ends([[row.low, row.high] for row in levels])
    decimals = catalogue[measure].decimals if measure in catalogue else 2
    body = together(shape for k, row in enumerate(levels) for shape in _drawn(row, k, low, high, decimals))
    title = f"Simulated, both drives: {measure_title(measure, catalogue).lower()}"
    caption = f"{title}, {unit_words(found[0][1].unit)}, with 95 % intervals."
    drawing = picture(title, body, class_="bar", width="100%", height=40 * len(levels) + 8)
    apart = abs(levels[1].value - levels[0].value) / (high - low)
    return Picture(f"level {measure}", apart, (Drawing(drawing, caption),))


@dataclass(frozen=True, slots=True)
class _Level:
    words: str
    low: float
    value: float
    high: float


def _level(words: str, one: Measure) -> _Level | None:
    low, value, high = scalar(one.low), scalar(one.value), scalar(one.high)
    return None if low is None or value is None or high is None else _Level(words, low, value, high)


def _drawn(row: _Level, place: int, low: float, high: float, decimals: int) -> Iterator[Markup]:
    def at(value: float) -> str:
        return f"{5.0 + 75.0 * (value - low) / (high - low):.2f}%"

    y, colour = 40 * place + 30, "var(--against)" if place else "var(--for)"
    yield tag("text", f"{row.words}: {number(row.value, decimals)}", x="5%", y=y - 14)
    yield tag("line", style=f"stroke:{colour};stroke-width:2.4", x1=at(row.low), x2=at(row.high), y1=y, y2=y)
    yield tag("circle", style=f"fill:{colour}", cx=at(row.value), cy=y, r=4.5)


def name(view: str, drive: Drive) -> str:
    """Identifier of a chart."""
    return f"{view}-{drive.words.replace(' ', '-')}"
