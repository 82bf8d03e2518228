"""The hypotheses of a record: every fault that fits the engine, by cylinder where it strikes one."""

from __future__ import annotations

import fnmatch
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from logan.knowledge.faults import Catalogue, Family, Fault, fits
from logan.model.measure import Measure
from logan.model.profile import EngineProfile
from logan.model.vehicle import TroubleCode
from logan.ranking.signs import Sign, signs


@dataclass(frozen=True, slots=True)
class Suspect:
    """One hypothesis: a fault, in one cylinder where it is of that kind.

    Parameters
    ----------
    fault : the catalogue's entry
    cylinder : 1.., None for faults of the whole engine
    prior : before anything is known; all hypotheses of a record with "no fault" and "something else" add to 1
    signs : how it shows, by measure
    lacking : measure -> profile key without which its sign cannot be told
    """

    fault: Fault
    cylinder: int | None
    prior: float
    signs: dict[str, Sign]
    lacking: dict[str, str]


@dataclass(frozen=True, slots=True)
class Field:
    """All hypotheses that are weighed against each other."""

    suspects: tuple[Suspect, ...]
    no_fault: float
    something_else: float


def field(
    catalogue: Catalogue, profile: EngineProfile, measures: Sequence[Measure], codes: Sequence[TroubleCode] = ()
) -> Field:
    """The hypotheses for an engine; a fault of one cylinder shares its prior among the cylinders.

    An engine has at least as many as its profile, a list by cylinder or a stored code says.
    """
    lists = [len(measure.value) for measure in measures if isinstance(measure.value, list)]
    count = max([profile.cylinders or 0, *lists, *named_cylinders(codes, catalogue.families.values())])
    raw: list[tuple[Fault, int | None, float, dict[str, Sign], dict[str, str]]] = []
    for fault in catalogue.faults.values():
        if not fits(fault, profile):
            continue
        found, lacking = signs(fault, profile)
        if fault.per_cylinder and count:
            raw += [(fault, k + 1, fault.prior / count, found, lacking) for k in range(count)]
        else:
            raw.append((fault, None, fault.prior, found, lacking))
    none, other = catalogue.no_fault.prior, catalogue.no_fault.something_else.prior
    total = none + other + sum(entry[2] for entry in raw)
    suspects = tuple(Suspect(fault, cylinder, p / total, f, m) for fault, cylinder, p, f, m in raw)
    return Field(suspects, none / total, other / total)


def named_cylinders(codes: Iterable[TroubleCode], families: Iterable[Family]) -> list[int]:
    """The cylinders, 1.., that stored codes name."""
    by_cylinder = [family for family in families if family.by_cylinder]
    places = [place(code.code, family) for code in codes for family in by_cylinder]
    return [k + 1 for k in places if k is not None]


def place(code: str, family: Family) -> int | None:
    """Where a family of codes has a code: in cylinder order in one that goes by cylinder; None where it has not.

    What stands behind a dash is the type of failure (P0275-16, SAE J2012 format 04): it does not change the family.
    """
    code = code.partition("-")[0]
    for k, entry in enumerate(family.match):
        if any(fnmatch.fnmatchcase(code, pattern.strip()) for pattern in entry.split("|")):
            return k
    return None
