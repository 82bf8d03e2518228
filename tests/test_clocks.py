"""Files of one drive on one axis: splits, zones, holes, clocks that jump, and recordings without a clock."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pytest

from logan.model.capture import Remark
from logan.model.channel import Channel
from logan.pipeline.analyse import analyse
from logan.pipeline.gather import Gathered, gather
from logan.simulate import simulation
from logan.simulate.spec import Bus, Form, Sensors, Spec


def log(path: Path, times: Iterable[float], first: int = 0) -> Path:
    """Answers to PID 0C (SAE J1979: rpm = number / 4) whose values count up from ``first``."""
    lines = [f"({t:.6f}) can0 7E8#04410C{4 * (800 + first + k):04X}AAAAAA\n" for k, t in enumerate(times)]
    path.write_text("".join(lines))
    return path


def speed(found: Gathered) -> list[Channel]:
    return [channel for channel in found.signals if channel.name == "engine_speed" or "0C" in channel.source]


def kinds(found: Gathered) -> dict[str, Remark]:
    return {remark.kind: remark for remark in found.remarks}


def test_parts_whose_relative_time_goes_on_are_one_recording(tmp_path: Path) -> None:
    one = log(tmp_path / "a.log", np.arange(0, 50, 0.5))
    two = log(tmp_path / "b.log", np.arange(50, 80, 0.5), first=100)
    for files in ([one, two], [two, one]):
        found = gather(files)
        (channel,) = speed(found)
        assert len(channel) == 160
        assert np.allclose(np.diff(channel.t_s), 0.5)
        assert np.all(np.diff(channel.value) == 1.0)
        assert kinds(found)["next_part"].file == "b.log"
        assert "0.500 s after the end of a.log" in kinds(found)["next_part"].text
        assert "no_common_clock" not in kinds(found)


def test_parts_with_times_of_day_go_on_after_midnight(tmp_path: Path) -> None:
    def part(name: str, begin: int, rows: int) -> Path:
        times = [divmod((begin + k) % 86_400, 60) for k in range(rows)]
        cells = [f"{m // 60:02d}:{m % 60:02d}:{s:02d},{800 + begin - 86_000 + k}" for k, (m, s) in enumerate(times)]
        (tmp_path / name).write_text("Time,Engine RPM [rpm]\n" + "\n".join(cells) + "\n")
        return tmp_path / name

    parts = [part("a.csv", 86_340, 60), part("b.csv", 86_400, 50), part("c.csv", 86_450, 40)]
    for files in (parts, parts[::-1]):
        (channel,) = gather(files).signals
        assert (len(channel), channel.t_s[0], channel.t_s[-1]) == (150, 86_340, 86_489)
        assert np.all(np.diff(channel.value) == 1.0)
    day = log(tmp_path / "day.log", np.arange(0.0, 86_400.0, 30.0))
    assert speed(gather([day]))[0].t_s[0] == 0.0
    late = part("d.csv", 86_400 + 300, 20)
    assert len(gather([parts[0], late]).signals) == 2  # five minutes later it may be another drive


def test_parts_of_one_name_in_two_folders_are_one_recording(tmp_path: Path) -> None:
    for name in "ab":
        (tmp_path / name).mkdir()
    one = log(tmp_path / "a" / "drive.log", np.arange(0, 50, 0.5))
    two = log(tmp_path / "b" / "drive.log", np.arange(50, 80, 0.5), first=100)
    (channel,) = speed(gather([one, two]))
    assert len(channel) == 160


def test_relative_times_that_start_anew_are_not_put_together(tmp_path: Path) -> None:
    two = log(tmp_path / "b.log", np.arange(0, 30, 0.5), first=300)
    found = gather([log(tmp_path / "a.log", np.arange(0, 50, 0.5)), two])
    assert len(speed(found)) == 2
    assert {r.file for r in found.remarks if r.kind == "no_common_clock"} == {"a.log", "b.log"}


def test_a_later_count_of_another_recorder_is_not_put_together(tmp_path: Path) -> None:
    two = log(tmp_path / "b.log", np.arange(500, 530, 0.5), first=300)
    found = gather([log(tmp_path / "a.log", np.arange(0, 50, 0.5)), two])
    assert len(speed(found)) == 2


def test_an_absolute_and_a_relative_file_stay_apart(tmp_path: Path) -> None:
    two = log(tmp_path / "b.log", np.arange(0, 30, 0.5), first=300)
    found = gather([log(tmp_path / "a.log", 1.7e9 + np.arange(0, 50, 0.5)), two])
    assert len(speed(found)) == 2
    assert [r.file for r in found.remarks if r.kind == "no_common_clock"] == ["b.log"]


def test_parts_with_absolute_times_are_one_with_the_hole_between_them_said(tmp_path: Path) -> None:
    found = gather(
        [
            log(tmp_path / "b.log", 1.7e9 + np.arange(120, 150, 0.5)),
            log(tmp_path / "a.log", 1.7e9 + np.arange(0, 50, 0.5)),
        ]
    )
    (channel,) = speed(found)
    assert channel.t_s[[0, -1]] == pytest.approx([0.0, 149.5])
    assert "70.500 s after the end of a.log" in kinds(found)["next_part"].text


@pytest.mark.parametrize("zero", [0.0, 1.7e9])
def test_records_that_stand_in_two_files_are_said(tmp_path: Path, zero: float) -> None:
    """Without a clock too: what both hold tells where the one stands against the other."""
    one = log(tmp_path / "a.log", zero + np.arange(0, 50, 0.5))
    two = log(tmp_path / "b.log", zero + np.arange(40, 80, 0.5), first=80)
    found = gather([one, two])
    assert [(r.file, r.count) for r in found.remarks if r.kind == "recorded_twice"] == [("b.log", 20)]
    (channel,) = speed(found)
    assert channel.t_s == pytest.approx(np.arange(0, 80, 0.5)), "what both hold is there once"
    other = log(tmp_path / "c.log", zero + np.arange(40.1, 80, 0.5), first=300)
    assert "recorded_twice" not in kinds(gather([one, other]))


def test_one_table_in_two_forms_counts_once_and_is_said(tmp_path: Path) -> None:
    one, two = (tmp_path / name for name in ("a.csv", "b.csv"))
    table(one, "2023-11-14T22:13:20+00:00")
    two.write_text(one.read_text().replace(",", ";"))
    (said,) = [r for r in gather([one, two]).remarks if r.kind == "recorded_twice"]
    assert (said.file, said.count) == ("b.csv", 60)
    assert [len(channel.t_s) for channel in gather([one, two]).signals] == [60, 60]


def test_tables_of_different_channels_that_stand_still_do_not_count_twice(tmp_path: Path) -> None:
    one, two = table(tmp_path / "a.csv", "2023-11-14T22:13:20+00:00"), tmp_path / "b.csv"
    still = re.sub(r"(?m)^(\d+),\d+", r"\1,0", one.read_text())
    one.write_text(still.replace("Engine RPM [rpm]", "Status"))
    two.write_text(still.replace("Engine RPM [rpm]", "Marker").replace("Vehicle speed [km/h]", "Engine RPM [rpm]"))
    assert "recorded_twice" not in kinds(gather([one, two]))


def table(path: Path, start: str, first: int = 0) -> Path:
    rows = "".join(f"{k},{800 + first + k},{20 + (first + k) % 30}\n" for k in range(60))
    path.write_text(f"# start: {start}\ntime [s],Engine RPM [rpm],Vehicle speed [km/h]\n{rows}")
    return path


def test_a_zone_offset_counts(tmp_path: Path) -> None:
    one = table(tmp_path / "a.csv", "2023-11-14T22:13:20+00:00")
    two = table(tmp_path / "b.csv", "2023-11-15T00:13:25+02:00", first=100)
    found = gather([one, two])
    for channel in found.signals:  # the second table begins 5 s after the first
        assert channel.t_s[[0, -1]].tolist() == [0.0, 64.0]
        assert np.count_nonzero(channel.t_s == 5.0) == 2
    assert not found.remarks


def test_clocks_an_hour_apart_and_the_zone_that_would_explain_it(tmp_path: Path) -> None:
    one = table(tmp_path / "a.csv", "2023-11-14T22:13:20+00:00")
    two = table(tmp_path / "b.csv", "2023-11-15T00:13:25")
    said = {r.file: r.text for r in gather([one, two]).remarks if r.kind == "clocks_apart"}
    assert "moved by +2 h" in said["a.csv"]
    assert "moved by -2 h" in said["b.csv"]
    assert "time_zone" in kinds(gather([one, two]))


def test_holes_are_counted_and_placed(tmp_path: Path) -> None:
    times = np.arange(0, 100, 0.5)
    found = gather([log(tmp_path / "a.log", times[((times < 20) | (times > 33)) & ((times < 60) | (times > 72))])])
    hole = kinds(found)["hole"]
    assert hole.count == 2
    assert hole.places == ("t = 19.500 s, 14.0 s long", "t = 59.500 s, 13.0 s long")
    slow = gather([log(tmp_path / "slow.log", np.arange(0, 600, 8.0))])
    assert "hole" not in kinds(slow)


@pytest.mark.parametrize(("jump_s", "count"), [(-3600.0, 1), (-(2.0**32) / 1000.0, 1)])
def test_a_clock_set_back_or_rolled_over_goes_on(tmp_path: Path, jump_s: float, count: int) -> None:
    """Roll-over: a counter of milliseconds of 32 bits begins anew."""
    times = 4294960.0 + np.arange(0, 40, 0.5)
    times[30:] += jump_s
    found = gather([log(tmp_path / "a.log", times)])
    (channel,) = speed(found)
    assert np.allclose(np.diff(channel.t_s), 0.5)
    assert kinds(found)["time_backwards"].count == count


def test_the_real_table_with_a_hole(captures: Path) -> None:
    """The recordings' own page: a hole of 73.5 s."""
    said = kinds(gather([captures / "drive_tables_a" / "drive_measurement_error.csv"]))["hole"]
    assert "73.5 s" in said.text


