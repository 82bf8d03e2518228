"""Torque of the cylinders over crank angle: slider-crank, compression and expansion, heat release.

The closed cylinder follows dp = -n p dV/V + (n-1) dQ/V (first law, ideal gas, one zone; textbook). It is linear in the
pressure at intake valve closing and in the heat, so the torque of any cycle is a sum of tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.model.profile import EngineProfile
from logan.simulate.parameters import Engine

Array = NDArray[np.float64]

STEP_DEG: Final = 3.0  # divides the firing interval of 4, 6 and 8 cylinders
CYCLE_DEG: Final = 720.0
EXPONENT: Final = 1.33
INTAKE_CLOSES_DEG: Final = -150.0
EXHAUST_OPENS_DEG: Final = 130.0
BLOWDOWN_DEG: Final = 15.0
START_DEG: Final = np.arange(-25.0, 45.5, 0.5)
"""Starts of combustion for which the response to fuel is tabulated, degrees before top dead centre."""
_FINE: Final = 12  # sub-steps of a table step


def piston_travel_m(angle_deg: Array, radius_m: float, rod_m: float) -> Array:
    """Piston travel from top dead centre, (n,) m (slider-crank; textbook)."""
    a = np.radians(angle_deg)
    fall = radius_m * (1 - np.cos(a)) + rod_m * (1 - np.sqrt(1 - (radius_m / rod_m * np.sin(a)) ** 2))
    return np.asarray(fall)


def travel_rate_m(angle_deg: Array, radius_m: float, rod_m: float) -> Array:
    """Derivative of the piston travel, (n,) m per radian of crank angle."""
    a = np.radians(angle_deg)
    ratio = radius_m / rod_m
    return np.asarray(radius_m * np.sin(a) * (1 + ratio * np.cos(a) / np.sqrt(1 - (ratio * np.sin(a)) ** 2)))


@dataclass(frozen=True, slots=True)
class Tables:
    """Torque of the gas by firing interval; ``n`` table steps an interval, ``z`` intervals a cycle.

    Parameters
    ----------
    steps : n
    cylinder : (z,) index of the cylinder whose top dead centre opens the interval
    closed : (z, z, n) N m per kPa of intake pressure that tight cylinder j (second axis) gives
    leak : (z, z, n) N m per kPa of intake pressure that cylinder j loses when it holds nothing
    ambient : (z, z, n) N m per kPa of ambient pressure, of cylinder j
    moving : (z, z, n) N m s2 of the moving masses of cylinder j, times speed squared
    fuel : (3, s, n) N m per mg burnt: by the next, the present and the last firing, for each start of combustion
    inertia : (n + 1,) kg m2 at the nodes
    work_j_per_mg : (s,) work of a whole cycle per mg
    """

    steps: int
    cylinder: NDArray[np.int64]
    closed: Array
    leak: Array
    ambient: Array
    moving: Array
    fuel: Array
    inertia: Array
    work_j_per_mg: Array


def _relative(engine: Engine) -> tuple[Array, Array, Array, float]:
    """Fine angles of one cylinder (-360..360), volume, travel rate and piston area."""
    width = STEP_DEG / _FINE
    angle = np.arange(-360.0 + width / 2, 360.0, width)
    radius, rod = engine.stroke_mm / 2000.0, engine.rod_mm / 1000.0
    area = np.pi / 4 * (engine.bore_mm / 1000.0) ** 2
    swept = area * engine.stroke_mm / 1000.0
    volume = swept / (engine.compression_ratio - 1) + area * piston_travel_m(angle, radius, rod)
    return angle, volume, travel_rate_m(angle, radius, rod), area


def _blowdown(angle: Array, closed: Array) -> Array:
    """A closed-cylinder pressure with its decay after the exhaust valve opens, zero before intake closing."""
    last = closed[np.searchsorted(angle, EXHAUST_OPENS_DEG) - 1]
    out = np.where(angle > EXHAUST_OPENS_DEG, last * np.exp(-(angle - EXHAUST_OPENS_DEG) / BLOWDOWN_DEG), closed)
    return np.where(angle < INTAKE_CLOSES_DEG, 0.0, out)


def burnt_share(angle: Array, start_deg: float, duration_deg: float) -> Array:
    """Share of the fuel burnt, Wiebe function with exponent 2 and 99.9 % at the end (textbook), (n,)."""
    x = np.clip((angle - start_deg) / duration_deg, 0.0, None)
    return np.asarray(1 - np.exp(-6.908 * x**2))


def _pool(torque: Array) -> Array:
    """Mean over each table step."""
    return np.asarray(torque.reshape(*torque.shape[:-1], -1, _FINE).mean(axis=-1))


def build(profile: EngineProfile, engine: Engine) -> Tables:
    """Tables of one engine."""
    z = len(profile.firing_order)
    interval = CYCLE_DEG / z
    n = round(interval / STEP_DEG)
    angle, volume, rate, area = _relative(engine)
    arm = area * rate * 1000.0  # N m per kPa
    ratio = _blowdown(angle, (_at(angle, volume, INTAKE_CLOSES_DEG) / volume) ** EXPONENT)
    open_intake = (angle < INTAKE_CLOSES_DEG).astype(float)
    # leakage grows on the way to top dead centre and goes on a little while the pressure is high
    lost = np.where(
        angle < 0,
        (np.clip(angle - INTAKE_CLOSES_DEG, 0, None) / -INTAKE_CLOSES_DEG) ** 2,
        1 + np.clip(angle / 60, 0, 1) * 0.15,
    )
    # crankcase and, once the exhaust valve is open, cylinder stand at ambient pressure
    outside = np.where(angle > EXHAUST_OPENS_DEG, 1 - np.exp(-(angle - EXHAUST_OPENS_DEG) / BLOWDOWN_DEG), 0.0) - 1.0
    closed_1 = _pool(arm * (ratio + open_intake))
    leak_1 = _pool(arm * ratio * lost)
    outside_1 = _pool(arm * outside)
    fuel_1 = _pool(arm * _heat_response(angle, volume, engine))

    # column of interval k, table step i: angle of cylinder j relative to its own top dead centre
    step = np.arange(n)
    position = np.arange(z)
    shift = (position[:, None] - position[None, :]) * n  # (interval, firing position of the cylinder)
    column = (shift[:, :, None] + step + 360 / STEP_DEG).astype(int) % round(CYCLE_DEG / STEP_DEG)
    order = np.array(profile.firing_order) - 1
    by_cylinder = np.argsort(order)

    def each(one: Array) -> Array:
        return np.asarray(one[column][:, by_cylinder, :])

    top = round(360 / STEP_DEG)
    fuel = np.stack([fuel_1[:, top + k * n : top + (k + 1) * n] for k in (-1, 0, 1)])
    return Tables(
        steps=n,
        cylinder=order,
        closed=each(closed_1),
        leak=each(leak_1),
        ambient=each(outside_1),
        moving=each(_pool(-engine.reciprocating_mass_kg * rate * np.gradient(rate, np.radians(angle[1] - angle[0])))),
        fuel=fuel,
        inertia=_inertia(profile, engine, n),
        work_j_per_mg=fuel.sum(axis=(0, 2)) * np.radians(STEP_DEG),
    )


def _at(angle: Array, values: Array, where: float) -> float:
    return float(np.interp(where, angle, values))


def _heat_response(angle: Array, volume: Array, engine: Engine) -> Array:
    """Pressure in kPa that one mg of fuel adds, (starts, n)."""
    joule = engine.heat_kj_per_g * engine.heat_used  # kJ/g = J/mg
    out = np.empty((len(START_DEG), len(angle)))
    half = (angle[1] - angle[0]) / 2
    for k, start in enumerate(START_DEG):
        share = np.diff(burnt_share(np.append(angle - half, angle[-1] + half), -start, engine.burn_deg))
        rise = np.cumsum((EXPONENT - 1) * volume ** (EXPONENT - 1) * share * joule) / volume**EXPONENT
        out[k] = _blowdown(angle, rise / 1000.0)
    return out


def _inertia(profile: EngineProfile, engine: Engine, n: int) -> Array:
    """Moment of inertia at the nodes of an interval with the pistons' share m (dx/dtheta)^2, (n + 1,) kg m2."""
    z = len(profile.firing_order)
    node = np.arange(n + 1) * STEP_DEG
    top = np.arange(z) * CYCLE_DEG / z
    rate = travel_rate_m(node[:, None] - top[None, :], engine.stroke_mm / 2000.0, engine.rod_mm / 1000.0)
    return np.asarray(engine.inertia_kgm2 + engine.reciprocating_mass_kg * (rate**2).sum(axis=1))
