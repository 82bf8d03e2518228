"""Crank / cam / pump recordings: edge lists, level changes, voltages, VCD and WAV."""

from __future__ import annotations

import struct
import tracemalloc
import wave
from pathlib import Path

import numpy as np
import pytest
import scipy.io.wavfile
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.capture import read, sensor_vcd
from logan.errors import CaptureError
from logan.model.capture import Capture
from logan.model.sensor import Edges, Waveform


def edges_of(capture: Capture) -> Edges:
    assert isinstance(capture.content, Edges)
    return capture.content


def waveform_of(capture: Capture) -> Waveform:
    assert isinstance(capture.content, Waveform)
    return capture.content


def written(folder: Path, text: str | bytes, name: str = "sensor.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def test_edge_list_of_the_contract(tmp_path: Path) -> None:
    text = "# engine: training diesel\n# start: 1700000000.25\ntime_s,channel,edge\n0.0010,crank,rising\n"
    text += "0.0015,crank,falling\n"
    capture = read(written(tmp_path, text + "0.0020,cam,falling\n0.0030,pump,rising\n0.0035,Crank,Rising\n"))
    edges = edges_of(capture)
    assert edges.rising_s["crank"].tolist() == [0.001, 0.0035]
    assert edges.falling_s["crank"].tolist() == [0.0015]
    assert edges.falling_s["cam"].tolist() == [0.002]
    assert edges.rising_s["pump"].tolist() == [0.003]
    assert (capture.frames, capture.rejected, capture.remarks) == (5, 0, ())
    assert (edges.absolute, edges.origin_ns) == (True, 1_700_000_000_250_000_000)
    assert capture.start == pytest.approx(1_700_000_000.251)
    assert capture.metadata["engine"] == "training diesel"
    assert edges.resolution_s == pytest.approx(5e-4)


def test_bad_rows_of_an_edge_list_are_counted(tmp_path: Path) -> None:
    text = "time_s,channel,edge\n0.1,crank,rising\nx,crank,rising\n0.2,flywheel,rising\n0.3,crank,sideways\n"
    capture = read(written(tmp_path, text + "0.4,crank,falling\n0.5,cr"))
    assert (capture.frames, capture.rejected) == (2, 4)
    assert {r.kind for r in capture.remarks} == {"bad_value", "bad_time", "bad_word", "short_row", "cut_value"}


def test_sensors_listed_one_after_the_other_are_merged(tmp_path: Path) -> None:
    rows = [(k / 100, "crank", "rising") for k in range(500)] + [(k / 10, "cam", "falling") for k in range(50)]
    capture = read(written(tmp_path, "time_s,channel,edge\n" + "".join(f"{t},{c},{e}\n" for t, c, e in rows)))
    assert edges_of(capture).falling_s["cam"].tolist() == [k / 10 for k in range(50)]
    assert (capture.frames, capture.rejected, capture.remarks) == (550, 0, ())


@pytest.mark.parametrize(
    "heading",
    [
        "time_s,crank,cam\n",
        "Time [s],crank,cam\n",
        "timestamp,pri,sec\n",
        "Time[s], Channel 0, Channel 1\n",
        "time, CKP, CMP\n",
        "",
    ],
)
def test_level_changes_under_many_headings(tmp_path: Path, heading: str) -> None:
    capture = read(written(tmp_path, heading + "5.0,0,0\n5.1,1,0\n5.2,0,0\n5.3,1,1\n5.4,1,1\n5.5,0,1\n"))
    edges = edges_of(capture)
    assert edges.rising_s["crank"].tolist() == [5.1, 5.3]
    assert edges.falling_s["crank"].tolist() == [5.2, 5.5]
    assert edges.rising_s["cam"].tolist() == [5.3]
    assert edges.resolution_s == pytest.approx(0.1)
    assert bool(capture.remarks) == ("Channel" in heading or not heading)


def test_voltages(tmp_path: Path) -> None:
    text = "# start: 2023-11-14T22:13:20Z\ntime_s,crank_v,cam_v,pump_v\n0,0,1.5,-1e-1\n0.001,2.5,1,0\n0.002,-2.5,x,1\n"
    capture = read(written(tmp_path, text))
    waveform = waveform_of(capture)
    assert list(waveform.volts) == ["crank", "cam", "pump"]
    assert waveform.t_s.tolist() == [0, 0.001, 0.002]
    assert waveform.volts["crank"].tolist() == [0, 2.5, -2.5]
    assert np.isnan(waveform.volts["cam"][2])
    assert (waveform.absolute, capture.start, capture.duration_s) == (True, 1_700_000_000.0, 0.002)
    assert [(r.kind, r.places) for r in capture.remarks] == [("bad_value", ("line 5",))]


def test_milliseconds_semicolons_and_decimal_commas(tmp_path: Path) -> None:
    waveform = waveform_of(read(written(tmp_path, "time [ms];crank [V];cam [V]\n0,5;1,25;0\n1,0;-1,25;0\n1,5;0;5\n")))
    assert waveform.t_s.tolist() == [0.0005, 0.001, 0.0015]
    assert waveform.volts["crank"].tolist() == [1.25, -1.25, 0]


VCD = b"""$date today $end
$comment start: 1700000000 $end
$timescale 1 us $end
$scope module logic $end
$var wire 1 ! crank $end
$var wire 1 " cam $end
$var wire 8 # bus $end
$upscope $end
$enddefinitions $end
#0
$dumpvars
0! x" b00000000 #
$end
#100
1!
#150 0! 1"
#1000000
b1 ! 0"
"""


def test_a_dump_of_a_whole_circuit_takes_no_memory_for_what_names_no_sensor(tmp_path: Path) -> None:
    wires = "".join(f"$var wire 1 a{k} net{k} $end\n" for k in range(2000)).encode()
    toggles = b"".join(b"#%d\n%da7\n" % (2_000_000 + k, k % 2) for k in range(20_000))
    content = VCD.replace(b"$upscope", wires + b"$upscope") + toggles
    tracemalloc.start()
    capture = read(written(tmp_path, content, "logic.vcd"))
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 40 * len(content)
    assert edges_of(capture).rising_s["crank"].tolist() == [1e-4, 1.0]
    (left,) = (remark for remark in capture.remarks if remark.kind == "signals_left_out")
    assert left.count == 2000


def test_value_change_dump(tmp_path: Path) -> None:
    capture = read(written(tmp_path, VCD, "logic.txt"))
    edges = edges_of(capture)
    assert edges.rising_s["crank"].tolist() == [1e-4, 1.0]
    assert edges.falling_s["crank"].tolist() == [1.5e-4]
    assert edges.falling_s["cam"].tolist() == [1.0]
    assert (capture.format, edges.absolute, capture.start) == (
        "sensor edges, VCD",
        True,
        pytest.approx(1_700_000_000.0001),
    )


@pytest.mark.parametrize(("scale", "step_s"), [(b"10 ns", 1e-8), (b"1 ms", 1e-3), (b"100ps", 1e-10)])
def test_time_scales(tmp_path: Path, scale: bytes, step_s: float) -> None:
    edges = edges_of(read(written(tmp_path, VCD.replace(b"1 us", scale), "logic.vcd")))
    assert edges.rising_s["crank"] == pytest.approx([100 * step_s, 1_000_000 * step_s])


def test_of_two_changes_at_one_time_the_last_one_counts(tmp_path: Path) -> None:
    changes = (
        "#0 0! #10 1! #20 0! 1! #30 1! 0! #40 1!"  # a dump lists changes in their order (IEEE 1364-2005 clause 18)
    )
    edges = edges_of(read(written(tmp_path, VCD.decode().partition("#0")[0] + changes, "logic.vcd")))
    assert edges.rising_s["crank"] == pytest.approx([10e-6, 40e-6])
    assert edges.falling_s["crank"] == pytest.approx([30e-6])


@pytest.mark.parametrize("piece", [1, 7, 40, 300])
def test_a_dump_read_in_pieces_is_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, piece: int) -> None:
    random = np.random.default_rng(3)
    lines = [random.choice([f"#{t * 10}", "0!", "1!", '1"', '0"', "b1 !", "x!", "#bad"]) for t in range(100, 1300)]
    path = written(tmp_path, VCD.decode().partition("#1000000")[0] + "\n".join(lines), "logic.vcd")
    whole = read(path)
    monkeypatch.setattr(sensor_vcd, "_PIECE_BYTES", piece)
    cut = read(path)
    assert whole.frames > 50
    assert {s: t.tolist() for s, t in edges_of(cut).rising_s.items()} == {
        s: t.tolist() for s, t in edges_of(whole).rising_s.items()
    }
    assert {s: t.tolist() for s, t in edges_of(cut).falling_s.items()} == {
        s: t.tolist() for s, t in edges_of(whole).falling_s.items()
    }
    assert [(r.kind, r.count) for r in cut.remarks] == [(r.kind, r.count) for r in whole.remarks]


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200), st.integers(0, len(VCD)))
def test_damaged_dumps_never_break_the_program(tmp_path_factory: pytest.TempPathFactory, junk: bytes, at: int) -> None:
    path = written(tmp_path_factory.mktemp("vcd"), VCD[:at] + junk + VCD[at:], "logic.vcd")
    try:
        capture = read(path)
    except CaptureError:
        return
    assert capture.frames >= 0


