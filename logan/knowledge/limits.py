"""Which key of the engine profile limits which measure, for the measures table; and what keys are called."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from logan.model.profile import EngineProfile


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of the profile: ``about`` zero to both sides, ``over`` it is too high, ``under`` it is too low."""

    key: str
    kind: Literal["about", "over", "under"]


LIMITS: Final[dict[str, Limit]] = {
    "idle_speed_std_rpm": Limit("idle.std_limit_rpm", "over"),
    "cam_phase_error_deg": Limit("cam_wheel.tolerance_deg", "about"),
    "timing_error_static_deg": Limit("pump.timing_tolerance_deg", "about"),
    "supply_pressure_min_kpa_gauge": Limit("limits.supply_pressure_min_kpa_gauge", "under"),
    "rail_error_percent": Limit("limits.rail_error_percent", "about"),
    "warmup_plateau_degc": Limit("limits.thermostat_open_degc", "under"),
    "boost_error_kpa": Limit("limits.boost_error_kpa", "about"),
    "running_voltage_v": Limit("limits.system_voltage_min", "under"),
}

KEYS: Final = {
    "cam_wheel.tolerance_deg": "how far the cam target may be off",
    "idle.std_limit_rpm": "how much idle speed may scatter",
    "idle.target_rpm": "the idle speed",
    "limits.boost_error_kpa": "how far boost pressure may be off",
    "limits.rail_error_percent": "how far rail pressure may be off",
    "limits.supply_pressure_min_kpa_gauge": "the least fuel supply pressure",
    "limits.system_voltage_min": "the least voltage with the engine running",
    "limits.thermostat_open_degc": "the temperature at which the thermostat opens",
    "pump.key_offset_deg": "the angle of the pump's drive key",
    "pump.key_step_deg": "the step from one pump drive key to the next",
    "pump.timing_tolerance_deg": "how far injection timing may be off",
}
"""Keys of a profile that faults refer to, in words that follow "the engine profile does not give"."""


def key_words(key: str) -> str:
    """What a key of a profile is called; one that faults of a knowledge folder refer to is shown as it is written."""
    return KEYS.get(key, f"the key {key}")


def value_of(profile: EngineProfile, limit: Limit) -> float | None:
    """The limit's number, or None where the profile does not hold it."""
    found: object = profile
    for key in limit.key.split("."):
        found = getattr(found, key, None)
    return float(found) if isinstance(found, int | float) else None


def judged(limit: Limit, bound: float, low: float, high: float) -> str:
    """``within`` or ``beyond`` where the whole 95 % interval is, else ``open``."""
    floor = -bound if limit.kind == "about" else bound if limit.kind == "under" else float("-inf")
    ceiling = bound if limit.kind in ("about", "over") else float("inf")
    if floor <= low and high <= ceiling:
        return "within"
    if high < floor or low > ceiling:
        return "beyond"
    return "open"
