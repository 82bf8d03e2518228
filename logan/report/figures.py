"""Time plots: plain figure dictionaries, one a panel, all on the session's time axis.

The drive ribbon below each is the same for all; the page adds it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from logan.model.channel import Channel
from logan.model.record import Record
from logan.report.decimate import POINTS, thinned
from logan.report.palette import LIGHT
from logan.report.text import unit_words

Figure = dict[str, Any]
KeyEntry = tuple[str, str, str]
"""Colour role, shape (``line``, ``dashed``, ``dot``, ``diamond``, ``square``) and words."""

POINTS_IN_ALL: Final = 45_000
"""Points of all time plots together, so that the page stays small."""
PLOT_FLOOR: Final = 0.16
"""Share of a panel's height below the plot: the ribbon and air."""


@dataclass(frozen=True, slots=True)
class Panel:
    """One time plot: its channels with their words, all in one unit; commanded values come first and are dashed."""

    id: str
    title: str
    unit: str
    channels: tuple[tuple[str, str], ...]


PANELS: Final[tuple[Panel, ...]] = (
    Panel("speed", "Engine speed", "rpm", (("idle_speed_target", "idle target"), ("engine_speed", "engine speed"))),
    Panel("load", "Load and pedal", "%", (
        ("calculated_load", "load"), ("torque_actual", "torque"),
        ("accelerator_pedal_d", "pedal, track D"), ("accelerator_pedal_e", "pedal, track E"))),
    Panel("road", "Road speed", "km/h", (("vehicle_speed", "road speed"),)),
    Panel("timing", "Injection timing before top dead centre", "deg", (
        ("injection_timing_commanded", "commanded"), ("injection_timing_actual", "actual"))),
    Panel("duty", "Actuator duty", "%", (
        ("timing_actuator_duty", "timing actuator"), ("rail_valve_duty", "rail pressure valve"))),
    Panel("supply", "Fuel supply pressure, gauge", "kPa", (("fuel_supply_pressure", "supply pressure"),)),
    Panel("rail", "Fuel rail pressure", "kPa", (
        ("fuel_rail_pressure_commanded", "commanded"), ("fuel_rail_pressure_actual", "actual"))),
    Panel("phase", "Cam against crank, as broadcast", "deg", (("crank_cam_phase", "observed minus expected"),)),
    Panel("signal", "Sensor signal errors counted", "", (
        ("crank_signal_errors", "crank sensor"), ("cam_signal_errors", "cam sensor"))),
    Panel("boost", "Intake pressure, absolute", "kPa", (
        ("boost_pressure_commanded", "commanded"), ("intake_manifold_pressure", "intake manifold"),
        ("barometric_pressure", "outside air"))),
    Panel("air", "Air mass flow", "g/s", (("mass_air_flow", "air mass flow"),)),
    Panel("temperature", "Temperatures", "degC", (
        ("coolant_temperature", "coolant"), ("oil_temperature", "oil"), ("fuel_temperature", "fuel"),
        ("intake_air_temperature", "intake air"))),
    Panel("voltage", "System voltage", "V", (("control_module_voltage", "at the control module"),)),
    Panel("quantity", "Fuel quantity", "mg/stroke", (("fuel_quantity", "fuel quantity"),)),
    Panel("rate", "Fuel rate", "L/h", (("fuel_rate", "fuel rate"),)),
    Panel("trim", "Fuel trim, bank 1", "%", (
        ("short_term_fuel_trim_1", "short term"), ("long_term_fuel_trim_1", "long term"))),
)  # fmt: skip
FROM_NOTHING: Final = frozenset({"signal"})
"""Panels of counts: their axis starts at 0."""
_STEPPED = ("idle_speed_target", "crank_signal_errors", "cam_signal_errors")
_COMMANDED = ("commanded", "idle target")
_LINES = ("line1", "line2", "line3", "line4")
COMMANDED_LINE = "line2"


@dataclass(frozen=True, slots=True)
class TimePlot:
    """A panel that has data: figure, words that stand for it, its key, the channels drawn."""

    panel: Panel
    figure: Figure
    label: str
    key: tuple[KeyEntry, ...]
    channels: tuple[str, ...]


