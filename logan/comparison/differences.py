"""Measure by measure: before, after, difference, and whether it is better, worse, the same or cannot be told."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec
import numpy as np

from logan.comparison.drive import Drive, beyond, cylinder, reference, values
from logan.comparison.statistics import adjusted, chance, correlation_of, difference
from logan.knowledge.comparison import Comparable, Condition
from logan.knowledge.faults import look_up, value_of
from logan.model.comparison import Difference, NotComparable, Outcome, Reference, Value
from logan.model.measure import Measure

RATE: Final = 0.05
"""Share of false discoveries allowed among the differences that are called real."""


def differences(
    before: Drive,
    after: Drive,
    conditions: dict[str, Condition],
    rules: dict[str, Comparable],
    work: Sequence[str] = (),
    one_vehicle: bool = True,
) -> tuple[list[Difference], list[NotComparable]]:
    """Every measure that both drives have, and why the others were not compared.

    Parameters
    ----------
    work : what was fitted between the drives; a part that is new shares no systematic error with the old one
    one_vehicle : whether both drives are of one vehicle, so that systematic errors are shared at all
    """
    old, new = before.measures(), after.measures()
    out: list[Difference] = []
    refused: list[NotComparable] = []
    for name in dict.fromkeys([*old, *new]):
        why = (
            _one_sided(name, before, after)
            or _unlike_engine(before, after)
            or _unlike(old[name], new[name], before, after, conditions, rules.get(name))
        )
        if why:
            refused.append(NotComparable(measure=name, why=why))
        else:
            out += _of_measure(old[name], new[name], before, after, rules.get(name), work, one_vehicle)
    chances = adjusted(np.array([row.p for row in out])).tolist()
    return [_decided(row, p) for row, p in zip(out, chances, strict=True)], refused


def _one_sided(name: str, before: Drive, after: Drive) -> str:
    for drive, words in ((before, "before"), (after, "after")):
        if name not in drive.measures():
            why = drive.missing().get(name, "")
            return f"missing {words}" + (f": {why}" if why else "")
    return ""


def _unlike_engine(before: Drive, after: Drive) -> str:
    if before.record.profile == after.record.profile:
        return ""
    return f"judged by different engine profiles: {before.record.profile.name}; {after.record.profile.name}"


def _unlike(
    old: Measure, new: Measure, before: Drive, after: Drive, conditions: dict[str, Condition], rule: Comparable | None
) -> str:
    if old.unit != new.unit or len(values(old)) != len(values(new)):
        return "it does not have the same form on both sides"
    if rule is None or before.contents() == after.contents():
        return ""
    for channel in rule.alike:
        condition = conditions[channel]
        one, other = before.condition(old, channel), after.condition(new, channel)
        if one is not None and other is not None and abs(other - one) > condition.tolerance:
            return f"different conditions: {condition.title} {one:.0f} before, {other:.0f} {condition.unit} after"
    if rule.same_length is not None and max(old.n, new.n) > rule.same_length * max(min(old.n, new.n), 1):
        return f"different conditions: {old.n} values before, {new.n} after, and a longer record alone moves it"
    return ""


def _of_measure(
    old: Measure, new: Measure, before: Drive, after: Drive, rule: Comparable | None, work: Sequence[str], one: bool
) -> list[Difference]:
    profile = after.record.profile
    target = look_up(rule.target, profile) if rule is not None and rule.target else None
    where = reference(old.name, profile, target if target is not None or rule is None else rule.centre)
    if before.contradiction() or after.contradiction():
        where = None
    common = 0.0
    # What was read another way, or with another part, has errors of its own.
    if one and rule is not None and old.provenance.channels == new.provenance.channels:
        common = 0.0 if set(rule.broken_by) & set(work) else rule.shared
    out = []
    for k, (first, second) in enumerate(zip(values(old), values(new), strict=True)):
        change, low, high = difference(first, second, correlation_of(first, second, common))
        if before.contents() == after.contents():  # one record is wrong by the same amount twice
            low = high = change
        out.append(
            Difference(
                measure=old.name, unit=old.unit, before=first, after=second, difference=change, low=low, high=high,
                outcome="cannot_tell", p=chance(change, low, high), p_adjusted=1.0, cylinder=cylinder(old, k),
                matters=value_of(rule.matters, profile) if rule is not None else None, reference=where,
                beyond_before=beyond(where, first), beyond_after=beyond(where, second), shared=common,
            )
        )  # fmt: skip
    return out


def _decided(row: Difference, p: float) -> Difference:
    outcome, why = _outcome(row, p)
    return msgspec.structs.replace(row, p_adjusted=p, outcome=outcome, why=why)


def _outcome(row: Difference, p: float) -> tuple[Outcome, str]:
    """Equivalence first: a change that surely does not matter is no change, however sure it is."""
    if row.low == row.high == 0.0:
        return "same", ""
    if row.matters is not None and -row.matters <= row.low and row.high <= row.matters:
        return "same", ""
    if p > RATE or row.low <= 0.0 <= row.high:
        if row.matters is None:
            return "cannot_tell", "no difference shown, and no size is known from which one would matter"
        if row.low <= 0.0 <= row.high:
            return "cannot_tell", "the difference may be nothing, and may be more than matters"
        return "cannot_tell", "of so many measures some differ this much by chance"
    if row.reference is None:
        return "changed", "the engine profile sets no limit or target for it"
    return _judged(row.reference, row.before, row.after, row.difference)


def _judged(where: Reference, before: Value, after: Value, change: float) -> tuple[Outcome, str]:
    if where.kind == "about":
        (near, far), (near_after, far_after) = _distances(before, where.centre), _distances(after, where.centre)
        if far_after < near:
            return "better", ""
        if near_after > far:
            return "worse", ""
        side, side_after = (np.sign(one.value - where.centre) for one in (before, after))
        if side != side_after or near == 0.0 or near_after == 0.0:
            return "changed", "it moved, but not surely towards or away from where it should be"
        return ("worse" if change * side > 0.0 else "better"), ""
    return ("worse" if (change > 0.0) == (where.kind == "over") else "better"), ""


def _distances(value: Value, centre: float) -> tuple[float, float]:
    """Nearest and farthest that a value may lie from where it should be."""
    low, high = value.low - centre, value.high - centre
    return max(low, -high, 0.0), max(abs(low), abs(high))