@pytest.mark.parametrize("kind", ["int16", "int32", "float32", "uint8"])
def test_wav_against_scipy(tmp_path: Path, kind: str) -> None:
    rng = np.random.default_rng(1)
    samples = rng.uniform(-1, 1, (4800, 2))
    stored = {
        "int16": (samples * 32767).astype("<i2"), "int32": (samples * (2**31 - 1)).astype("<i4"),
        "float32": samples.astype("<f4"), "uint8": (samples * 127 + 128).astype("u1"),
    }[kind]  # fmt: skip
    path = tmp_path / "drive.wav"
    scipy.io.wavfile.write(path, 48_000, stored)
    rate, theirs = scipy.io.wavfile.read(path)
    full = {"int16": 2**15, "int32": 2**31, "float32": 1, "uint8": 2**7}[kind]
    waveform = waveform_of(read(path))
    assert list(waveform.volts) == ["crank", "cam"]
    for k, name in enumerate(waveform.volts):
        expected = (theirs[:, k].astype(float) - (128 if kind == "uint8" else 0)) / full
        assert waveform.volts[name] == pytest.approx(expected, abs=1e-7)
    assert waveform.t_s == pytest.approx(np.arange(4800) / rate, abs=0)


def test_wav_of_24_bits_against_the_standard_library(tmp_path: Path) -> None:
    values = [0, 1, -1, 2**23 - 1, -(2**23), 123456, -654321]
    path = tmp_path / "drive.wav"
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(3)
        out.setframerate(44_100)
        out.writeframes(b"".join(value.to_bytes(3, "little", signed=True) for value in values))
    capture = read(path)
    assert np.asarray(waveform_of(capture).volts["crank"]).tolist() == [np.float32(value / 2**23) for value in values]
    assert capture.format == "sensor waveform, WAV, 24 bits, 44100 Hz"