def base_layout(x_title: str, y_title: str) -> Figure:
    """What every chart shares: quiet axes, no background of its own, one font."""
    axis = {
        "gridcolor": LIGHT["rule"], "linecolor": LIGHT["faint"], "zeroline": False, "ticks": "outside", "ticklen": 4,
        "tickcolor": LIGHT["faint"], "showline": True,
    }  # fmt: skip
    return {
        "autosize": True,
        "margin": {"l": 58, "r": 14, "t": 30, "b": 40},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": "system-ui, sans-serif", "size": 12, "color": LIGHT["muted"]},
        "xaxis": axis | {"title": {"text": x_title, "standoff": 6}},
        "yaxis": axis | {"title": {"text": y_title, "standoff": 6}, "showline": False, "ticks": ""},
        "showlegend": False,
        "hovermode": "x unified",
        "hoverlabel": {"bgcolor": LIGHT["sheet"], "bordercolor": LIGHT["rule"], "font": {"color": LIGHT["ink"]}},
        "dragmode": "zoom",
    }


def rounded(values: NDArray[np.float64], decimals: int) -> list[float | None]:
    """Numbers for a figure; what is not finite is a hole."""
    short = np.round(values, decimals)
    return [v if ok else None for v, ok in zip(short.tolist(), np.isfinite(short).tolist(), strict=True)]


def time_range(record: Record) -> tuple[float, float] | None:
    """First and last time of all that is drawn, s."""
    names = [name for panel in PANELS for name, _ in panel.channels]
    ends = [t[[0, -1]] for name in names if (c := record.channels.get(name)) and len(t := c.finite()[0])]
    ends += [np.array([span.start_s, span.end_s]) for span in record.states.spans]
    if not ends:
        return None
    everything = np.concatenate(ends)
    return float(everything.min()), float(everything.max())


def time_plots(record: Record) -> list[TimePlot]:
    """Every panel that has data."""
    axis = time_range(record)
    if axis is None:
        return []
    found = [
        [(c, words) for name, words in panel.channels if (c := record.channels.get(name)) and len(c.finite()[0])]
        for panel in PANELS
    ]
    points = min(POINTS, POINTS_IN_ALL // max(1, sum(len(present) for present in found)))
    return [_plot(panel, present, axis, points) for panel, present in zip(PANELS, found, strict=True) if present]


def _plot(panel: Panel, present: Sequence[tuple[Channel, str]], axis: tuple[float, float], points: int) -> TimePlot:
    traces: list[Figure] = []
    key: list[KeyEntry] = []
    lows, highs = [], []
    with_command = any(words in _COMMANDED for _, words in present)
    free = iter([line for line in _LINES if not (with_command and line == COMMANDED_LINE)])
    for channel, words in present:
        t_s, value = channel.finite()
        lows.append(value.min())
        highs.append(value.max())
        commanded = words in _COMMANDED
        colour = COMMANDED_LINE if commanded else next(free)
        key.append((colour, "dashed" if commanded else "line", words))
        traces.append(_trace(channel.name, words, *thinned(t_s, value, points), colour, commanded))
    layout = base_layout("", "")
    layout["margin"] = {"l": 48, "r": 12, "t": 8, "b": 22}
    layout["xaxis"] |= {
        "range": [round(axis[0], 3), round(axis[1], 3)], "anchor": "free", "position": 0, "ticksuffix": " s",
    }  # fmt: skip
    layout["yaxis"] |= {"domain": [PLOT_FLOOR, 1]}
    if panel.id in FROM_NOTHING:
        layout["yaxis"] |= {"range": [0.0, 1.08 * max(1.0, float(max(highs)))]}
    layout["meta"] = {"unit": panel.unit}
    label = f"{panel.title} over time, {min(lows):.4g} to {max(highs):.4g} {unit_words(panel.unit)}".strip()
    return TimePlot(panel, {"data": traces, "layout": layout}, label, tuple(key), tuple(c.name for c, _ in present))


def _trace(
    name: str, words: str, t_s: NDArray[np.float64], value: NDArray[np.float64], colour: str, commanded: bool
) -> Figure:
    top = float(np.nanmax(np.abs(value)))
    decimals = int(np.clip(4 - np.ceil(np.log10(top)), 0, 4)) if top > 0 else 0
    return {
        "type": "scatter",
        "mode": "lines" if len(t_s) > 1 else "markers",
        "name": words,
        "x": rounded(t_s, 3),
        "y": rounded(value, decimals),
        "line": {
            "color": LIGHT[colour], "width": 1.6 if commanded else 1.3,
            "dash": "dash" if commanded else "solid", "shape": "hv" if name in _STEPPED else "linear",
        },
        "hovertemplate": "%{y:.4~g}",
    }  # fmt: skip
