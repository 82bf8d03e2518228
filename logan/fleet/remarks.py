"""What a reader must know of how far the comparison of a fleet reaches, and what of its logs cannot be."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import PurePosixPath
from typing import Final

from logan.fleet import peers
from logan.model.fleet import FleetLog

MOST_TOLD: Final = 5
MOST_NAMES: Final = 3


def told(
    rows: Sequence[FleetLog],
    unknown: Sequence[FleetLog],
    families: Mapping[str, str],
    vehicles: int,
    overlaps: Mapping[str, Sequence[Sequence[FleetLog]]],
) -> list[str]:
    """One remark a line, what cannot be first.

    Parameters
    ----------
    rows : all logs
    unknown : those that do not say which vehicle they are from
    families : vehicle -> its engine family, where that is known
    vehicles : how many are known
    overlaps : vehicle -> groups of its drives that overlap in time
    """
    out = [*_overlaps(overlaps), *_folders(rows)]
    if unknown:
        out.append(
            f"Logs that do not say which vehicle they are from: {len(unknown)}. Each stands by itself, without drift "
            "and peers. If each folder holds one vehicle, run again with --folder-is-vehicle."
        )
    if alone := vehicles - len(families):
        out.append(
            f"Vehicles without an engine family: {alone}. Name their engine (--engine, --engine-for) to compare them."
        )
    small = [name for name, count in Counter(families.values()).items() if count <= peers.FEWEST]
    if small:
        out.append(
            f"Too few vehicles for a comparison with peers (fewer than {peers.FEWEST + 1}): {'; '.join(sorted(small))}."
        )
    unclocked = sum(1 for row in rows if row.error is None and row.start is None)
    if unclocked:
        out.append(f"Logs without a time of day: {unclocked}. Visits of their vehicles stand in the order of names.")
    return out


def _overlaps(overlaps: Mapping[str, Sequence[Sequence[FleetLog]]]) -> Iterable[str]:
    met = {vehicle: groups for vehicle, groups in overlaps.items() if groups}
    if not met:
        return
    each = [
        f"{sum(map(len, groups))} drives of {vehicle} ({groups[0][0].log} and {groups[0][1].log}, say)"
        for vehicle, groups in sorted(met.items())
    ]
    yield (
        f"Vehicles of which drives overlap in time, which cannot be ({len(met)}): {_some(each, MOST_TOLD, '; ')}. "
        "A recorder's clock was not set, one drive was recorded twice, or several vehicles carry one VIN. "
        "These drives stand, but none is taken for a visit after another, and none is in a trend."
    )


def _folders(rows: Sequence[FleetLog]) -> Iterable[str]:
    """Where VIN and folder disagree: each such place where folders were said to be vehicles, else the plain ones."""
    if any(row.folder for row in rows):
        if found := _disagreements(rows):
            yield (
                f"Places where folder and VIN disagree on the vehicle ({len(found)}): {_some(found, MOST_TOLD, '; ')}. "
                "The VIN was believed. Logs may lie in the wrong folder, or a control module carries the VIN of "
                "another vehicle."
            )
    elif spread := _in_several_folders(rows):
        each = [f"{vin} ({_some(folders, MOST_NAMES, ', ')})" for vin, folders in spread]
        yield (
            f"Vehicles by whose VIN alone several folders go together: {len(spread)}, {_some(each, MOST_TOLD, '; ')}. "
            "If these folders are of different vehicles, a control module there carries the VIN of another."
        )


def _some(names: Sequence[str], most: int, sign: str) -> str:
    return sign.join([*names[:most], *(["..."] if len(names) > most else [])])


def _disagreements(rows: Sequence[FleetLog]) -> list[str]:
    """VINs in several folders, and folders with several VINs."""
    folders: dict[str, set[str]] = {}
    vins: dict[str, set[str]] = {}
    for row in rows:
        if row.vehicle_from == "vin" and row.vehicle is not None and row.folder:
            folders.setdefault(row.vehicle, set()).add(row.folder)
            vins.setdefault(row.folder, set()).add(row.vehicle)
    out = [
        f"{vin} lies in {len(found)} folders ({_some(sorted(found), MOST_NAMES, ', ')})"
        for vin, found in sorted(folders.items())
        if len(found) > 1
    ]
    return out + [
        f"the folder {folder} holds {len(found)} VINs ({_some(sorted(found), MOST_NAMES, ', ')})"
        for folder, found in sorted(vins.items())
        if len(found) > 1
    ]


def _in_several_folders(rows: Sequence[FleetLog]) -> list[tuple[str, list[str]]]:
    """VINs whose logs fill several folders without any other vehicle's: there a folder may be meant as a vehicle."""
    folders: dict[str, set[str]] = {}
    vehicles: dict[str, set[str]] = {}
    for row in rows:
        if row.vehicle_from == "vin" and row.vehicle is not None:
            folder = str(PurePosixPath(row.log).parent)
            folders.setdefault(row.vehicle, set()).add(folder)
            vehicles.setdefault(folder, set()).add(row.vehicle)
    return [
        (vin, sorted(found))
        for vin, found in sorted(folders.items())
        if len(found) > 1 and all(vehicles[folder] == {vin} for folder in found)
    ]