@pytest.mark.parametrize(
    ("form", "start_s", "poll_s", "broadcast"),
    [("edges_csv", 33.7, 0.08, True), ("wav", 31.15, 0.2, False), ("vcd", 0.4, 0.08, True)],
)
def test_a_recording_without_a_clock_is_aligned(
    tmp_path: Path, form: Form, start_s: float, poll_s: float, broadcast: bool
) -> None:
    """The simulator's two recorders run on one clock; the recording's file does not tell its start."""
    sensors = Sensors(start_s=start_s, seconds=30.0, forms=(form,), sample_rate_hz=20_000.0)
    bus = Bus(poll_interval_s=poll_s, broadcast=broadcast, background=False)
    made = simulation.run(Spec(seed=4, duration_s=90.0, sensors=sensors, bus=bus))
    assert made.frames is not None
    paths = simulation.write(made, tmp_path, "drive")
    record = analyse([path for path in paths if path.suffix != ".json"], engine="training_rotary_six").record
    (said,) = [remark for remark in record.remarks if remark.kind == "aligned_by_speed"]
    low_s, high_s = map(float, re.findall(r"(-?[0-9.]+) to (-?[0-9.]+) s", said.text)[0])
    true_s = start_s - float(made.frames.time_s[0])
    assert low_s - 0.01 <= true_s <= high_s + 0.01
    assert high_s - low_s < 1.0
    (placed,) = record.sensors
    assert placed.offset_s is not None
    assert low_s - 0.01 <= placed.offset_s <= high_s + 0.01


def test_a_recording_at_idle_alone_is_not_aligned(tmp_path: Path) -> None:
    spec = Spec(seed=5, duration_s=60.0, sensors=Sensors(start_s=8.0, seconds=20.0), bus=Bus(background=False))
    paths = simulation.write(simulation.run(spec), tmp_path, "drive")
    record = analyse([path for path in paths if path.suffix != ".json"], engine="training_rotary_six").record
    (said,) = [remark for remark in record.remarks if remark.kind == "not_aligned"]
    assert "engine speed hardly moved" in said.text
    assert record.sensors[0].offset_s is None
