"""Messages of ISO 15765-2 by the compiled loop: the same as by columns where all is in order, else none at all."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from can_text import frames_of
from hypothesis import given, settings
from hypothesis import strategies as st
from isotp_frames import payloads, segment

from logan.model.frames import Frames, Messages
from logan.native import kernels
from logan.transport import isotp
from logan.transport.isotp_addressing import carriers

pytestmark = pytest.mark.skipif(not kernels.at_hand(), reason="llvmlite is not installed: pip install llvmlite")

IDS = [0x7E8, 0x7E9, 0x7E0, 0x18DAF110, 0x18DB33F1, 0x18CEF110]
GUARD = 64


def both_ways(frames: Frames) -> tuple[Messages | None, Messages, int]:
    """What the loop finds, what its twin finds, and how much the twin had to remark."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kernels, "pays", lambda _: False)
        twin, remarks = isotp.reassemble(frames)
        found = carriers(frames)
        patch.setattr(kernels, "pays", lambda _: True)
        return isotp._undisturbed(found), twin, len(remarks)


def assert_same(ours: Messages, twin: Messages) -> None:
    for name in Messages.__struct_fields__:
        one, other = getattr(ours, name), getattr(twin, name)
        assert one.dtype == other.dtype
        np.testing.assert_array_equal(one, other, name)


def mixed(sent: list[tuple[int, bytes]], order: list[int], pad: int | None) -> list[tuple[int, bytes]]:
    """Frames of messages, those of each sender in order, the senders mixed; each first frame has its flow control."""
    queues: dict[int, list[tuple[int, bytes]]] = {}
    for can_id, payload in sent:
        prefix = b"\x55" if can_id == 0x18CEF110 else b""
        frames = [(can_id, one) for one in segment(payload, prefix, pad=pad)]
        if len(frames) > 1:
            frames.insert(1, (0x7E1, b"\x30\x00\x00"))
        queues.setdefault(can_id, []).extend(frames)
    out = []
    for k in order:
        waiting = [queue for queue in queues.values() if queue]
        if waiting:
            out.append(waiting[k % len(waiting)].pop(0))
    return out + [one for queue in queues.values() for one in queue]


SENT = st.lists(st.tuples(st.sampled_from(IDS), st.binary(min_size=1, max_size=130)), min_size=1, max_size=8)


@given(SENT, st.lists(st.integers(0, 5), max_size=80), st.sampled_from([None, 0x00, 0xAA]))
@settings(max_examples=200, deadline=None)
def test_what_was_sent_comes_back(sent: list[tuple[int, bytes]], order: list[int], pad: int | None) -> None:
    frames = mixed(sent, order, pad)
    ours, twin, remarks = both_ways(frames_of([(0.01 * k, *one) for k, one in enumerate(frames)]))
    assert remarks == 0
    assert ours is not None
    assert sorted(payloads(ours)) == sorted(sent)
    assert_same(ours, twin)


@given(SENT, st.lists(st.integers(0, 5), max_size=80), st.data())
@settings(max_examples=300, deadline=None)
def test_where_a_frame_is_lost_doubled_moved_or_changed(
    sent: list[tuple[int, bytes]], order: list[int], data: st.DataObject
) -> None:
    """The loop finds what the twin finds, or leaves everything to it; it never says what the twin had to remark on."""
    frames = mixed(sent, order, data.draw(st.sampled_from([None, 0xAA])))
    at = data.draw(st.integers(0, len(frames) - 1))
    can_id, bytes_ = frames[at]
    place = data.draw(st.integers(0, len(bytes_) - 1))
    changed = (
        can_id,
        bytes_[:place] + bytes([data.draw(st.integers(0, 255))]) + bytes_[place + 1 :],
    )
    frames = data.draw(
        st.sampled_from(
            [
                frames[:at] + frames[at + 1 :],
                [*frames[: at + 1], *frames[at:]],
                [*frames[:at], *reversed(frames[at : at + 2]), *frames[at + 2 :]],
                [*frames[:at], changed, *frames[at + 1 :]],
                [*frames[:at], (can_id, bytes_[:place]), *frames[at + 1 :]],
            ]
        )
    )
    ours, twin, remarks = both_ways(frames_of([(0.01 * k, *one) for k, one in enumerate(frames)]))
    if ours is not None:
        assert remarks == 0
        assert_same(ours, twin)
    else:
        assert remarks


