"""Capture files in, everything decodable out, on one time axis."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
from msgspec import Struct, structs

from logan import parallel
from logan.capture import read
from logan.decode import broadcast, by_bus, dbc, j1939, j1979, vins
from logan.decode.plan import MessagePlan
from logan.errors import CaptureError, UsageError
from logan.knowledge import headings
from logan.knowledge.folders import Folders, files
from logan.knowledge.locate import dbc_open
from logan.knowledge.obd import PIDS_DBC
from logan.model.capture import NOTHING_DECODABLE, Capture, Remark, Table
from logan.model.channel import Channel, Deferred
from logan.model.frames import Frames, Messages, Payloads
from logan.model.sensor import Edges, SensorCapture, Waveform
from logan.model.vehicle import Vehicle
from logan.pipeline import clocks
from logan.pipeline.progress import Progress, silent
from logan.pipeline.same_sensors import each_once
from logan.transport import isotp, j1939_tp


class Gathered(Struct, frozen=True):
    """What the files hold before anything is judged.

    Parameters
    ----------
    captures : the files, in the order given
    signals : every decoded signal on the session's axis, under the name that its source gives it
    messages : diagnostic payloads of each CAN file, on that file's own axis; of two that recorded the same bus in one
    vehicle : what diagnostic services said
    sensors : crank / cam / pump recordings
    remarks : data quality, each with its file
    origin_ns : Unix time of the axis' zero in ns, 0 where no file has absolute time
    """

    captures: tuple[Capture, ...]
    signals: tuple[Channel, ...]
    messages: tuple[Messages, ...]
    vehicle: Vehicle
    sensors: tuple[SensorCapture, ...]
    remarks: tuple[Remark, ...]
    origin_ns: int


def gather(
    paths: Sequence[str | Path],
    dbc_files: Sequence[str | Path] = (),
    progress: Progress = silent,
    empty_is_error: bool = True,
    hashed: bool = True,
    folders: Folders = (),
    looked_at: bool = False,
) -> Gathered:
    """Read the files of one road test and decode all that can be decoded; one file alone may go without its hash.

    Parameters
    ----------
    looked_at : whether somebody will ask for the extent of every channel
    dbc_files : signal data bases beside the open ones and those of the folders
    folders : knowledge folders: their signal data bases and headings

    Raises
    ------
    UsageError : no file, or one file twice
    CaptureError : a file cannot be read, or none of them holds one usable record
    KnowledgeError : a signal data base is wrong
    """
    if not paths:
        raise UsageError("no capture given", do="name at least one file")
    if not all(str(path) for path in paths):
        raise UsageError("a capture without a name is given", do="name each file")
    plans, remarks = _signal_plans([*files(folders, "*.dbc"), *dbc_files])
    own = headings.load(folders)
    captures: list[Capture] = []
    for k, path in enumerate(paths):
        progress(f"reading {Path(path).name}", 0.5 * k / len(paths))
        capture = read(path, hashed or len(paths) > 1, own)
        twin = next((c.path for c in captures if c.sha256 == capture.sha256), None)
        if twin is not None:
            raise UsageError(f"holds the same bytes as {twin}", file=str(path), do="give each capture once")
        captures.append(capture)
        remarks += [replace(remark, file=capture.name) for remark in capture.remarks]

    clock = clocks.common(captures)
    signals: list[tuple[int, Channel]] = []
    messages: list[Messages] = []
    vehicles: list[Vehicle] = []
    numbers: list[tuple[str, dict[str, list[str]]]] = []
    sensors: list[SensorCapture] = []
    for k, capture in enumerate(captures):
        progress(f"decoding {capture.name}", 0.5 + 0.5 * k / len(captures))
        content = clock.contents[k]
        shift_s = clock.shift_s[k]
        found: list[Channel] = []
        if isinstance(content, Frames | Payloads):
            said, services, damage, buses = _strands(content, plans, capture.name, looked_at)
            found = [*buses.channels, *(channel for one in services for channel in one.channels)]
            numbers.append((capture.name, j1979.merge([one.vehicle for one in (buses, *services)]).vins))
            remarks += [replace(remark, file=capture.name) for remark in vins.differing(numbers[-1][1])]
            _one_vehicle(numbers)
            # What the buses say before what the services say: of two lamps the one that a tester was told counts.
            vehicles += [_vehicle_on_axis(one.vehicle, shift_s) for one in (buses, *services)]
            notes = [*damage, *(note for one in (buses, *services) for note in one.remarks)]
            messages.append(said)
            remarks += [replace(remark, file=capture.name) for remark in notes]
        elif isinstance(content, Table):
            found = list(content.channels)
        elif isinstance(content, Edges | Waveform):
            sensors.append(SensorCapture(capture.name, content, shift_s if content.absolute else None))
        signals += [(k, _on_axis(channel, shift_s, capture.name)) for channel in found]

    if empty_is_error and not any(capture.frames for capture in captures):
        raise CaptureError(
            f"holds no usable record; {sum(capture.rejected for capture in captures)} were refused as damaged",
            file=", ".join(str(capture.path) for capture in captures),
            do="record again, or see what logan inspect says of it",
        )
    said_nothing = not any(len(m) for m in messages) and all(vehicle == Vehicle() for vehicle in vehicles)
    if not signals and not sensors and said_nothing:
        text = (
            "nothing in what was recorded can be decoded: no diagnostic service and no known broadcast message; give "
            "the vehicle's signal data base with --dbc, or record while a tester asks for values"
        )
        remarks.append(Remark(NOTHING_DECODABLE, text))
    sensors, same = each_once(sensors)
    remarks += [*clock.remarks, *same]
    progress("decoding", 1.0)
    return Gathered(
        captures=tuple(captures),
        signals=tuple(_joined(signals, clock.number)),
        messages=tuple(messages),
        vehicle=j1979.merge(vehicles),
        sensors=tuple(sensors),
        remarks=tuple(remarks),
        origin_ns=clock.origin_ns,
    )


class _Decoded(Struct, frozen=True):
    """What one kind of decoding made of a file."""

    channels: list[Channel]
    vehicle: Vehicle
    remarks: list[Remark]


def _strands(
    content: Frames | Payloads, plans: Sequence[MessagePlan], file: str, looked_at: bool
) -> tuple[Messages, list[_Decoded], Sequence[Remark], _Decoded]:
    """Diagnosis and broadcasts, which do not need each other.

    Returns
    -------
    diagnostic payloads, what each family of services said, damage of the transport, what was broadcast
    """

    unseen: list[Deferred] = []

    def look() -> None:
        while unseen:
            try:
                one = unseen.pop()
            except IndexError:  # the other strand took the last one
                return
            one.extent()

    def diagnosis() -> tuple[Messages, list[_Decoded], Sequence[Remark]]:
        said, damage = isotp.reassemble(content) if isinstance(content, Frames) else (content.messages, ())
        names = content.buses if isinstance(content, Frames) else ("",)
        services = [_Decoded(*one) for one in by_bus.decode(said, names, file)]
        look()
        return said, services, damage

    def broadcasts() -> _Decoded:
        if not isinstance(content, Frames):
            return _Decoded([], Vehicle(), [])
        long, torn = j1939_tp.reassemble(content)
        found, rest = broadcast.decode(content, plans, file)
        if looked_at:  # at one signal of each message, whose others are looked at with it
            unseen.extend({id(one.t_s): one for one in found if isinstance(one, Deferred)}.values())
        from_long, long_rest = broadcast.decode(j1939.as_frames(long), plans, file)
        vehicle, odd = j1939.decode(content, long, file)
        look()
        return _Decoded([*found, *from_long], vehicle, [*torn, *rest, *long_rest, *odd])

    if isinstance(content, Frames) and len(content) >= parallel.MANY:
        both: list[Any] = parallel.each(lambda strand: strand(), [diagnosis, broadcasts])
        return *both[0], both[1]
    return *diagnosis(), broadcasts()


def _one_vehicle(numbers: Sequence[tuple[str, dict[str, list[str]]]]) -> None:
    """Refuse files of which two name different vehicles.

    Parameters
    ----------
    numbers : name of each file, and the VINs that its control modules said; those that share one are of one vehicle
    """
    said = [(name, {vin for some in by_ecu.values() for vin in some}) for name, by_ecu in numbers if by_ecu]
    if any(one.isdisjoint(other) for (_, one), (_, other) in combinations(said, 2)):
        told = "; ".join(f"{name}: VIN {vins.chosen(by_ecu)}" for name, by_ecu in numbers if by_ecu)
        raise UsageError(f"the captures are of different vehicles ({told})", do="give the captures of one road test")


def _signal_plans(dbc_files: Sequence[str | Path]) -> tuple[tuple[MessagePlan, ...], list[Remark]]:
    """Plans of the open data bases and of the user's; a user's message wins over an open one of the same id."""
    shipped = sorted(path for path in dbc_open().glob("*.dbc") if path.name != PIDS_DBC)
    return dbc.load([*shipped, *(Path(file) for file in dbc_files)])


def _on_axis(channel: Channel, shift_s: float, file: str) -> Channel:
    if not shift_s and channel.file == file:
        return channel
    return replace(channel, t_s=channel.t_s + shift_s if shift_s else channel.t_s, file=file)


def _vehicle_on_axis(vehicle: Vehicle, shift_s: float) -> Vehicle:
    codes = [structs.replace(code, t_s=code.t_s + shift_s) if code.t_s is not None else code for code in vehicle.codes]
    return structs.replace(vehicle, codes=codes)


def _joined(channels: list[tuple[int, Channel]], clock: Sequence[int]) -> list[Channel]:
    """One channel where several files of a drive, of one clock, hold the same signal of the same sender.

    Parameters
    ----------
    channels : each with the number of its file: two files may have one name
    clock : of each file
    """
    groups: dict[tuple[str, str, str, int, int], list[Channel]] = {}
    seen: Counter[tuple[str, str, str, int]] = Counter()
    for file, channel in channels:
        signal = (channel.name, channel.source, channel.ecu)
        own = (*signal, file)
        # Twin columns of one file are two sources, and without a common clock nothing may be put together.
        groups.setdefault((*signal, clock[file], seen[own]), []).append(channel)
        seen[own] += 1
    out = []
    for parts in groups.values():
        first = parts[0]
        if len(parts) > 1:
            t_s = np.concatenate([part.t_s for part in parts])
            value = np.concatenate([part.value for part in parts])
            order = np.argsort(t_s, kind="stable")
            invalid: dict[str, int] = {}
            for part in parts:
                for reason, count in part.invalid.items():
                    invalid[reason] = invalid.get(reason, 0) + count
            first = replace(
                first,
                t_s=t_s[order],
                value=value[order],
                half_width_s=max(part.half_width_s for part in parts),
                file=", ".join(dict.fromkeys(part.file for part in parts)),
                invalid=invalid,
            )
        out.append(first)
    return out
