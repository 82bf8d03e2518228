"""Sensor recordings as WAV: PCM of 8, 16, 24 or 32 bits or float, channels crank, cam[, pump].

The chunks are walked here because recorders that lose power leave wrong sizes behind: sound that is longer or
shorter than its header says is read as far as it goes. Source: Multimedia Programming Interface and Data
Specifications 1.0 (RIFF, 1991) and its WAVE_FORMAT_EXTENSIBLE addition, from memory.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import start_time
from logan.capture.reader import NO, Guess, Parsed, Reader, Tally
from logan.capture.sensor_names import SENSORS
from logan.capture.source import Source
from logan.errors import CaptureError
from logan.model.sensor import Waveform

_PCM: Final = 1
_FLOAT: Final = 3
_EXTENSIBLE: Final = 0xFFFE
_INFO_KEYS: Final = {b"ICRD": "start", b"INAM": "title", b"ICMT": "comment", b"ISFT": "software"}


def looks(source: Source) -> Guess:
    """A WAV file begins with RIFF, its size and WAVE."""
    head = source.head
    return Guess(0.97, "begins with RIFF and WAVE") if head[:4] == b"RIFF" and head[8:12] == b"WAVE" else NO


READER: Final = Reader("sensor waveform, WAV", looks, __name__, (".wav",))


@dataclass(frozen=True, slots=True)
class _Form:
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
    table = np.frombuffer(samples[: count * width], np.uint8).reshape(count, form.channels, form.bits // 8)
    if form.channels > len(SENSORS):
        tally.add("sensor_names", f"channels after the first {len(SENSORS)} left out", f"{form.channels} channels")
    volts: dict[str, NDArray[np.floating]] = {
        name: _decoded(table[:, k], form) for k, name in enumerate(SENSORS[: form.channels])
    }
    tally.add("full_scale", "voltages in parts of full scale: the file does not say how many volts that is", "header")
    origin_ns = start_time.origin_ns(metadata, tally) or 0
    content_s = Waveform(np.arange(count) / form.rate_hz, volts, origin_ns, bool(origin_ns))
    return Parsed(content_s, count, 0, tally.remarks(), metadata, f"{form.bits} bits, {form.rate_hz} Hz")


def _chunks(content: memoryview, metadata: dict[str, str], tally: Tally, file: str) -> tuple[_Form, memoryview]:
    """The sample format and the bytes of the samples."""
    form: _Form | None = None
    at = 12
    while at + 8 <= len(content):
        name, size = bytes(content[at : at + 4]), struct.unpack_from("<I", content, at + 4)[0]
        body = content[at + 8 : at + 8 + size]
        if name == b"fmt " and len(body) >= 16:
            form = _form(body, file)
        elif name == b"data":
            if form is None:
                raise CaptureError("samples before their format", file=file, place=f"byte {at}", do="copy it again")
            if size in (0, 0xFFFFFFFF) or len(body) < size:
                body = content[at + 8 :]
                tally.add("damaged", "its size in the header is wrong: read to the end of the file", f"byte {at + 4}")
            return form, body
        elif name == b"LIST" and bytes(body[:4]) == b"INFO":
            _info(body, metadata)
        at += 8 + size + (size & 1)
    raise CaptureError("holds no samples", file=file, do="record again: the recorder wrote a header only")


def _form(body: memoryview, file: str) -> _Form:
    code, channels, rate_hz, _, _, bits = struct.unpack_from("<HHIIHH", body)
    if code == _EXTENSIBLE and len(body) >= 26:
        code = struct.unpack_from("<H", body, 24)[0]  # the first two bytes of the sub-format's identifier
    if (code == _PCM and bits in (8, 16, 24, 32)) or (code == _FLOAT and bits in (32, 64)):
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


def _decoded(raw: NDArray[np.uint8], form: _Form) -> NDArray[np.floating]:
    """One channel, (n, bytes a sample) -> (n,) float32 in parts of full scale."""
    if form.code == _FLOAT:
        return np.ascontiguousarray(raw).view(f"<f{form.bits // 8}")[:, 0].astype(np.float32)
    if form.bits == 8:
        return (raw[:, 0].astype(np.float32) - 128.0) / 128.0
    if form.bits == 24:
        wide = np.zeros((len(raw), 4), np.uint8)
        wide[:, 1:] = raw
        return (wide.view("<i4")[:, 0] / 2.0**31).astype(np.float32)
    values = np.ascontiguousarray(raw).view(f"<i{form.bits // 8}")[:, 0]
    return values.astype(np.float32) * np.float32(2.0 ** (1 - form.bits))
