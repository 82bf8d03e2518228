"""Units of the program and how others convert into them.

Inside, every quantity has one unit: s, kPa, degC, rpm, km/h, deg, %, V, g/s, L/h. Conversion happens
where data come in (foreign tables) and where a person reads (display units), nowhere else.
"""

from __future__ import annotations

from typing import Final

# unit as met -> (unit inside, factor, offset): inside = met * factor + offset
# Exact by definition (1 inch = 25.4 mm, 1 mile = 1609.344 m, 1 lbf/in2 = 6.894757... kPa; NIST SP 811, appendix B).
CONVERSIONS: Final[dict[str, tuple[str, float, float]]] = {
    "degf": ("degC", 5.0 / 9.0, -160.0 / 9.0),
    "k": ("degC", 1.0, -273.15),
    "psi": ("kPa", 6.894757293168361, 0.0),
    "bar": ("kPa", 100.0, 0.0),
    "mbar": ("kPa", 0.1, 0.0),
    "hpa": ("kPa", 0.1, 0.0),
    "mpa": ("kPa", 1000.0, 0.0),
    "pa": ("kPa", 0.001, 0.0),
    "inhg": ("kPa", 3.386389, 0.0),
    "mph": ("km/h", 1.609344, 0.0),
    "mi/h": ("km/h", 1.609344, 0.0),
    "ms": ("s", 0.001, 0.0),
    "min": ("s", 60.0, 0.0),
    "lb/min": ("g/s", 7.559872833333333, 0.0),
    "kg/h": ("g/s", 1.0 / 3.6, 0.0),
    "mv": ("V", 0.001, 0.0),
    "gal/h": ("L/h", 3.785411784, 0.0),
    "deg atdc": ("deg", -1.0, 0.0),  # after top dead centre; inside, angles count before it
}

DISPLAY_US: Final[dict[str, tuple[str, float, float]]] = {
    "kPa": ("psi", 1.0 / 6.894757293168361, 0.0),
    "MPa": ("psi", 1000.0 / 6.894757293168361, 0.0),
    "kPa/s": ("psi/s", 1.0 / 6.894757293168361, 0.0),
    "Pa": ("inH2O", 1.0 / 249.0889, 0.0),
    "Pa/s": ("inH2O/s", 1.0 / 249.0889, 0.0),
    "degC": ("degF", 1.8, 32.0),
    "K": ("degF", 1.8, 0.0),
    "km/h": ("mph", 1.0 / 1.609344, 0.0),
    "L/h": ("gal/h", 1.0 / 3.785411784, 0.0),
}
"""Unit inside -> (US customary unit, factor, offset); ``K`` is a difference of temperatures: no zero to shift.

Inch of water, conventional: 249.0889 Pa (NIST SP 811, appendix B).
"""

OF_SPEED: Final[dict[str, float]] = {
    **dict.fromkeys(("hz", "1/s", "s-1", "s^-1", "rps", "rev/s", "r/s"), 60.0),
    **dict.fromkeys(("krpm", "rpm x1000", "rpm x 1000", "x1000 rpm", "x 1000 rpm", "1000 rpm", "1000/min"), 1000.0),
}
"""Other units of a speed that is known to be one of an engine, in rpm."""

_SAME: Final[dict[str, str]] = {
    "rpm": "rpm", "1/min": "rpm", "km/h": "km/h", "kph": "km/h", "kmh": "km/h",
    "degc": "degC", "c": "degC", "°c": "degC", "kpa": "kPa", "%": "%", "percent": "%", "v": "V", "volt": "V",
    "g/s": "g/s", "gm/s": "g/s", "l/h": "L/h", "s": "s", "sec": "s",
    "deg": "deg", "°": "deg", "mg/stroke": "mg/stroke", "": "", "°f": "degF", "f": "degF",
}  # fmt: skip


def to_inside(unit: str) -> tuple[str, float, float]:
    """Unit inside, factor and offset for a unit as met in a file; an unknown unit stays as it is with factor 1."""
    key = unit.strip().lower()
    name = _SAME.get(key, unit.strip())
    return CONVERSIONS.get(name.lower(), (name, 1.0, 0.0))


def is_known(unit: str) -> bool:
    """Whether a unit is one that the program converts or uses itself."""
    key = unit.strip().lower()
    return bool(key) and (key in _SAME or key in CONVERSIONS)


def of_difference(unit: str) -> str:
    """Unit of a difference, a scatter or a slope of what has a unit: temperatures lose their zero."""
    return "K" if unit == "degC" else unit


DEG_PER_RPM_S: Final = 6.0
"""Crank degrees a second at 1 rpm (360 degrees, 60 seconds)."""


def delay_to_deg(delay_ms: float, speed_rpm: float) -> float:
    """Crank angle that passes during a delay: 0.006 * rpm * ms (docs/conventions.md)."""
    return DEG_PER_RPM_S * speed_rpm * delay_ms * 1e-3
