"""Each vehicle's numbers over its visits: trend, and the change of level that stands out most."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

import msgspec
import numpy as np
import scipy
from numpy.typing import NDArray

from logan.comparison import Drive, trends
from logan.comparison.drive import reference
from logan.comparison.statistics import Z95, adjusted
from logan.dsp.robust import mad_sigma
from logan.model.capture import Remark
from logan.model.channel import ChannelSet
from logan.model.comparison import Trend
from logan.model.drive import DriveStates
from logan.model.finding import Finding, Ranking
from logan.model.fleet import Drift, FleetLog, Step
from logan.model.profile import EngineProfile
from logan.model.record import Record

Array = NDArray[np.float64]

DAY_S: Final = 86_400.0
FEWEST_FOR_STEPS: Final = 6
ENDS: Final = 2
"""Visits that a level must hold before and after a change."""
_NOT_RANKED: Final = Ranking(
    verdict="insufficient_evidence", faults=[], not_explained=1.0, no_fault=0.0, something_else=1.0
)


def in_order(visits: Sequence[FleetLog]) -> tuple[list[FleetLog], list[float], str]:
    """Visits in order of time, their times after the first, and the unit; by name where a clock is missing."""
    starts = [visit.start for visit in visits if visit.start is not None]
    clocked = len(starts) == len(visits)
    ordered = sorted(visits, key=lambda visit: (visit.start or 0.0 if clocked else 0.0, by_number(visit.log)))
    if not clocked:
        return ordered, [float(k + 1) for k in range(len(ordered))], "visit"
    first = ordered[0].start or 0.0
    return ordered, [((visit.start or 0.0) - first) / DAY_S for visit in ordered], "day"


def by_number(name: str) -> list[tuple[int, str]]:
    """What a name is sorted by: drive2 stands before drive10."""
    return [(int(part), "") if part.isdecimal() else (-1, part) for part in re.split(r"([0-9]+)", name)]


def drifts(vehicle: str, visits: Sequence[FleetLog], matters: dict[str, float]) -> list[Drift]:
    """The drift of every number that at least three visits have and that moves by more than matters.

    Leaving out by how far a number moves in all, whatever the order, does not favour those that move in one direction:
    their probabilities stay what they are (Bourgon, Gentleman and Huber 2010, from memory).
    """
    ordered, at, per = in_order(visits)
    last = ordered[-1]
    profile = msgspec.json.decode(last.profile, type=EngineProfile)
    alike = [k for k, visit in enumerate(ordered) if visit.profile == last.profile]
    drives = [_drive(ordered[k], profile) for k in alike]
    times = [at[k] for k in alike]
    judged = not any(drive.contradiction() for drive in drives)
    out = []
    for one in trends.trends(drives, times, per):
        if not np.isfinite([*one.values, *one.lows, *one.highs]).all():
            continue
        if max(one.values) - min(one.values) <= matters.get(one.measure, 0.0):
            continue
        logs = [ordered[alike[times.index(t)]].log for t in one.at]
        starts = [one.at.index(times[k]) for k in one.steps]
        where = reference(one.measure, profile, None) if judged else None
        limit = None if where is None or where.limit is None else where.limit
        if where is not None and where.kind == "about" and limit is not None and one.values[-1] < 0.0:
            limit = -limit
        out.append(Drift(vehicle=vehicle, trend=one, logs=logs, step=_step(one, starts, logs), limit=limit))
    return out


def _drive(visit: FleetLog, profile: EngineProfile) -> Drive:
    """A visit as a comparison of drives sees it: measures, profile and remarks, without what it was computed on."""
    said = tuple(Remark(one.kind, one.text) for one in visit.remarks)
    record = Record(captures=(), channels=ChannelSet({}), states=DriveStates(), profile=profile, remarks=said)
    return Drive(visit.log, record, Finding(measures=visit.measures, missing=[], ranking=_NOT_RANKED))


def _step(one: Trend, starts: Sequence[int], logs: Sequence[str]) -> Step | None:
    """Of the changes of level that the segmentation found, the one that stands out most, with its probability.

    ``starts`` are positions among the values. It is taken as the best of all places where a level could change.
    """
    n = len(one.values)
    y, sd = np.array(one.values), (np.array(one.highs) - np.array(one.lows)) / (2.0 * Z95)
    found = [(chance(y, sd, k), k) for k in starts if ENDS <= k <= n - ENDS]
    if n < FEWEST_FOR_STEPS or not found:
        return None
    p, k = min(found)
    change = float(np.median(y[k:]) - np.median(y[:k]))
    return Step(at=k, log=logs[k], change=change, p=min(p * (n - 2 * ENDS + 1), 1.0))


def chance(y: Array, sd: Array, k: int) -> float:
    """Two-sided probability of so large a difference of level between the visits before and from the k-th on.

    The scatter is that about the two medians, and at least what the values are uncertain by.

    Parameters
    ----------
    y, sd : (n,) value and standard uncertainty
    """
    before, after = y[:k], y[k:]
    rest = np.concatenate([before - np.median(before), after - np.median(after)])
    n = len(y)
    scatter = max(float(np.sqrt(np.sum(rest**2) / (n - 2))), mad_sigma(rest), float(np.median(sd)))
    if scatter == 0.0:
        return 0.0 if np.median(before) != np.median(after) else 1.0
    # pi / 2: the variance of a median against that of a mean.
    error = scatter * float(np.sqrt(0.5 * np.pi * (1.0 / len(before) + 1.0 / len(after))))
    return 2.0 * float(scipy.special.stdtr(n - 2, -abs(float(np.median(after) - np.median(before))) / error))


def decided(found: Sequence[Drift], rate: float) -> list[Drift]:
    """Trends and steps adjusted together over the whole fleet.

    A trend is shown where it also stands among the numbers of its own vehicle.
    """
    p = [one.trend.p for one in found] + [one.step.p for one in found if one.step is not None]
    chances = adjusted(np.array(p)).tolist()
    of_steps = iter(chances[len(found) :])
    out = []
    for one, chance_of_trend in zip(found, chances, strict=False):
        shown = one.trend.shown and chance_of_trend <= rate
        trend = msgspec.structs.replace(
            one.trend,
            p_adjusted=max(one.trend.p_adjusted, chance_of_trend),
            shown=shown,
            towards_limit=one.trend.towards_limit if shown else None,
            reaches=one.trend.reaches if shown else None,
        )
        step = one.step
        if step is not None:
            again = next(of_steps)
            step = msgspec.structs.replace(step, p_adjusted=again, shown=again <= rate)
        out.append(msgspec.structs.replace(one, trend=trend, step=step))
    return out
