"""Sensor recordings as WAV: PCM of 8, 16, 24 or 32 bits or float, channels crank, cam[, pump].

The chunks are walked here because recorders that lose power leave wrong sizes behind: sound that is longer or
shorter than its header says is read as far as it goes. Source: Multimedia Programming Interface and Data
Specifications 1.0 (RIFF, 1991) and its WAVE_FORMAT_EXTENSIBLE addition, from memory.
"""

from __future__ import annotations

import struct
from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.capture import start_time
from logan.capture.reader import NO, Guess, Parsed, Reader, Tally
from logan.capture.sensor_names import SENSORS
from logan.capture.source import Source
from logan.errors import CaptureError
from logan.model.sensor import EvenTimes, Waveform

_PCM: Final = 1
_FLOAT: Final = 3
_EXTENSIBLE: Final = 0xFFFE
_STORED: Final = {
    (_PCM, 8): "u1", (_PCM, 16): "<i2", (_PCM, 24): "u1", (_PCM, 32): "<i4", (_FLOAT, 32): "<f4", (_FLOAT, 64): "<f8",
}  # fmt: skip
"""How samples lie in the file, by code and bits; those of 24 bits as three bytes."""
_SUB_FORMAT: Final = bytes.fromhex("000000001000800000aa00389b71")
"""What follows the code in the identifier of a sub-format (RFC 2361, appendix A, from memory)."""
_LONGEST_TEXTS: Final = 1 << 16
_INFO_KEYS: Final = {b"ICRD": "start", b"INAM": "title", b"ICMT": "comment", b"ISFT": "software"}


def looks(source: Source) -> Guess:
    """A WAV file begins with RIFF, its size and WAVE."""
    head = source.head
    return Guess(0.97, "begins with RIFF and WAVE") if head[:4] == b"RIFF" and head[8:12] == b"WAVE" else NO


READER: Final = Reader("sensor waveform, WAV", looks, __name__, (".wav",))


class _Form(Struct, frozen=True):
    """How samples are stored."""

    code: int
    channels: int
    rate_hz: int
    bits: int


def read(source: Source) -> Parsed:
    """Voltages of a WAV file; full scale is 1, as the file does not know the volts.

    Raises
    ------
    CaptureError : the sample format is unknown, or there is no sample
    """
    tally = Tally()
    metadata: dict[str, str] = {}
    content = memoryview(source.content()) if source.compressed else np.memmap(source.path, np.uint8, "r").data
    form, samples = _chunks(content, metadata, tally, str(source.path))
    width = form.bits // 8 * form.channels
    count = len(samples) // width
    if not count:
        raise CaptureError(
            "holds no sample", file=str(source.path), do="record again: the recorder wrote a header only"
        )
    if len(samples) % width:
        tally.add("cut_sample", "last sample cut short: left out", f"sample {count + 1}")
    table = np.frombuffer(samples[: count * width], _STORED[form.code, form.bits]).reshape(count, form.channels, -1)
    if form.channels > len(SENSORS):
        tally.add("sensor_names", f"channels after the first {len(SENSORS)} left out", f"{form.channels} channels")
    volts = {name: _Voltage(table[:, k], form.bits) for k, name in enumerate(SENSORS[: form.channels])}
    if form.bits == 8:
        tally.add("coarse_samples", "samples of 8 bits: edges of a weak signal are uncertain", "format chunk")
    tally.add("full_scale", "voltages in parts of full scale: the file does not say how many volts that is", "header")
    origin_ns = start_time.origin_ns(metadata, tally) or 0
    content_s = Waveform(EvenTimes(count, form.rate_hz), volts, origin_ns, bool(origin_ns))
    return Parsed(content_s, count, 0, tally.remarks(), metadata, f"{form.bits} bits, {form.rate_hz} Hz")


