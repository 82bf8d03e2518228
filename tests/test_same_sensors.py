"""A sensor recording given twice counts once, and what merely looks alike stays two.

Edge times are made here, so that which recordings are the same is known; that no two spells of a running engine have
the same edge times is a fact of the trade (common practice, no source). VCD after IEEE 1364-2005, clause 18.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from logan.model.capture import Remark
from logan.model.measure import Measure
from logan.model.sensor import Edges, SensorCapture, Waveform
from logan.pipeline.analyse import analyse
from logan.pipeline.gather import Gathered, gather
from logan.pipeline.same_sensors import each_once

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "sample_logs" / "cam_phase_offset.edges.csv.gz"
Edge = tuple[float, str, str]


def idle(seed: int, turns: int = 60, uneven: float = 0.01) -> list[Edge]:
    """Edges of a 60-2 wheel and of a cam with five teeth at an idle of 800 rpm that wanders."""
    rng = np.random.default_rng(seed)
    t_s = 0.01 + np.concatenate([[0.0], np.cumsum(0.075 * (1.0 + uneven * rng.normal(size=turns)))])

    def at(turn: NDArray[np.float64] | float) -> NDArray[np.float64]:
        return np.interp(turn, np.arange(len(t_s)), t_s)

    teeth = (np.arange(turns)[:, None] + np.arange(58) / 60.0).ravel()
    cam = (np.arange(0, turns - 1, 2)[:, None] + np.array([0.1, 0.5, 0.9, 1.3, 1.55])).ravel()
    trains = (("crank", "falling", teeth), ("crank", "rising", teeth + 1 / 120), ("cam", "falling", cam),
              ("cam", "rising", cam + 0.03))  # fmt: skip
    return sorted((float(t), name, flank) for name, flank, turn in trains for t in at(turn))


def as_list(edges: list[Edge], decimals: int = 6, shift_s: float = 0.0, comment: str = "") -> bytes:
    rows = [f"{t + shift_s:.{decimals}f},{name},{flank}" for t, name, flank in edges]
    return "\n".join([*([comment] if comment else []), "time_s,channel,edge", *rows, ""]).encode()


def as_vcd(edges: list[Edge], unit: str = "us", per_s: float = 1e6) -> bytes:
    head = [f"$timescale 1 {unit} $end", "$scope module sensors $end", "$var wire 1 ! crank $end",
            "$var wire 1 % cam $end", "$upscope $end", "$enddefinitions $end",
            "#0", "$dumpvars 1! 1% $end"]  # fmt: skip
    body = [
        f"#{round(t * per_s)}\n{int(flank == 'rising')}{'!' if name == 'crank' else '%'}" for t, name, flank in edges
    ]
    return "\n".join([*head, *body, ""]).encode()


def gathered(tmp_path: Path, **files: bytes) -> Gathered:
    paths = []
    for name, content in files.items():
        path = tmp_path / name.replace("_", ".")
        path.write_bytes(content)
        paths.append(path)
    return gather(paths)


def twice(found: Gathered) -> list[Remark]:
    return [remark for remark in found.remarks if remark.kind == "recorded_twice"]


OTHER_FORMS: dict[str, Callable[[list[Edge]], bytes]] = {
    "csv_gz": lambda edges: gzip.compress(as_list(edges)),
    "with a comment": lambda edges: as_list(edges, comment="# sent again"),
    "vcd": as_vcd,
    "vcd in ns": lambda edges: as_vcd(edges, "ns", 1e9),
    "in steps of 0.1 ms": lambda edges: as_list(edges, 4),
    "from another zero": lambda edges: as_list(edges, shift_s=12.34),
    "cut at the end": lambda edges: as_list(edges[: len(edges) // 3]),
    "cut at the beginning": lambda edges: as_list(edges[len(edges) // 3 :]),
    "one flank": lambda edges: as_list([edge for edge in edges if edge[2] == "falling"]),
    "crank alone": lambda edges: as_list([edge for edge in edges if edge[1] == "crank"]),
    "rows lost": lambda edges: as_list([edge for k, edge in enumerate(edges) if k % 97]),
}


@pytest.mark.parametrize("form", OTHER_FORMS)
@pytest.mark.parametrize("turned", [False, True])
def test_the_same_recording_in_another_form_counts_once(tmp_path: Path, form: str, turned: bool) -> None:
    edges = idle(1)
    name = "other_vcd" if form.startswith("vcd") else "other_csv"
    files = [("first_csv", as_list(edges)), (name, OTHER_FORMS[form](edges))]
    found = gathered(tmp_path, **dict(files[::-1] if turned else files))
    (used,) = found.sensors
    (said,) = twice(found)
    assert {used.file, said.file} == {file.replace("_", ".") for file, _ in files}
    assert used.file in said.text
    assert isinstance(used.content, Edges)
    count = sum(map(len, (*used.content.rising_s.values(), *used.content.falling_s.values())))
    assert count == len(edges)  # the one that holds all is used
    assert len(found.captures) == 2


def test_three_of_one_recording_and_one_of_another(tmp_path: Path) -> None:
    edges, other = idle(1), idle(2)
    found = gathered(tmp_path, a_csv=as_list(edges), b_vcd=as_vcd(edges), c_csv=as_list(other), d_csv=as_list(edges, 7))
    assert len(found.sensors) == 2
    assert len(twice(found)) == 2
    assert "c.csv" in [one.file for one in found.sensors]


@pytest.mark.parametrize("uneven", [0.01, 0.001, 0.0001])
def test_two_idles_of_one_engine_stay_two(tmp_path: Path, uneven: float) -> None:
    found = gathered(tmp_path, a_csv=as_list(idle(1, uneven=uneven)), b_csv=as_list(idle(2, uneven=uneven)))
    assert len(found.sensors) == 2
    assert not twice(found)


def test_parts_of_one_recording_that_follow_each_other_stay_two(tmp_path: Path) -> None:
    edges = idle(1)
    half = len(edges) // 2
    found = gathered(tmp_path, a_csv=as_list(edges[:half]), b_csv=as_list(edges[half:]))
    assert len(found.sensors) == 2


def test_a_generator_is_as_even_as_its_times_and_tells_nothing(tmp_path: Path) -> None:
    """Two recordings of a bench generator begin on the same edge where the recorder waits for one."""
    even = idle(1, uneven=0.0)
    found = gathered(tmp_path, a_csv=as_list(even), b_vcd=as_vcd(even))
    assert len(found.sensors) == 2


def test_times_too_coarse_for_the_teeth_tell_nothing(tmp_path: Path) -> None:
    """Teeth come every 1.25 ms: in whole milliseconds each edge lies near one of any other recording."""
    found = gathered(tmp_path, a_csv=as_list(idle(1), 3), b_csv=as_list(idle(2), 3))
    assert len(found.sensors) == 2


def test_a_sensor_that_only_one_file_holds_is_not_lost(tmp_path: Path) -> None:
    edges = idle(1)
    crank = [edge for edge in edges if edge[1] == "crank"]
    cam = [(t, "cam", flank) for t, name, flank in idle(3) if name == "cam"]
    found = gathered(tmp_path, a_csv=as_list(edges), b_csv=as_list(sorted(crank + cam)))
    assert len(found.sensors) == 2


def test_the_one_that_stays_takes_over_the_clock_of_the_other() -> None:
    """The whole one has no time of day, a piece of it has: its zero lies 3 s after that of the whole one."""
    times = np.array([t for t, name, flank in idle(1) if (name, flank) == ("crank", "falling")])
    piece = times[times > 3.0] - 3.0
    whole = SensorCapture("whole", Edges({"crank": times[:0]}, {"crank": times}, 1e-9))
    part = SensorCapture("part", Edges({"crank": times[:0]}, {"crank": piece}, 1e-9), offset_s=100.0)
    (used,), (said,) = each_once([part, whole])
    assert used.file == "whole"
    assert used.offset_s is not None
    assert used.offset_s == pytest.approx(97.0, abs=1e-6)  # 3 s on its own axis are 100 s on the session's
    assert "time 0 is 3.000000 s" in said.text


def test_voltages_and_the_edges_made_of_them_are_one_recording() -> None:
    wave, edges = (ROOT / "sample_logs" / f"crank_signal_inverted.{end}" for end in ("wav", "edges.csv.gz"))
    found = gather([wave, edges])
    (used,) = found.sensors
    assert isinstance(used.content, Edges)
    (said,) = twice(found)
    assert said.file == wave.name


def test_voltages_of_two_drives_stay_two() -> None:
    def wave(seed: int) -> SensorCapture:
        falling = np.array([t for t, name, flank in idle(seed) if (name, flank) == ("crank", "falling")])
        t_s = np.arange(0.0, 4.0, 2e-5)
        level = (np.searchsorted(falling, t_s) - np.searchsorted(falling + 6e-4, t_s) == 0).astype(np.float32)
        return SensorCapture(f"{seed}", Waveform(t_s, {"crank": 5.0 * level}))

    assert len(each_once([wave(1), wave(2)])[0]) == 2
    assert len(each_once([wave(1), wave(1)])[0]) == 1


@pytest.mark.parametrize("seed", range(4))
def test_recordings_of_nothing_and_of_little_are_left_as_they_are(seed: int) -> None:
    rng = np.random.default_rng(seed)
    some: list[Edges | Waveform] = [Waveform(np.empty(0), {}), Waveform(np.zeros(1), {"crank": np.full(1, np.nan)})]
    some += [Waveform(np.arange(99) / 100, {"cam": np.full(99, np.nan), "crank": rng.normal(size=99)})]
    for count in (0, 1, 2, 49, 200):
        times = np.sort(np.round(rng.uniform(0.0, 0.02 * count, count), 4))
        some.append(Edges({"crank": times}, {"crank": times[:0]}, 1e-4))
    sensors = [SensorCapture(f"{k}", content) for k, content in enumerate(some)]
    kept, said = each_once(sensors)
    assert kept == sensors
    assert not said


def test_measures_of_a_recording_given_twice_are_those_of_it_alone(tmp_path: Path) -> None:
    """Phase, jitter, dropouts, wheel and cylinders: intervals must not narrow, and no turn count twice."""
    profile = json.loads((ROOT / "sample_logs" / "cam_phase_offset.truth.json").read_text())["profile"]
    again = tmp_path / "again.csv"
    again.write_bytes(gzip.decompress(SAMPLE.read_bytes()))
    once, both = (analyse(paths, engine=profile) for paths in ([SAMPLE], [SAMPLE, again]))

    def told(measures: list[Measure]) -> dict[str, tuple[object, ...]]:
        return {one.name: (one.value, one.low, one.high, one.n, one.provenance.files) for one in measures}

    assert "cam_phase_error_deg" in told(once.finding.measures)
    assert told(both.finding.measures) == told(once.finding.measures)
    assert [(r.kind, r.file) for r in both.record.remarks if r.kind == "recorded_twice"] == [
        ("recorded_twice", "again.csv")
    ]
