"""What SAE J1979 and SAE J2012 name: codes, monitors, tests, scalings, reasons of refusal; from ``data/obd/``.

Each table is read when it is first asked for: a capture without trouble codes never loads their titles.
"""

from __future__ import annotations

import csv
import functools
import io
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Literal, TypeVar

import msgspec

from logan.errors import KnowledgeError
from logan.knowledge.kept import kept
from logan.knowledge.load import toml
from logan.knowledge.locate import DATA, dbc_open

FOLDER = DATA / "obd"
PIDS_DBC = "obd2_service01.dbc"
FIRST_PID_ID = 0x100
"""Identifier of PID 0 in that DBC."""


class _Row(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A row of a table: where it is from, and who says otherwise."""

    source: str
    disagreement: str = ""


class PidSignal(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the DBC cannot say of a signal of service 01.

    ``n_bytes`` is "2", or "1|2" where the length varies; a signal whose scale nobody gives is not ``in_dbc``.
    """

    pid: int
    n_bytes: str
    signal: str
    kind: Literal["numeric", "enum", "flag", "support", "monitor", "bitmap", "dtc"]
    supported_by: str
    in_dbc: bool
    n_independent: int
    confidence: Literal["high", "medium", "low"]
    note: str


class CodeTitle(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A trouble code's title in parts."""

    code: str
    family: str
    component: str
    failure: str
    bank: str
    cylinder: str


class CodeGroup(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the first characters of a code say, for codes without a title."""

    group: str
    meaning: str


class CodeWords(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How parts of titles are written."""

    written: dict[str, str]
    failure: dict[str, str]


class Monitor(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A readiness monitor in PIDs 01 and 41; bits as "C3", a set completion bit means not complete."""

    ignition: Literal["both", "spark", "compression"]
    monitor: str
    class_: Literal["continuous", "non-continuous"] = msgspec.field(name="class")
    support_bit: str
    completion_bit: str


class NegativeResponse(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Why a service is refused."""

    code: int
    protocol: str
    meaning: str


class FailureType(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How a part fails: the third byte of a trouble code."""

    failure_type: int
    meaning: str


class Severity(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A bit of the severity byte of a trouble code."""

    bit: int
    meaning: str


class DiagnosticService(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A service of ISO 14229-1 or ISO 14230-3; those with an effect matter to every conclusion."""

    service: int
    name: str
    effect: Literal["", "clears", "changes"]


class Scaling(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A unit-and-scaling id of service 06; every value has two bytes."""

    scaling_id: int
    quantity: str
    signed: bool
    scale: float
    offset: float
    unit: str


class MonitorName(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An on-board monitor of service 06."""

    monitor_id: int
    name: str


class TestName(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A standard test of service 06."""

    test_id: int
    name: str


class Counter(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An in-use performance counter of service 09 by its place in the answer."""

    infotype: int
    index: int
    name: str


class Infotype(_Row, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An information type of service 09."""

    infotype: int
    name: str
    bytes_per_item: int
    note: str


_HEXADECIMAL = re.compile("0x[0-9A-F]+")
_T = TypeVar("_T", bound=_Row)


def _read(path: Path, kind: type[_T]) -> list[_T]:
    """Rows of a CSV file.

    Raises
    ------
    KnowledgeError : the file cannot be read or a row is not as it should be
    """
    try:
        content = path.read_bytes()
        return kept(path, content, list[kind], lambda: _rows(path, content, kind))  # type: ignore[valid-type]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise KnowledgeError(f"cannot be read: {error}", file=str(path), do="restore the file") from error


def _rows(path: Path, content: bytes, kind: type[_T]) -> list[_T]:
    lines = csv.DictReader(io.StringIO(content.decode("utf-8"), newline=""))
    return [_row(path, lines.line_num, fields, kind) for fields in lines]


def _row(path: Path, line: int, fields: dict[str, str], kind: type[_T]) -> _T:
    plain = {
        name: str(int(text, 16)) if isinstance(text, str) and _HEXADECIMAL.fullmatch(text) else text
        for name, text in fields.items()
    }
    try:
        return msgspec.convert(plain, kind, strict=False, str_keys=True)
    except (msgspec.ValidationError, TypeError) as error:
        raise KnowledgeError(str(error), file=str(path), place=f"line {line}", do="correct the row") from error


def _table(name: str, kind: type[_T]) -> list[_T]:
    return _read(FOLDER / name, kind)


@functools.cache
def pid_signals() -> dict[tuple[int, str], PidSignal]:
    """Signals of service 01 by PID and name, in order of the table."""
    path = (dbc_open() / PIDS_DBC).with_suffix(".csv")
    return {(row.pid, row.signal): row for row in _read(path, PidSignal)}


@functools.cache
def pid_lengths() -> dict[int, tuple[int, ...]]:
    """PID -> the numbers of data bytes that it may have."""
    lengths = {row.pid: row.n_bytes for row in pid_signals().values()}
    return {pid: tuple(int(n) for n in text.split("|")) for pid, text in lengths.items()}


@functools.cache
def code_titles() -> dict[str, CodeTitle]:
    """Titles of trouble codes in parts, by code."""
    return {row.code: row for row in _table("trouble_codes.csv", CodeTitle)}


@functools.cache
def code_groups() -> dict[str, str]:
    """First characters of a code -> what they stand for."""
    return {row.group: row.meaning for row in _table("trouble_code_groups.csv", CodeGroup)}


@functools.cache
def code_words() -> CodeWords:
    """The words that titles are put together with."""
    return toml(FOLDER / "trouble_code_words.toml", CodeWords)[0]


@functools.cache
def monitors(ignition: str) -> tuple[Monitor, ...]:
    """Readiness monitors of an engine with that ignition ("spark", "compression")."""
    return tuple(row for row in _table("monitors.csv", Monitor) if row.ignition in ("both", ignition))


@functools.cache
def negative_responses() -> dict[int, str]:
    """Response code -> why the service was refused."""
    return {row.code: row.meaning for row in _table("negative_responses.csv", NegativeResponse)}


@functools.cache
def failure_types() -> dict[int, str]:
    """Failure type byte -> how the part fails."""
    return {row.failure_type: row.meaning for row in _table("failure_types.csv", FailureType)}


@functools.cache
def severities() -> dict[int, str]:
    """Bit of the severity byte -> what it says."""
    return {row.bit: row.meaning for row in _table("trouble_code_severity.csv", Severity)}


@functools.cache
def diagnostic_services() -> dict[int, DiagnosticService]:
    """Services beside those of SAE J1979."""
    return {row.service: row for row in _table("diagnostic_services.csv", DiagnosticService)}


@functools.cache
def scalings() -> dict[int, Scaling]:
    """Unit-and-scaling ids of service 06."""
    return {row.scaling_id: row for row in _table("service06_scaling.csv", Scaling)}


@functools.cache
def monitor_names() -> dict[int, str]:
    """Monitor ids of service 06."""
    return {row.monitor_id: row.name for row in _table("service06_monitors.csv", MonitorName)}


@functools.cache
def test_names() -> dict[int, str]:
    """Standard test ids of service 06."""
    return {row.test_id: row.name for row in _table("service06_tests.csv", TestName)}


@functools.cache
def counter_names(infotype: int) -> dict[int, str]:
    """Place in the answer -> counter of an information type of service 09."""
    rows: Iterable[Counter] = _table("service09_counters.csv", Counter)
    return {row.index: row.name for row in rows if row.infotype == infotype}


@functools.cache
def infotypes() -> dict[int, Infotype]:
    """Information types of service 09."""
    return {row.infotype: row for row in _table("service09_infotypes.csv", Infotype)}
