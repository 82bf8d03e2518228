"""One set of frames in every form that can hold it: equal frames, and equal decoded values, out of all of them.

The writers are python-can's (candump text, ASC, TRC 1.0 and 2.1, CSV, BLF, SQLite, MDF 4) and scapy's (pcap); the
values of the MDF are also those of asammdf, which brings its own decoder of bus logs.
"""

from __future__ import annotations

import functools
import gzip
from collections.abc import Callable
from pathlib import Path
from typing import Final

import can
import cantools
import numpy as np
import pytest
from can.io.trc import TRCFileVersion

from logan.capture import read
from logan.model.frames import EXTENDED, Frames
from logan.pipeline.gather import gather

START: Final = 1_700_000_000.0
COUNT: Final = 400
HALF_MICROSECOND_S: Final = 0.6e-6
"""A time rounded to whole microseconds, twice as float64 of an epoch (2.4e-7 s apart)."""
DBC: Final = """VERSION ""

NS_ :

BS_:

BU_: ECU

BO_ 512 Engine: 8 ECU
 SG_ Speed : 0|16@1+ (0.25,0) [0|16383] "rpm" ECU
 SG_ Trim : 16|12@1- (0.1,0) [-204|204] "deg" ECU
 SG_ Heat : 39|8@0+ (1,-40) [-40|215] "degC" ECU

BO_ 2566848512 Wide: 8 ECU
 SG_ Flow : 7|16@0+ (0.01,0) [0|655] "g/s" ECU
"""


@functools.cache
def sent() -> tuple[can.Message, ...]:
    """Broadcast signals in both sizes of identifier, requests with their answers, every length, two buses."""
    random = np.random.default_rng(11)
    out = []
    for k in range(COUNT):
        extended, kind = k % 3 == 0, k % 4
        if kind == 0:
            can_id, data = (0x18FF0000 if extended else 0x200), random.bytes(8)
        elif kind == 1:
            extended, can_id, data = False, 0x7DF, bytes.fromhex("02010C5555555555")
        elif kind == 2:
            extended, can_id, data = False, 0x7E8, bytes((4, 0x41, 0x0C, 0x10 + k % 16, k % 256)) + bytes(3)
        else:
            can_id, data = int(random.integers(1 << (29 if extended else 11))), random.bytes(k % 9)
        out.append(can.Message(
            timestamp=START + k * 0.000731, arbitration_id=can_id, is_extended_id=extended, dlc=len(data), data=data,
            channel=0,
        ))  # fmt: skip
    return tuple(out)


def by_python_can(path: Path) -> None:
    with can.Logger(path) as writer:
        for one in sent():
            writer.on_message_received(one)


def by_trc_1_0(path: Path) -> None:
    with can.TRCWriter(path) as writer:
        writer.file_version = TRCFileVersion.V1_0
        for one in sent():
            writer.on_message_received(one)


def by_scapy(path: Path) -> None:
    layer = pytest.importorskip("scapy.layers.can", reason="scapy is not installed: pip install scapy")
    utilities = pytest.importorskip("scapy.utils", reason="scapy is not installed: pip install scapy")
    packets = []
    for one in sent():
        packet = layer.CAN(
            flags="extended" if one.is_extended_id else 0, identifier=one.arbitration_id, length=one.dlc,
            data=bytes(one.data),
        )  # fmt: skip
        packet.time = round(one.timestamp, 6)
        packets.append(packet)
    utilities.wrpcap(str(path), packets, linktype=227)


def by_asammdf(path: Path) -> None:
    pytest.importorskip("asammdf", reason="asammdf is not installed: pip install 'python-can[mf4]'")
    by_python_can(path)


