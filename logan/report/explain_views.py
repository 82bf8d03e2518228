"""What a fault does to the signals, drawn on two simulated drives: the good engine, then the same with the fault."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from logan.model.explanation import Explanation
from logan.model.finding import Finding
from logan.model.measure import Measure
from logan.model.record import Record
from logan.report import cylinders, ring, timing_plane
from logan.report.document import Block, Chart, Drawing, Pair
from logan.report.figures import time_plots
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


def blocks(explanation: Explanation, catalogue: Catalogue) -> list[Block]:
    """The pictures of the measures that the fault acts on; empty where nothing was simulated."""
    if explanation.healthy is None or explanation.faulty is None:
        return []
    drives = (("good engine", *explanation.healthy), ("with the fault", *explanation.faulty))
    out: list[Block] = []
    kinds = 0
    drawn: set[str] = set()
    for sign in explanation.signs:
        view = _view(sign.measure)
        if view and view not in drawn and kinds < MOST:
            drawn.add(view)
            pictures = [b for words, record, finding in drives for b in _draw(view, words, record, finding, catalogue)]
            drawings = tuple(picture for picture in pictures if isinstance(picture, Drawing))
            out += [Pair(drawings)] if drawings else pictures
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


def _draw(view: str, words: str, record: Record, finding: Finding, catalogue: Catalogue) -> Iterator[Block]:
    measures = {measure.name: measure for measure in finding.measures}
    name = f"{view}-{words.replace(' ', '-')}"
    if view == "timing":
        static, delay = measures.get("timing_error_static_deg"), measures.get("timing_error_delay_ms")
        figure = timing_plane.figure(record, static, delay)
        if figure is not None:
            title = f"Simulated, {words}: timing error at each engine speed"
            yield Chart(name, title, figure, title, "plane", key=timing_plane.key(figure))
    elif view == "cycle":
        yield from _ring(measures.get("cam_phase_error_deg"), measures.get("cam_edge_outlier_deg"), words, record)
    elif view.startswith(_CYLINDERS):
        if view in measures:
            title = f"Simulated, {words}: {measure_title(view, catalogue).lower()}"
            drawing = cylinders.draw(measures[view], title, None)
            if drawing is not None:
                yield Drawing(drawing, f"{title}, {unit_words(measures[view].unit)}.")
    else:
        for plot in time_plots(record):
            if plot.panel.id == view:
                title = f"Simulated, {words}: {plot.panel.title.lower()}"
                label = f"{title}. {plot.label}"
                yield Chart(name, title, plot.figure, label, "time", plot.panel.unit, plot.key)


def _ring(measure: Measure | None, single: Measure | None, words: str, record: Record) -> Iterator[Block]:
    if measure is None:
        return
    shift, low, high = scalar(measure.value), scalar(measure.low), scalar(measure.high)
    if shift is not None and low is not None and high is not None:
        drawing = ring.draw(record.profile, shift, low, high, single.parts if single is not None else [])
        if drawing is not None:
            yield Drawing(drawing, f"Simulated, {words}: cam edges expected (outside) and seen (inside).")