def test_wav_whose_recorder_lost_power(tmp_path: Path) -> None:
    path = tmp_path / "drive.wav"
    scipy.io.wavfile.write(path, 1000, np.arange(300, dtype="<i2").reshape(100, 3))
    whole = path.read_bytes()
    at = whole.index(b"data") + 4
    for size in (b"\0\0\0\0", b"\xff\xff\xff\xff"):
        path.write_bytes(whole[:at] + size + whole[at + 4 : -7])
        capture = read(path)
        assert capture.frames == 98
        assert {r.kind for r in capture.remarks} == {"damaged", "cut_sample", "full_scale"}
        assert waveform_of(capture).volts["pump"] == pytest.approx(np.arange(2, 296, 3) / 2**15)


def test_wav_of_an_unknown_sample_format_is_refused(tmp_path: Path) -> None:
    form = struct.pack("<HHIIHH", 2, 1, 8000, 8000, 1, 4)
    body = b"WAVE" + b"fmt " + struct.pack("<I", 16) + form + b"data" + struct.pack("<I", 4) + b"\0\0\0\0"
    with pytest.raises(CaptureError, match="sample format is not known"):
        read(written(tmp_path, b"RIFF" + struct.pack("<I", len(body)) + body, "drive.wav"))


LEVEL_CHANGES = {
    "cranking_b": (128, 64), "cranking_c_24plus1_cas": (415, 16), "cranking_d": (966, 225),
    "cranking_e_no_plugs_1": (249,), "cranking_f_3": (98, 48), "cranking_g_24x": (133,), "cranking_h_good": (711, 265),
    "cranking_i_8channels_60_2": (5155, 40), "noisy_trigger_1": (537,), "running_a": (2011, 35),
    "running_k_3tooth_cam": (1513, 66),
}  # fmt: skip
"""Level changes of crank and cam, counted by an independent reader."""


def test_level_changes_of_real_recordings(captures: Path) -> None:
    found = {}
    for name in LEVEL_CHANGES:
        edges = edges_of(read(captures / "crank_cam" / f"{name}.csv"))
        found[name] = tuple(
            len(edges.rising_s[s]) + len(edges.falling_s[s]) for s in ("crank", "cam") if s in edges.rising_s
        )
    assert found == LEVEL_CHANGES


