"""ISO 15765-2 reassembly against can-isotp and scapy (libraries) and tshark (program), whole and damaged."""

from __future__ import annotations

import subprocess
from itertools import pairwise
from pathlib import Path

import isotp as can_isotp
import numpy as np
import pytest
from can_text import Row, frames_of, read_log, write_log
from conftest import needs_program
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from isotp_frames import payloads, segment
from scapy.contrib.isotp import ISOTP, ISOTPMessageBuilder
from scapy.layers.can import CAN
from scapy.utils import rdpcap

from logan.transport import isotp


def by_can_isotp(frames: list[bytes], prefix: bytes) -> list[bytes]:
    """Payloads as can-isotp receives them on 7E8."""
    queue = [can_isotp.CanMessage(arbitration_id=0x7E8, data=frame, is_fd=len(frame) > 8) for frame in frames]
    if prefix:
        address = can_isotp.Address(
            can_isotp.AddressingMode.Mixed_29bits, address_extension=prefix[0], source_address=0x10, target_address=0xF1
        )
        for message in queue:
            message.arbitration_id, message.is_extended_id = 0x18CE10F1, True
    else:
        address = can_isotp.Address(can_isotp.AddressingMode.Normal_11bits, rxid=0x7E8, txid=0x7E0)
    layer = can_isotp.TransportLayerLogic(
        rxfn=lambda timeout=None: queue.pop(0) if queue else None,
        txfn=lambda message: None,
        address=address,
        params={"max_frame_size": 8191, "can_fd": True, "tx_data_length": 64},
    )
    out = []
    while queue:
        layer.process()
        while layer.available():
            out.append(bytes(layer.recv()))
    return out


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_same_as_can_isotp(data: st.DataObject) -> None:
    """Lost and swapped frames, with and without an address byte, classic CAN and CAN FD."""
    prefix = data.draw(st.sampled_from([b"", b"\x99"]))
    width = data.draw(st.sampled_from([8, 8, 16, 64]))
    frames: list[bytes] = []
    for payload in data.draw(st.lists(st.binary(min_size=1, max_size=120), min_size=1, max_size=6)):
        frames += segment(payload, prefix, width)
    for act in data.draw(st.lists(st.sampled_from(["drop", "swap"]), max_size=4)):
        k = data.draw(st.integers(0, len(frames) - 1))
        if act == "drop" and len(frames) > 1:
            del frames[k]
        elif act == "swap":
            frames[k - 1], frames[k] = frames[k], frames[k - 1]
    assume(all(one != two for one, two in pairwise(frames)))  # which we take for a recorder's doubling, can-isotp not
    can_id = 0x18CE10F1 if prefix else 0x7E8
    messages, _ = isotp.reassemble(frames_of([(0.001 * k, can_id, frame) for k, frame in enumerate(frames)]))
    assert [payload for _, payload in payloads(messages)] == by_can_isotp(frames, prefix)


def by_tshark(log: Path) -> list[tuple[int, bytes]]:
    """(identifier, payload) of the single frames and of the frames that complete a message."""
    run = subprocess.run(
        ["tshark", "-r", str(log), "-d", "can.subdissector,iso15765", "-T", "fields", "-E", "separator=;",
         "-e", "can.id", "-e", "iso15765.message_type", "-e", "iso15765.reassembled.length", "-e", "data.data"],
        capture_output=True, text=True, check=True, timeout=60,
    )  # fmt: skip
    out = []
    for line in run.stdout.splitlines():
        can_id, kind, reassembled, data = line.split(";")
        if kind and (int(kind, 0) == 0 or reassembled):
            out.append((int(can_id), bytes.fromhex(data)))
    return out


@needs_program("tshark")
@pytest.mark.parametrize("width", [8, 64])
def test_same_as_tshark(tmp_path: Path, width: int) -> None:
    """Messages of five identifiers, one after another: this tshark mixes up messages that overlap in time."""
    rng = np.random.default_rng(5)
    rows: list[Row] = []
    for number in range(120):
        payload = rng.integers(0, 256, int(rng.integers(1, 300))).astype(np.uint8).tobytes()
        can_id = [0x7E8, 0x7E9, 0x7E0, 0x18DAF110, 0x18DA10F1][number % 5]
        rows += [(0.001 * (len(rows) + k), can_id, frame) for k, frame in enumerate(segment(payload, b"", width))]
    write_log(tmp_path / "sent.log", rows)
    messages, remarks = isotp.reassemble(frames_of(rows))
    assert remarks == ()
    assert payloads(messages) == by_tshark(tmp_path / "sent.log")
    assert len(messages) == 120


@needs_program("tshark")
@pytest.mark.parametrize("file", ["uds_multiframe/uds_van_candump.log"])
def test_same_as_tshark_on_a_real_recording(captures: Path, file: str) -> None:
    messages, _ = isotp.reassemble(read_log(captures / file))
    assert payloads(messages) == by_tshark(captures / file)


@pytest.mark.parametrize(
    ("file", "pair", "count"), [("ecu_trace", (0x710, 0x77A), 39), ("otherdiag_trace", (0x241, 0x641), 95)]
)
def test_same_as_scapy_on_real_recordings(captures: Path, file: str, pair: tuple[int, int], count: int) -> None:
    """Identifiers outside the range of ISO 15765-4, amid other traffic; these recordings store them low byte first."""
    rows: list[Row] = []
    oracle = ISOTPMessageBuilder(use_ext_address=False, basecls=ISOTP)
    for packet in rdpcap(str(captures / "pcap" / f"{file}.pcap.gz")):
        raw = bytes(packet[CAN])
        can_id = int.from_bytes(raw[:4], "little") & 0x1FFFFFFF
        rows.append((float(packet.time), can_id, raw[8 : 8 + raw[4]]))
        if can_id in pair:
            oracle.feed(CAN(identifier=can_id, data=rows[-1][2]))
    theirs = []
    while len(oracle):
        message = oracle.pop()
        theirs.append((message.rx_id, bytes(message)))
    messages, _ = isotp.reassemble(frames_of(rows))
    assert sorted(payloads(messages)) == sorted(theirs)
    assert len(theirs) == count
