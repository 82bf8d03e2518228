"""What a signal data base says about bits, as plain data: made once, stored as JSON, used by ``extract``."""

from __future__ import annotations

from typing import Final

import msgspec

SCHEMA: Final = 2
"""Number of the shape of these plans; a stored plan of another number is made anew."""


class Condition(msgspec.Struct, frozen=True):
    """A signal is present only where the raw value of another signal lies in one of some ranges (both ends belong)."""

    multiplexor: str
    ranges: tuple[tuple[int, int], ...]


class SignalPlan(msgspec.Struct, frozen=True, kw_only=True):
    """Where a signal stands in a payload and what its raw value means: physical = raw * scale + offset.

    Parameters
    ----------
    start_bit : as a DBC counts: bit 0 of byte 0 is 0, bit 7 of byte 1 is 15; the lowest bit of an Intel signal,
        the highest bit of a Motorola one
    length : bits, 1..64
    minimum, maximum : limits that the data base states, None where it states none
    labels : meaning of raw values
    multiplexing : conditions that must all hold
    """

    name: str
    start_bit: int
    length: int
    big_endian: bool = False
    signed: bool = False
    is_float: bool = False
    scale: float = 1.0
    offset: float = 0.0
    minimum: float | None = None
    maximum: float | None = None
    unit: str = ""
    labels: dict[int, str] = {}
    multiplexing: tuple[Condition, ...] = ()

    @property
    def first_bit(self) -> int:
        """First bit in order of transmission: Intel from the low end of each byte, Motorola from the high end."""
        return self.start_bit ^ 7 if self.big_endian else self.start_bit

    @property
    def bytes_needed(self) -> int:
        """Bytes that a payload must have to hold the whole signal."""
        return (self.first_bit + self.length + 7) // 8


class MessagePlan(msgspec.Struct, frozen=True, kw_only=True):
    """A message of a signal data base.

    Parameters
    ----------
    frame_id : identifier without flag bits
    extended : 29-bit identifier
    length_bytes : bytes that the data base gives it
    pgn : parameter group number (SAE J1939-21) where frames are matched by it, else None
    """

    frame_id: int
    extended: bool
    name: str
    length_bytes: int
    signals: tuple[SignalPlan, ...]
    pgn: int | None = None
