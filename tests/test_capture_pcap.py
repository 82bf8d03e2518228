"""Packet captures, against tshark, the published file formats, against counts of real captures."""

from __future__ import annotations

import contextlib
import gzip
import struct
import subprocess
from pathlib import Path

import numpy as np
import pytest
from conftest import needs_program
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.capture import read
from logan.errors import CaptureError
from logan.model.capture import Capture
from logan.model.frames import BRS, ERROR, EXTENDED, FD, REMOTE, SENT, Frames
from logan.transport import isotp

T0 = 1_700_000_000
CAN = [  # identifier with flag bits, FD flags, data
    (0x7E8, 0, bytes.fromhex("04410C1AF8000000")),
    (0x80000000 | 0x18DAF110, 0, bytes.fromhex("03410D3C")),
    (0x40000000 | 0x123, 0, b""),
    (0x20000000 | 0x004, 0, bytes(8)),
    (0x321, 0x05, bytes(range(20))),
    (0x7DF, 0, b""),
]


def socketcan(can_id: int, fd_flags: int, data: bytes, order: str = ">") -> bytes:
    """A packet of link type 227 (LINKTYPE_CAN_SOCKETCAN of the list of link-layer header types)."""
    return struct.pack(order + "I", can_id) + bytes((len(data), fd_flags, 0, 0)) + data


def pcap(packets: list[bytes], order: str = "<", link: int = 227, magic: int = 0xA1B2C3D4) -> bytes:
    out = struct.pack(order + "IHHiIII", magic, 2, 4, 0, 0, 262_144, link)
    for k, packet in enumerate(packets):
        out += struct.pack(order + "IIII", T0 + k, 250_000, len(packet), len(packet)) + packet
    return out


def block(order: str, kind: int, body: bytes) -> bytes:
    body += bytes(-len(body) % 4)
    return struct.pack(order + "II", kind, len(body) + 12) + body + struct.pack(order + "I", len(body) + 12)


def pcapng(packets: list[bytes], order: str = "<", named: bool = True) -> bytes:
    """Two interfaces in turn, the second one with times in ns (pcapng file format); ``if_name`` is an option."""
    section = struct.pack(order + "IHHq", 0x1A2B3C4D, 1, 0, -1)
    out = block(order, 0x0A0D0D0A, section)
    for name, digits in ((b"can0", 6), (b"can1", 9)):
        options = struct.pack(order + "HH", 2, 4) + name if named else b""
        options += struct.pack(order + "HHB3x", 9, 1, digits)
        out += block(order, 1, struct.pack(order + "HHI", 227, 0, 0) + options + bytes(4))
    for k, packet in enumerate(packets):
        units = (T0 + k) * (10**9 if k % 2 else 10**6) + (250_000_000 if k % 2 else 250_000)
        head = struct.pack(order + "5I", k % 2, units >> 32, units & 0xFFFFFFFF, len(packet), len(packet))
        out += block(order, 6, head + packet)
    return out


def capture_of(folder: Path, content: bytes) -> Capture:
    path = folder / "drive.bin"
    path.write_bytes(content)
    return read(path)


def frames_of(capture: Capture) -> Frames:
    assert isinstance(capture.content, Frames)
    return capture.content


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize("form", [pcap, pcapng])
def test_every_kind_of_frame(tmp_path: Path, form, order: str) -> None:
    capture = capture_of(tmp_path, form([socketcan(*frame) for frame in CAN], order))
    frames = frames_of(capture)
    assert frames.can_id.tolist() == [0x7E8, 0x18DAF110, 0x123, 4, 0x321, 0x7DF]
    assert frames.flags.tolist() == [0, EXTENDED, REMOTE, ERROR, FD | BRS, 0]
    assert frames.length.tolist() == [8, 4, 0, 8, 20, 0]
    assert frames.payload(np.array([4]))[0].tobytes() == bytes(range(20)).ljust(64, b"\0")
    assert frames.payload(np.array([0]))[0].tobytes() == CAN[0][2]
    assert frames.t_s.tolist() == [0, 1, 2, 3, 4, 5]
    assert (capture.start, capture.rejected, capture.remarks) == (T0 + 0.25, 0, ())
    assert frames.buses == (("can0", "can1") if form is pcapng else ("",))


