"""What diagnostic services say about the vehicle: identity, readiness, codes, freeze frames, monitor tests."""

from __future__ import annotations

from typing import Final

import msgspec

ENGINES: Final = ("7E8", "18DAF110", "18DAF100", "SA 00")
"""What an engine's control module usually answers with (ISO 15765-4; addresses of SAE J2178 and SAE J1939)."""


def speaks_for_engine(ecu: str) -> bool:
    """Whether a control module is by convention the engine's; the name of its bus may stand behind its own."""
    return any(ecu == engine or ecu.startswith(f"{engine} ") for engine in ENGINES)


class TroubleCode(msgspec.Struct, frozen=True, kw_only=True):
    """A trouble code as one ECU reported it.

    ``status`` is ``confirmed``, ``pending``, ``permanent``, ``active`` or ``previous``.
    ``severity`` is what the module says of its urgency, empty where it says nothing.
    """

    code: str
    status: str
    ecu: str
    title: str
    t_s: float | None = None
    family: str = ""
    severity: str = ""


class FreezeFrame(msgspec.Struct, frozen=True, kw_only=True):
    """Service 02: values stored with a code, name -> (value, unit)."""

    ecu: str
    number: int
    code: str | None
    values: dict[str, tuple[float, str]] = {}


class MonitorTest(msgspec.Struct, frozen=True, kw_only=True):
    """Service 06: one on-board test result with its limits, in the unit of its scaling id."""

    ecu: str
    monitor_id: int
    test_id: int
    name: str
    value: float
    low: float
    high: float
    unit: str
    passed: bool


class Refusal(msgspec.Struct, frozen=True, kw_only=True):
    """A negative response: who refused which service, and why; ``count`` of equal ones."""

    ecu: str
    service: int
    code: int
    meaning: str
    count: int = 1


class Vehicle(msgspec.Struct, frozen=True, kw_only=True):
    """Everything about the vehicle that the capture holds; ``vins`` are those that each control module said."""

    vin: str | None = None
    vins: dict[str, list[str]] = {}
    ecus: list[str] = []
    calibration_ids: list[str] = []
    cvns: list[str] = []
    ecu_names: dict[str, str] = {}
    ignition: str | None = None
    readiness: dict[str, str] = {}
    mil: bool | None = None
    counters: dict[str, int] = {}
    codes: list[TroubleCode] = []
    freeze_frames: list[FreezeFrame] = []
    monitor_tests: list[MonitorTest] = []
    refusals: list[Refusal] = []
    supported_pids: dict[str, list[int]] = {}
    services: dict[str, int] = {}
