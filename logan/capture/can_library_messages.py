"""python-can's messages on their way into columns, with what it does not check."""

from __future__ import annotations

from collections.abc import Iterable

import can
import numpy as np
from numpy.typing import NDArray

from logan.capture.can_columns import CanBlock, CanColumns, nanoseconds
from logan.capture.can_text_plain import LATEST_S
from logan.capture.reader import Tally
from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, FD_WIDTH, REMOTE, SENT


class Gathered:
    """Messages as columns that grow one by one.

    Parameters
    ----------
    tally : where trouble is counted
    """

    def __init__(self, tally: Tally) -> None:
        self._tally = tally
        self.t_s: list[float] = []
        self.bus: list[str] = []
        self._can_id: list[int] = []
        self._flags: list[int] = []
        self._length: list[int] = []
        self._data: list[bytes] = []

    def __len__(self) -> int:
        return len(self.t_s)

    def add(self, message: can.Message, number: int) -> bool:
        """Take a message, which has a number in the file; returns whether it can be one of a CAN bus."""
        wrong = _wrong(message)
        if wrong is not None:
            self._tally.add("bad_line", wrong, f"record {number}")
            return False
        if message.arbitration_id > 0x7FF and not message.is_extended_id:
            text = "identifiers above 7FF marked as 11 bit: taken as 29 bit"
            self._tally.add("identifier", text, f"record {number}")
            message.is_extended_id = True
        payload = b"" if message.is_remote_frame else bytes(message.data)[:FD_WIDTH]
        if not message.is_remote_frame and not message.is_error_frame and len(payload) != message.dlc:
            text = "frames whose data are not as long as they say: length of the data taken"
            self._tally.add("length", text, f"record {number}")
        self.t_s.append(message.timestamp)
        self.bus.append("" if message.channel is None else f"{message.channel}")
        self._can_id.append(message.arbitration_id)
        self._flags.append(_flags(message, len(payload)))
        self._length.append(min(message.dlc, 8) if message.is_remote_frame else len(payload))
        self._data.append(payload)
        return True

    def put(self, block: CanBlock, rows: NDArray[np.int64]) -> None:
        """Everything but times and buses into some rows of a block."""
        block.kept[rows] = True
        block.can_id[rows], block.flags[rows], block.length[rows] = self._can_id, self._flags, self._length
        block.data[rows] = np.frombuffer(b"".join(payload[:8].ljust(8, b"\0") for payload in self._data), "<u8")
        for at in np.flatnonzero([len(payload) > 8 for payload in self._data]).tolist():
            block.put_data(int(rows[at]), self._data[at])


def columns(messages: Iterable[can.Message], tally: Tally) -> CanColumns:
    """Messages into columns."""
    out, gathered = CanColumns(), Gathered(tally)
    for number, message in enumerate(messages, 1):
        gathered.add(message, number)
    block = CanBlock(len(gathered))
    block.t_ns[:] = nanoseconds(np.array(gathered.t_s, np.float64))
    block.bus[:] = [out.bus(name.encode()) or 0 for name in gathered.bus]
    gathered.put(block, np.arange(len(gathered)))
    out.append(block)
    return out


def _wrong(message: can.Message) -> str | None:
    """Why a message is none of a CAN bus; python-can does not check what it reads."""
    stamp, identifier, length = message.timestamp, message.arbitration_id, message.dlc
    if not isinstance(stamp, int | float) or not abs(stamp) < LATEST_S:
        return "time stamp out of range"
    if not isinstance(identifier, int) or not 0 <= identifier <= 0x1FFFFFFF:
        return "identifier out of range"
    return None if isinstance(length, int) and length >= 0 else "length out of range"


def _flags(message: can.Message, size: int) -> int:
    if message.is_error_frame:
        return ERROR | (0 if message.is_rx else SENT)
    return (
        (EXTENDED if message.is_extended_id else 0)
        | (FD if message.is_fd or size > 8 else 0)
        | (REMOTE if message.is_remote_frame else 0)
        | (0 if message.is_rx else SENT)
        | (BRS if message.bitrate_switch else 0)
        | (ESI if message.error_state_indicator else 0)
    )