@needs_program("tshark")
def test_interfaces_without_a_name_are_told_apart(tmp_path: Path) -> None:
    """Numbers of the interfaces as tshark gives them; the parts of two long messages do not run together."""
    first, second = (
        [bytes.fromhex(f"1014490201{c}{c}{c}"), bytes.fromhex("21" + c * 7), bytes.fromhex("22" + c * 7)]
        for c in ("41", "42")
    )
    packets = [socketcan(0x7E8, 0, data) for pair in zip(first, second, strict=True) for data in pair]
    path = tmp_path / "drive.pcapng"
    path.write_bytes(pcapng(packets, named=False))
    frames = frames_of(read(path))
    said = subprocess.run(
        ["tshark", "-r", str(path), "-T", "fields", "-e", "frame.interface_id"],
        capture_output=True, text=True, check=True,
    ).stdout.split()  # fmt: skip
    assert [frames.buses[bus] for bus in frames.bus] == [f"interface {number}" for number in said]
    messages, damage = isotp.reassemble(frames)
    assert ([messages.payload(k)[3:] for k in range(len(messages))], damage) == ([b"A" * 17, b"B" * 17], ())


def test_one_interface_without_a_name_stays_without(tmp_path: Path) -> None:
    content = pcapng([socketcan(*CAN[0])], named=False)  # of the other interface there is no packet
    assert frames_of(capture_of(tmp_path, content)).buses == ("",)


def test_identifiers_in_the_recorders_byte_order(tmp_path: Path) -> None:
    capture = capture_of(tmp_path, pcap([socketcan(can_id, 0, data, "<") for can_id, fd, data in CAN if not fd]))
    assert frames_of(capture).can_id.tolist() == [0x7E8, 0x18DAF110, 0x123, 4, 0x7DF]
    assert [remark.kind for remark in capture.remarks] == ["byte_order"]


@pytest.mark.parametrize("link", [113, 276])
def test_cooked_packets(tmp_path: Path, link: int) -> None:
    """Layouts of LINKTYPE_LINUX_SLL and LINKTYPE_LINUX_SLL2 (list of link-layer header types); 280 = ARPHRD_CAN."""

    def cooked(direction: int, protocol: int, packet: bytes) -> bytes:
        if link == 113:
            return struct.pack(">HHH8xH", direction, 280, 0, protocol) + packet
        return struct.pack(">HHIHBB8x", protocol, 0, 3, 280, direction, 0) + packet

    packets = [
        cooked(4, 0x0C, socketcan(0x7DF, 0, bytes.fromhex("02010C"))),
        cooked(0, 0x0C, socketcan(*CAN[0])),
        cooked(0, 0x0800, bytes(40)),
        cooked(0, 0x0D, socketcan(0x456, 0, bytes(8))),
    ]
    capture = capture_of(tmp_path, pcap(packets, link=link))
    assert frames_of(capture).can_id.tolist() == [0x7DF, 0x7E8, 0x456]
    assert frames_of(capture).flags.tolist() == [SENT, 0, FD]
    assert [(remark.kind, remark.places) for remark in capture.remarks] == [("not_can", ("packet 3",))]


def test_damage_is_located_and_the_rest_is_read(tmp_path: Path) -> None:
    packets = [socketcan(*CAN[0]), socketcan(*CAN[0])[:11], b"\0\0\7", socketcan(0x7E8, 0, bytes(8))]
    capture = capture_of(tmp_path, pcap(packets)[:-3])
    assert (capture.frames, capture.rejected) == (1, 2)
    assert {remark.kind for remark in capture.remarks} == {"bad_frame", "cut_short"}
    huge = pcap(packets[:1]) + struct.pack("<IIII", T0, 0, 0xFFFFFFF0, 8) + bytes(8)
    assert capture_of(tmp_path, huge).frames == 1


def test_no_can_in_it_is_said(tmp_path: Path) -> None:
    with pytest.raises(CaptureError, match="2 packets, none of them a CAN frame"):
        capture_of(tmp_path, pcap([bytes(60), bytes(60)], link=1))