@pytest.mark.parametrize(
    ("name", "samples", "rejected", "low", "high"),
    [
        ("vr_adc_1000", 3999, 1, -1.8, 8.2),
        ("vr_adc_real1", 60000, 0, 2.14, 4.98),
        ("vr_adc_real2", 60000, 0, -1.54, 8.66),
    ],
)
def test_real_voltages(captures: Path, name: str, samples: int, rejected: int, low: float, high: float) -> None:
    capture = read(captures / "crank_cam" / f"{name}.csv")
    volts = np.asarray(waveform_of(capture).volts["crank"])
    assert (capture.frames, capture.rejected) == (samples, rejected)
    assert (float(volts.min()), float(volts.max())) == pytest.approx((low, high))


def test_stamps_of_unix_time_keep_their_microseconds(tmp_path: Path) -> None:
    rows = "".join(f"1700000000.{k * 37:06d},crank,{'rising' if k % 2 else 'falling'}\n" for k in range(200))
    edges = edges_of(read(written(tmp_path, "time_s,channel,edge\n" + rows)))
    assert edges.resolution_s == pytest.approx(37e-6)
    assert edges.rising_s["crank"].tolist() == [k * 37 / 1e6 for k in range(1, 200, 2)]
    rows = "".join(f"{1_700_000_000_000_000_000 + k * 37},{k % 2}\n" for k in range(200))
    edges = edges_of(read(written(tmp_path, "time [ns],crank\n" + rows)))
    assert (edges.resolution_s, edges.origin_ns) == (pytest.approx(37e-9), 1_700_000_000_000_000_000)


def test_endless_voltages_are_counted(tmp_path: Path) -> None:
    capture = read(written(tmp_path, "time_s,crank_v,cam_v\n0,1,inf\n0.001,-inf,2\n0.002,3,4\n"))
    volts = waveform_of(capture).volts
    assert np.isnan(np.array([volts["crank"][1:2], volts["cam"][:1]])).all()
    assert sum(r.count for r in capture.remarks if r.kind == "bad_value") == 2


def test_two_columns_of_one_name_are_said_to_be_two(tmp_path: Path) -> None:
    capture = read(written(tmp_path, "time_s,crank,crank\n0,0,0\n1,1,0\n2,0,1\n"))
    assert [r.text for r in capture.remarks] == [
        "several signals named as the crank sensor: crank taken, crank left out"
    ]
    capture = read(written(tmp_path, "time_s,channel,edge,edge\n0,crank,rising,falling\n1,crank,falling,rising\n"))
    assert edges_of(capture).rising_s["crank"].tolist() == [0]
    assert [(r.kind, r.places) for r in capture.remarks] == [("same_heading", ("edge",))]


@pytest.mark.parametrize("heading", ["time_s,channel,edge\n", "time_s,crank,cam\n", "time_s,crank_v\n\n", "Time,rpm\n"])
def test_a_heading_without_rows_is_told_as_that(tmp_path: Path, heading: str) -> None:
    with pytest.raises(CaptureError, match="heading and no rows"):
        read(written(tmp_path, heading))


def _chunk(name: bytes, body: bytes) -> bytes:
    return name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) & 1)


def _wav(samples: bytes, tail: bytes = b"", form: bytes = struct.pack("<HHIIHH", 1, 1, 8000, 16000, 2, 16)) -> bytes:
    body = b"WAVE" + _chunk(b"fmt ", form) + _chunk(b"data", samples) + tail
    return b"RIFF" + struct.pack("<I", len(body)) + body


TEXTS = _chunk(b"LIST", b"INFO" + _chunk(b"ICRD", b"2023-11-14T22:13:20Z\0"))


def test_texts_behind_the_samples_of_a_wav(tmp_path: Path) -> None:
    whole = _wav(b"\1\0" * 50, TEXTS)
    capture = read(written(tmp_path, whole, "drive.wav"))
    assert (capture.frames, capture.start, {r.kind for r in capture.remarks}) == (50, 1_700_000_000.0, {"full_scale"})
    at = whole.index(b"data") + 4
    for size in (b"\0\0\0\0", b"\xff\xff\xff\xff"):
        capture = read(written(tmp_path, whole[:at] + size + whole[at + 4 :], "drive.wav"))
        assert (capture.frames, capture.start) == (50, 1_700_000_000.0)
        assert {r.kind for r in capture.remarks} == {"full_scale", "damaged"}