def test_more_streams_than_there_is_room_for() -> None:
    many = [(0x18DA0000 | k << 8 | 0xF1, b"\x02\x01\x0c") for k in range(65)]
    for count in (64, 65):
        ours, twin, _ = both_ways(frames_of([(0.01 * k, *one) for k, one in enumerate(many[:count])]))
        assert (ours is None) == (count == 65)
        assert len(twin) == count


def test_a_message_of_4095_bytes() -> None:
    payload = bytes(k % 251 for k in range(4095))
    ours, twin, _ = both_ways(frames_of([(0.01 * k, 0x7E8, one) for k, one in enumerate(segment(payload))]))
    assert ours is not None
    assert payloads(ours) == [(0x7E8, payload)]
    assert_same(ours, twin)


def guarded(size: int, kind: type) -> np.ndarray[Any, np.dtype[Any]]:
    """An array between zones that nobody may write to."""
    whole = np.full(size + 2 * GUARD, 0x5A, kind)
    return whole[GUARD:-GUARD]


def test_no_frame_makes_it_leave_its_arrays() -> None:
    random = np.random.default_rng(3)
    for turn in range(300):
        n = int(random.integers(1, 400))
        data = random.integers(0, 2**64, n, np.uint64, endpoint=False)
        low = random.choice([0x01, 0x07, 0x10, 0x1F, 0x30] if turn % 2 else [0x07, 0x10], n).astype(np.uint64)
        nth = np.arange(n) & 15 | 0x20
        is_next = random.random(n) < 0.9  # long receptions, most of their frames in order
        data = data & ~np.uint64(0xFF) | np.where(is_next & (nth > 0x20 if turn % 3 else True), nth, low).astype("u8")
        length = np.full(n, 8, np.uint8) if turn % 4 else random.integers(0, 256, n).astype(np.uint8)
        offset = np.zeros(n, np.uint8) if turn % 5 else random.integers(0, 3, n).astype(np.uint8)
        stream = random.integers(0, 1 + turn % 3, n)
        streams, held = 3, 64
        of_streams = [guarded(streams, np.int64) for _ in range(6)]
        store = guarded(streams * held, np.uint8)
        rows = [guarded(n, np.int64) for _ in range(4)]
        blob = guarded(n, np.uint8)  # less than there may be
        kernels._run("isotp", data, length, offset, stream, n, streams, 0, *of_streams, store, held, *rows, blob, n)
        for inner in (*of_streams, store, *rows, blob):
            whole = inner.base
            assert whole is not None
            assert (whole[:GUARD] == 0x5A).all()
            assert (whole[-GUARD:] == 0x5A).all()


def test_sizes_that_do_not_fit_are_refused() -> None:
    one, word = np.ones(1, np.uint8), np.zeros((1, 8), np.uint8)
    with pytest.raises(ValueError, match="do not fit"):
        kernels.isotp(word, one, np.ones(2, np.uint8), np.ones(1, np.int64))
    with pytest.raises(ValueError, match="do not fit"):
        kernels.isotp(word[:, :7], one, one, np.ones(1, np.int64))
    with pytest.raises(ValueError, match="do not fit"):
        kernels.places_of_slots(np.array([0, 0], np.uint16), np.array([5]), 1)
    with pytest.raises(ValueError, match="do not fit"):
        kernels.places_of_slots(np.array([0, 3], np.uint16), np.array([5]), 1)
    with pytest.raises(ValueError, match="do not fit"):
        kernels.places_of_slots(np.array([0, 0], np.uint16), np.array([-1]), 1)
