"""A case as one JSON file for other programs and for the archive; ``docs/workshop.md`` lays the keys out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import msgspec

from logan import __version__
from logan.store import cases
from logan.store.database import Case, Deed

SCHEMA: Final = 1


def document(case: Case, trail: Sequence[Deed]) -> bytes:
    """The case with its finding, what was said of it, what was checked, and who did what."""
    now = cases.verdict_now(case.reviews)
    replaced = cases.replaced(case.reviews)
    last = {(tick.fault, tick.text): tick.id for tick in case.ticks}
    content: dict[str, Any] = {
        "schema": SCHEMA,
        "logan_version": __version__,
        "case": case.id,
        "handed_in": case.made,
        "by": case.by,
        "vehicle": case.vehicle,
        "engine": case.engine,
        "work": case.work,
        "complaints": case.complaints,
        "files": [{"name": file.name, "sha256": file.sha256} for file in case.files],
        "state": case.state,
        "trouble": case.trouble,
        "finding": case.result,
        "verdict": None if now is None else {"time": now.made, "by": now.by, "kind": now.kind, "text": now.text},
        "review": [
            {
                "time": one.made, "by": one.by, "kind": one.kind, "text": one.text,
                "holds": one is now, "replaced": one.id in replaced,
            }
            for one in case.reviews
        ],
        "checks": [
            {
                "time": tick.made, "by": tick.by, "fault": tick.fault, "text": tick.text, "outcome": tick.outcome,
                "counts": last[tick.fault, tick.text] == tick.id,
            }
            for tick in case.ticks
        ],
        "trail": [{"time": deed.made, "by": deed.by, "what": deed.what} for deed in trail],
    }  # fmt: skip
    return msgspec.json.format(msgspec.json.encode(content), indent=1) + b"\n"
