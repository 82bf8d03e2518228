"""The ranking after checks on the vehicle: what each outcome does to the probabilities."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from logan.knowledge import faults, texts
from logan.knowledge.faults import Check
from logan.knowledge.folders import Folders
from logan.ranking.next_checks import confirms_share, in_trade_order
from logan.store.database import Tick

NO_FAULT = "no fault"
SOMETHING_ELSE = "something else"


def updated(before: Mapping[str, float], outcomes: Iterable[tuple[str, Check, bool]]) -> dict[str, float]:
    """Probabilities after outcomes (fault, its check, whether it confirmed), taken as independent: Bayes' rule."""
    after = dict(before)
    for fault, check, confirmed in outcomes:
        for name in after:
            share = confirms_share(check, fault, name)
            after[name] *= share if confirmed else 1.0 - share
    total = sum(after.values())
    return {name: value / total for name, value in after.items()} if total > 0.0 else dict(before)


def after_checks(
    result: Mapping[str, Any], ticks: Iterable[Tick], folders: Folders = ()
) -> list[tuple[str, float, float]]:
    """Title, probability of the record alone and with the checks, the likeliest first; of one check the last counts.

    Two faults at once are one row, as in the report, as long as no check has spoken of either.
    """
    before: dict[str, float] = {}
    titles = {NO_FAULT: "No fault of the catalogue, good engine", SOMETHING_ELSE: "Something else"}
    for fault in result["faults"]:
        before[fault["fault"]] = before.get(fault["fault"], 0.0) + fault["probability"]
        titles[fault["fault"]] = fault["title"]
    before |= {NO_FAULT: result["no_fault"], SOMETHING_ELSE: result["something_else"]}
    last = {(tick.fault, tick.text): tick.outcome for tick in ticks}
    known = _checks(folders)
    outcomes = [
        (key[0], known[key], said == "confirmed") for key, said in last.items() if key in known and said != "undone"
    ]
    both = result.get("together")
    if both and not outcomes:
        together = " and ".join(titles[name] for name in both["faults"])
        for name in both["faults"]:
            del before[name]
        before[together], titles[together] = both["probability"], f"Both at once: {together}"
    after = updated(before, outcomes) if outcomes else before  # two at once leave out what one of them has alone
    return sorted(((titles[name], before[name], after[name]) for name in before), key=lambda row: -row[2])


@cache
def _checks(folders: Folders) -> dict[tuple[str, str], Check]:
    """Every check of the catalogue by its fault and the text under which a finding lists it."""
    cautions = texts.cautions(folders)
    return {
        (fault.id, plain.text): check
        for fault in faults.load(folders=folders).faults.values()
        for plain, check in zip(in_trade_order(fault, cautions), fault.checks, strict=True)
    }