def _chunks(content: memoryview, metadata: dict[str, str], tally: Tally, file: str) -> tuple[_Form, memoryview]:
    """The sample format and the bytes of the samples; texts may stand behind them."""
    form: _Form | None = None
    samples: memoryview | None = None
    riff = struct.unpack_from("<I", content, 4)[0] + 8
    if riff not in (len(content), len(content) - 1):  # an odd last byte may go without its partner
        text = "its length in the header is not the file's: cut short, added to, or not closed by the recorder"
        tally.add("damaged", text, f"{riff} bytes in the header, {len(content)} in the file")
    at = 12
    while at + 8 <= len(content):
        name, size = bytes(content[at : at + 4]), struct.unpack_from("<I", content, at + 4)[0]
        body = content[at + 8 : at + 8 + size]
        if name == b"fmt " and len(body) >= 16 and form is None:
            form = _form(body, file)
        elif name == b"data" and samples is None:
            if form is None:
                raise CaptureError("samples before their format", file=file, place=f"byte {at}", do="copy it again")
            if size in (0, 0xFFFFFFFF) or len(body) < size:
                size = _texts_from(content, at + 8) - at - 8
                body = content[at + 8 : at + 8 + size]
                tally.add("damaged", "size of the samples is wrong in the header: read to their end", f"byte {at + 4}")
            samples = body
        elif name == b"LIST" and bytes(body[:4]) == b"INFO":
            _info(body, metadata)
        at += 8 + size + (size & 1)
    if form is None or samples is None:
        raise CaptureError("holds no samples", file=file, do="record again: the recorder wrote a header only")
    return form, samples


def _texts_from(content: memoryview, begin: int) -> int:
    """Where samples of unknown length end: at a list of texts that fills the file to its end, or at that end."""
    tail = bytes(content[max(begin, len(content) - _LONGEST_TEXTS) :])
    at = tail.find(b"LIST")
    while at >= 0:
        size = struct.unpack_from("<I", tail, at + 4)[0] if at + 12 <= len(tail) else -1
        if tail[at + 8 : at + 12] == b"INFO" and at + 8 + size + (size & 1) == len(tail):
            return len(content) - len(tail) + at
        at = tail.find(b"LIST", at + 1)
    return len(content)


def _form(body: memoryview, file: str) -> _Form:
    code, channels, rate_hz, _, _, bits = struct.unpack_from("<HHIIHH", body)
    if code == _EXTENSIBLE and bytes(body[26:40]) == _SUB_FORMAT:
        code = struct.unpack_from("<H", body, 24)[0]
    if (code, bits) in _STORED:
        if channels and rate_hz:
            return _Form(code, channels, rate_hz, bits)
        raise CaptureError("names no channel or no rate", file=file, place="format chunk", do="record again")
    raise CaptureError(
        f"its sample format is not known (code {code}, {bits} bits)", file=file, place="format chunk",
        do="save it as PCM of 16, 24 or 32 bits or as float",
    )  # fmt: skip


def _info(body: memoryview, metadata: dict[str, str]) -> None:
    at = 4
    while at + 8 <= len(body):
        name, size = bytes(body[at : at + 4]), struct.unpack_from("<I", body, at + 4)[0]
        text = bytes(body[at + 8 : at + 8 + size]).rstrip(b"\0").decode("utf-8", "replace")
        metadata.setdefault(_INFO_KEYS.get(name, name.decode("ascii", "replace")), text)
        at += 8 + size + (size & 1)


class _Voltage(Struct, frozen=True):
    """One channel as it is stored, decoded in parts of full scale where it is looked at.

    Parameters
    ----------
    raw : (n, 1) numbers, or (n, 3) bytes of 24 bits
    bits : of a sample
    """

    raw: NDArray[Any]
    bits: int

    def __len__(self) -> int:
        return len(self.raw)

    def __getitem__(self, at: Any, /) -> NDArray[np.float32]:
        raw = self.raw[at]
        if self.bits == 24:
            wide = np.zeros((len(raw), 4), np.uint8)
            wide[:, 1:] = raw
            raw = wide.view("<i4")
        values: NDArray[np.float32] = raw[:, 0].astype(np.float32)
        if raw.dtype.kind == "f":
            return values
        if self.bits == 8:
            values -= 128.0
        values *= np.float32(2.0 ** (1 - 8 * raw.dtype.itemsize))
        return values

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> NDArray[Any]:
        return np.asarray(self[:], dtype)
