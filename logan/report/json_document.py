"""The finding as JSON (docs/conventions.md), with further keys that a reader may ignore."""

from __future__ import annotations

import math
import sys
from datetime import UTC, datetime
from typing import Any

import msgspec
import numpy as np

from logan import __version__
from logan.model.capture import Capture, Remark
from logan.model.finding import Evidence, Finding, RankedFault
from logan.model.measure import Measure
from logan.model.record import Record
from logan.report.text import plain_number

SCHEMA = 1


def build(record: Record, finding: Finding) -> dict[str, Any]:
    """The document as plain objects; every number in it is finite."""
    usable = [measure for measure in finding.measures if _is_number(measure)]
    missing = [_builtins(absent) for absent in finding.missing]
    missing += [
        {"measure": m.name, "why": "the computation gave no number", "capture_hint": "report this as a defect"}
        for m in finding.measures
        if not _is_number(m)
    ]
    ranking = finding.ranking
    document = {
        "schema": SCHEMA,
        "logan_version": __version__,
        "capture": {"files": [_file(capture) for capture in record.captures]},
        "engine": {
            "name": record.profile.name, "source": record.profile_source, "assumed": list(record.assumed),
            "profile": _builtins(record.profile),
        },
        "knowledge": list(record.knowledge),
        "vehicle": _vehicle(record),
        "dtcs": [_builtins(code) for code in record.vehicle.codes],
        "measures": {measure.name: _measure(measure) for measure in usable},
        "verdict": ranking.verdict,
        "sentence": ranking.sentence,
        "minutes_to_find": ranking.minutes_to_find,
        "together": None if ranking.together is None else _builtins(ranking.together),
        "faults": [_fault(fault) for fault in sorted(ranking.faults, key=lambda f: -f.probability)],
        "not_explained": ranking.not_explained,
        "no_fault": ranking.no_fault,
        "something_else": ranking.something_else,
        "unexplained": [_evidence(piece) for piece in ranking.unexplained],
        "blind": ranking.blind,
        "missing": missing,
        "recent_work": list(record.work),
        "complaints": list(record.complaints),
        "drive": [[span.state, span.start_s, span.end_s] for span in record.states.spans],
        "data_quality": {
            "frames": sum(capture.frames for capture in record.captures),
            "rejected": sum(capture.rejected for capture in record.captures),
            "remarks": [_remark(remark) for remark in record.remarks],
        },
    }  # fmt: skip
    return {key: clean(value) for key, value in document.items()}


def text(record: Record, finding: Finding) -> str:
    """The document as a file's text."""
    compact = msgspec.json.encode(build(record, finding))
    return msgspec.json.format(compact, indent=2).decode("utf-8") + "\n"


def _builtins(value: object) -> Any:
    return msgspec.to_builtins(value, enc_hook=plain_number)


def _is_number(measure: Measure) -> bool:
    values = measure.value if isinstance(measure.value, list) else [measure.value]
    return any(math.isfinite(v) for v in values) and (isinstance(measure.value, list) or not _has_nan(measure))


def _has_nan(measure: Measure) -> bool:
    return any(isinstance(bound, float) and math.isnan(bound) for bound in (measure.low, measure.high))


def _measure(measure: Measure) -> dict[str, Any]:
    out = _builtins(measure)
    out["from"] = out.pop("provenance")
    del out["name"]
    if not measure.parts:
        del out["parts"]
    for key in ("low", "high"):
        out[key] = _bound(out[key])
    return dict(out)


def _bound(value: float | list[float]) -> float | list[float]:
    """An interval without an end on one side has the largest number there: JSON knows no infinity."""
    if isinstance(value, list):
        return [min(max(v, -sys.float_info.max), sys.float_info.max) for v in value]
    return min(max(value, -sys.float_info.max), sys.float_info.max)


def _fault(fault: RankedFault) -> dict[str, Any]:
    out = _builtins(fault)
    out["evidence"] = [_evidence(piece) for piece in fault.evidence]
    return dict(out)


def _evidence(piece: Evidence) -> dict[str, Any]:
    return {
        piece.kind: piece.name, "observed": piece.observed, "expected": piece.expected, "weight": piece.weight,
        "text": piece.text, "group": piece.group,
    }  # fmt: skip


def _file(capture: Capture) -> dict[str, Any]:
    return {
        "name": capture.name, "sha256": capture.sha256, "format": capture.format, "frames": capture.frames,
        "rejected": capture.rejected, "start": _start(capture.start), "duration_s": _length(capture.duration_s),
        "metadata": capture.metadata,
    }  # fmt: skip


def _start(start: float | None) -> str | float | None:
    """ISO 8601 where it is a date at all, else the recorder's own number."""
    if start is None:
        return None
    try:
        return datetime.fromtimestamp(start, UTC).isoformat()
    except (OverflowError, ValueError, OSError):
        return start


def _length(duration_s: float | None) -> float | None:
    """A length below zero (the recorder's clock went back) is no length."""
    return None if duration_s is None or duration_s < 0 else duration_s


def _vehicle(record: Record) -> dict[str, Any]:
    out = _builtins(record.vehicle)
    del out["codes"], out["vins"]  # codes stand by themselves; of several VINs a remark tells
    return dict(out)


def _remark(remark: Remark) -> dict[str, Any]:
    return {
        "kind": remark.kind, "text": remark.text, "count": remark.count, "places": list(remark.places),
        "file": remark.file,
    }  # fmt: skip


def clean(value: Any) -> Any:
    """No number that JSON does not know, no text that UTF-8 does not know."""
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode("utf-8")
    if isinstance(value, dict):
        return {clean(key): clean(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [clean(inner) for inner in value]
    return value
