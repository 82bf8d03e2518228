"""CAN frames and reassembled payloads as columns (structure of arrays)."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

EXTENDED: Final = 0x01  # 29-bit identifier
FD: Final = 0x02  # CAN FD frame
REMOTE: Final = 0x04  # remote frame, no data
ERROR: Final = 0x08  # error frame
SENT: Final = 0x10  # the recorder marked it as sent by itself
BRS: Final = 0x20  # CAN FD bit-rate switch
ESI: Final = 0x40  # CAN FD error state indicator

FD_WIDTH: Final = 64


class Frames:
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

    COLUMNS: Final = ("t_s", "can_id", "flags", "bus", "length", "data")

    def __init__(
        self, t_s: NDArray[np.float64], can_id: NDArray[np.uint32], flags: NDArray[np.uint8], bus: NDArray[np.uint8],
        length: NDArray[np.uint8], data: NDArray[np.uint8], fd_row: NDArray[np.int64] | None = None,
        fd_data: NDArray[np.uint8] | None = None, origin_ns: int = 0, absolute: bool = False,
        buses: tuple[str, ...] = ("",),
    ) -> None:  # fmt: skip
        self.t_s, self.can_id, self.flags, self.bus, self.length, self.data = t_s, can_id, flags, bus, length, data
        self.fd_row = np.empty(0, np.int64) if fd_row is None else fd_row
        self.fd_data = np.empty((0, FD_WIDTH), np.uint8) if fd_data is None else fd_data
        self.origin_ns, self.absolute, self.buses = origin_ns, absolute, buses

    def __len__(self) -> int:
        return len(self.t_s)

    @property
    def flags_met(self) -> int:
        """Flag bits that any frame has."""
        return int(np.bitwise_or.reduce(self.flags))

    @property
    def ends_s(self) -> tuple[float, float]:
        """Times of the first and of the last one of some frames."""
        return float(self.t_s[0]), float(self.t_s[-1])

    def take(self, rows: NDArray[np.int64]) -> Frames:
        """Some of the frames, in ascending order of their rows."""
        fd_row, fd_data = self.fd_row, self.fd_data
        if len(fd_row):
            place = np.searchsorted(rows, fd_row)
            inside = rows[np.minimum(place, len(rows) - 1)] == fd_row if len(rows) else np.zeros(len(fd_row), bool)
            fd_row, fd_data = place[inside], fd_data[inside]
        data = np.ascontiguousarray(self.data).view(np.uint64)[:, 0][rows]  # a row is a word
        return Frames(
            self.t_s[rows], self.can_id[rows], self.flags[rows], self.bus[rows], self.length[rows],
            data.view(np.uint8).reshape(-1, 8), fd_row, fd_data, self.origin_ns, self.absolute, self.buses,
        )  # fmt: skip

    def from_zero(self) -> Frames:
        """The frames with times after the first one."""
        return Frames(
            self.t_s - self.t_s[0], self.can_id, self.flags, self.bus, self.length, self.data, self.fd_row,
            self.fd_data, self.origin_ns, self.absolute, self.buses,
        )  # fmt: skip

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


class Kinds(Struct, frozen=True):
    """What frames have beside their time and data, each combination once; and where their rows were put together.

    Parameters
    ----------
    can_id, flags, bus, length : (k,) as in ``Frames``
    begin, count : (k,) int64, first row and number of rows, in order of time
    """

    can_id: NDArray[np.uint32]
    flags: NDArray[np.uint8]
    bus: NDArray[np.uint8]
    length: NDArray[np.uint8]
    begin: NDArray[np.int64]
    count: NDArray[np.int64]

    def rows(self, kind: int) -> slice:
        """Where the rows of a kind stand."""
        return slice(int(self.begin[kind]), int(self.begin[kind] + self.count[kind]))


class FramesByKind(Frames):
    """Frames of up to eight bytes whose times and data are kept together by kind; a column is made when asked for.

    Parameters
    ----------
    kinds : which there are
    slot : (n,) uint16, kind of each frame, in file order
    t_by_kind : (m,) float64, s, where ``kinds`` says
    data_by_kind : (m,) uint64, the eight data bytes as a word, first byte lowest
    origin_ns, absolute, buses : as of ``Frames``
    longest_step_s : longest time from one frame to the next
    """

    def __init__(
        self, kinds: Kinds, slot: NDArray[np.uint16], t_by_kind: NDArray[np.float64],
        data_by_kind: NDArray[np.uint64], origin_ns: int, absolute: bool, buses: tuple[str, ...],
        longest_step_s: float,
    ) -> None:  # fmt: skip
        self.kinds, self.slot, self.t_by_kind, self.data_by_kind = kinds, slot, t_by_kind, data_by_kind
        self.fd_row, self.fd_data = np.empty(0, np.int64), np.empty((0, FD_WIDTH), np.uint8)
        self.origin_ns, self.absolute, self.buses = origin_ns, absolute, buses
        self.longest_step_s = longest_step_s

    def __len__(self) -> int:
        return len(self.slot)

    def __getattr__(self, name: str) -> Any:
        """A column in file order, made when it is first asked for."""
        if name not in self.COLUMNS:
            raise AttributeError(name)
        if name in ("t_s", "data"):
            whole = self.of(np.arange(len(self)))
            self.t_s, self.data = whole.t_s, whole.data  # neither is there without the other
        else:
            setattr(self, name, getattr(self.kinds, name)[self.slot])
        return self.__dict__[name]

    @property
    def flags_met(self) -> int:
        """As of ``Frames``."""
        return int(np.bitwise_or.reduce(self.kinds.flags))

    @property
    def ends_s(self) -> tuple[float, float]:
        """As of ``Frames``: here they are in order of time."""
        kinds = self.kinds
        return float(self.t_by_kind[kinds.begin].min()), float(self.t_by_kind[kinds.begin + kinds.count - 1].max())

    def of(self, rows: NDArray[np.int64]) -> Frames:
        """The frames of some kinds, or the first ones of all: ``rows`` are all of them, ascending."""
        slot = self.slot[rows]
        order = np.argsort(slot, kind="stable")
        count = np.bincount(slot, minlength=len(self.kinds.count))
        place = np.empty(len(rows), np.int64)
        place[order] = np.arange(len(rows)) + np.repeat(self.kinds.begin - np.cumsum(count) + count, count)
        return self.at(slot, place)

    def at(self, slot: NDArray[np.uint16], place: NDArray[np.int64]) -> Frames:
        """The frames of known kinds and places."""
        kinds = self.kinds
        return Frames(
            self.t_by_kind[place], kinds.can_id[slot], kinds.flags[slot], kinds.bus[slot], kinds.length[slot],
            _bytes_of(self.data_by_kind[place]), origin_ns=self.origin_ns, absolute=self.absolute, buses=self.buses,
        )  # fmt: skip

    def of_kind(self, kind: int) -> tuple[NDArray[np.float64], NDArray[np.uint8]]:
        """Times and data of all frames of one kind."""
        rows = self.kinds.rows(kind)
        return self.t_by_kind[rows], _bytes_of(self.data_by_kind[rows])


def _bytes_of(words: NDArray[np.uint64]) -> NDArray[np.uint8]:
    """Words as rows of eight bytes, the lowest first, (n, 8)."""
    return words.astype("<u8", copy=False).view(np.uint8).reshape(-1, 8)


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
        start, length = self.start[rows], self.length[rows]
        is_long = bool(len(rows)) and length.min() >= width > 0
        blob = self.blob if is_long else np.concatenate([self.blob, np.zeros(width + 1, np.uint8)])
        out = np.lib.stride_tricks.sliding_window_view(blob, max(width, 1))[start, :width]
        if not is_long:
            out[np.arange(width) >= length[:, None]] = 0
        return out

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
