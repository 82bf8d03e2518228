"""What a capture holds, in lines for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from logan.knowledge.folders import Folders
from logan.model import frames as fr
from logan.model.capture import STAND_IN, Capture, Remark
from logan.model.frames import Frames, Payloads
from logan.model.profile import EngineProfile
from logan.model.sensor import Edges, Waveform
from logan.model.vehicle import Vehicle
from logan.pipeline import not_understood
from logan.pipeline.gather import Gathered, gather
from logan.pipeline.no_engine import without_engine

IDS_SHOWN = 40


def overview_lines(
    paths: Sequence[str | Path], dbc_files: Sequence[str | Path] = (), folders: Folders = ()
) -> Iterator[str]:
    """Format, time span, buses, identifiers and rates of each file; then control modules, services and quality of all.

    Raises
    ------
    LoganError : wrong usage, an unreadable capture or a wrong data file
    """
    gathered = gather(paths, dbc_files, empty_is_error=False, folders=folders)
    for capture in gathered.captures:
        yield from _file(capture)
        content = capture.content
        if isinstance(content, Frames):
            yield from _bus(content, timed=capture.duration_s is not None)
        elif isinstance(content, Edges):
            for name in content.rising_s:
                yield f"  {name}: {len(content.rising_s[name])} rising, {len(content.falling_s[name])} falling edges"
        elif isinstance(content, Waveform):
            for name, volts in content.volts.items():
                reach = (
                    f"{np.nanmin(volts):.3g} to {np.nanmax(volts):.3g} V" if np.isfinite(volts).any() else "no value"
                )
                yield f"  {name}: {len(volts)} samples, {reach}"
        yield ""
    yield from _services(gathered.vehicle, gathered)
    yield ""
    yield "Quality"
    unknown = not_understood.columns(gathered.captures, EngineProfile())
    remarks = [*unknown, *gathered.remarks, *without_engine(gathered, folders)]
    yield from (_remark(remark) for remark in remarks)
    if not remarks:
        yield "  nothing to remark"


def _file(capture: Capture) -> Iterator[str]:
    yield capture.name
    start = "no absolute time"
    if capture.start is not None:
        start = datetime.fromtimestamp(capture.start, UTC).strftime("starts %Y-%m-%d %H:%M:%S UTC")
    length = "no time" if capture.duration_s is None else f"{capture.duration_s:.3f} s"
    records = "1 record" if capture.frames == 1 else f"{capture.frames} records"
    yield f"  {capture.format}; {records}, {capture.rejected} rejected; {length}; {start}"
    if capture.recognised:
        yield f"  recognised: {capture.recognised}"
    yield f"  SHA-256 {capture.sha256}"


def _bus(frames: Frames, timed: bool) -> Iterator[str]:
    kinds = {"remote": fr.REMOTE, "error": fr.ERROR, "CAN FD": fr.FD, "marked as sent": fr.SENT}
    counts = {name: int(np.count_nonzero(frames.flags & bit)) for name, bit in kinds.items()}
    others = ", ".join(f"{count} {name}" for name, count in counts.items() if count)
    yield f"  buses: {', '.join(name or 'unnamed' for name in frames.buses)}" + (f"; {others}" if others else "")
    key = (
        frames.can_id.astype(np.int64)
        | ((frames.flags & fr.EXTENDED).astype(np.int64) << 32)
        | (frames.bus.astype(np.int64) << 40)
    )
    ids, count = np.unique(key, return_counts=True)
    span_s = frames.ends_s[1] - frames.ends_s[0] if timed and len(frames) else 0.0
    yield f"  {len(ids)} identifiers" + (f", the {IDS_SHOWN} most frequent:" if len(ids) > IDS_SHOWN else ":")
    for k in np.sort(np.argsort(-count, kind="stable")[:IDS_SHOWN]):
        value = int(ids[k])
        digits = 8 if value >> 32 & 1 else 3
        rate = f"{(count[k] - 1) / span_s:8.2f} per s" if span_s > 0 and count[k] > 1 else ""
        yield f"    {frames.buses[value >> 40]:<8} {value & 0xFFFFFFFF:0{digits}X}  {count[k]:>8}  {rate}".rstrip()


def _services(vehicle: Vehicle, gathered: Gathered) -> Iterator[str]:
    yield "Diagnostics"
    yield f"  messages: {sum(len(m) for m in gathered.messages)}; decoded signals: {len(gathered.signals)}"
    above = any(isinstance(capture.content, Payloads) for capture in gathered.captures)
    stand_in = f" ({STAND_IN})" if above and vehicle.ecus else ""
    yield f"  control modules: {', '.join(vehicle.ecus) or 'none seen'}{stand_in}"
    if vehicle.services:
        yield "  services: " + ", ".join(f"{name} x {count}" for name, count in sorted(vehicle.services.items()))
    for one in vehicle.refusals:
        refused = f"service {one.service:02X} x {one.count}: {one.meaning} (7F {one.service:02X} {one.code:02X})"
        yield f"  refused by {one.ecu}: {refused}"
    if vehicle.vin:
        yield f"  VIN: {vehicle.vin}"
    if vehicle.codes:
        yield "  codes: " + ", ".join(f"{code.code} ({code.status})" for code in vehicle.codes)


def _remark(remark: Remark) -> str:
    more = "; ..." if remark.count > len(remark.places) else ""
    where = f" ({'; '.join(remark.places)}{more})" if remark.places else ""
    file = f"{remark.file}: " if remark.file else ""
    return f"  {file}{remark.count} x {remark.text}{where}"
