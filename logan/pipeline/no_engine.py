"""Records that hold nothing of an engine, and vehicles with a high-voltage system: said before anything is judged."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from logan.knowledge import obd, texts
from logan.knowledge.folders import Folders
from logan.model.capture import HIGH_VOLTAGE, NO_ENGINE, NO_ENGINE_SEEN, NOTHING_DECODABLE, Remark
from logan.model.vehicle import Vehicle, speaks_for_engine
from logan.pipeline.gather import Gathered

HYBRID: Final = "hybrid propulsion"
"""Meaning of the groups of trouble codes of a high-voltage drive (SAE J2012: P0A, P0B, P0C)."""
HIGH_VOLTAGE_CAUTION: Final = "high_voltage"
BY_THE_VEHICLE: Final = ("10", "11", "14", "19", "22", "27", "28", "2E", "2F", "31", "3E", "85")
"""Services of ISO 14229 that any control module answers; those of SAE J1979 and SAE J1939 are an engine's."""
SENDER_ON_J1939: Final = "SA "


def without_engine(gathered: Gathered, folders: Folders = ()) -> Iterator[Remark]:
    """Said where diagnosis was recorded and nothing in it is an engine's, and where codes are of a high-voltage drive.

    An engine shows by a decoded value, a crank or cam recording, a service that only emission diagnosis has, a code
    of another kind than those of a high-voltage drive, body, chassis or network, or codes read from its usual address.
    """
    kinds = {remark.kind for remark in gathered.remarks}
    codes = [code.code for code in gathered.vehicle.codes]
    high_voltage = [code for code in codes if _is_high_voltage(code)]
    if not kinds & {NO_ENGINE, NOTHING_DECODABLE} and gathered.messages and not _engine_shows(gathered):
        said = ", ".join(gathered.vehicle.ecus) or "no control module"
        text = (
            f"nothing that was recorded is of an engine ({said} answered; no value, no code of an engine, no crank or "
            "cam recording): if the vehicle has one, record what its own control module says"
        )
        yield Remark(NO_ENGINE_SEEN, text)
    if high_voltage or NO_ENGINE in kinds:
        why = f"{', '.join(dict.fromkeys(high_voltage))} stored: " if high_voltage else ""
        yield Remark(HIGH_VOLTAGE, f"{why}{texts.cautions(folders)[HIGH_VOLTAGE_CAUTION].text.removesuffix('.')}")


def _is_high_voltage(code: str) -> bool:
    return obd.code_groups().get(code[:3]) == HYBRID


def _engine_shows(gathered: Gathered) -> bool:
    vehicle = gathered.vehicle
    return (
        bool(gathered.signals or gathered.sensors)
        or vehicle == Vehicle()
        or vehicle.ignition is not None
        or any(service not in BY_THE_VEHICLE for service in vehicle.services)
        or any(code.code[:1] not in "BCU" and not _is_high_voltage(code.code) for code in vehicle.codes)
        or ("19" in vehicle.services and any(_answers_as_engine(ecu) for ecu in vehicle.ecus))
    )


def _answers_as_engine(ecu: str) -> bool:
    return speaks_for_engine(ecu) and not ecu.startswith(SENDER_ON_J1939)
