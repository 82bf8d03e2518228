"""Rows to a Parquet data set and back; ``docs/fleet.md`` lays the columns out."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import msgspec
import pyarrow as pa
import pyarrow.parquet as pq

from logan.errors import UsageError
from logan.fleet.store import Store
from logan.knowledge.measures import MeasureInfo
from logan.model.fleet import FleetLog
from logan.model.measure import Measure

ROWS_A_FILE: Final = 5000
_TEXTS: Final = pa.list_(pa.string())
_FIXED: Final[list[tuple[str, pa.DataType]]] = [
    ("log", pa.string()), ("files", _TEXTS), ("key", pa.string()), ("content", _TEXTS), ("copy_of", pa.string()),
    ("vehicle", pa.string()), ("vehicle_from", pa.string()), ("folder", pa.string()),
    ("start", pa.timestamp("us", tz="UTC")), ("start_unix_s", pa.float64()), ("duration_s", pa.float64()),
    ("engine", pa.string()), ("engine_source", pa.string()), ("profile", pa.string()), ("verdict", pa.string()),
    ("sentence", pa.string()), ("top_fault", pa.string()), ("top_cylinder", pa.int32()),
    ("top_probability", pa.float64()),
    ("faults", pa.list_(pa.struct([("fault", pa.string()), ("title", pa.string()), ("probability", pa.float64()),
                                   ("cylinder", pa.int32())]))),
    ("not_explained", pa.float64()), ("blind", _TEXTS), ("codes", _TEXTS),
    ("frames", pa.int64()), ("rejected", pa.int64()),
    ("remarks", pa.list_(pa.struct([("kind", pa.string()), ("text", pa.string()), ("count", pa.int64()),
                                    ("file", pa.string())]))),
    ("missing", pa.list_(pa.struct([("measure", pa.string()), ("why", pa.string()), ("capture_hint", pa.string())]))),
    ("error", pa.string()), ("trouble", pa.string()), ("logan_version", pa.string()), ("seconds", pa.float64()),
]  # fmt: skip
_DERIVED: Final = ("start", "start_unix_s", "top_fault", "top_cylinder", "top_probability")
_PARTS: Final = ("value", "low", "high")


def schema(catalogue: dict[str, MeasureInfo]) -> pa.Schema:
    """The columns: the fixed ones, then four a measure; one of the cylinders holds lists in their order."""
    fields = [pa.field(name, kind) for name, kind in _FIXED]
    for info in catalogue.values():
        number = pa.list_(pa.float64()) if of_cylinders(info.name) else pa.float64()
        about = {"measure": info.name, "unit": info.unit, "title": info.title}
        fields += [pa.field(info.name, number, metadata=about | {"part": "value"})]
        fields += [pa.field(f"{info.name}__{part}", number, metadata=about | {"part": part}) for part in _PARTS[1:]]
        fields.append(pa.field(f"{info.name}__n", pa.int64(), metadata=about | {"part": "n"}))
    return pa.schema(fields)


def of_cylinders(measure: str) -> bool:
    """Whether a measure is one number a cylinder."""
    return measure.startswith("cylinder_")


def write(rows: Sequence[FleetLog], catalogue: dict[str, MeasureInfo], store: Store) -> None:
    """Put the data set ``logs`` in place; parts of an earlier and longer one go.

    Raises
    ------
    OutputError : the disk refuses
    """
    columns = schema(catalogue)
    names = []
    for start in range(0, max(len(rows), 1), ROWS_A_FILE):
        part = [_flat(row) for row in rows[start : start + ROWS_A_FILE]]
        out = io.BytesIO()
        pq.write_table(pa.Table.from_pylist(part, schema=columns), out, compression="zstd")
        names.append(f"part-{start // ROWS_A_FILE:05d}.parquet")
        store.write(store.logs / names[-1], out.getvalue())
    for old in store.logs.glob("part-*.parquet"):
        if old.name not in names:
            old.unlink(missing_ok=True)  # another run into the same folder may have taken it


def _flat(row: FleetLog) -> dict[str, Any]:
    out: dict[str, Any] = msgspec.to_builtins(row)
    del out["measures"]
    out["start_unix_s"] = out["start"]
    try:
        out["start"] = None if row.start is None else datetime.fromtimestamp(row.start, UTC)
    except (OverflowError, ValueError, OSError):
        out["start"] = None
    if row.faults:
        first = row.faults[0]
        out |= {"top_fault": first.fault, "top_cylinder": first.cylinder, "top_probability": first.probability}
    for measure in row.measures:
        out[measure.name], out[f"{measure.name}__low"] = measure.value, measure.low
        out[f"{measure.name}__high"], out[f"{measure.name}__n"] = measure.high, measure.n
    return out


def read(folder: Path) -> list[FleetLog]:
    """The rows of an output folder.

    Raises
    ------
    UsageError : it holds no such data set
    """
    parts = sorted((folder / "logs").glob("part-*.parquet"))
    if not parts:
        raise UsageError(
            "holds no fleet results", file=str(folder), do="name the folder that logan fleet run was given with --out"
        )
    rows: list[FleetLog] = []
    for part in parts:
        try:
            table = pq.read_table(part)
            units = {
                field.name: field.metadata[b"unit"].decode()
                for field in table.schema
                if field.metadata and field.metadata.get(b"part") == b"value"
            }
            rows += [_row(flat, units) for flat in table.to_pylist()]
        except (OSError, pa.ArrowException, KeyError, msgspec.ValidationError) as error:
            raise UsageError(f"is no fleet result ({error})", file=str(part), do="run logan fleet run again") from error
    return rows


def _row(flat: dict[str, Any], units: dict[str, str]) -> FleetLog:
    fixed = {name: flat[name] for name, _ in _FIXED if name not in _DERIVED}
    measures = [
        Measure(
            name=name, value=flat[name], unit=unit, low=flat[f"{name}__low"], high=flat[f"{name}__high"],
            n=flat[f"{name}__n"],
        )
        for name, unit in units.items()
        if flat[name] is not None
    ]  # fmt: skip
    row = msgspec.convert(fixed | {"start": flat["start_unix_s"]}, FleetLog)
    return msgspec.structs.replace(row, measures=measures)
