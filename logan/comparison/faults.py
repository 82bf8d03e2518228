"""What became of the faults: cleared, still there, new, or not to be told."""

from __future__ import annotations

from typing import Final

import msgspec

from logan.comparison.drive import Drive
from logan.model.comparison import Fate, FaultChange
from logan.model.finding import RankedFault

SUPPORTED: Final = 0.5
LEFT: Final = 0.05
"""Share that the record after may leave to a fault that is called cleared, had it been one in two before the drive."""
Key = tuple[str, int | None]


def fates(before: Drive, after: Drive) -> list[FaultChange]:
    """The faults that either drive supports, and those that the drive before did not rule out beside them.

    A fault is cleared only where the record after could have shown it and speaks against it: absence of evidence is
    not enough. Its weight of evidence is taken on even odds that the repair failed, since a fault that was there before
    is likelier than on any engine.
    """
    old, new = _ranked(before), _ranked(after)
    was = {(one.fault, one.cylinder) for one in old.values() if _in_question(one)}
    now = {(one.fault, one.cylinder) for one in new.values() if _supported(one)}
    out = [
        _of_old(key, old[key[0]], new.get(key[0]), key in now, after)
        for key in sorted(was, key=lambda key: (-old[key[0]].probability, str(key)))
    ]
    out += [_of_new(key, old.get(key[0]), new[key[0]], before) for key in sorted(now - was, key=str)]
    return out


def _ranked(drive: Drive) -> dict[str, RankedFault]:
    return {one.fault: one for one in drive.finding.ranking.faults}


def _supported(one: RankedFault) -> bool:
    return one.probability >= SUPPORTED and _spoken_for(one)


def _in_question(one: RankedFault) -> bool:
    """Whether the drive before supports a fault, or cannot tell it from the one that it supports."""
    return one.probability > LEFT and _spoken_for(one)


def _spoken_for(one: RankedFault) -> bool:
    return any(piece.kind in ("measure", "dtc") and piece.weight > 0.0 for piece in one.evidence)


def _left(one: RankedFault) -> float:
    """Share left to a fault by measures and codes, had it been one in two."""
    weight = sum(piece.weight for piece in one.evidence if piece.kind in ("measure", "dtc"))
    return 1.0 / (1.0 + 10.0 ** min(-weight, 300.0))


def _of_old(key: Key, old: RankedFault, new: RankedFault | None, still: bool, after: Drive) -> FaultChange:
    blind = after.finding.ranking.blind.get(key[0])
    change = FaultChange(
        fault=key[0], title=old.title, fate="cannot_tell", before=old.probability, cylinder=key[1],
        after=new.probability if new else 0.0, power=new.power if new else None, why="",
    )  # fmt: skip
    if still and not _supported(old):
        return _with(change, "cannot_tell", "it is there after; the record before did not rule it out")
    if still:
        return _with(change, "still_there", "the record after supports it as well")
    if new is None:
        return _with(change, "cannot_tell", "the engine profile of the record after rules it out unseen")
    if _supported(new):
        told = key[1] is not None and new.cylinder is not None
        where = f"in cylinder {new.cylinder}" if told else "but not both records name its cylinder"
        return _with(change, "cannot_tell", f"the record after supports the same fault, {where}")
    if blind is not None:
        return _with(change, "cannot_tell", f"the record after could not have shown it: {blind}")
    left = _left(new)
    if left > LEFT or new.probability > LEFT:
        share = max(left, new.probability)
        return _with(change, "cannot_tell", f"the record after leaves it a chance of {100.0 * share:.0f} %")
    power = f" (chance {_percent(new.power)})" if new.power is not None else ""
    return _with(
        change,
        "cleared",
        f"the record after would have shown it{power} and speaks against it; had the repair been as "
        f"likely to fail as not, a chance of {_percent(left)} would be left",
    )


def _of_new(key: Key, old: RankedFault | None, new: RankedFault, before: Drive) -> FaultChange:
    change = FaultChange(
        fault=key[0], title=new.title, fate="new", before=old.probability if old else 0.0, after=new.probability,
        power=old.power if old else None, cylinder=key[1], why="",
    )  # fmt: skip
    blind = before.finding.ranking.blind.get(key[0])
    if blind is not None:
        why = f"it is there after; whether it is new cannot be told, since the record before could not show it: {blind}"
        return _with(change, "cannot_tell", why)
    if old is not None and (_left(old) > LEFT or old.probability > LEFT):
        return _with(change, "cannot_tell", "it is there after; the record before did not rule it out")
    return _with(change, "new", "the record before would have shown it, and spoke against it")


def _with(change: FaultChange, fate: Fate, why: str) -> FaultChange:
    return msgspec.structs.replace(change, fate=fate, why=why)


def _percent(share: float) -> str:
    if share > 0.999:
        return "over 99.9 %"
    return f"{100.0 * share:.1f} %" if share >= 0.001 else "under 0.1 %"
