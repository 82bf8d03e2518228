"""Channel tables: headings, units, times of many kinds, damaged rows."""

from __future__ import annotations

from decimal import ROUND_DOWN, Decimal
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from logan.capture import csv_time, read
from logan.capture.csv_head import heading, mended
from logan.knowledge import table_headers
from logan.model.capture import Capture, Table
from logan.model.channel import Channel


def table_of(capture: Capture) -> dict[str, Channel]:
    assert isinstance(capture.content, Table)
    return {channel.name: channel for channel in capture.content.channels}


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "table.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def test_units_are_converted(tmp_path: Path) -> None:
    # NIST SP 811: 1 mile = 1609.344 m, 1 lbf/in2 = 6894.757 Pa, t/degC = (t/degF - 32) / 1.8, 1 bar = 100 kPa
    text = "time_s,Coolant [°F],Rail pressure [bar],Road speed (mph),Fuel supply [psi],engine_speed [rpm]\n"
    capture = read(written(tmp_path, text + "0,212,1600,60,10,800\n1,32,250,,10,810\n"))
    table = table_of(capture)
    assert table["Coolant"].value == pytest.approx([100, 0])
    assert table["Rail pressure"].value == pytest.approx([160_000, 25_000])
    assert table["Road speed"].value == pytest.approx([96.56064])
    assert table["Road speed"].t_s.tolist() == [0]
    assert table["Fuel supply"].value == pytest.approx([68.94757] * 2, rel=1e-6)
    assert {name: channel.unit for name, channel in table.items()} == {
        "Coolant": "degC", "Rail pressure": "kPa", "Road speed": "km/h", "Fuel supply": "kPa", "engine_speed": "rpm",
    }  # fmt: skip
    assert (capture.frames, capture.rejected, capture.remarks) == (2, 0, ())


def test_every_spelling_of_a_unit_leads_to_a_known_one(tmp_path: Path) -> None:
    for spelled in table_headers.load().units:
        (channel,) = table_of(read(written(tmp_path, f"time,x [{spelled}]\n0,1\n1,2\n"))).values()
        assert channel.unit in {"degC", "rpm", "kPa", "V", "g/s", "L/h", "km/h", "deg", "mg/stroke"}, spelled


def test_a_unit_that_was_encoded_twice() -> None:
    twice = "°C".encode().decode("cp1252").encode().decode()
    assert twice == "Â°C"
    assert heading(f"Coolant [{twice}]").unit == "°C"
    assert mended("Ã‚Â°C") == "°C"
    assert mended("Âge") == "Âge"


def test_comments_and_start(tmp_path: Path) -> None:
    text = "# vehicle: training\n# start: 2023-11-14T23:13:20+01:00\n#\ntime_s,engine_speed [rpm]\n"
    capture = read(written(tmp_path, text + "10,800\n11,810\n"))
    assert capture.metadata["vehicle"] == "training"
    assert isinstance(capture.content, Table)
    assert (capture.content.absolute, capture.content.origin_ns) == (True, 1_700_000_000 * 10**9)
    assert (capture.start, capture.frames) == (1_700_000_010.0, 2)


def test_semicolons_decimal_commas_quotes_and_glued_units(tmp_path: Path) -> None:
    table = table_of(read(written(tmp_path, 'Zeit;"Drehzahl [U/min]";Last\n0,5;801,5;10 %\n1,5;802,25;"12,5 %"\n')))
    assert table["Drehzahl"].unit == "rpm"
    assert table["Drehzahl"].t_s.tolist() == [0.5, 1.5]
    assert table["Drehzahl"].value.tolist() == [801.5, 802.25]
    assert table["Last"].value.tolist() == [10, 12.5]


def test_time_of_day_passes_midnight(tmp_path: Path) -> None:
    capture = read(written(tmp_path, "Time,engine rpm\n23:59:59.500,800\n00:00:00.250,801\n00:00:01,802\n"))
    assert np.diff(table_of(capture)["engine rpm"].t_s) == pytest.approx([0.75, 0.75])
    assert capture.start is None


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("2023-11-14 22:13:20", "2023-11-14 22:13:20.5"),
        ("2023-11-14T22:13:20Z", "2023-11-14T22:13:20.500Z"),
        ("2023-11-14T23:13:20+01:00", "2023-11-14T23:13:20.5+01:00"),
        ("1700000000.0", "1700000000.5"),
        ("14-Nov-2023 22:13:20.000", "14-Nov-2023 22:13:20.500"),
    ],
)
def test_absolute_times(tmp_path: Path, first: str, second: str) -> None:
    capture = read(written(tmp_path, f"time,engine rpm\n{first},800\n{second},801\n"))
    assert (capture.start, capture.duration_s) == (1_700_000_000.0, 0.5)


def test_bad_cells_short_rows_and_empty_columns_are_said(tmp_path: Path) -> None:
    text = "time_s,a [kPa],b [kPa],c [kPa],\n0,1,2,,\n1,x,3,,\n2,4\n,5,5,,\n3,6,7,,\n4,8"
    capture = read(written(tmp_path, text))
    table = table_of(capture)
    assert table["a"].value.tolist() == [1, 4, 6, 8]
    assert table["b"].value.tolist() == [2, 3, 7]
    assert (capture.frames, capture.rejected) == (5, 1)
    assert {r.kind: (r.count, r.places) for r in capture.remarks} == {
        "bad_value": (1, ("line 3",)), "short_row": (2, ("line 4", "line 7")), "bad_time": (1, ("row 4",)),
        "empty_column": (1, ("c",)),
    }  # fmt: skip