def test_a_wav_that_is_longer_than_it_says(tmp_path: Path) -> None:
    capture = read(written(tmp_path, _wav(b"\1\0" * 50) + b"junk", "drive.wav"))
    damage = [r for r in capture.remarks if r.kind == "damaged"]
    assert (capture.frames, [r.places for r in damage]) == (50, [("144 bytes in the header, 148 in the file",)])


def test_the_whole_identifier_of_an_extended_wav_counts(tmp_path: Path) -> None:
    rest = bytes.fromhex("000000001000800000aa00389b71")
    form = struct.pack("<HHIIHHHHIH", 0xFFFE, 1, 8000, 16000, 2, 16, 22, 16, 0, 1)
    assert read(written(tmp_path, _wav(b"\1\0" * 50, form=form + rest), "drive.wav")).frames == 50
    with pytest.raises(CaptureError, match="sample format is not known"):
        read(written(tmp_path, _wav(b"\1\0" * 50, form=form + b"x" + rest[1:]), "drive.wav"))


@pytest.mark.parametrize(("unit_s", "name"), [(1e-3, "milliseconds"), (1e-6, "microseconds"), (1e-9, "nanoseconds")])
@pytest.mark.parametrize("form", ["edges", "levels"])
def test_whole_numbers_of_time_in_front_of_edges(tmp_path: Path, form: str, unit_s: float, name: str) -> None:
    """36 teeth at 800 rpm: 2.08 ms from tooth to tooth; no engine has a second or more between its edges."""
    ticks = [round(k * 60 / 800 / 36 / 2 / unit_s) for k in range(400)]
    path = tmp_path / "edges.csv"
    if form == "edges":
        rows = [f"{tick},crank,{'rising' if k % 2 else 'falling'}" for k, tick in enumerate(ticks)]
        path.write_text("\n".join(["time,channel,edge", *rows]))
    else:
        path.write_text(
            "\n".join(["time,crank,cam", *(f"{tick},{k % 2},{k // 90 % 2}" for k, tick in enumerate(ticks))])
        )
    capture = read(path)
    assert capture.duration_s == pytest.approx(399 * 60 / 800 / 36 / 2, rel=0.01)
    (remark,) = (remark for remark in capture.remarks if remark.kind == "time_unit")
    assert name in remark.text


@pytest.mark.parametrize(
    ("teeth", "missing", "rpm", "unit_s", "name"),
    [
        (*wheel, unit_s, name)
        for wheel in ((60, 2, 100), (60, 2, 3000), (60, 2, 6000), (120, 2, 4500), (12, 1, 90), (360, 0, 2400))
        for unit_s, name in ((1e-3, "milliseconds"), (1e-6, "microseconds"), (1e-9, "nanoseconds"))
        if unit_s < 1e-3 or wheel[0] * wheel[2] <= 12_000  # whole milliseconds do not tell quicker teeth apart
    ],
)
def test_the_unit_of_edges_is_one_in_which_an_engine_turns(
    tmp_path: Path, teeth: int, missing: int, rpm: int, unit_s: float, name: str
) -> None:
    at = [
        turn + tooth / teeth + part / teeth
        for turn in range(40)
        for tooth in range(teeth - missing)
        for part in (0, 0.3)
    ]
    ticks = [round(one * 60 / rpm / unit_s) for one in at]
    rows = [f"{tick},crank,{'falling' if k % 2 else 'rising'}" for k, tick in enumerate(ticks)]
    path = tmp_path / "edges.csv"
    path.write_text("\n".join(["time,channel,edge", *rows]))
    capture = read(path)
    assert capture.duration_s == pytest.approx(at[-1] * 60 / rpm, rel=0.01)
    (remark,) = (remark for remark in capture.remarks if remark.kind == "time_unit")
    assert f"taken as {name}" in remark.text


def test_the_unit_of_voltages_is_one_in_which_teeth_are_seen(tmp_path: Path) -> None:
    path = tmp_path / "voltages.csv"
    path.write_text("time,crank_v\n" + "".join(f"{20 * k},{k % 7 / 2}\n" for k in range(10_000)))
    capture = read(path)
    assert capture.duration_s == pytest.approx(0.2, rel=1e-3)  # 50,000 values a second, not one every 20 s
    assert ["taken as microseconds" in remark.text for remark in capture.remarks] == [True]


def test_whole_seconds_under_a_heading_with_a_unit_stay_seconds(tmp_path: Path) -> None:
    path = tmp_path / "edges.csv"
    path.write_text("time_s,channel,edge\n" + "".join(f"{k},crank,rising\n" for k in range(30)))
    assert read(path).duration_s == 29
