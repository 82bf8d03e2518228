"""CAN frames and reassembled payloads as columns (structure of arrays)."""

from __future__ import annotations

from typing import Final

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

EXTENDED: Final = 0x01  # 29-bit identifier
FD: Final = 0x02  # CAN FD frame
REMOTE: Final = 0x04  # remote frame, no data
ERROR: Final = 0x08  # error frame
SENT: Final = 0x10  # the recorder marked it as sent by itself
BRS: Final = 0x20  # CAN FD bit-rate switch
ESI: Final = 0x40  # CAN FD error state indicator

FD_WIDTH: Final = 64


class Frames(Struct, frozen=True):
    """CAN frames of one capture, in file order.

    Parameters
    ----------
    t_s : (n,) float64, s after ``origin_ns``
    can_id : (n,) uint32, identifier without flag bits
    flags : (n,) uint8, the flag bits of this module
    bus : (n,) uint8, index into ``buses``
    length : (n,) uint8, data bytes in the frame (for a remote frame: bytes asked for)
    data : (n, 8) uint8, the first eight data bytes, zero beyond ``length``
    fd_row : (m,) int64, rows that hold more than eight bytes, ascending
    fd_data : (m, 64) uint8, all data bytes of those rows, zero beyond ``length``
    origin_ns : Unix time of ``t_s == 0`` in ns, or 0 where the capture has no absolute time
    absolute : whether ``origin_ns`` is a time of day
    buses : names of the buses or interfaces
    """

    t_s: NDArray[np.float64]
    can_id: NDArray[np.uint32]
    flags: NDArray[np.uint8]
    bus: NDArray[np.uint8]
    length: NDArray[np.uint8]
    data: NDArray[np.uint8]
    fd_row: NDArray[np.int64] = field(default_factory=lambda: np.empty(0, np.int64))
    fd_data: NDArray[np.uint8] = field(default_factory=lambda: np.empty((0, FD_WIDTH), np.uint8))
    origin_ns: int = 0
    absolute: bool = False
    buses: tuple[str, ...] = ("",)

    def __len__(self) -> int:
        return len(self.t_s)

    def payload(self, rows: NDArray[np.int64]) -> NDArray[np.uint8]:
        """Data bytes of some rows, (len(rows), 8) or, where one of them is longer, (len(rows), 64), zero-padded."""
        if not len(self.fd_row) or not (self.length[rows] > 8).any():
            if self.data.flags.c_contiguous:
                return np.take(self.data.view(np.uint64), rows, axis=0).view(np.uint8)  # a row is a word
            return np.take(self.data, rows, axis=0)
        out = np.zeros((len(rows), FD_WIDTH), np.uint8)
        out[:, :8] = self.data[rows]
        at = np.searchsorted(self.fd_row, rows)
        at[at == len(self.fd_row)] = 0
        is_long = self.fd_row[at] == rows
        out[is_long] = self.fd_data[at[is_long]]
        return out


class Messages(Struct, frozen=True):
    """Payloads after transport (ISO 15765-2, SAE J1939-21, K-line framing), in order of completion.

    Parameters
    ----------
    t_s : (n,) float64, s, time of the frame that completed the message, on the axis of the frames
    t_first_s : (n,) float64, s, time of its first frame
    source : (n,) uint32, CAN identifier that carried it (J1939: 29-bit identifier of the reassembled message)
    address : (n,) int16, address byte in front of the PCI (extended or mixed addressing), -1 where there is none
    extended : (n,) bool, 29-bit identifier
    bus : (n,) uint8
    start : (n,) int64, first byte in ``blob``
    length : (n,) int32, bytes
    blob : (b,) uint8, all payloads one after the other
    """

    t_s: NDArray[np.float64]
    t_first_s: NDArray[np.float64]
    source: NDArray[np.uint32]
    address: NDArray[np.int16]
    extended: NDArray[np.bool_]
    bus: NDArray[np.uint8]
    start: NDArray[np.int64]
    length: NDArray[np.int32]
    blob: NDArray[np.uint8]

    def __len__(self) -> int:
        return len(self.t_s)

    def matrix(self, rows: NDArray[np.int64], width: int) -> NDArray[np.uint8]:
        """The first ``width`` bytes of some payloads as (len(rows), width) uint8, zero beyond their length."""
        if not len(self.blob):
            return np.zeros((len(rows), width), np.uint8)
        at = self.start[rows, None] + np.arange(width)
        inside = np.arange(width) < self.length[rows, None]
        return np.where(inside, self.blob[np.minimum(at, len(self.blob) - 1)], np.uint8(0))

    def payload(self, row: int) -> bytes:
        """One payload whole; for the few messages that are read one by one (codes, VIN)."""
        begin = int(self.start[row])
        return self.blob[begin : begin + int(self.length[row])].tobytes()


class Payloads(Struct, frozen=True):
    """What a capture holds that was recorded above the transport (serial transcript, K-line): requests and answers.

    Parameters
    ----------
    messages : request and answer payloads; ``source`` is the CAN identifier where there is one, else the ISO 15765-4
        identifier of the same address (answer of ECU 10 -> 18DAF110; a request to all -> 18DB33F1, or 7DF)
    origin_ns, absolute : as in ``Frames``
    """

    messages: Messages
    origin_ns: int = 0
    absolute: bool = False
