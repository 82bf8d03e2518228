"""Which identifiers carry ISO 15765-2: those of the standards, those that show it, and no broadcast at all."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from can_text import Row, frames_of, read_log
from hypothesis import given, settings
from hypothesis import strategies as st
from isotp_frames import payloads, segment

from logan.transport import isotp

FLOW = b"\x30\x00\x00\x00\x00\x00\x00\x00"
ANSWER = b"\x62\xf1\x90" + bytes(range(17))


def exchange(tester: int, module: int, request: bytes, answer: bytes, prefix: tuple[bytes, bytes] = (b"", b"")) -> list:
    to, back = prefix
    ask, (first, *rest) = segment(request, to), segment(answer, back)
    flow = [(tester, (to + FLOW)[:8])] if rest else []
    return [*((tester, frame) for frame in ask), (module, first), *flow, *((module, frame) for frame in rest)]


def timed(frames: list[tuple[int, bytes]]) -> list[Row]:
    return [(0.01 * k, can_id, data) for k, (can_id, data) in enumerate(frames)]


@pytest.mark.parametrize(
    ("tester", "module"), [(0x6E0, 0x51C), (0x7A0, 0x7BB), (0x710, 0x71A), (0x17FC0010, 0x17FE0010)]
)
def test_other_identifiers_by_a_segmented_message(tester: int, module: int) -> None:
    messages, remarks = isotp.reassemble(frames_of(timed(exchange(tester, module, b"\x22\xf1\x90", ANSWER))))
    assert payloads(messages) == [(tester, b"\x22\xf1\x90"), (module, ANSWER)]
    assert remarks == ()


def test_other_identifiers_by_matching_services() -> None:
    frames = []
    for number in range(3):
        frames += exchange(0x6E0, 0x51C, bytes([0x22, 0xF1, number]), bytes([0x62, 0xF1, number, 7]))
    frames += exchange(0x6E0, 0x51C, b"\x3e\x00", b"\x7e\x00") + exchange(0x6E0, 0x51C, b"\x10\x03", b"\x7f\x10\x12")
    messages, _ = isotp.reassemble(frames_of(timed(frames)))
    assert len(messages) == 10


@pytest.mark.parametrize(
    "answers",
    [
        [b"\x62\xf1\x90\x07"] * 4,  # one and the same answer may be chance
        [bytes([0x62, 0xA0 + k, k]) for k in range(4)],  # the service fits, what was asked for does not come back
        [bytes([0x63, 0xF1, k]) for k in range(4)],
    ],
)
def test_no_conversation(answers: list[bytes]) -> None:
    frames = []
    for number, answer in enumerate(answers):
        constant = answers[0] == answers[1]
        frames += exchange(0x300, 0x301, bytes([0x22, 0xF1 + (0 if constant else number), 1]), answer)
    messages, _ = isotp.reassemble(frames_of(timed(frames)))
    assert len(messages) == 0


@pytest.mark.parametrize("prefix", [(b"\x40", b"\xf1"), (b"\x05", b"\x05")])
def test_extended_and_mixed_addressing_of_11_bit(prefix: tuple[bytes, bytes]) -> None:
    frames = exchange(0x6F1, 0x640, b"\x22\xf1\x90", ANSWER, prefix) * 2
    messages, remarks = isotp.reassemble(frames_of(timed(frames)))
    assert payloads(messages) == [(0x6F1, b"\x22\xf1\x90"), (0x640, ANSWER)] * 2
    assert messages.address.tolist() == [prefix[0][0], prefix[1][0]] * 2
    assert remarks == ()


def test_one_tester_identifier_for_several_modules() -> None:
    frames = []
    for module in (0x12, 0x40):
        frames += exchange(0x6F1, 0x600 + module, b"\x22\xf1\x90", ANSWER, (bytes([module]), b"\xf1"))
    messages, _ = isotp.reassemble(frames_of(timed(frames)))
    assert messages.address.tolist() == [0x12, 0xF1, 0x40, 0xF1]


def test_mixed_addressing_of_29_bit() -> None:
    frames = exchange(0x18CE10F1, 0x18CEF110, b"\x22\xf1\x90", ANSWER, (b"\x99", b"\x99"))
    messages, _ = isotp.reassemble(frames_of(timed(frames)))
    assert payloads(messages) == [(0x18CE10F1, b"\x22\xf1\x90"), (0x18CEF110, ANSWER)]
    assert messages.address.tolist() == [0x99, 0x99]


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_random_broadcasts_hold_no_message(seed: int) -> None:
    """Constants, counters, pages and noise that read as control information, on many identifiers."""
    rng = np.random.default_rng(seed)
    rows: list[Row] = []
    for can_id in rng.choice(0x700, 30, replace=False).tolist():
        count = int(rng.integers(5, 60))
        data = np.tile(rng.integers(0, 256, 8), (count, 1))
        data[:, 0] = rng.integers(0, 0x33)
        style = rng.integers(0, 5)
        if style == 1:
            data[:, 0] = 0x20 + np.arange(count) % 16
        elif style == 2:
            data[:, 0] = np.resize([0x10, 0x21, 0x22], count)
        elif style == 3:
            data[:, 0] = rng.integers(1, 8, count)
            data[:, 1] = rng.integers(0, 256, count)
        elif style == 4:
            data[:, 1] = 0x20 + np.arange(count) % 16
        period = float(rng.choice([0.01, 0.02, 0.1]))
        rows += [(k * period + can_id * 1e-6, can_id, bytes(row)) for k, row in enumerate(data.astype(np.uint8))]
    messages, remarks = isotp.reassemble(frames_of(sorted(rows)))
    assert len(messages) == 0
    assert remarks == ()


def test_pages_beside_a_constant_that_reads_as_flow_control() -> None:
    """Pages 10, 21, 22 of one identifier and a constant 30 of another, in step: whole messages but for their sense."""
    pages = [b"\x10\x0f\x62\xf1" + bytes(4), b"\x21" + bytes(7), b"\x22" + bytes(7)]
    frames = []
    for _ in range(20):
        for page in pages:
            frames += [(0x300, page), (0x301, FLOW), (0x302, b"\x03\x22\xf2" + bytes(5))]
    messages, _ = isotp.reassemble(frames_of(timed(frames)))
    assert len(messages) == 0


def test_a_identifier_in_other_use() -> None:
    """A counter on 7E8 passes through the control bytes too: a quarter of it would read as frames."""
    broadcast = [(0x7E8, bytes([k % 256, 7, 7, 7, 7, 7, 7, 7])) for k in range(512)]
    messages, (remark,) = isotp.reassemble(frames_of(timed([*broadcast, (0x7E9, b"\x02\x41\x0c")])))
    assert payloads(messages) == [(0x7E9, b"\x41\x0c")]
    assert (remark.kind, remark.count) == ("identifier_in_other_use", 512)


@pytest.mark.parametrize(
    "file",
    [
        "broadcast_petrol/coolant_sensor_unplugged.log",
        "broadcast_petrol/engine_start.log",
        "broadcast_petrol/same_timestamps.log",
        "direction_flag/candump_rx_flag.log",
        "obd_can/j1939_heavy_c.log",
    ],
)
def test_real_broadcasts_hold_no_message(captures: Path, file: str) -> None:
    messages, remarks = isotp.reassemble(read_log(captures / file))
    assert len(messages) == 0
    assert remarks == ()


def test_real_pairs_outside_the_range(captures: Path) -> None:
    messages, _ = isotp.reassemble(read_log(captures / "obd_can" / "ev_uds_multiframe_b1.log"))
    assert set(messages.source.tolist()) == {0x7E4, 0x7EC, 0x7A0, 0x7A8, 0x7B3, 0x7BB}