def test_a_coarse_clock_widens_the_times(tmp_path: Path) -> None:
    rows = "".join(f"{k // 4},{800 + k}\n" for k in range(40))
    capture = read(written(tmp_path, "time_s,engine_speed [rpm]\n" + rows))
    assert table_of(capture)["engine_speed"].half_width_s == 0.5
    assert [r.kind for r in capture.remarks] == ["coarse_time"]


def test_a_table_of_bus_frames_is_no_channel_table(tmp_path: Path) -> None:
    capture = read(written(tmp_path, "time,ID,DLC,Data\n0.1,100,1,22\n0.2,101,1,23\n"))
    assert capture.format == "table of CAN frames"


REAL = {
    "drive_tables_a/drive_acceleration.csv": (10176, 862.4), "drive_tables_a/drive_congested_a.csv": (46349, 3945.4),
    "drive_tables_a/drive_measurement_error.csv": (59634, 5398.7), "drive_tables_b/drive1.csv": (2709, 1330.0),
    "drive_tables_b/idle1.csv": (1213, 590.0), "drive_tables_b/live10.csv": (1176, 622.0),
    "drive_tables_b/ufpe3.csv": (808, 395.0),
}  # fmt: skip
"""Rows and duration by an independent reader."""


def test_real_tables(captures: Path) -> None:
    found = {name: read(captures / name) for name in REAL}
    assert {name: (c.frames, pytest.approx(c.duration_s, abs=0.05)) for name, c in found.items()} == REAL
    assert {name for name, c in found.items() if any(r.kind == "short_row" for r in c.remarks)} == {
        "drive_tables_b/idle1.csv"
    }
    assert all(table_of(found[f"drive_tables_a/{n}.csv"])["Engine Coolant Temperature"].unit == "degC"
               for n in ("drive_acceleration", "drive_congested_a", "drive_measurement_error"))  # fmt: skip


def test_real_values_against_pandas(captures: Path) -> None:
    path = captures / "drive_tables_a/drive_congested_a.csv"
    theirs = pd.read_csv(path)
    column = next(name for name in theirs.columns if name.startswith("Engine RPM"))
    ours = table_of(read(path))["Engine RPM"]
    assert np.array_equal(ours.value, theirs[column].dropna().to_numpy())
    assert (ours.value.min(), ours.value.max()) == (0, 2689)


def test_half_a_quotation_mark_spoils_its_row_only(tmp_path: Path) -> None:
    capture = read(written(tmp_path, 'time_s,"speed, engine [rpm]"\n0,"800.5"\n1,"801\n2,802\n3,803\n'))
    assert table_of(capture)["speed, engine"].value.tolist() == [800.5, 802, 803]
    assert (capture.frames, capture.rejected) == (3, 1)
    assert [(r.kind, r.places) for r in capture.remarks] == [("bad_line", ("line 3",))]


def test_long_numbers_are_read_digit_by_digit() -> None:
    cells = ["1700000000.123456789", "1700000001 ", "1700000002.5", "1700000003.1234567899", "1700000004."]
    bad = ["x", None, "1.7e9", "170000000099999999999", "9999999999", "-5", "1.2.3", ".5", ""]
    times = csv_time.digits(pd.Series([*cells, *bad]), ".", 1.0)
    assert times.known.tolist() == [True] * len(cells) + [False] * len(bad)
    exact = [int(Decimal(cell).scaleb(9).to_integral_value(ROUND_DOWN)) for cell in cells]
    assert times.t_ns[: len(cells)].tolist() == exact
    assert csv_time.digits(pd.Series(["1700000000123,25"]), ",", 1e-3).t_ns.tolist() == [1_700_000_000_123_250_000]
    assert not len(csv_time.digits(pd.Series([], dtype=str), ".", 1.0).t_ns)


@pytest.mark.parametrize("quote", ["", '"'])
def test_two_lines_that_ran_together_are_one_bad_row(tmp_path: Path, quote: str) -> None:
    lines = [f"{k},{quote}8{k}{quote},1," for k in range(9)]  # a separator behind the last cell makes none
    path = tmp_path / "table.csv"
    path.write_text("\n".join(["time_s,a [V],b [V]", *lines[:4], lines[4] + lines[5], *lines[6:]]))
    capture = read(path)
    assert isinstance(capture.content, Table)
    assert capture.content.channels[0].value.tolist() == [80, 81, 82, 83, 86, 87, 88]
    assert [(r.kind, r.places) for r in capture.remarks] == [("bad_line", ("line 6",))]
    assert capture.rejected == 1


def test_a_carriage_return_within_a_line_begins_no_row(tmp_path: Path) -> None:
    """A heading that comes again behind it was looked for in a line that is not there."""
    rows = ["0.0,800,80", "0.1,8\r\r01,80", "0.2,802,80", "Time [s],Engine RPM [rpm],Coolant [degC]", "0.3,803,81"]
    path = tmp_path / "drive.csv"
    path.write_bytes("\n".join(["Time [s],Engine RPM [rpm],Coolant [degC]", *rows, ""]).encode())
    capture = read(path)
    assert isinstance(capture.content, Table)
    coolant = next(channel for channel in capture.content.channels if channel.unit == "degC")
    assert coolant.value.tolist() == [80.0, 80.0, 80.0, 81.0]
    speed = next(channel for channel in capture.content.channels if channel.unit == "rpm")
    assert speed.t_s.tolist() == [0.0, 0.2, 0.3]
    assert [(r.kind, r.count) for r in capture.remarks if r.kind == "heading_again"] == [("heading_again", 1)]
