"""Trouble codes of service 19: three bytes a code, a status byte, sometimes a severity (ISO 14229-1, SAE J2012)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Set
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from logan.decode.dtc import code_of, describe
from logan.decode.j1979_codes import distinct
from logan.decode.j1979_pairing import is_answer_id
from logan.decode.j1979_pids import places
from logan.decode.j1979_values import ecu_name
from logan.knowledge import obd
from logan.model.capture import Remark
from logan.model.frames import Messages
from logan.model.vehicle import TroubleCode

FAILED_NOW, PENDING, CONFIRMED, FAILED_SINCE_CLEARED, LAMP = 0x01, 0x04, 0x08, 0x20, 0x80
"""Bits of the status byte (ISO 14229-1, D.2)."""
_EMISSIONS: Final = 0x33
_J1939_FORMAT: Final = 0x02
_NO_CODE: Final = (0x000000, 0xFFFFFF)


class Layout(NamedTuple):
    """How the answer of a report type is built.

    Parameters
    ----------
    first : first byte of the list of codes
    severity : place of the severity byte in an entry, -1 where there is none
    code : place of the code's three bytes; the status follows them
    mask : byte that says which status bits the module supports
    format : byte that names the code's format, 0 where there is none
    group : byte that names the functional group, 0 where there is none
    status : what the report type itself says of its codes
    alone : one code, and data about it behind
    """

    first: int
    severity: int = -1
    code: int = 0
    mask: int = 2
    format: int = 0
    group: int = 0
    status: str = ""
    alone: bool = False


_BY_MASK: Final = Layout(3)
_NO_MASK: Final = 1 << 12
"""Beyond the longest answer (ISO 15765-2)."""
_PERMANENT: Final = Layout(5, mask=3, format=4, group=2, status="permanent")
_PERMANENT_WITH_SEVERITY: Final = _PERMANENT._replace(severity=0, code=1)
LAYOUTS: Final = {
    **dict.fromkeys((0x02, 0x0A, 0x0B, 0x0C, 0x0D, 0x0E, 0x0F, 0x13), _BY_MASK),
    0x15: Layout(3, status="permanent"),
    0x17: Layout(4, mask=3),
    0x08: Layout(3, severity=0, code=2),
    0x09: Layout(3, severity=0, code=2),
    0x42: Layout(6, severity=0, code=1, mask=3, format=5, group=2),
    **dict.fromkeys((0x04, 0x06), Layout(2, mask=_NO_MASK, alone=True)),
    0x55: _PERMANENT,
    0x56: Layout(6, mask=3, format=4, group=2),
}
"""Report types of ISO 14229-1 that list codes; 02 to 17 and 42 as udsoncan reads them, 55 and 56 from memory.