FORMS: Final[dict[str, tuple[str, Callable[[Path], None], float]]] = {
    "text": (".log", by_python_can, HALF_MICROSECOND_S),
    "asc": (".asc", by_python_can, HALF_MICROSECOND_S),
    "trc 2.1": (".trc", by_python_can, HALF_MICROSECOND_S),
    "trc 1.0": (".trc", by_trc_1_0, 0.5e-3),
    "csv": (".csv", by_python_can, HALF_MICROSECOND_S),
    "blf": (".blf", by_python_can, HALF_MICROSECOND_S),
    "sqlite": (".db", by_python_can, HALF_MICROSECOND_S),
    "mdf": (".mf4", by_asammdf, HALF_MICROSECOND_S),
    "pcap": (".pcap", by_scapy, HALF_MICROSECOND_S),
}
"""Ending, writer, and half of the step of the times that the form holds."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("forms")
    (path / "signals.dbc").write_text(DBC, "ascii")
    return path


@pytest.mark.parametrize("packed", [False, True])
@pytest.mark.parametrize("form", FORMS)
def test_every_form_holds_the_same_frames(folder: Path, form: str, packed: bool) -> None:
    suffix, write, step_s = FORMS[form]
    path = folder / f"{form.replace(' ', '_')}{suffix}"
    if not path.exists():
        write(path)
    if packed:
        path = path.with_suffix(f"{suffix}.gz")
        path.write_bytes(gzip.compress(path.with_suffix("").read_bytes()))
    capture = read(path)
    frames = capture.content
    assert isinstance(frames, Frames)
    assert (capture.frames, capture.rejected) == (COUNT, 0)
    assert frames.can_id.tolist() == [one.arbitration_id for one in sent()]
    assert frames.flags.tolist() == [EXTENDED if one.is_extended_id else 0 for one in sent()]
    assert [row[:size].tobytes() for row, size in zip(frames.data, frames.length, strict=True)] == [
        bytes(one.data) for one in sent()
    ]
    passed_s = [one.timestamp - START for one in sent()]
    assert np.abs(frames.t_s - frames.t_s[0] - passed_s).max() <= step_s


@functools.cache
def expected() -> dict[str, list[float]]:
    """The values as cantools decodes them, and engine speed of the answers (SAE J1979 PID 0C: a quarter of 16 bits)."""
    base = cantools.database.load_string(DBC, "dbc")
    out: dict[str, list[float]] = {}
    for one in sent():
        for message in base.messages:
            if one.arbitration_id == message.frame_id and one.is_extended_id == message.is_extended_frame:
                values = message.decode(bytes(one.data), decode_choices=False)
                assert isinstance(values, dict)
                for name, value in values.items():
                    out.setdefault(name, []).append(float(value))
        if one.arbitration_id == 0x7E8:
            out.setdefault("engine_speed", []).append(int.from_bytes(one.data[3:5], "big") / 4)
    return out


@pytest.mark.parametrize("form", FORMS)
def test_every_form_gives_the_same_values(folder: Path, form: str) -> None:
    suffix, write, _ = FORMS[form]
    path = folder / f"{form.replace(' ', '_')}{suffix}"
    if not path.exists():
        write(path)
    found = {channel.name: channel.value for channel in gather([path], [folder / "signals.dbc"]).signals}
    for name, values in expected().items():
        assert found[name] == pytest.approx(values, abs=1e-9), name


def test_mdf_values_are_those_of_asammdf(folder: Path) -> None:
    asammdf = pytest.importorskip("asammdf", reason="asammdf is not installed: pip install 'python-can[mf4]'")
    path = folder / "mdf.mf4"
    if not path.exists():
        by_python_can(path)
    with asammdf.MDF(path) as file:
        theirs = file.extract_bus_logging(database_files={"CAN": [(str(folder / "signals.dbc"), 0)]})
    ours = {channel.name: channel for channel in gather([path], [folder / "signals.dbc"]).signals}
    for name in ("Speed", "Trim", "Heat", "Flow"):
        signal = theirs.get(name)
        assert ours[name].value == pytest.approx(signal.samples, abs=1e-9)
        assert ours[name].t_s - ours[name].t_s[0] == pytest.approx(signal.timestamps - signal.timestamps[0], abs=1e-6)
