"""Broadcast decoding against cantools, frame by frame, on random data bases; J1939 matching and special values."""

from __future__ import annotations

import copy
import math
import pickle
from dataclasses import replace
from pathlib import Path

import cantools.database
import numpy as np
import pytest
from can_text import frames_of, read_log
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logan import parallel
from logan.decode import broadcast, dbc, extract
from logan.decode.plan import Condition, MessagePlan, SignalPlan
from logan.model.channel import Channel, Deferred
from logan.model.frames import ERROR, REMOTE
from logan.native import kernels


@pytest.fixture(autouse=True, params=["short", "long"])
def ways(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test as in a short log, and as in a long one: by two threads, by compiled loops, values made on demand."""
    if request.param == "long":
        monkeypatch.setattr(parallel, "MANY", 0)
        monkeypatch.setattr(extract, "_LONG_ROWS", 0)
        monkeypatch.setattr(kernels, "pays", lambda _: kernels.at_hand())


@st.composite
def signal_lines(draw: st.DrawFn, name: str, begin: int, size: int, mux: str, float_types: list[str]) -> str:
    """A signal within some bytes of its own: cantools cannot unpack signals that overlap."""
    is_float = size >= 4 and draw(st.integers(0, 9)) == 0
    length = 32 if is_float else draw(st.integers(1, min(64, 8 * size)))
    first = draw(st.integers(8 * begin, 8 * (begin + size) - length))
    big_endian = draw(st.booleans())
    sign = "-" if is_float or draw(st.booleans()) else "+"
    scale, offset = draw(st.sampled_from(["1,0", "0.25,0", "0.1,-40", "2,7", "-0.5,100.5"])).split(",")
    if is_float:
        float_types.append(f"SIG_VALTYPE_ {{id}} {name} : 1;\n")
    start = first ^ 7 if big_endian else first
    return f' SG_ {name} {mux}: {start}|{length}@{0 if big_endian else 1}{sign} ({scale},{offset}) [0|0] "u" ECU\n'


@st.composite
def databases(draw: st.DrawFn) -> tuple[str, list[tuple[float, int, bytes]]]:
    text = 'VERSION ""\n\nBU_: ECU\n\n'
    tail = ""
    sizes: dict[int, int] = {}
    for k in range(draw(st.integers(1, 3))):
        can_id = draw(st.integers(0, 0x7FF) | st.integers(0x800, 0x1FFFFFFF))
        if can_id in sizes:
            continue
        width = sizes[can_id] = draw(st.sampled_from([7, 8, 24]))
        number = can_id | (1 << 31 if can_id > 0x7FF else 0)
        multiplexed = draw(st.sampled_from(["", "simple", "extended"]))
        floats: list[str] = []
        text += f"BO_ {number} M{k}: {width} ECU\n"
        if multiplexed:
            text += ' SG_ Page M : 0|2@1+ (1,0) [0|0] "" ECU\n'
        if multiplexed == "extended":
            text += ' SG_ Sub m1M : 8|2@1+ (1,0) [0|0] "" ECU\n'
            tail += f"SG_MUL_VAL_ {number} Sub Page 1-2;\n"
        count = draw(st.integers(1, 4))
        size = (width - 2) // count
        for j in range(count):
            mux = ""
            if multiplexed and draw(st.booleans()):
                page = draw(st.integers(0, 2))
                mux = f"m{page} "
                if multiplexed == "extended":
                    above, low, high = draw(st.sampled_from([("Page", 0, 1), ("Sub", 0, 1), ("Sub", 2, 3)]))
                    mux = f"m{low} "
                    tail += f"SG_MUL_VAL_ {number} S{j} {above} {low}-{high};\n"
            text += draw(signal_lines(f"S{j}", 2 + j * size, size, mux, floats))
        tail += "".join(floats).format(id=number)
        text += "\n"
    ids = st.sampled_from(sorted(sizes))
    rows = [
        (0.01 * k, can_id, draw(st.binary(min_size=sizes[can_id], max_size=sizes[can_id])))
        for k, can_id in enumerate(draw(st.lists(ids, min_size=1, max_size=12)))
    ]
    return text + tail, rows


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(databases())
def test_same_as_cantools(tmp_path: Path, case: tuple[str, list[tuple[float, int, bytes]]]) -> None:
    text, rows = case
    path = tmp_path / "random.dbc"
    path.write_text(text)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path / "no" / "cache"))
        plans, _ = dbc.load([path])
    oracle = cantools.database.load_string(text, "dbc", strict=False)
    expected: dict[str, list[tuple[float, float]]] = {}
    unknown_page: set[float] = set()
    for t, can_id, payload in rows:
        message = oracle.get_message_by_frame_id(can_id)
        try:
            values = message.decode(payload, decode_choices=False)
        except cantools.database.DecodeError:
            unknown_page.add(t)
            continue
        for name, value in values.items():
            expected.setdefault(f"DBC {message.name}.{name}", []).append((t, float(value)))
    channels, remarks = broadcast.decode(frames_of(rows), plans, "f")
    assert remarks == []
    got = {c.source: list(zip(c.t_s.tolist(), c.value.tolist(), strict=True)) for c in channels}
    for source in expected.keys() | got.keys():
        ours = [(t, v) for t, v in got.get(source, []) if t not in unknown_page]
        theirs = expected.get(source, [])
        assert [t for t, _ in ours] == [t for t, _ in theirs], source
        np.testing.assert_allclose([v for _, v in ours], [v for _, v in theirs], rtol=1e-15)


def plan(*signals: SignalPlan, frame_id: int = 0x100, pgn: int | None = None, length: int = 8) -> MessagePlan:
    return MessagePlan(
        frame_id=frame_id, extended=frame_id > 0x7FF, name="M", length_bytes=length, signals=signals, pgn=pgn
    )


SPEED = SignalPlan(name="Speed", start_bit=24, length=16, scale=0.125, unit="rpm")
EEC1 = plan(SPEED, frame_id=0x0CF004FE, pgn=61444)


def payload(speed: int) -> bytes:
    return bytes(3) + speed.to_bytes(2, "little") + bytes(3)


def test_values_on_demand_are_values(request: pytest.FixtureRequest) -> None:
    rows = [(0.1 * k, 0x100, payload(8 * k)) for k in range(5)]
    (channel,), _ = broadcast.decode(frames_of(rows), [plan(SPEED)], "f")
    assert isinstance(channel, Deferred) == request.node.name.endswith("[long]")
    plain = Channel("Speed", "rpm", channel.t_s, np.arange(5.0), source="DBC M.Speed", file="f")
    if isinstance(channel, Deferred):
        assert channel.extent() == (0.0, 2.0, 4.0)
    for same in (channel, replace(channel, ecu="x"), copy.deepcopy(channel), pickle.loads(pickle.dumps(channel))):
        np.testing.assert_array_equal(same.value, plain.value)
        assert same.value is same.value
        assert (same.name, same.unit, same.source, same.file) == ("Speed", "rpm", "DBC M.Speed", "f")
        np.testing.assert_array_equal(same.at(np.array([0.05])), [0.5])


@pytest.mark.parametrize(
    ("signal", "may_wait"),
    [
        (SPEED, True),
        (SignalPlan(name="S", start_bit=0, length=32, is_float=True), False),
        (SignalPlan(name="S", start_bit=0, length=64, scale=1e300), False),
        (SignalPlan(name="S", start_bit=60, length=16), False),
        (SignalPlan(name="S", start_bit=0, length=8, offset=math.nan), False),
    ],
)
def test_only_numbers_wait(signal: SignalPlan, may_wait: bool) -> None:
    assert extract.can_wait(signal) == may_wait


def test_j1939_senders_and_priorities() -> None:
    rows = [(0.0, 0x0CF00400, payload(8000)), (0.1, 0x0CF00401, payload(80)), (0.2, 0x18F00400, payload(8008))]
    channels, _ = broadcast.decode(frames_of(rows), [EEC1], "f")
    assert {c.ecu: (c.t_s.tolist(), c.value.tolist()) for c in channels} == {
        "SA 00": ([0.0, 0.2], [1000.0, 1001.0]),
        "SA 01": ([0.1], [10.0]),
    }


def test_pdu1_ignores_the_destination() -> None:
    tsc1 = plan(SPEED, frame_id=0x0C0000FE, pgn=0)
    rows = [(0.0, 0x0C000021, payload(8)), (0.1, 0x0C000F21, payload(16)), (0.2, 0x0C010F21, payload(24))]
    (channel,), _ = broadcast.decode(frames_of(rows), [tsc1], "f")
    assert channel.value.tolist() == [1.0, 2.0]


def test_exact_identifier_beats_parameter_group() -> None:
    mine = plan(SignalPlan(name="Mine", start_bit=0, length=8), frame_id=0x0CF00400)
    (channel,), _ = broadcast.decode(frames_of([(0.0, 0x0CF00400, payload(8))]), [EEC1, mine], "f")
    assert channel.name == "Mine"


# SAE J1939-71, 5.1.4: FFxx / 11 not available, FExx / 10 error, up to FAxx valid; FBxx..FDxx mean what a parameter says
@pytest.mark.parametrize(
    ("length", "raw", "reason"),
    [
        *((length, raw, broadcast.NOT_AVAILABLE) for length, raw in
          [(16, 0xFFFF), (16, 0xFF00), (8, 0xFF), (32, 0xFF000000), (4, 15), (2, 3)]),
        *((length, raw, broadcast.ERROR_INDICATED) for length, raw in
          [(16, 0xFEFF), (8, 0xFE), (32, 0xFE000001), (2, 2)]),
        *((length, raw, None) for length, raw in [(16, 0xFDFF), (8, 0xFA), (4, 14), (2, 1), (1, 1)]),
    ],
)  # fmt: skip
def test_j1939_special_values(length: int, raw: int, reason: str | None) -> None:
    signal = SignalPlan(name="S", start_bit=8, length=length)
    rows = [(0.0, 0x0CF00400, (raw << 8).to_bytes(8, "little")), (0.1, 0x0CF00400, bytes(8))]
    (channel,), _ = broadcast.decode(frames_of(rows), [plan(signal, frame_id=0x0CF004FE, pgn=61444)], "f")
    assert channel.invalid == ({} if reason is None else {reason: 1})
    assert math.isnan(channel.value[0]) == (reason is not None)
    assert channel.value[1] == 0.0
    plain, _ = broadcast.decode(frames_of(rows), [plan(signal, frame_id=0x0CF00400)], "f")
    assert plain[0].value[0] == raw


def test_a_page_that_no_signal_has() -> None:
    page = SignalPlan(name="Page", start_bit=0, length=8)
    paged = SignalPlan(name="Paged", start_bit=8, length=8, multiplexing=(Condition("Page", ((1, 3), (7, 7))),))
    rows = [(float(k), 0x100, bytes([k, 10 + k])) for k in range(10)]
    (every, some), _ = broadcast.decode(frames_of(rows), [plan(page, paged, length=2)], "f")
    assert every.value.tolist() == list(range(10))
    assert some.t_s.tolist() == [1.0, 2.0, 3.0, 7.0]
    assert some.value.tolist() == [11.0, 12.0, 13.0, 17.0]


def test_a_frame_too_short_for_its_page_number_is_on_no_page() -> None:
    page = SignalPlan(name="Page", start_bit=32, length=8)
    paged = SignalPlan(name="Paged", start_bit=0, length=8, multiplexing=(Condition("Page", ((0, 0),)),))
    rows = [(0.0, 0x100, b"\x05\x00\x00\x00\x00"), (0.1, 0x100, b"\x06")]
    channels, _ = broadcast.decode(frames_of(rows), [plan(page, paged, length=5)], "f")
    assert [c.value.tolist() for c in channels if c.name == "Paged"] == [[5.0]]


def test_short_frames_are_counted_and_located() -> None:
    rows = [(0.0, 0x100, bytes(8)), (1.5, 0x100, bytes(4)), (2.0, 0x100, bytes(5))]
    (channel,), (remark,) = broadcast.decode(frames_of(rows), [plan(SPEED)], "f.log")
    assert np.isnan(channel.value).tolist() == [False, True, False]
    assert channel.invalid == {broadcast.TOO_SHORT: 1}
    assert (remark.kind, remark.count, remark.file) == ("short_frame", 2, "f.log")
    assert remark.places == ("t = 1.500 s, id 100", "t = 2.000 s, id 100")


def test_error_and_remote_frames_hold_no_signals() -> None:
    rows = [(0.0, 0x100, payload(8)), (0.1, 0x100, payload(16)), (0.2, 0x100, payload(24))]
    (channel,), remarks = broadcast.decode(frames_of(rows, flags=[ERROR, 0, REMOTE]), [plan(SPEED)], "f")
    assert channel.value.tolist() == [2.0]
    assert remarks == []


def test_wanted_signals_only() -> None:
    other = SignalPlan(name="Other", start_bit=0, length=8)
    frames = frames_of([(0.0, 0x100, payload(8))])
    for wanted in ({"Other"}, {"M.Other"}):
        channels, _ = broadcast.decode(frames, [plan(SPEED, other)], "f", wanted)
        assert [c.name for c in channels] == ["Other"]
    assert broadcast.decode(frames, [plan(SPEED, other)], "f", {"absent"}) == ([], [])


def test_one_identifier_on_two_buses_is_two_senders() -> None:
    rows = [(0.0, 0x100, payload(8)), (0.1, 0x100, payload(16))]
    channels, _ = broadcast.decode(frames_of(rows, bus=[0, 1], buses=("can0", "can1")), [plan(SPEED)], "f")
    assert [(c.ecu, c.value.tolist()) for c in channels] == [("can0", [1.0]), ("can1", [2.0])]


def test_times_ascend_and_labels_are_physical() -> None:
    signal = SignalPlan(name="S", start_bit=0, length=8, offset=-1.0, labels={0: "none", 3: "two"})
    rows = [(0.2, 0x100, b"\x03"), (0.1, 0x100, b"\x00")]
    (channel,), _ = broadcast.decode(frames_of(rows), [plan(signal, length=1)], "f")
    assert channel.t_s.tolist() == [0.1, 0.2]
    assert channel.value.tolist() == [-1.0, 2.0]
    assert channel.labels == {-1: "none", 2: "two"}


def test_real_j1939_capture(captures: Path) -> None:
    """Engine speed 646.5 to 653.8 rpm, road speed 0: read by independent programs (list beside the captures)."""
    plans, _ = dbc.load([captures / "obd_can" / "j1939_demo.dbc"])
    channels, _ = broadcast.decode(read_log(captures / "obd_can" / "j1939_heavy_c.log"), plans, "f")
    speed = next(c for c in channels if c.name == "EngineSpeed")
    assert speed.value.min() == pytest.approx(646.5, abs=0.05)
    assert speed.value.max() == pytest.approx(653.8, abs=0.05)
    road = next(c for c in channels if c.name == "WheelBasedVehicleSpeed")
    assert np.nanmax(road.value) == 0.0
