"""The timing plane: timing error against engine speed, what was fitted to it, and where each drive key would put it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from logan.model.measure import Measure
from logan.model.profile import Pump
from logan.model.record import Record
from logan.report.figures import Figure, KeyEntry, base_layout, rounded
from logan.report.palette import LIGHT
from logan.report.text import MINUS, scalar
from logan.units import delay_to_deg

POINTS = 1500
MAX_GAP_S = 3.0
UNDER_LOAD_PERCENT = 60.0  # docs/conventions.md
_LINE_OF_WORDS = 0.115
"""Height of a line of words as a share of the axis, on paper, where the plane is lowest."""
_WIDEST_INTERVAL = 2.0
"""How far the interval of the constant part may stretch the axis, in spans of all else that is drawn."""
_SHAPES = {"circle": "dot", "diamond": "diamond", "square": "square"}


@dataclass(frozen=True, slots=True)
class Fit:
    """What was found about the timing error, as far as it was found."""

    static: Measure | None = None
    delay: Measure | None = None
    drift: Measure | None = None

    @property
    def drift_deg_per_min(self) -> float:
        """The drift where one is shown: 0 where its interval holds none."""
        if self.drift is None:
            return 0.0
        value, low, high = scalar(self.drift.value), scalar(self.drift.low), scalar(self.drift.high)
        return value if value is not None and low is not None and high is not None and low * high > 0.0 else 0.0

    @property
    def start_s(self) -> float | None:
        """The time that the drift is counted from: the start of the steady running that it was measured on."""
        spans = self.drift.provenance.spans_s if self.drift is not None else []
        return min(start for start, _ in spans) if spans else None


NOT_FITTED: Final = Fit()


def fit_of(measures: Mapping[str, Measure]) -> Fit:
    """The parts of the timing error among some measures."""
    names = ("timing_error_static_deg", "timing_error_delay_ms", "timing_error_drift_deg_per_min")
    return Fit(*(measures.get(name) for name in names))


def points(
    record: Record, fit: Fit = NOT_FITTED
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]] | None:
    """Engine speed (rpm), timing error (deg, actual minus commanded) and load (%), (k,) each; None without timing.

    A drift that was found is taken out, so that the points stand where they stood at the start of the drive.
    """
    found = errors(record)
    if found is None:
        return None
    t_s, error, speed_rpm, load_percent = found
    start_s = t_s[0] if fit.start_s is None else fit.start_s
    error = error - fit.drift_deg_per_min * (t_s - start_s) / 60.0
    step = max(1, math.ceil(len(t_s) / POINTS))
    return speed_rpm[::step], error[::step], load_percent[::step]


def errors(
    record: Record,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]] | None:
    """Time (s), timing error (deg), engine speed (rpm) and load (%), (k,) each, as they were recorded; None without."""
    actual = record.channels.get("injection_timing_actual")
    commanded = record.channels.get("injection_timing_commanded")
    speed = record.channels.get("engine_speed")
    if actual is None or commanded is None or speed is None:
        return None
    t_s, value = actual.finite()
    error = value - commanded.at(t_s, MAX_GAP_S)
    speed_rpm = speed.at(t_s, MAX_GAP_S)
    load = record.channels.get("calculated_load")
    load_percent = np.zeros(len(t_s)) if load is None else np.nan_to_num(load.at(t_s, MAX_GAP_S))
    good = np.isfinite(error) & (speed_rpm > 0)
    if np.count_nonzero(good) < 3:
        return None
    return t_s[good], error[good], speed_rpm[good], load_percent[good]


def figure(record: Record, fit: Fit = NOT_FITTED, y_range: tuple[float, float] | None = None) -> Figure | None:
    """The plane, or None where the record holds no timing; the fit is drawn where it was measured.

    ``y_range`` are the ends of the axis of the error, deg, where they shall be those of another plane.
    """
    found = points(record, fit)
    if found is None:
        return None
    speed_rpm, error_deg, load_percent = found
    top_rpm = float(speed_rpm.max()) * 1.05
    heavy = load_percent >= UNDER_LOAD_PERCENT
    traces = [
        _cloud("load under 60 %", speed_rpm[~heavy], error_deg[~heavy], "point", "circle"),
        _cloud("load 60 % and more", speed_rpm[heavy], error_deg[heavy], "point2", "diamond"),
    ]
    traces = [trace for trace in traces if trace["x"]]
    line = _fit(fit.static, fit.delay, top_rpm) if fit.static is not None else []
    traces += line
    ends = [end for m in (fit.static,) if m is not None for end in (scalar(m.low), scalar(m.high)) if end is not None]
    drawn = [y for trace in line for y in trace["y"]]
    low, high = y_range or _range(error_deg, drawn, ends if line else [], record.profile.pump)
    title = "timing error without drift, degrees" if fit.drift_deg_per_min else "timing error, degrees"
    layout = base_layout("engine speed, rpm", title)
    layout["margin"] |= {"r": 100, "t": 10}
    layout["hovermode"] = "closest"
    layout["xaxis"] |= {"range": [-round(0.015 * top_rpm), round(top_rpm)]}
    layout["yaxis"] |= {"range": [low, high], "showgrid": False}
    layout["shapes"], layout["annotations"] = _references(record.profile.pump, low, high)
    layout["meta"] = {"unit": ""}
    return {"data": traces, "layout": layout}


def key(figure: Figure) -> tuple[KeyEntry, ...]:
    """What the page says beside the plane's title: colour role, shape and words of each trace."""
    roles = {tone: role for role, tone in LIGHT.items()}
    return tuple(
        (roles[trace["line"]["color"]], "line", trace["name"])
        if trace["mode"] == "lines"
        else (roles[trace["marker"]["color"]], _SHAPES[trace["marker"]["symbol"]], trace["name"])
        for trace in figure["data"]
    )


