"""Frames out of a table: identifiers whole or as J1939 fields, bytes in hex, times with or without their unit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logan.capture import csv_columns
from logan.capture.can_columns import CanBlock, CanColumns
from logan.capture.can_text_plain import FD_LENGTHS, LATEST_S
from logan.capture.csv_head import CsvHead, parse
from logan.capture.frame_table import bytes_apart, roles
from logan.capture.reader import Parsed, Tally
from logan.capture.source import Source
from logan.errors import CaptureError
from logan.knowledge import frame_headers, table_headers
from logan.model.frames import EXTENDED, FD, FD_WIDTH, SENT

_STAMP: Final = r"^(-?\d+(?:[.,]\d+)?)\s*([a-zµ]*)$"
_DAY_STAMP: Final = r"^(\d{2})T(\d{2})(\d{2})(\d{2})(\d{3})$"
"""Day of the month, T, hours, minutes, seconds, milliseconds."""
_SLOWEST_S: Final = 2.0
"""Engines' control modules send their commonest message far more often (SAE J1939-71: 10 to 100 ms)."""
_MOST_11_BIT: Final = 0x7FF
_PDU2: Final = 0xF000
_TO_ALL: Final = 255


@dataclass(frozen=True, slots=True)
class _Rows:
    """Cells of the table as columns: text by role, and which rows are still good."""

    cells: dict[str, pd.Series]
    good: NDArray[np.bool_]
    tally: Tally
    first_line: int

    def refuse(self, bad: NDArray[np.bool_], text: str) -> None:
        """Leave out the bad ones of the rows that are still good, counted with their lines."""
        rows = np.flatnonzero(bad & self.good)
        self.tally.add_rows("bad_row", text, rows, lambda row: f"row {row + 1} (from line {self.first_line})")
        self.good[rows] = False

    def numbers(self, role: str, base: int, text: str, most: int = 0x1FFFFFFF) -> NDArray[np.int64]:
        """Whole numbers of a column; rows without one are refused."""
        values = [_whole(cell, base) for cell in self.cells[role].tolist()]
        out = np.array([-1 if v is None or not 0 <= v <= most else v for v in values], np.int64)
        self.refuse(out < 0, text)
        return out


def read(source: Source) -> Parsed:
    """All frames of a table.

    Raises
    ------
    CaptureError : no row of it is a frame with a time
    """
    head = parse(source)
    assert head is not None  # the reader has looked
    found = roles(head)
    if "time" not in found:
        raise CaptureError(
            "is a table of frames without a column of times", file=str(source.path), do="export it with time stamps"
        )
    tally = Tally()
    apart = bytes_apart(head) if found["data"] in bytes_apart(head) else []
    wanted = [*found.values(), *apart[1:]]
    series = [one.fillna("").str.strip() for one in csv_columns.read(source, head, wanted, tally, wanted, ragged=True)]
    cells = dict(zip(found, series, strict=False))
    if apart:
        cells["data"] = _together([cells["data"], *series[len(found) :]], tally)
    rows = _Rows(cells, np.ones(len(cells["data"]), np.bool_), tally, head.first_row_line)
    if "error" in cells:
        rows.refuse((cells["error"] != "").to_numpy(), "row that the recorder itself marks as an error")
    extended, can_id = _identifiers(rows)
    data, length = _data(rows)
    t_ns = _times(rows, head, can_id)
    if not rows.good.any():
        raise CaptureError("holds no row that is a frame with a time", file=str(source.path), do="export it anew")

    columns = CanColumns()
    block = CanBlock(len(can_id))
    block.kept[:] = rows.good
    block.t_ns[:], block.can_id[:], block.length[:] = t_ns, np.maximum(can_id, 0), length
    sent = np.zeros(len(can_id), np.bool_)
    if "direction" in cells:
        sent = cells["direction"].str.lower().isin(frame_headers.load().sent).to_numpy()
    block.flags[:] = EXTENDED * extended | FD * (length > 8) | SENT * sent
    block.data[:] = data[:, :8].copy().view("<u8")[:, 0]
    long = np.flatnonzero(rows.good & (length > 8))
    if len(long):
        block.long_row, block.long_data = [long], [data[long]]
    buses = cells["bus"].tolist() if "bus" in cells else [""] * len(can_id)
    names = {name: columns.bus(name.encode()) or 0 for name in dict.fromkeys(buses)}
    block.bus[:] = [names[name] for name in buses]
    columns.append(block)
    frames = columns.frames(tally)
    return Parsed(frames, len(frames), len(can_id) - len(frames), tally.remarks(), head.metadata)


