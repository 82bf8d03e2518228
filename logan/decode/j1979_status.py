"""Readiness, warning lamp and ignition type out of PIDs 01 and 41 (SAE J1979)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from logan.decode.j1979_pids import Pieces
from logan.knowledge import obd
from logan.model.capture import Remark
from logan.model.frames import Messages

SINCE_CLEARED: Final = 0x01
THIS_CYCLE: Final = 0x41

COMPLETE = "complete"
INCOMPLETE = "incomplete"
NOT_SUPPORTED = "not supported"
# the worse of two modules counts
_ORDER = (NOT_SUPPORTED, COMPLETE, INCOMPLETE)

_BYTES = 4
_THIS_CYCLE_SUFFIX = "_this_drive_cycle"


class Status:
    """The last answers of every control module for PIDs 01 and 41."""

    def __init__(self) -> None:
        self._last: dict[int, dict[int, bytes]] = {SINCE_CLEARED: {}, THIS_CYCLE: {}}

    def add(self, pid: int, source: int, pieces: Pieces, messages: Messages) -> None:
        """Keep the last whole answer of a module."""
        whole = pieces.take(pieces.size >= _BYTES)
        if len(whole):
            self._last[pid][source] = whole.data(messages)[-1, :_BYTES].tobytes()

    def mil(self) -> bool | None:
        """Whether any module asks for the malfunction indicator lamp; only PID 01 says."""
        answers = self._last[SINCE_CLEARED].values()
        return any(data[0] & 0x80 for data in answers) if answers else None

    def ignition(self) -> tuple[str | None, list[Remark]]:
        """Ignition type: what the modules with monitors of their own say.

        A gearbox module also answers, with no monitors and a type bit that means nothing.
        """
        answers = [data for last in self._last.values() for _, data in sorted(last.items())]
        with_monitors = [data for data in answers if data[2]] or answers
        types = [_ignition(data) for data in with_monitors]
        if not types:
            return None, []
        if len(set(types)) > 1:
            text = f"control modules disagree on the ignition type; {types[0]} is taken, of the first one"
            return types[0], [Remark("ignition_type_differs", text, len(types))]
        return types[0], []

    def readiness(self, ignition: str | None) -> dict[str, str]:
        """Monitor -> "complete", "incomplete" or "not supported"; those of PID 41 end in "_this_drive_cycle"."""
        out: dict[str, str] = {}
        for pid, suffix in ((SINCE_CLEARED, ""), (THIS_CYCLE, _THIS_CYCLE_SUFFIX)):
            for monitor, state in _worst(self._last[pid].values(), ignition):
                out[monitor + suffix] = state
        return out


def worse(one: str, other: str) -> str:
    """Of two states of a monitor the one that counts."""
    return max(one, other, key=_ORDER.index)


def _ignition(data: bytes) -> str:
    return "compression" if data[1] & 0x08 else "spark"


def _worst(answers: Iterable[bytes], ignition: str | None) -> Iterator[tuple[str, str]]:
    answers = list(answers)
    if not answers or ignition is None:
        return
    for row in obd.monitors(ignition):
        # the type bit decides what bytes C and D mean, so a module of the other type says nothing about them
        told = [data for data in answers if row.ignition == "both" or _ignition(data) == ignition]
        states = [_state(data, row) for data in told]
        if states:
            yield row.monitor, max(states, key=_ORDER.index)


def _state(data: bytes, row: obd.Monitor) -> str:
    if not _bit(data, row.support_bit):
        return NOT_SUPPORTED
    return INCOMPLETE if _bit(data, row.completion_bit) else COMPLETE


def _bit(data: bytes, name: str) -> int:
    """Bit by name: "C3" is bit 3 of the third byte."""
    return data["ABCD".index(name[0])] >> int(name[1]) & 1
