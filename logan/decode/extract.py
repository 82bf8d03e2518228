"""Signals out of payload bytes, a column at a time and exact to the last of 64 bits.

A signal is read as the smallest word of 1, 2, 4 or 8 bytes that covers it, then shifted and masked in that word: a
byte-aligned signal costs one pass, any other three. No floating point touches a raw value before it is scaled.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from logan.decode.plan import SignalPlan
from logan.dsp.median import FEW, bracket, median, median_within, sampled
from logan.model.channel import Extent
from logan.native import kernels

Integers = NDArray[np.integer[Any]]

_WORD_BYTES: Final = 8
_LONG_ROWS: Final = 500
"""From so many rows on one call into the compiled loop is quicker than a few into numpy for each signal."""
_MOST_ROOM: Final = 1 << 22
"""Values for which there is room at a time: of a signal that stands still all come into it."""


def raw(data: NDArray[np.uint8], signal: SignalPlan) -> NDArray[Any]:
    """Raw values of a signal; bytes that a payload does not have count as zero.

    Parameters
    ----------
    data : (n, w) uint8, payloads

    Returns
    -------
    (n,) uint64, int64 for a signed signal, float64 for an IEEE 754 one
    """
    values = _narrow(data, signal)
    if signal.is_float:
        return values.astype(np.float64)
    return values.astype(np.int64 if signal.signed else np.uint64)


def unsigned(data: NDArray[np.uint8], signal: SignalPlan) -> Integers:
    """The bits of a signal as an unsigned number whatever its type, (n,) of the smallest word that covers them."""
    return _field(data, signal.first_bit, signal.length, signal.big_endian)


def physical(
    data: NDArray[np.uint8], signal: SignalPlan, lengths: NDArray[np.integer[Any]] | None = None
) -> NDArray[np.float64]:
    """Physical values of a signal, in its unit.

    Parameters
    ----------
    data : (n, w) uint8, payloads
    lengths : (n,), bytes in each payload; w each where it is None

    Returns
    -------
    (n,) float64, NaN where a payload is too short to hold the signal
    """
    if lengths is None and data.shape[1] < signal.bytes_needed:
        return np.full(len(data), np.nan)
    values = _narrow(data, signal)
    with np.errstate(invalid="ignore"):  # a signalling NaN in an IEEE signal is data, not a mistake
        out: NDArray[np.float64] = np.multiply(values, signal.scale, dtype=np.float64)
        if signal.offset:
            out += signal.offset
    if lengths is not None:
        short = lengths < signal.bytes_needed
        if short.any():
            out[short] = np.nan
    return out


def quickly(data: NDArray[np.uint8], signal: SignalPlan) -> NDArray[np.float64]:
    """As ``physical``, by the compiled loop where there is one."""
    values = together(data, [signal])
    return values[signal.name] if values else physical(data, signal)


def can_wait(signal: SignalPlan) -> bool:
    """Whether each value of a signal is a finite number whatever the eight bytes of its frame hold."""
    largest = abs(signal.scale) * 2.0**signal.length + abs(signal.offset)
    fits = not signal.is_float and signal.bytes_needed <= _WORD_BYTES and not signal.multiplexing
    return fits and math.isfinite(largest)


def extents(data: NDArray[np.uint8], signals: Sequence[SignalPlan]) -> list[Extent]:
    """Extents of signals that ``can_wait``, each value of which is looked at once.

    Parameters
    ----------
    data : (n, 8) uint8, at least one row
    """
    at_once = max(1, _MOST_ROOM // max(len(data), 1))
    groups = (signals[at : at + at_once] for at in range(0, len(signals), at_once))
    return [extent for some in groups for extent in _extents(data, some)]


def _extents(data: NDArray[np.uint8], signals: Sequence[SignalPlan]) -> list[Extent]:
    n = len(data)
    if n > FEW and kernels.pays(n):
        tables = _tables(signals)
        sample = kernels.signals(data[sampled(n)].copy(), tables)
        found = None if sample is None else kernels.extents(data, tables, *bracket(sample))
        if found is not None:
            ends = zip(found.lowest.tolist(), found.highest.tolist(), strict=True)
            counts = zip(found.below.tolist(), found.between, strict=True)
            middles = [median_within(n, below, some) for below, some in counts]
            return [
                (low, _extent(data, signal)[1] if middle is None else middle, high)
                for signal, (low, high), middle in zip(signals, ends, middles, strict=True)
            ]
    return [_extent(data, signal) for signal in signals]


def _extent(data: NDArray[np.uint8], signal: SignalPlan) -> Extent:
    value = quickly(data, signal)
    return float(value.min()), median(value), float(value.max())


def together(data: NDArray[np.uint8], signals: Sequence[SignalPlan]) -> dict[str, NDArray[np.float64]]:
    """Physical values of many signals at once, as ``physical`` gives them; those that this cannot give are left out."""
    if len(data) < _LONG_ROWS or data.shape[1] != _WORD_BYTES or not kernels.pays(len(data)):
        return {}
    fit = [s for s in signals if not s.is_float and s.bytes_needed <= _WORD_BYTES]
    values = kernels.signals(data, _tables(fit)) if fit else None
    return {} if values is None else {s.name: row for s, row in zip(fit, values, strict=True)}


def _tables(signals: Sequence[SignalPlan]) -> kernels.SignalTables:
    """Signals within eight bytes as the compiled loops want them."""
    return kernels.signal_tables(
        [8 * _WORD_BYTES - s.length - s.first_bit if s.big_endian else s.first_bit for s in signals],
        [s.length for s in signals],
        [s.big_endian for s in signals],
        [s.signed for s in signals],
        [s.scale for s in signals],
        [s.offset for s in signals],
    )


def _narrow(data: NDArray[np.uint8], signal: SignalPlan) -> NDArray[Any]:
    """Raw values in the smallest type that is at hand."""
    bits = unsigned(data, signal)
    if signal.is_float:
        # float16, float32 and float64 as IEEE 754 lays them out
        word = signal.length // 8
        return bits.astype(f"u{word}").view(f"f{word}")
    if not signal.signed:
        return bits
    # sign extension: the sign bit goes to the top of the word and comes back by an arithmetic shift
    size = bits.dtype.itemsize
    spare = bits.dtype.type(8 * size - signal.length)
    native = bits.astype(f"u{size}", copy=False)
    if not spare:
        return native.view(f"i{size}")
    grown: NDArray[Any] = (native << spare).view(f"i{size}") >> np.dtype(f"i{size}").type(spare)
    return grown


def _field(data: NDArray[np.uint8], first_bit: int, length: int, big_endian: bool) -> Integers:
    """Unsigned number in ``length`` bits from ``first_bit`` in order of transmission, (n,)."""
    first, last = first_bit // 8, (first_bit + length - 1) // 8
    if last - first == 8:
        # more than 56 bits across nine bytes: no word covers them, two halves do
        at_low, at_high = (first_bit + length - 32, first_bit) if big_endian else (first_bit, first_bit + 32)
        low = _field(data, at_low, 32, big_endian)
        high = _field(data, at_high, length - 32, big_endian)
        return (high.astype(np.uint64) << np.uint64(32)) | low.astype(np.uint64)
    size = next(size for size in (1, 2, 4, 8) if size > last - first)
    width = data.shape[1]
    if width < max(size, last + 1):
        padded = np.zeros((len(data), max(size, last + 1)), np.uint8)
        padded[:, :width] = data
        data, width = padded, padded.shape[1]
    begin = min(first, width - size)
    order = ">" if big_endian else "<"
    word = data[:, begin : begin + size].view(f"{order}u{size}")[:, 0]
    above = first_bit - 8 * begin
    below = 8 * size - length - above
    shift, rest = (below, above) if big_endian else (above, below)
    kind = np.dtype(f"u{size}").type
    if shift:
        word = word >> kind(shift)
    if rest:
        word = word & kind((1 << length) - 1)
    return word