def _together(octets: list[pd.Series], tally: Tally) -> pd.Series:
    """Bytes of a column each as one text; decimal where a byte has three digits and none has a letter."""
    table = pd.concat([one.str.lower().str.removeprefix("0x") for one in octets], axis=1)
    cells = table.to_numpy(str)
    sizes = np.char.str_len(cells)
    if (sizes == 3).any() and (np.char.isdigit(cells) | (sizes == 0)).all():
        tally.add("decimal_bytes", "bytes read as decimal numbers", "columns of bytes")
        cells = np.array([[f"{int(cell):02x}" if cell else "" for cell in row] for row in cells.tolist()])
    rows = [" ".join(cell.zfill(2) for cell in row if cell) for row in cells.tolist()]
    return pd.Series(rows, dtype=str)


def _identifiers(rows: _Rows) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
    """Which identifiers have 29 bits, and the identifiers, -1 in refused rows."""
    if "id" in rows.cells:
        rows.cells["id"] = rows.cells["id"].str.replace(r"[hH]$", "", regex=True)
        if _are_decimal(rows.cells["id"]):
            rows.tally.add("decimal_ids", "identifiers read as decimal numbers", "column of identifiers")
            rows.cells["id"] = rows.cells["id"].map(lambda cell: f"{int(cell):03X}" if cell.isdigit() else cell)
        can_id = rows.numbers("id", 16, "no or damaged identifier")
        digits = np.array([len(cell) for cell in rows.cells["id"].str.removeprefix("0x").tolist()])
        wide = bool((can_id > _MOST_11_BIT).any()) and bool((digits[rows.good] == 8).all())
        extended = (can_id > _MOST_11_BIT) | (digits == 8) & wide
        rows.refuse(digits < (8 if wide else 3), "no or damaged identifier")
        return extended, can_id
    pgn = rows.numbers("pgn", 10, "no or damaged parameter group number", 0x3FFFF)
    source = rows.numbers("source", 10, "no or damaged source address", 255)
    # SAE J1939-21: priority in the top three bits; groups under F000 carry their destination in the low byte
    priority = rows.numbers("priority", 10, "no or damaged priority", 7) if "priority" in rows.cells else np.int64(6)
    destination = (
        rows.numbers("destination", 10, "no or damaged destination address", 255)
        if "destination" in rows.cells
        else np.full(len(pgn), _TO_ALL)
    )
    addressed = (pgn & 0xFFFF) < _PDU2
    group = np.where(addressed, pgn & 0x3FF00 | destination, pgn)
    return np.ones(len(pgn), np.bool_), np.where(rows.good, priority << 26 | group << 8 | source, -1)


def _are_decimal(cells: pd.Series) -> bool:
    """Whether identifiers are decimal: nothing but digits, and in hexadecimal of a length that none is written in."""
    filled = cells[cells != ""]
    if not len(filled) or not filled.str.fullmatch(r"0|[1-9]\d{0,8}").all():
        return False
    sizes, most = set(filled.str.len()), int(filled.astype(np.int64).max())
    return 9 in sizes or (4 in sizes and sizes <= {1, 2, 3, 4} and most <= _MOST_11_BIT)


