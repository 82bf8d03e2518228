"""Engine profile as types (docs/conventions.md).

Any table or key may be absent; what then cannot be judged is reported so. A key that is not named here is an error.
"""

from __future__ import annotations

from typing import Literal

import msgspec

Ignition = Literal["compression", "spark"]
Injection = Literal["rotary_pump", "common_rail", "port", "direct"]
Flank = Literal["rising", "falling"]


class CrankWheel(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Crank tone wheel: ``teeth``/``missing``/``first_edge_deg`` or ``edges_deg`` (crank degrees, 0..360).

    ``mounted`` names the end of the crank that carries it.
    """

    teeth: int | None = None
    missing: int = 0
    first_edge_deg: float = 0.0
    edges_deg: list[float] | None = None
    active_edge: Flank = "falling"
    mounted: Literal["flywheel", "front"] = "flywheel"

    def angles_deg(self) -> list[float]:
        """Angles of the active edges within one turn, ascending, 0..360 degrees after the reference."""
        if self.edges_deg is not None:
            return sorted(a % 360.0 for a in self.edges_deg)
        if not self.teeth:
            return []
        pitch = 360.0 / self.teeth
        return sorted((self.first_edge_deg + k * pitch) % 360.0 for k in range(self.teeth - self.missing))


class CamWheel(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Cam target: active edges within 0..720 crank degrees."""

    edges_deg: list[float] = []
    active_edge: Flank = "falling"
    tolerance_deg: float = 4.0


class Pump(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Injection pump drive: key geometry in pump degrees, tolerance and the sensor's edges in crank degrees.

    ``active_edge`` is the flank of the pump's own sensor that ``edges_deg`` describe; where it is not given it is taken
    as at the cam, and that is said.
    """

    key_offset_deg: float | None = None
    key_step_deg: float | None = None
    timing_tolerance_deg: float = 1.0
    edges_deg: list[float] | None = None
    active_edge: Flank | None = None


class Idle(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What a good warm idle is."""

    target_rpm: float | None = None
    std_limit_rpm: float = 12.0
    warm_coolant_degc: float = 70.0


class Limits(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Limits of the other measures."""

    supply_pressure_min_kpa_gauge: float | None = None
    rail_error_percent: float = 5.0
    system_voltage_min: float = 13.2
    thermostat_open_degc: float = 82.0
    boost_error_kpa: float = 15.0


class EngineProfile(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One engine. ``source`` and ``assumed`` are set by the loader, not by the file.

    ``calibrations`` are identifications by which a record betrays that it is of this engine.
    """

    name: str = "unknown engine"
    ignition: Ignition | None = None
    cylinders: int | None = None
    firing_order: list[int] = []
    injection: Injection | None = None
    crank_wheel: CrankWheel | None = None
    cam_wheel: CamWheel | None = None
    pump: Pump | None = None
    idle: Idle = Idle()
    limits: Limits = Limits()
    channels: dict[str, str] = {}
    calibrations: list[str] = []