def _cloud(
    words: str, speed_rpm: NDArray[np.float64], error_deg: NDArray[np.float64], colour: str, symbol: str
) -> Figure:
    return {
        "type": "scatter", "mode": "markers", "name": words, "x": rounded(speed_rpm, 0), "y": rounded(error_deg, 2),
        "marker": {"color": LIGHT[colour], "size": 5 if symbol == "circle" else 6, "symbol": symbol, "opacity": 0.55},
        "hovertemplate": "%{x:.0f} rpm, %{y:.2f}°<extra></extra>",
    }  # fmt: skip


def _fit(static: Measure, delay: Measure | None, top_rpm: float) -> list[Figure]:
    """The fitted line down to zero speed, where the constant part stands with its interval."""
    constant, low, high = scalar(static.value), scalar(static.low), scalar(static.high)
    if constant is None or low is None or high is None:
        return []
    delay_ms = scalar(delay.value) if delay is not None else None
    end = constant - delay_to_deg(delay_ms or 0.0, top_rpm)
    return [
        {
            "type": "scatter", "mode": "lines", "name": "fit: constant and delay",
            "x": [0, round(top_rpm)], "y": [constant, end],
            "line": {"color": LIGHT["fit"], "width": 2.2}, "hoverinfo": "skip",
        },
        {
            "type": "scatter", "mode": "markers", "name": "constant, 95 % interval", "x": [0], "y": [constant],
            "marker": {"color": LIGHT["fit"], "size": 9, "symbol": "square"}, "cliponaxis": False,
            "error_y": {"type": "data", "symmetric": False, "array": [high - constant], "arrayminus": [constant - low],
                        "color": LIGHT["fit"], "thickness": 2, "width": 7},
            "hovertemplate": "constant %{y:.2f}°<extra></extra>",
        },
    ]  # fmt: skip


def _range(
    error_deg: NDArray[np.float64], fit_deg: list[float], ends_deg: list[float], pump: Pump | None
) -> tuple[float, float]:
    """Axis limits that hold the bulk of the points, the fit with its interval, zero, and the reversed key."""
    marks = [0.0, *fit_deg, *np.percentile(error_deg, [0.2, 99.8]).tolist()]
    if pump is not None and pump.key_offset_deg:
        marks.append(-4.0 * pump.key_offset_deg)
    span = max(max(marks) - min(marks), 1.0)
    least, most = min(marks) - _WIDEST_INTERVAL * span, max(marks) + _WIDEST_INTERVAL * span
    marks += [min(max(end, least), most) for end in ends_deg]
    margin = max(0.8, 0.12 * (max(marks) - min(marks)))
    return math.floor(min(marks) - margin), math.ceil(max(marks) + margin)


def _references(pump: Pump | None, low: float, high: float) -> tuple[list[Figure], list[Figure]]:
    """Lines at the right key, each key step and the reversed key, named at the right edge; the tolerance as a band."""
    shapes: list[Figure] = []
    notes: list[Figure] = []

    def line(at_deg: float, words: str, colour: str, **style: Any) -> None:
        shapes.append({"type": "line", "xref": "paper", "yref": "y", "x0": 0, "x1": 1, "y0": at_deg, "y1": at_deg,
                       "layer": "below", "line": {"color": LIGHT[colour]} | style})  # fmt: skip
        if words:
            font = {"size": 11, "color": LIGHT["muted" if colour == "faint" else colour]}
            notes.append({"xref": "paper", "yref": "y", "x": 1.01, "y": at_deg, "xanchor": "left", "align": "left",
                          "showarrow": False, "text": words, "font": font})  # fmt: skip

    tolerance = pump.timing_tolerance_deg if pump is not None else 1.0
    shapes.append({"type": "rect", "xref": "paper", "yref": "y", "x0": 0, "x1": 1, "y0": -tolerance, "y1": tolerance,
                   "layer": "below", "fillcolor": LIGHT["band"], "line": {"width": 0}})  # fmt: skip
    reversed_deg = -4.0 * pump.key_offset_deg if pump is not None and pump.key_offset_deg else None
    reversed_words = "key reversed"
    if pump is not None and pump.key_step_deg:
        step = 2.0 * abs(pump.key_step_deg)
        steps = [n for n in range(math.ceil(low / step), math.floor(high / step) + 1) if n]
        apart = _LINE_OF_WORDS * (high - low)
        every = math.ceil(apart / step)
        for n in steps if len(steps) <= 60 else []:
            near = abs(n * step) < apart or (reversed_deg is not None and abs(n * step - reversed_deg) < 1.5 * apart)
            line(n * step, "" if near or n % every else _steps(n), "faint", width=1, dash="dot")
        same = round(reversed_deg / step) if reversed_deg is not None else 0
        if reversed_deg is not None and same and math.isclose(same * step, reversed_deg, abs_tol=0.01 * step):
            reversed_words = f"key reversed,<br>{_steps(same)}"
    line(0.0, "right key" if reversed_deg is not None else "as commanded", "ink", width=1.2)
    if reversed_deg is not None:
        line(reversed_deg, reversed_words, "against", width=1.8, dash="dash")
    return shapes, notes


def _steps(n: int) -> str:
    return f"{n:+d} key step{'s' if abs(n) > 1 else ''}".replace("-", MINUS)
