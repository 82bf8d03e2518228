"""What a fault does to the signals, drawn on two simulated drives: the good engine, then the same with the fault."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from logan.model.explanation import Explanation
from logan.model.finding import Finding
from logan.model.measure import Measure
from logan.model.record import Record
from logan.report import cylinders, ring, timing_plane
from logan.report.document import Block, Chart, Drawing, Pair
from logan.report.figures import FROM_NOTHING, time_plots
from logan.report.text import Catalogue, measure_title, scalar, unit_words

_PANELS: Final = {
    "idle_": "speed", "crank_": "signal", "cam_dropouts": "signal", "supply_": "supply", "rail_": "rail",
    "boost_": "boost", "running_voltage": "voltage", "fuel_trim": "trim", "warmup_": "temperature", "pedal_": "load",
}  # fmt: skip
"""First letters of a measure -> the time plot that shows it."""
_TIMING: Final = ("timing_", "pump_phase")
_CAM: Final = ("cam_phase",)
_CYLINDERS: Final = "cylinder_"
MOST: Final = 3
"""Kinds of picture, the fault's main signs first."""


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


def blocks(explanation: Explanation, catalogue: Catalogue) -> list[Block]:
    """The pictures of the measures that the fault acts on, both drives on one scale; empty where none was simulated."""
    if explanation.healthy is None or explanation.faulty is None:
        return []
    drives = (Drive("good engine", *explanation.healthy), Drive("with the fault", *explanation.faulty))
    out: list[Block] = []
    kinds = 0
    drawn: set[str] = set()
    for sign in explanation.signs:
        view = _view(sign.measure)
        if view and view not in drawn and kinds < MOST:
            drawn.add(view)
            pictures = list(_draw(view, drives, catalogue))
            out += pictures
            kinds += bool(pictures)
    return out


def _view(measure: str) -> str:
    if measure.startswith(_TIMING):
        return "timing"
    if measure.startswith(_CAM):
        return "cycle"
    if measure.startswith(_CYLINDERS):
        return measure
    return next((panel for start, panel in _PANELS.items() if measure.startswith(start)), "")


def _draw(view: str, drives: Sequence[Drive], catalogue: Catalogue) -> Iterator[Block]:
    if view == "timing":
        yield from _planes(drives)
    elif view == "cycle":
        yield from _pair([_ring(drive) for drive in drives])
    elif view.startswith(_CYLINDERS):
        yield from _pair(list(_bars(view, drives, catalogue)))
    else:
        yield from _plots(view, drives)


def _name(view: str, drive: Drive) -> str:
    return f"{view}-{drive.words.replace(' ', '-')}"


def _pair(drawings: Sequence[Drawing | None]) -> Iterator[Block]:
    found = tuple(drawing for drawing in drawings if drawing is not None)
    if found:
        yield Pair(found)


def _planes(drives: Sequence[Drive]) -> Iterator[Block]:
    fits = [timing_plane.fit_of(drive.measures) for drive in drives]
    alone = [timing_plane.figure(drive.record, fit) for drive, fit in zip(drives, fits, strict=True)]
    ends = [end for figure in alone if figure is not None for end in figure["layout"]["yaxis"]["range"]]
    for drive, fit in zip(drives, fits, strict=True):
        figure = timing_plane.figure(drive.record, fit, (min(ends), max(ends))) if ends else None
        if figure is not None:
            title = f"Simulated, {drive.words}: timing error at each engine speed"
            if fit.drift_deg_per_min:
                title += ", its drift taken out"
            yield Chart(_name("timing", drive), title, figure, title, "plane", key=timing_plane.key(figure))


def _bars(view: str, drives: Sequence[Drive], catalogue: Catalogue) -> Iterator[Drawing | None]:
    ends = cylinders.ends([drive.measures[view] for drive in drives if view in drive.measures], None)
    for drive in drives:
        if view in drive.measures and ends is not None:
            measure = drive.measures[view]
            title = f"Simulated, {drive.words}: {measure_title(view, catalogue).lower()}"
            marked = {f.cylinder for f in drive.finding.ranking.faults[:1] if f.probability >= 0.5}
            drawing = cylinders.draw(measure, title, None, ends, marked)
            yield None if drawing is None else Drawing(drawing, f"{title}, {unit_words(measure.unit)}.")


def _plots(view: str, drives: Sequence[Drive]) -> Iterator[Block]:
    found = [(drive, plot) for drive in drives for plot in time_plots(drive.record) if plot.panel.id == view]
    values = [v for _, plot in found for trace in plot.figure["data"] for v in trace["y"] if v is not None]
    for drive, plot in found:
        title = f"Simulated, {drive.words}: {plot.panel.title.lower()}"
        margin = 0.05 * (max(values) - min(values)) or 1.0
        low = 0.0 if min(values) >= 0.0 and view in FROM_NOTHING else min(values) - margin
        plot.figure["layout"]["yaxis"] |= {"range": [low, max(values) + margin]}
        yield Chart(_name(view, drive), title, plot.figure, f"{title}. {plot.label}", "time", plot.panel.unit, plot.key)


def _ring(drive: Drive) -> Drawing | None:
    measure, single = drive.measures.get("cam_phase_error_deg"), drive.measures.get("cam_edge_outlier_deg")
    if measure is None:
        return None
    shift, low, high = scalar(measure.value), scalar(measure.low), scalar(measure.high)
    if shift is None or low is None or high is None:
        return None
    own = single.parts if single is not None else []
    drawing = ring.draw(drive.record.profile, shift, low, high, own)
    words = f"Simulated, {drive.words}: outside, the cam edges expected; inside, {ring.INSIDE[bool(own)]}."
    return None if drawing is None else Drawing(drawing, words)
