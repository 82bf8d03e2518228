"""One analysed drive, and what can be asked of it without judging."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logan.knowledge.limits import LIMITS, value_of
from logan.model.capture import OTHER_ENGINE
from logan.model.comparison import Reference, Value
from logan.model.finding import Finding
from logan.model.measure import Measure
from logan.model.profile import EngineProfile
from logan.model.record import Record


@dataclass(frozen=True, slots=True)
class Drive:
    """A record and what was found in it, with the name that it has in the comparison."""

    name: str
    record: Record
    finding: Finding

    def measures(self) -> dict[str, Measure]:
        """The measures by name."""
        return {measure.name: measure for measure in self.finding.measures}

    def missing(self) -> dict[str, str]:
        """Why measures are missing, by name."""
        return {absent.measure: absent.why for absent in self.finding.missing}

    def contents(self) -> frozenset[str]:
        """Hashes of its files."""
        return frozenset(capture.sha256 for capture in self.record.captures)

    def contradiction(self) -> str:
        """What shows that the record is of another engine than its profile, whose limits then judge nothing; or ""."""
        return next((remark.text for remark in self.record.remarks if remark.kind == OTHER_ENGINE), "")

    def start(self) -> float | None:
        """Unix time of its first record, s."""
        return min((c.start for c in self.record.captures if c.start is not None), default=None)

    def condition(self, measure: Measure, channel: str) -> float | None:
        """Median of a channel over what a measure was taken on; None where either is not known."""
        found = self.record.channels.get(channel)
        # A recording on an axis of its own knows nothing of the channels beside it.
        if found is None or not all(name in self.record.channels for name in measure.provenance.channels):
            return None
        t_s, value = found.finite()
        inside = np.zeros(len(t_s), bool)
        for begin, end in measure.provenance.spans_s:
            inside |= (t_s >= begin) & (t_s <= end)
        return float(np.median(value[inside])) if inside.any() else None


def values(measure: Measure) -> list[Value]:
    """The numbers of a measure: one, or one a cylinder."""

    def listed(bound: float | Sequence[float]) -> list[float]:
        return [float(x) for x in bound] if isinstance(bound, Sequence) else [float(bound)]

    return [
        Value(value=value, low=low, high=high, statistical=measure.statistical, systematic=measure.systematic)
        for value, low, high in zip(listed(measure.value), listed(measure.low), listed(measure.high), strict=True)
    ]


def cylinder(measure: Measure, k: int) -> int | None:
    """The cylinder of the k-th number, None for a measure of the whole engine."""
    return k + 1 if isinstance(measure.value, list) else None


def reference(name: str, profile: EngineProfile, target: float | None) -> Reference | None:
    """Where the profile wants a measure, None where it says nothing."""
    limit = LIMITS.get(name)
    if limit is not None and (bound := value_of(profile, limit)) is not None:
        return Reference(kind=limit.kind, limit=bound)
    return Reference(kind="about", centre=target) if target is not None else None


def beyond(where: Reference | None, value: Value) -> bool:
    """Whether the whole interval lies past the limit."""
    if where is None or where.limit is None:
        return False
    if where.kind == "about":
        return value.low > where.centre + where.limit or value.high < where.centre - where.limit
    return value.low > where.limit if where.kind == "over" else value.high < where.limit