04 and 06 begin with a code and its status; a snapshot, or further data, stands behind.
"""


def read(
    messages: Messages, rows: NDArray[np.int64] | None, shown: Set[int] = frozenset()
) -> tuple[list[TroubleCode], bool | None, list[Remark]]:  # fmt: skip
    """Codes, each once for each status and module; whether the lamp is asked for; what could not be read.

    Parameters
    ----------
    rows : positive answers of service 19
    shown : those of them whose further data are shown elsewhere
    """
    found: dict[tuple[str, str, str], TroubleCode] = {}
    lamp: bool | None = None
    never_failed = 0
    cut: list[int] = []
    others: Counter[int] = Counter()
    for source, payload, row in distinct(messages, rows):
        layout = _layout(payload)
        if layout is None:
            others[payload[1] if len(payload) > 1 else -1] += 1
            continue
        entry = layout.code + 4
        rest = len(payload) - layout.first
        if layout.alone:
            if rest > entry and row not in shown:
                others[payload[1]] += 1
            if rest < entry:
                cut.append(row)
        elif rest < 0 or rest % entry:
            cut.append(row)
        of_emissions = bool(is_answer_id(messages.source[[row]], messages.extended[[row]])[0])
        if layout.group and len(payload) > layout.group:
            of_emissions = payload[layout.group] == _EMISSIONS
        if of_emissions and len(payload) > layout.mask and payload[layout.mask] & LAMP:
            lamp = lamp or False
        for status, code in _codes(payload, layout, ecu_name(source), float(messages.t_first_s[row])):
            if of_emissions and status & LAMP:
                lamp = True
            if not code.status:
                never_failed += 1
                continue
            found.setdefault((code.code, code.status, code.ecu), code)
    return list(found.values()), lamp, list(_remarks(messages, never_failed, cut, others))


def _layout(payload: bytes) -> Layout | None:
    """The layout of an answer, None where its report type lists no codes."""
    layout = LAYOUTS.get(payload[1]) if len(payload) > 1 else None
    if layout is _PERMANENT and (len(payload) - layout.first) % 4 and (len(payload) - layout.first) % 5 == 0:
        return _PERMANENT_WITH_SEVERITY  # udsoncan expects it so: the length tells
    return layout


def _codes(payload: bytes, layout: Layout, ecu: str, t_s: float) -> Iterator[tuple[int, TroubleCode]]:
    """Status byte and code of each entry."""
    is_j1939 = layout.format and len(payload) > layout.format and payload[layout.format] == _J1939_FORMAT
    size = layout.code + 4
    stop = layout.first + size if layout.alone else len(payload)
    for at in range(layout.first, min(stop, len(payload)) - size + 1, size):
        entry = payload[at : at + size]
        number = int.from_bytes(entry[layout.code : layout.code + 3], "big")
        if number in _NO_CODE:
            continue
        name, title, family = _of_j1939(number) if is_j1939 else _of_j2012(number)
        status = entry[-1]
        yield (
            status,
            TroubleCode(
                code=name,
                status=layout.status or status_word(status),
                ecu=ecu,
                title=title,
                t_s=t_s,
                family=family,
                severity="" if layout.severity < 0 else severity_words(entry[layout.severity]),
            ),
        )


def status_word(status: int) -> str:
    """The strongest that a status byte says, empty where the test never failed since codes were cleared."""
    for bit, word in (
        (CONFIRMED, "confirmed"),
        (PENDING, "pending"),
        (FAILED_NOW, "active"),
        (FAILED_SINCE_CLEARED, "previous"),
    ):
        if status & bit:
            return word
    return ""


def severity_words(severity: int) -> str:
    """A severity byte in words: how urgent, and which class of ISO 27145."""
    return ", ".join(meaning for bit, meaning in obd.severities().items() if severity & bit)


def name_of(number: int) -> str:
    """Name of a code of three bytes: P0123-16."""
    return _of_j2012(number)[0]


def _of_j2012(number: int) -> tuple[str, str, str]:
    """Name, title and family of a code with its failure type: P0123-16 (SAE J2012, format 04)."""
    code, failure = code_of(number >> 8), number & 0xFF
    title, family = describe(code)
    if not failure:
        return code, title, family
    known = obd.failure_types().get(failure, f"failure type {failure:02X}")
    return f"{code}-{failure:02X}", f"{title} ({known})", family


def _of_j1939(number: int) -> tuple[str, str, str]:
    """SPN and FMI in three bytes (ISO 14229-1, format 02; order of bytes as in SAE J1939-73, from memory)."""
    low, middle, third = number.to_bytes(3, "big")
    spn, fmi = low | middle << 8 | third >> 5 << 16, third & 0x1F
    return f"SPN {spn} FMI {fmi}", "Code in the format of SAE J1939-73", ""


def _remarks(messages: Messages, never_failed: int, cut: list[int], others: Counter[int]) -> Iterator[Remark]:
    if never_failed:
        text = "service 19: codes that a module knows but whose test has not failed since codes were cleared; left out"
        yield Remark("code_not_failed", text, never_failed)
    if cut:
        text = "service 19: answers that end within a code"
        yield Remark("code_count_differs", text, len(cut), places(messages, np.array(cut)))
    if others:
        names = ", ".join("none" if k < 0 else f"{k:02X}" for k in sorted(others))
        text = f"service 19: counts, snapshots and further data of codes are not shown: report types {names}"
        yield Remark("code_report_not_shown", text, others.total())
