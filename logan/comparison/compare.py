"""The comparison as a whole: are the drives of one vehicle, what differs, did the repair work."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from logan.comparison.differences import RATE, differences
from logan.comparison.drive import Drive
from logan.comparison.faults import LEFT, SUPPORTED, fates
from logan.comparison.trends import LEAST, in_order, trends
from logan.errors import UsageError
from logan.knowledge import comparison as rules
from logan.knowledge.folders import Folders
from logan.model.comparison import Comparison, Difference, FaultChange, Success

__all__ = ["Drive", "compare"]


SAME_MOMENT_S: Final = 60.0
"""Two drives of one vehicle cannot begin nearer to each other."""
SAME_BYTES: Final[tuple[Success, str]] = (
    "not_shown",
    "Not shown: before and after hold the same bytes, so that nothing can have changed.",
)


def compare(
    drives: Sequence[Drive], work: Sequence[str] = (), different_vehicles: bool = False, folders: Folders = ()
) -> Comparison:
    """Compare the first drive with the last; with three and more also the trend over all.

    Parameters
    ----------
    drives : in the order given, which is that of time
    work : what was fitted before the last drive
    different_vehicles : compare although the VINs differ; then no error is shared
    folders : knowledge folders over the built-in data file

    Raises
    ------
    UsageError : fewer than two drives, or of different vehicles
    KnowledgeError : the data file of comparisons is wrong
    """
    if len(drives) < 2:
        raise UsageError("nothing to compare with", do="name one capture before and one after the repair")
    one_vehicle = _one_vehicle(drives, different_vehicles)
    before, after = drives[0], drives[-1]
    conditions, known = rules.load(folders)
    found, refused = differences(before, after, conditions, known, work, one_vehicle)
    faults = fates(before, after)
    if before.contents() == after.contents():
        success, sentence = SAME_BYTES
    else:
        success, sentence = _verdict(before, faults, found)
    return Comparison(
        success=success,
        sentence=sentence,
        differences=found,
        not_comparable=refused,
        faults=faults,
        trends=trends(*in_order(drives)) if len(drives) >= LEAST else [],
        remarks=list(_remarks(drives, different_vehicles)),
        by_chance=RATE * len(found),
    )


def _one_vehicle(drives: Sequence[Drive], different: bool) -> bool:
    vins = {drive.record.vehicle.vin: drive.name for drive in drives if drive.record.vehicle.vin}
    if len(vins) > 1 and not different:
        told = "; ".join(f"{name}: VIN {vin}" for vin, name in vins.items())
        raise UsageError(
            f"the captures are of different vehicles ({told})",
            do="give captures of one vehicle, or add --different-vehicles",
        )
    return len(vins) <= 1 and not different


def _remarks(drives: Sequence[Drive], different: bool) -> Iterator[str]:
    vins = [drive.record.vehicle.vin for drive in drives]
    if different:
        yield "Compared as different vehicles: what differs may be the vehicle and not the repair."
    elif not all(vins):
        without = ", ".join(d.name for d, vin in zip(drives, vins, strict=True) if not vin)
        yield f"No VIN in {without}: that all captures are of one vehicle was taken on trust."
    for k, drive in enumerate(drives):
        for other in drives[:k]:
            if drive.contents() == other.contents():
                yield f"{drive.name} and {other.name} hold the same bytes: one capture was given twice."
            elif _same_moment(drive, other):
                yield (
                    f"{other.name} and {drive.name} start within a minute of each other and carry the same VIN, which "
                    "two drives cannot: one is a copy or a part of the other, or a recorder's clock was not set."
                )
    for drive in drives:
        if contradiction := drive.contradiction():
            yield f"{drive.name}: {contradiction}"
    first, last = drives[0], drives[-1]
    old, new = first.record.vehicle.calibration_ids, last.record.vehicle.calibration_ids
    if old and new and sorted(old) != sorted(new):
        yield "The control module's calibration changed between the drives: differences may come from it."
    start, end = first.start(), last.start()
    if start is not None and end is not None and end < start - 1.0:
        yield f"By their clocks {last.name} was recorded before {first.name}: are they in the right order?"


def _same_moment(one: Drive, other: Drive) -> bool:
    """Whether two captures of one vehicle, by their clocks, began at the same time."""
    starts, vin = (one.start(), other.start()), one.record.vehicle.vin
    if not vin or vin != other.record.vehicle.vin or starts[0] is None or starts[1] is None:
        return False
    return abs(starts[0] - starts[1]) < SAME_MOMENT_S


def _verdict(before: Drive, faults: Sequence[FaultChange], found: Sequence[Difference]) -> tuple[Success, str]:
    """The outcome in one sentence, careful side first."""
    torn = [one for one in faults if LEFT < one.before < SUPPORTED and one.after < SUPPORTED]
    old = [one for one in faults if one.before >= SUPPORTED]
    old += torn if old else []
    cleared = [one for one in old if one.fate == "cleared"]
    still = [one for one in old if one.fate == "still_there"]
    open_ = [one for one in old if one.fate == "cannot_tell"]
    appeared = [one for one in faults if one.before < SUPPORTED <= one.after]
    worse = [row for row in found if row.outcome == "worse" and row.beyond_after]
    besides = ""
    if appeared:
        words = "is new" if all(one.fate == "new" for one in appeared) else "is there after it"
        besides = f" But {_names(appeared)} {words}."
    elif worse:
        besides = f" But {len(worse)} measure{'s' if len(worse) > 1 else ''} became worse, beyond the limit."
    if still:
        done = f"; {_names(cleared)} is cleared" if cleared else ""
        return "not_worked", f"The repair did not work: {_names(still)} is still there{done}.{besides}"
    if open_:
        done = f" {_names(cleared)} is cleared." if cleared else ""
        return (
            "not_shown",
            f"Not shown: whether {_or_else(open_)} is gone cannot be told; {open_[0].why}.{done}{besides}",
        )
    if cleared:
        success: Success = "worked_in_part" if besides else "worked"
        start = "The repair worked in part" if besides else "The repair worked"
        return (
            success,
            f"{start}: {_or_else(cleared)} is cleared: the record after could show it and speaks against it.{besides}",
        )
    why = "the record before supports no fault that a repair could have cleared"
    if before.finding.ranking.verdict == "insufficient_evidence":
        why = "the record before could not tell what was wrong"
    return "not_shown", f"Not shown: {why}.{besides}"


def _or_else(faults: Sequence[FaultChange]) -> str:
    """Faults by name, those that the record before does not tell apart from what it supports with an "or"."""
    sure = [one for one in faults if one.before >= SUPPORTED]
    torn = [one for one in faults if one.before < SUPPORTED]
    if not sure or not torn:
        return _names(faults)
    others = " or ".join(f"“{named(one)}”" for one in torn)
    return f"{_names(sure)} or {others}, which the record before does not tell apart,"


def _names(faults: Sequence[FaultChange]) -> str:
    return ", ".join(f"“{named(one)}”" for one in faults)


def named(one: FaultChange) -> str:
    """Title with the cylinder."""
    return one.title if one.cylinder is None else f"{one.title}: cylinder {one.cylinder}"
