"""SAE J1939-21 transport: truth, a reference library (can-j1939), faults by name, and a real recording."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from can_text import Row, frames_of, read_log
from hypothesis import given, settings
from hypothesis import strategies as st
from isotp_frames import payloads

from logan.model.frames import Messages
from logan.transport import j1939_tp

Sent = tuple[int, bytes]


def packets(pgn: int, payload: bytes, sender: int = 0, to: int = 255) -> list[Sent]:
    """A message as announced and sent: BAM to all, RTS to one address (the receiver's side is left out)."""
    count = -(-len(payload) // 7)
    start = bytes([32 if to == 255 else 16, len(payload) & 0xFF, len(payload) >> 8, count, 255]) + pgn.to_bytes(
        3, "little"
    )
    tail = to << 8 | sender
    data = [bytes([k + 1]) + payload[7 * k : 7 * k + 7].ljust(7, b"\xff") for k in range(count)]
    return [(0x1CEC0000 | tail, start), *((0x1CEB0000 | tail, packet) for packet in data)]


def timed(frames: list[Sent]) -> list[Row]:
    return [(0.05 * k, can_id, data) for k, (can_id, data) in enumerate(frames)]


def received(frames: list[Sent]) -> tuple[list[Sent], dict[str, int], Messages]:
    messages, remarks = j1939_tp.reassemble(frames_of(timed(frames)))
    return payloads(messages), {remark.kind: remark.count for remark in remarks}, messages


PAYLOAD = bytes(range(1, 31))
DM1 = 65226


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_what_was_sent_comes_back(data: st.DataObject) -> None:
    expected, queues = [], []
    for sender in data.draw(st.lists(st.integers(0, 253), min_size=1, max_size=3, unique=True)):
        queue: list[Sent] = []
        for payload in data.draw(st.lists(st.binary(min_size=9, max_size=200), min_size=1, max_size=3)):
            # 0xEF00 is a PDU1 group: its identifier names the destination (J1939-21, 5.2)
            to, pgn, shown = data.draw(
                st.sampled_from(
                    [(255, DM1, 0xFECA), (254, 0xEF00, 0xEFFE), (3, 0xFEE3, 0xFEE3), (255, 0x1FEE3, 0x1FEE3)]
                )
            )
            queue += packets(pgn, payload, sender, to)
            expected.append((6 << 26 | shown << 8 | sender, payload))
        queues.append(queue)
    frames = []
    while queues:
        queue = data.draw(st.sampled_from(queues)) if len(queues) > 1 else queues[0]
        frames.append(queue.pop(0))
        queues = [queue for queue in queues if queue]
    got, faults, messages = received(frames)
    assert sorted(got) == sorted(expected)
    assert faults == {}
    assert messages.extended.all()
    assert (messages.address == -1).all()
    assert (messages.t_first_s < messages.t_s).all()


def test_longest_message() -> None:
    longest = bytes(k % 256 for k in range(1785))
    got, faults, _ = received(packets(DM1, longest))
    assert got == [(0x18FECA00, longest)]
    assert faults == {}


@settings(max_examples=20, deadline=None)
@given(st.lists(st.tuples(st.sampled_from([0, 3, 249]), st.binary(min_size=9, max_size=120)), min_size=1, max_size=5))
def test_same_as_can_j1939(sent: list[tuple[int, bytes]]) -> None:
    j1939 = pytest.importorskip("j1939", reason="can-j1939 is not installed: pip install can-j1939")
    frames = [frame for sender, payload in sent for frame in packets(DM1, payload, sender)]
    theirs: list[Sent] = []
    unit = j1939.ElectronicControlUnit()
    try:
        unit.subscribe(lambda _, pgn, sender, __, data: theirs.append((6 << 26 | pgn << 8 | sender, bytes(data))))
        for can_id, data in frames:
            unit.notify(can_id, bytearray(data), time.time())
    finally:
        unit.stop()
    assert received(frames)[0] == theirs
    assert len(theirs) == len(sent)


ABORT = (
    0x1CEC0003,
    bytes([255, 1, 255, 255, 255]) + (0xFEE3).to_bytes(3, "little"),
)  # the receiver, 3, to the sender, 0
OTHER_ABORT = (0x1CEC0003, bytes([255, 1, 255, 255, 255]) + (0xFEE4).to_bytes(3, "little"))


@pytest.mark.parametrize(
    ("damage", "kind", "kept"),
    [
        (lambda f: f[:2] + f[3:], "transport_packet_lost", 0),
        (lambda f: [*f[:2], f[3], f[2], *f[4:]], "transport_packet_out_of_order", 0),
        (lambda f: [*f[:2], f[1], *f[2:]], "transport_packet_repeated", 1),
        (lambda f: f[1:], "transport_data_unannounced", 0),
        (lambda f: f[:3] + f, "transport_restarted", 1),
        (lambda f: f[:3], "transport_unfinished", 0),
        (lambda f: [*f[:3], ABORT, *f[3:]], "transport_aborted", 0),
        (lambda f: [*f[:3], OTHER_ABORT, *f[3:]], None, 1),
        (lambda f: [*f, ABORT], None, 1),
        (lambda f: [*f[:2], (f[2][0], f[2][1][:4]), *f[3:]], "transport_packet_short", 0),
    ],
)
def test_every_fault_has_its_name(damage: Callable[[list[Sent]], list[Sent]], kind: str | None, kept: int) -> None:
    got, faults, _ = received(damage(packets(0xFEE3, PAYLOAD, sender=0, to=3)))
    assert len(got) == kept
    if kind == "transport_aborted":
        # what the sender still had on its way has no announcement any more
        assert faults.pop("transport_data_unannounced") == 3
    assert set(faults) == ({kind} if kind else set())


@pytest.mark.parametrize("start", ["20080002FFCAFE00", "200A0003FFCAFE00", "200A0002FFCAFE04", "200A0002FFCA"])
def test_announcements_that_cannot_be(start: str) -> None:
    """Size 9..1785, packets that fit it, 18 bits of parameter group (J1939-21, 5.10.3)."""
    got, faults, _ = received([(0x1CECFF00, bytes.fromhex(start))])
    assert got == []
    assert faults == {"transport_bad_announcement": 1}


def test_real_recording(captures: Path) -> None:
    """BAM 152, all complete: PGN 65226 127 times, PGN 65251 25 times (list beside the captures)."""
    messages, remarks = j1939_tp.reassemble(read_log(captures / "obd_can" / "j1939_heavy_c.log"))
    assert Counter(source >> 8 & 0x3FFFF for source in messages.source.tolist()) == {65226: 127, 65251: 25}
    assert remarks == ()


def test_real_recording_without_transport(captures: Path) -> None:
    messages, remarks = j1939_tp.reassemble(read_log(captures / "uds_multiframe" / "uds_van_candump.log"))
    assert len(messages) == 0
    assert remarks == ()


def go(count: int, first: int) -> Sent:
    """Clear to send, from the receiver 3 to the sender 0 (SAE J1939-21; bytes as can-j1939 2.0.12 sends them)."""
    return 0x1CEC0003, bytes([17, count, first, 255, 255]) + (0xFEE3).to_bytes(3, "little")


@pytest.mark.parametrize(
    "order",
    [
        [0, go(5, 1), 1, 2, 4, 5, go(1, 3), 3],  # one packet was lost to all
        [0, go(5, 1), 1, 2, 3, 4, 5, go(3, 3), 3, 4, 5],  # one and all behind it
        [0, go(0, 255), go(2, 1), 1, 2, go(2, 2), 2, 3, go(2, 4), 4, 5],
    ],
)
def test_packets_that_the_receiver_asks_for_again(order: list[int | Sent]) -> None:
    sent = packets(0xFEE3, PAYLOAD, sender=0, to=3)
    frames = [sent[one] if isinstance(one, int) else one for one in order]
    got, faults, _ = received(frames + packets(DM1, PAYLOAD))
    assert got == [(0x18FEE300, PAYLOAD), (0x18FECA00, PAYLOAD)]
    assert faults == {"transport_packets_asked_again": 1}


def test_a_packet_that_stays_lost_although_it_was_asked_for() -> None:
    sent = packets(0xFEE3, PAYLOAD, sender=0, to=3)
    got, faults, _ = received([*sent[:3], *sent[4:], go(1, 3)])
    assert got == []
    assert faults == {"transport_packets_asked_again": 1, "transport_packet_lost": 1}


def test_a_connection_without_loss_is_not_touched() -> None:
    sent = packets(0xFEE3, PAYLOAD, sender=0, to=3)
    got, faults, _ = received([sent[0], go(2, 1), *sent[1:3], go(0, 255), go(3, 3), *sent[3:]])
    assert (got, faults) == ([(0x18FEE300, PAYLOAD)], {})
