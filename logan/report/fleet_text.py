"""A fleet for a machine (JSON) and in short for a person at a terminal."""

from __future__ import annotations

from typing import Any, Final

import msgspec

from logan import __version__
from logan.model.fleet import Fleet
from logan.report.fleet_figures import URGENCIES
from logan.report.fleet_page import half_blind, sentence
from logan.report.json_document import clean
from logan.report.text import outside, percent, plain_number

SCHEMA: Final = 1
MOST_LINES: Final = 10
LONGEST_REASON: Final = 400
"""Characters: what a record of another engine is told with fits."""


def json_text(fleet: Fleet) -> str:
    """The fleet as JSON; ``docs/fleet.md`` lays the keys out. Of comparisons it holds those that are shown."""
    steps = [one for one in fleet.drifts if one.trend.shown or (one.step is not None and one.step.shown)]
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "logan_version": __version__,
        "sentence": sentence(fleet),
        "logs": fleet.logs,
        "vehicles": _plain(fleet.vehicles),
        "drifts": _plain(steps),
        "drifts_followed": len(fleet.drifts),
        "peers": _plain([one for one in fleet.peers if one.shown]),
        "peers_compared": len(fleet.peers),
        "families": fleet.families,
        "bad": [{"log": row.log, "files": row.files, "error": row.error, "trouble": row.trouble} for row in fleet.bad],
        "copies": [{"log": row.log, "copy_of": row.copy_of} for row in fleet.copies],
        "false_discovery_rate": fleet.rate,
        "remarks": fleet.remarks,
    }
    return msgspec.json.format(msgspec.json.encode(clean(document)), indent=1).decode("utf-8") + "\n"


def _plain(value: object) -> Any:
    return msgspec.to_builtins(value, enc_hook=plain_number)


def terminal(fleet: Fleet) -> str:
    """The most urgent vehicles, and what was not read; no control character but line ends."""
    lines = [sentence(fleet)]
    urgent = [one for one in fleet.vehicles if one.urgency in ("fault", "watch")]
    if urgent:
        lines.append("")
    for one in urgent[:MOST_LINES]:
        name = outside(one.vehicle, 40)
        if one.fault:
            place = "" if one.cylinder is None else f": cylinder {one.cylinder}"
            lines.append(f"{percent(one.probability):>10}  {name}  {outside(one.fault_title, 80)}{place}")
        else:
            lines.append(f"{'watch':>10}  {name}  {outside('; '.join(one.why), LONGEST_REASON)}")
    if len(urgent) > MOST_LINES:
        lines.append(f"{'':10}  and {len(urgent) - MOST_LINES} more in the report")
    counts = [(sum(one.urgency == key for one in fleet.vehicles), words) for key, (words, _) in URGENCIES.items()]
    lines += ["", "; ".join(f"{words}: {count}" for count, words in counts if count)]
    if half := half_blind([one for one in fleet.vehicles if one.urgency == "none"]):
        lines.append(f"Nothing found, on drives that could not have shown half of the known faults or more: {half}.")
    if fleet.bad:
        lines.append(f"Logs without a result: {len(fleet.bad)}; the report says why.")
    lines += [outside(remark, 600) for remark in fleet.remarks]
    return "\n".join(lines)
