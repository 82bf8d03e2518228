"""Drives of one vehicle that overlap in time, which cannot be: none of them is taken for a visit after another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from logan.comparison.compare import SAME_MOMENT_S
from logan.model.fleet import FleetLog

CLOCK_S: Final = 1.0
"""How exactly a recorder tells when a file begins: parts of one recording may seem to overlap by so much."""


def overlapping(visits: Sequence[FleetLog]) -> list[list[FleetLog]]:
    """Groups of drives that overlap, each in order of time; drives without a time of day are in none.

    A drive of unknown length is taken to last a minute.
    """
    clocked = sorted(
        ((visit.start, visit) for visit in visits if visit.start is not None), key=lambda pair: (pair[0], pair[1].log)
    )
    groups: list[list[FleetLog]] = []
    end_s = float("-inf")
    for start_s, visit in clocked:
        if start_s < end_s and groups:
            groups[-1].append(visit)
        else:
            groups.append([visit])
        length_s = SAME_MOMENT_S if visit.duration_s is None else visit.duration_s
        end_s = max(end_s, start_s + max(length_s - CLOCK_S, CLOCK_S))
    return [group for group in groups if len(group) > 1]


def by_themselves(visits: Sequence[FleetLog], groups: Sequence[Sequence[FleetLog]]) -> list[FleetLog]:
    """The visits that overlap with no other."""
    met = {id(visit) for group in groups for visit in group}
    return [visit for visit in visits if id(visit) not in met]


def of_the_latest(visits: Sequence[FleetLog], groups: Sequence[Sequence[FleetLog]]) -> list[FleetLog]:
    """The last of the visits in their order, and those that overlap with it: none is known to be the later one."""
    last = visits[-1]
    return next((list(group) for group in groups if any(visit is last for visit in group)), [last])