@given(st.data())
@settings(max_examples=150, deadline=None)
def test_damaged_bytes_never_break_it(tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    whole = bytearray(data.draw(st.sampled_from([pcap, pcapng]))([socketcan(*frame) for frame in CAN]))
    for _ in range(data.draw(st.integers(1, 6))):
        whole[data.draw(st.integers(4, len(whole) - 1))] = data.draw(st.integers(0, 255))
    path = tmp_path_factory.getbasetemp() / "fuzzed.pcap"
    path.write_bytes(bytes(whole[: data.draw(st.integers(24, len(whole)))]))
    with contextlib.suppress(CaptureError):
        assert read(path).frames <= len(CAN)


# counts: scapy 2.8 where it reads them, tshark 4.0 for the cooked ones
@pytest.mark.parametrize(
    ("name", "frames", "duration_s"),
    [
        ("candump_uds_scanner", 9434, 971.067), ("candump_otherdiag_scanner", 3819, 2612.061),
        ("otherdiag_trace", 1087, 4951.348), ("ecu_trace", 141, 20.175), ("canfd", 4, 2.402),
    ],
)  # fmt: skip
def test_real_captures(captures: Path, name: str, frames: int, duration_s: float) -> None:
    capture = read(captures / "pcap" / f"{name}.pcap.gz")
    assert (capture.frames, capture.rejected) == (frames, 0)
    assert capture.duration_s == pytest.approx(duration_s, abs=5e-4)


@needs_program("tshark")
@pytest.mark.parametrize("name", ["ecu_trace", "canfd", "own"])
def test_the_same_as_tshark(captures: Path, tmp_path: Path, name: str) -> None:
    path = tmp_path / "open.pcap"
    own = pcapng([socketcan(*frame) for frame in CAN if not frame[0] & 0x20000000])
    path.write_bytes(own if name == "own" else gzip.decompress((captures / f"pcap/{name}.pcap.gz").read_bytes()))
    fields = ["frame.time_epoch", "can.id", "can.len", "can.flags.xtd", "can.flags.rtr"]
    command = ["tshark", "-r", str(path), "-T", "fields", *(word for field in fields for word in ("-e", field))]
    lines = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
    theirs = [tuple(float(cell in ("True",) or (cell not in ("False", "") and cell)) for cell in line.split("\t"))
              for line in lines]  # fmt: skip
    capture = read(path)
    frames = frames_of(capture)
    assert capture.start is not None
    start = round(capture.start, 3)
    ours = zip(frames.t_s + start, frames.can_id, frames.length, frames.flags & EXTENDED != 0,
               frames.flags & REMOTE != 0, strict=True)  # fmt: skip
    assert [row[1:] for row in theirs] == [tuple(float(cell) for cell in row[1:]) for row in list(ours)]
    assert frames.t_s == pytest.approx([row[0] - theirs[0][0] for row in theirs], abs=1e-6)


@pytest.mark.parametrize("order", ["<", ">"])
def test_older_packet_blocks(tmp_path: Path, order: str) -> None:
    """Packet Block, type 2: interface and lost packets in 16 bits each, then as the enhanced one (pcapng format)."""
    head = block(order, 0x0A0D0D0A, struct.pack(order + "IHHq", 0x1A2B3C4D, 1, 0, -1))
    out = head + block(order, 1, struct.pack(order + "HHI", 227, 0, 0))
    for k, one in enumerate(CAN):
        packet, units = socketcan(*one), (T0 + k) * 10**6 + 250_000
        layout = struct.pack(order + "HH4I", 0, 7, units >> 32, units & 0xFFFFFFFF, len(packet), len(packet))
        out += block(order, 2, layout + packet)
    capture = capture_of(tmp_path, out)
    assert frames_of(capture).t_s.tolist() == list(range(len(CAN)))
    assert frames_of(capture).origin_ns == T0 * 10**9 + 250_000_000
    assert (capture.frames, capture.rejected) == (len(CAN), 0)


def test_simple_packets_have_no_time(tmp_path: Path) -> None:
    """Simple Packet Block, type 3: length and packet, nothing else (pcapng file format)."""
    out = block("<", 0x0A0D0D0A, struct.pack("<IHHq", 0x1A2B3C4D, 1, 0, -1)) + block(
        "<", 1, struct.pack("<HHI", 227, 0, 0)
    )
    for one in CAN:
        packet = socketcan(*one)
        out += block("<", 3, struct.pack("<I", len(packet)) + packet)
    capture = capture_of(tmp_path, out)
    assert (capture.frames, capture.timed, capture.duration_s) == (len(CAN), False, None)


def test_packets_that_the_recorder_cut_are_said_to_be_cut(tmp_path: Path) -> None:
    """A snapshot length below 16: fewer bytes captured than were on the network (pcap file format)."""
    packet = socketcan(*CAN[0])
    out = pcap([]) + struct.pack("<IIII", T0, 0, 12, len(packet)) + packet[:12]
    capture = capture_of(tmp_path, out + struct.pack("<IIII", T0, 5, len(packet), len(packet)) + packet)
    assert (capture.frames, capture.rejected) == (1, 1)
    assert ["cut by the recorder" in remark.text for remark in capture.remarks] == [True]
