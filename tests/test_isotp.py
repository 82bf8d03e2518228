"""ISO 15765-2 reassembly: truth, the plain state machine, and one clear fault after another."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from can_text import Row, frames_of, read_log
from hypothesis import given, settings
from hypothesis import strategies as st
from isotp_frames import payloads, segment

from logan.model.frames import ERROR, REMOTE
from logan.transport import isotp, segmented
from logan.transport.isotp_pci import LAST_NUMBER, pci

TWO = bytes(range(1, 11))  # a message of two frames
FOUR = bytes(range(1, 28))  # a message of four frames


def timed(frames: list[tuple[int, bytes]]) -> list[Row]:
    return [(0.01 * k, can_id, data) for k, (can_id, data) in enumerate(frames)]


def on(can_id: int, *frames: bytes) -> list[Row]:
    return timed([(can_id, frame) for frame in frames])


@st.composite
def senders(draw: st.DrawFn) -> tuple[list[tuple[int, bytes]], list[list[tuple[int, bytes]]]]:
    """Messages of some senders, and their frames, one list a sender."""
    sent: list[tuple[int, bytes]] = []
    queues = []
    ids = [0x7E8, 0x7E9, 0x7E0, 0x18DAF110, 0x18DB33F1, 0x18CEF110]
    for can_id in draw(st.lists(st.sampled_from(ids), min_size=1, max_size=3, unique=True)):
        prefix = b"\x55" if can_id >> 16 == 0x18CE else b""
        width = draw(st.sampled_from([8, 8, 8, 12, 64]))
        pad = draw(st.sampled_from([None, 0x00, 0xAA]))
        queue = []
        for payload in draw(st.lists(st.binary(min_size=1, max_size=150), min_size=1, max_size=5)):
            sent.append((can_id, payload))
            queue += [(can_id, frame) for frame in segment(payload, prefix, width, pad)]
        queues.append(queue)
    return sent, queues


def interleaved(queues: list[list[tuple[int, bytes]]], draw: st.DataObject) -> list[tuple[int, bytes]]:
    queues = [list(queue) for queue in queues]
    out = []
    while queues:
        queue = draw.draw(st.sampled_from(queues)) if len(queues) > 1 else queues[0]
        out.append(queue.pop(0))
        queues = [queue for queue in queues if queue]
    return out


@settings(max_examples=150, deadline=None)
@given(senders(), st.data())
def test_what_was_sent_comes_back(
    case: tuple[list[tuple[int, bytes]], list[list[tuple[int, bytes]]]], data: st.DataObject
) -> None:
    sent, queues = case
    rows = timed(interleaved(queues, data))
    messages, remarks = isotp.reassemble(frames_of(rows))
    assert remarks == ()
    assert sorted(payloads(messages)) == sorted(sent)
    assert (np.diff(messages.t_s) >= 0).all()
    assert (messages.t_first_s <= messages.t_s).all()
    assert messages.extended.tolist() == [s > 0x7FF for s in messages.source]
    assert messages.address.tolist() == [0x55 if s >> 16 == 0x18CE else -1 for s in messages.source.tolist()]


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_columns_and_state_machine_agree_on_damage(data: st.DataObject) -> None:
    """``receive_streams`` finds whole messages in columns, ``receive`` goes frame by frame: both say the same."""
    frames: list[bytes] = []
    for size in data.draw(st.lists(st.sampled_from([3, 7, 8, 20, 130]), min_size=1, max_size=4)):
        frames += segment(bytes(k % 251 for k in range(size)))
    for act in data.draw(st.lists(st.sampled_from(["drop", "double", "swap", "cut"]), max_size=4)):
        k = data.draw(st.integers(0, len(frames) - 1))
        if act == "drop" and len(frames) > 1:
            del frames[k]
        elif act == "double":
            frames.insert(k, frames[k])
        elif act == "swap":
            frames[k - 1], frames[k] = frames[k], frames[k - 1]
        elif act == "cut":
            frames[k] = frames[k][: data.draw(st.integers(1, 7))]
    columns = frames_of(on(0x7E8, *frames))
    info = pci(columns.data, columns.length, np.zeros(len(frames), np.uint8))
    carries = np.flatnonzero(info.kind <= segmented.CONSECUTIVE)
    info, bytes_ = info.take(carries), columns.data[carries]
    fast = segmented.receive_streams(info, bytes_, np.zeros(len(carries), np.int64), LAST_NUMBER)
    plain, faults = segmented.receive(info, bytes_, 0, len(carries), LAST_NUMBER)
    ends = np.cumsum(fast.count)
    assert sorted(some.tolist() for some in np.split(fast.frame, ends[:-1]) if len(some)) == sorted(plain)
    assert sorted(fast.faults) == sorted(faults)


@pytest.mark.parametrize(
    ("damage", "kind", "count", "kept"),
    [
        (lambda f: f[:2] + f[3:], "lost_consecutive_frame", 1, 0),
        (lambda f: [*f[:2], f[1], *f[2:]], "repeated_consecutive_frame", 1, 1),
        (lambda f: [f[0], f[2], f[1], f[3]], "consecutive_frame_out_of_order", 1, 0),
        (lambda f: [f[0], f[1], f[2][:5], f[3]], "short_consecutive_frame", 1, 0),
        (lambda f: f[1:], "consecutive_frame_without_first", 3, 0),
        (lambda f: [*f, b"\x24" + bytes(7)], "consecutive_frame_without_first", 1, 1),
        (lambda f: f[:2] + f, "reception_interrupted", 1, 1),
        (lambda f: [*f[:2], b"\x02\x01\x0c" + bytes(5)], "reception_interrupted", 1, 1),
        (lambda f: f[:3], "unfinished_message", 1, 0),
        (lambda f: [*f, b"\x00" * 8], "single_frame_empty", 1, 1),
        (lambda f: [*f, b"\x05\x01\x02"], "single_frame_too_long", 1, 1),
        (lambda f: [*f, b"\x10\x07" + bytes(6)], "first_frame_too_short", 1, 1),
        (lambda f: [*f, b"\x10\x00\x00\x00\x00\x20" + bytes(2)], "first_frame_too_short", 1, 1),
        (lambda f: [*f, b"\x10\x00\x00\x00\x0f\xff" + bytes(2)], "first_frame_too_short", 1, 1),
        (lambda f: [*f, b"\x10\x3e" + bytes(62)], "first_frame_too_short", 1, 1),
        (lambda f: [*f, b"\x05\x01\x02\x03\x04\x05" + bytes(6)], "single_frame_too_long", 1, 1),
        (lambda f: [*f, b"\x10\x14\x01"], "first_frame_too_short", 1, 1),
        (lambda f: [*f, b"\x90" * 8], "unknown_frame_type", 1, 1),
        (lambda f: [*f, b"\x33\x00\x00"], "bad_flow_control", 1, 1),
        (lambda f: [*f, b"\x30\x00"], "bad_flow_control", 1, 1),
        (lambda f: [*f, b"\x32\x00\x00"], "flow_control_overflow", 1, 1),
    ],
)
def test_every_fault_has_its_name(
    damage: Callable[[list[bytes]], list[bytes]], kind: str, count: int, kept: int
) -> None:
    """ISO 15765-2, 9.8: a wrong number or a new start ends a reception, frames that make no sense are ignored."""
    rows = on(0x7E8, *damage(segment(FOUR)))
    messages, (remark,) = isotp.reassemble(frames_of(rows))
    assert (remark.kind, remark.count) == (kind, count)
    assert remark.places[0].endswith("s, id 7E8")
    assert len(messages) == kept


def test_places_are_times() -> None:
    first, *_ = segment(FOUR)
    _, (remark,) = isotp.reassemble(frames_of([(12.3451, 0x7E8, first)]))
    assert remark.places == ("t = 12.345 s, id 7E8",)


def test_a_damaged_message_does_not_harm_its_neighbours() -> None:
    lost = segment(FOUR)
    del lost[2]
    frames = [*segment(TWO), *lost, *segment(b"\x41\x0c"), *segment(FOUR)]
    messages, (remark,) = isotp.reassemble(frames_of(on(0x7E8, *frames)))
    assert [payload for _, payload in payloads(messages)] == [TWO, b"\x41\x0c", FOUR]
    assert remark.kind == "lost_consecutive_frame"


def test_a_number_that_returns_after_sixteen_frames_was_lost_all_the_same() -> None:
    frames = segment(bytes(300))
    del frames[3]
    _, (remark,) = isotp.reassemble(frames_of(on(0x7E8, *frames)))
    assert remark.kind == "lost_consecutive_frame"


def test_every_sender_has_an_end_of_its_own() -> None:
    first, *_ = segment(FOUR)
    rows = timed([(0x7E8, first), (0x7E9, first), (0x7EA, first), (0x7EA, first)])
    _, remarks = isotp.reassemble(frames_of(rows))
    assert {remark.kind: remark.count for remark in remarks} == {"unfinished_message": 3, "reception_interrupted": 1}


def test_sequence_numbers_wrap() -> None:
    long = bytes(k % 256 for k in range(4095))
    messages, remarks = isotp.reassemble(frames_of(on(0x7E8, *segment(long))))
    assert payloads(messages) == [(0x7E8, long)]
    assert remarks == ()


def test_a_length_of_32_bits_costs_nothing() -> None:
    huge = b"\x10\x00\xff\xff\xff\xff\x01\x02"
    longer = bytes(k % 256 for k in range(5000))
    messages, (remark,) = isotp.reassemble(frames_of(on(0x7E8, huge, *segment(longer))))
    assert payloads(messages) == [(0x7E8, longer)]
    assert remark.kind == "reception_interrupted"


def test_error_and_remote_frames_are_no_messages() -> None:
    rows = on(0x7E8, b"\x02\x41\x0c", b"\x02\x41\x0d", b"\x02\x41\x0e")
    messages, remarks = isotp.reassemble(frames_of(rows, flags=[ERROR, 0, REMOTE]))
    assert payloads(messages) == [(0x7E8, b"\x41\x0d")]
    assert remarks == ()


def test_buses_are_kept_apart() -> None:
    first, second = segment(TWO)
    rows = on(0x7E8, first, second, second)
    messages, (remark,) = isotp.reassemble(frames_of(rows, bus=[0, 1, 0], buses=("can0", "can1")))
    assert payloads(messages) == [(0x7E8, TWO)]
    assert remark.kind == "consecutive_frame_without_first"


def test_empty_capture() -> None:
    messages, remarks = isotp.reassemble(frames_of([]))
    assert len(messages) == 0
    assert remarks == ()


# Counts of the list beside the captures, made there with plain line readers.
@pytest.mark.parametrize(
    ("file", "source", "segmented", "first_frames"),
    [
        ("uds_multiframe/uds_van_candump.log", 0x51C, 520, 520),
        ("obd_can/ev_uds_multiframe_b1.log", 0x7EC, 74, 74),
        ("obd_can/ev_uds_multiframe_b1.log", 0x7BB, 1, 15),
    ],
)
def test_real_captures(captures: Path, file: str, source: int, segmented: int, first_frames: int) -> None:
    messages, remarks = isotp.reassemble(read_log(captures / file))
    of = messages.source == source
    assert int((of & (messages.length > 7)).sum()) == segmented
    lost = {remark.kind: remark.count for remark in remarks}.get("lost_consecutive_frame", 0)
    if segmented < first_frames:
        assert lost == first_frames - segmented


def test_real_exchange_of_services(captures: Path) -> None:
    """31:477 71:477 22:56 62:56 3E:37 7E:37 7F:31 10:6 50:6 19:1 59:1, and 7F xx 78 31 times (list of the captures)."""
    messages, _ = isotp.reassemble(read_log(captures / "uds_multiframe" / "uds_van_candump.log"))
    service, count = np.unique(messages.blob[messages.start], return_counts=True)
    assert dict(zip(service.tolist(), count.tolist(), strict=True)) == {
        0x31: 477, 0x71: 477, 0x22: 56, 0x62: 56, 0x3E: 37, 0x7E: 37, 0x7F: 31, 0x10: 6, 0x50: 6, 0x19: 1, 0x59: 1,
    }  # fmt: skip


def test_real_answers_without_requests(captures: Path) -> None:
    messages, remarks = isotp.reassemble(read_log(captures / "obd_can" / "obd_car_a_02.log"))
    assert len(messages) == 7267
    assert (messages.blob[messages.start] == 0x41).all()
    assert remarks == ()