def _data(rows: _Rows) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Bytes, (n, 64), and how many, (n,)."""
    cells = rows.cells["data"].str.removeprefix("0x").str.replace(r"[\s-]", "", regex=True).tolist()
    data = np.zeros((len(cells), FD_WIDTH), np.uint8)
    length = np.zeros(len(cells), np.uint8)
    bad = np.zeros(len(cells), np.bool_)
    for k, cell in enumerate(cells):
        try:
            content = bytes.fromhex(cell)
        except ValueError:
            content = b"?" * 9
        if len(content) in FD_LENGTHS:
            data[k, : len(content)] = np.frombuffer(content, np.uint8)
            length[k] = len(content)
        else:
            bad[k] = True
    rows.refuse(bad, "data that are no frame's bytes")
    if "length" in rows.cells:
        said = pd.to_numeric(rows.cells["length"], errors="coerce").to_numpy()
        rows.refuse(np.asarray(said != length, np.bool_), "not as many data bytes as it says")
    return data, length


def _times(rows: _Rows, head: CsvHead, can_id: NDArray[np.int64]) -> NDArray[np.int64]:
    """Times in ns; the unit stands in the cell or the heading, else it is told from the commonest message."""
    cells = rows.cells["time"].str.lower()
    day = cells.str.upper().str.extract(_DAY_STAMP)
    if day[0].notna().mean() > 0.5:
        rows.refuse(day[0].isna().to_numpy(), "no or damaged time")
        return _day_times(day.fillna("0").astype(np.int64), head, rows.tally)
    parts = cells.str.extract(_STAMP)
    value = pd.to_numeric(parts[0].str.replace(",", "."), errors="coerce").to_numpy(np.float64)
    units = table_headers.load().time_units
    unit = parts[1].map(units).to_numpy(np.float64)
    heading = head.headings[roles(head)["time"]] if head.headings else None
    said = units.get(heading.unit.lower(), units.get(heading.plain.rpartition("_")[2])) if heading else None
    rows.refuse(np.isnan(value) | (np.isnan(unit) & (parts[1] != "").to_numpy()), "no or damaged time")
    if said is None and np.isnan(unit[rows.good]).all():
        said = _unit(value, can_id, rows)
    seconds = value * np.where(np.isnan(unit), said or 1.0, unit)
    rows.refuse(~(np.abs(seconds) < LATEST_S), "time out of range")
    seconds = np.where(rows.good, seconds, 0.0)
    whole = np.floor(seconds)
    out: NDArray[np.int64] = whole.astype(np.int64) * 10**9 + np.rint((seconds - whole) * 1e9).astype(np.int64)
    return out


def _unit(value: NDArray[np.float64], can_id: NDArray[np.int64], rows: _Rows) -> float:
    """Seconds in the unit of times that say none: milliseconds where the commonest message would come too seldom."""
    good = np.flatnonzero(rows.good)
    names, count = np.unique(can_id[good], return_counts=True)
    if not len(names) or count.max() < 10:
        return 1.0
    step = float(np.median(np.diff(value[good[can_id[good] == names[np.argmax(count)]]])))
    if step < _SLOWEST_S:
        return 1.0
    text = f"times without a unit: taken as milliseconds, as the commonest message then comes every {step:g} ms"
    rows.tally.add("time_unit", text, "time column")
    return 1e-3


def _day_times(day: pd.DataFrame, head: CsvHead, tally: Tally) -> NDArray[np.int64]:
    """Times of day with the day of the month; month and year stand in a comment of the head, or are not known."""
    since_ms = (((day[0] * 24 + day[1]) * 60 + day[2]) * 60 + day[3]) * 1000 + day[4]
    started = pd.to_datetime(head.metadata.get("Time", ""), errors="coerce", format="ISO8601")
    if pd.isna(started):
        return np.asarray((since_ms - since_ms.iloc[0]) * 10**6, np.int64)
    tally.add("time_zone", "times without a time zone: taken as UTC", "time column")
    month_ms = pd.Timestamp(year=int(started.year), month=int(started.month), day=1).value // 10**6 - 86_400_000
    return np.asarray((since_ms + month_ms) * 10**6, np.int64)


def _whole(cell: str, base: int) -> int | None:
    try:
        return int(cell, base)
    except ValueError:
        return None
