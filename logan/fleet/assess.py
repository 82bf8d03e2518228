"""All rows in, the fleet out: urgency of each vehicle, drift over its visits, comparison with its peers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final, TypeVar

import msgspec
import numpy as np

from logan.comparison.differences import RATE
from logan.fleet import drifts, overlaps, peers, remarks
from logan.knowledge import comparison as rules
from logan.knowledge import measures as catalogues
from logan.knowledge.faults import value_of
from logan.knowledge.folders import Folders
from logan.knowledge.limits import LIMITS, judged
from logan.knowledge.limits import value_of as limit_of
from logan.model.capture import OTHER_ENGINE
from logan.model.fleet import Drift, Fleet, FleetLog, Peer, Standing, Urgency
from logan.model.profile import EngineProfile

_One = TypeVar("_One", Peer, Drift)
NOT_NAMED: Final = "chosen from the capture"
TYPE_CHARACTERS: Final = 8
"""Of a VIN, that stand for the maker and the kind of vehicle (ISO 3779: first three, and the section after them)."""
ORDER: Final[tuple[Urgency, ...]] = ("fault", "watch", "cannot_tell", "none")


def assess(rows: Sequence[FleetLog], folders: Folders = ()) -> Fleet:
    """Judge the fleet; bad logs and copies are listed and count for nothing else.

    Raises
    ------
    KnowledgeError : a data file of a folder is wrong
    """
    good = [row for row in rows if row.error is None and row.copy_of is None]
    visits: dict[str, list[FleetLog]] = {}
    for row in good:
        if row.vehicle is not None:
            visits.setdefault(row.vehicle, []).append(row)
    ordered = {vehicle: drifts.in_order(logs)[0] for vehicle, logs in visits.items()}
    latest = {vehicle: logs[-1] for vehicle, logs in ordered.items()}
    matters = {vehicle: _matters(log, folders) for vehicle, log in latest.items()}
    families = {vehicle: name for vehicle, log in latest.items() if (name := family(log))}
    compared = peers.decided(peers.compare(latest, families, matters), RATE)
    overlapping = {vehicle: overlaps.overlapping(logs) for vehicle, logs in ordered.items()}
    moved = drifts.decided(
        [
            drift
            for vehicle, logs in ordered.items()
            if (followed := overlaps.by_themselves(logs, overlapping[vehicle]))
            for drift in drifts.drifts(vehicle, followed, matters[vehicle])
        ],
        RATE,
    )
    titles = {name: info.title for name, info in catalogues.load(folders).items()}
    of_peers, of_drifts = _by_vehicle(compared), _by_vehicle(moved)
    standings = [
        _standing(
            vehicle,
            logs,
            overlapping[vehicle],
            families.get(vehicle, ""),
            of_peers.get(vehicle, []),
            of_drifts.get(vehicle, []),
            titles,
        )
        for vehicle, logs in ordered.items()
    ]
    unknown = [row for row in good if row.vehicle is None]
    standings += [_standing("", [row], [], "", [], [], titles) for row in unknown]
    strength = _strength(compared, moved)
    standings.sort(
        key=lambda one: (
            ORDER.index(one.urgency),
            -one.probability,
            -strength.get(one.vehicle, 0.0),
            drifts.by_number(one.latest),
        )
    )
    return Fleet(
        logs=len(rows),
        vehicles=standings,
        drifts=sorted(moved, key=lambda one: one.trend.p_adjusted),
        peers=sorted(compared, key=lambda one: (one.p_adjusted, -abs(one.z))),
        families=dict(sorted(Counter(families.values()).items())),
        bad=[row for row in rows if row.error is not None],
        copies=[row for row in rows if row.error is None and row.copy_of is not None],
        remarks=remarks.told(rows, unknown, families, len(latest), overlapping),
        rate=RATE,
    )


def _by_vehicle(found: Sequence[_One]) -> dict[str, list[_One]]:
    out: dict[str, list[_One]] = {}
    for one in found:
        out.setdefault(one.vehicle, []).append(one)
    return out


def family(log: FleetLog) -> str:
    """The engine where it was named, else the kind of vehicle of the VIN; empty where neither is known."""
    if log.engine_source != NOT_NAMED:
        return log.engine
    if log.vehicle_from == "vin" and log.vehicle is not None and len(log.vehicle) == 17:
        return f"VIN {log.vehicle[:TYPE_CHARACTERS]}…"
    return ""


def _matters(log: FleetLog, folders: Folders) -> dict[str, float]:
    profile = msgspec.json.decode(log.profile, type=EngineProfile)
    _, measures = rules.load(folders)
    found = {name: value_of(rule.matters, profile) for name, rule in measures.items()}
    return {name: value for name, value in found.items() if value is not None}


def _standing(
    vehicle: str,
    logs: Sequence[FleetLog],
    groups: Sequence[Sequence[FleetLog]],
    of_family: str,
    compared: Sequence[Peer],
    moved: Sequence[Drift],
    titles: dict[str, str],
) -> Standing:
    """Why a vehicle is urgent, the strongest reason first; ``compared`` and ``moved`` are its own.

    Of latest drives that overlap in time none is the later one: it stands with the gravest of them.
    """
    at_once = overlaps.of_the_latest(logs, groups)
    last = max(at_once, key=_gravity) if len(at_once) > 1 else logs[-1]
    top = last.faults[0] if last.faults else None
    supported = last.verdict == "fault_supported" and top is not None
    why = [last.sentence] if supported else []

    def named(measure: str, number: int | None) -> str:
        title = titles.get(measure, measure)
        return title if number is None else f"{title}, cylinder {number}"

    watch = [remark.text for remark in last.remarks if remark.kind == OTHER_ENGINE]
    if not watch:
        watch = [f"{named(name, None)} is beyond its limit" for name in _beyond(last)]
    watch += [
        f"{named(one.measure, one.cylinder)} lies {abs(one.z):.1f} spreads {_side(one)} its peers"
        for one in compared
        if one.shown
    ]
    for one in moved:
        title = named(one.trend.measure, one.trend.cylinder)
        if one.trend.shown:
            watch.append(f"{title} changes from visit to visit" + (" towards its limit" if one.trend.reaches else ""))
        if one.step is not None and one.step.shown:
            watch.append(f"{title} changed its level with {one.step.log}")
    earlier = [log for log in logs if all(log is not other for other in at_once)]
    before = next((log for log in reversed(earlier) if log.verdict == "fault_supported" and log.faults), None)
    if before is not None and not supported:
        watch.append(f"{before.log} supported “{before.faults[0].title}”: repaired since, or it comes and goes")
    urgency: Urgency = "none"
    if supported:
        urgency = "fault"
    elif watch:
        urgency = "watch"
    elif last.verdict == "insufficient_evidence":
        urgency, why = "cannot_tell", [last.sentence]
    if len(at_once) > 1 and urgency != "none":
        watch.append(f"{len(at_once)} of its drives overlap in time, so that none of them is known to be the latest")
    return Standing(
        vehicle=vehicle or last.log,
        known=bool(vehicle),
        urgency=urgency,
        why=why + watch,
        latest=last.log,
        start=last.start,
        logs=len(logs),
        engine=last.engine,
        family=of_family,
        verdict=last.verdict or "",
        fault=top.fault if supported and top else "",
        fault_title=top.title if supported and top else "",
        cylinder=top.cylinder if supported and top else None,
        probability=top.probability if supported and top else 0.0,
        overlapping=[log.log for group in groups for log in group],
        blind=None if last.blind is None else len(last.blind),
        known_faults=len({fault.fault for fault in last.faults} | set(last.blind or [])),
    )


def _gravity(log: FleetLog) -> float:
    """Probability of the fault that a log supports, 0 where it supports none."""
    return log.faults[0].probability if log.verdict == "fault_supported" and log.faults else 0.0


def _side(one: Peer) -> str:
    return "above" if one.z > 0.0 else "below"


def _beyond(log: FleetLog) -> list[str]:
    """Measures whose whole interval lies past the limit of the profile."""
    profile = msgspec.json.decode(log.profile, type=EngineProfile)
    out = []
    for measure in log.measures:
        limit = LIMITS.get(measure.name)
        bound = limit_of(profile, limit) if limit is not None else None
        low, high = measure.low, measure.high
        if limit is None or bound is None or isinstance(low, list) or isinstance(high, list):
            continue
        if judged(limit, bound, low, high) == "beyond":
            out.append(measure.name)
    return out


def _strength(compared: Sequence[Peer], moved: Sequence[Drift]) -> dict[str, float]:
    """How far the strongest sign of a vehicle is from chance, -log10 of its adjusted probability."""
    out: dict[str, float] = {}
    chances = [(one.vehicle, one.p_adjusted) for one in compared if one.shown]
    chances += [(one.vehicle, one.trend.p_adjusted) for one in moved if one.trend.shown]
    chances += [(one.vehicle, one.step.p_adjusted) for one in moved if one.step is not None and one.step.shown]
    for vehicle, p in chances:
        out[vehicle] = max(out.get(vehicle, 0.0), -float(np.log10(max(p, 1e-300))))
    return out
