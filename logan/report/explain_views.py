"""What a fault does to the signals, drawn on two simulated drives: the good engine, then the same with the fault."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from logan.model.explanation import Explanation
from logan.report import explain_pairs
from logan.report.document import Block
from logan.report.explain_pairs import Drive, Picture
from logan.report.text import Catalogue

_PANELS: Final = {
    "idle_": "speed", "crank_": "signal", "cam_dropouts": "signal", "cam_phase": "phase", "supply_": "supply",
    "rail_": "rail", "boost_": "boost", "running_voltage": "voltage", "fuel_trim": "trim", "warmup_": "temperature",
    "pedal_": "load",
}  # fmt: skip
"""First letters of a measure -> the time plot that may show it."""
_TIMING: Final = ("timing_", "pump_phase")
_CAM: Final = ("cam_phase",)
_CYLINDERS: Final = "cylinder_"
_DRIFT: Final = "_drift_"
MOST: Final = 3
"""Kinds of picture."""
SEEN: Final = 0.1
"""Difference in parts of the axis from which a picture shows the fault."""


def blocks(explanation: Explanation, catalogue: Catalogue) -> list[Block]:
    """The pictures in which both drives differ most, those of the main signs first; empty where none was simulated.

    A main sign that no picture of the drives shows is drawn as the number that was measured.
    """
    if explanation.healthy is None or explanation.faulty is None:
        return []
    drives = (Drive("good engine", *explanation.healthy), Drive("with the fault", *explanation.faulty))
    found: dict[str, tuple[bool, Picture]] = {}
    for sign in explanation.signs:
        shown = [one for one in _pictures(sign.measure, drives, catalogue) if one.apart >= SEEN]
        if sign.main and not shown:
            shown = [explain_pairs.levels(sign.measure, drives, catalogue)]
        for one in shown:
            if one.blocks and one.view not in found:
                found[one.view] = (sign.main, one)
    best = sorted(found.values(), key=lambda pair: (not pair[0], -pair[1].apart))[:MOST]
    return [block for _, one in best for block in one.blocks]


def _pictures(measure: str, drives: Sequence[Drive], catalogue: Catalogue) -> Iterator[Picture]:
    """Every kind of picture that may show a measure."""
    if measure.startswith(_TIMING):
        yield explain_pairs.errors_over_time(drives) if _DRIFT in measure else explain_pairs.planes(drives)
    if measure.startswith(_CAM):
        yield explain_pairs.rings(drives)
    if measure.startswith(_CYLINDERS):
        yield explain_pairs.bars(measure, drives, catalogue)
    for start, panel in _PANELS.items():
        if measure.startswith(start):
            yield explain_pairs.plots(panel, measure, drives)
