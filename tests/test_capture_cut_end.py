"""Tables that end without a line end: whole ones (RFC 4180, section 2, rule 2) and cut ones.

Whole tables are written by pandas and by the csv module; a cut one is any beginning of such a table.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.capture import read
from logan.model.capture import Capture, Table


def captured(folder: Path, text: str) -> Capture:
    path = folder / "table.csv"
    path.write_bytes(text.encode())
    return read(path)


def values(capture: Capture) -> dict[str, dict[float, float]]:
    """Channel -> time -> value."""
    assert isinstance(capture.content, Table)
    return {c.name: dict(zip(c.t_s.tolist(), c.value.tolist(), strict=True)) for c in capture.content.channels}


HEAD = "Time [s],Engine RPM [rpm],Coolant temperature [degC],Vehicle speed [km/h]\n"
BODY = "".join(f"{k / 2:.1f},{800 + k},{80 + k / 10:.2f},{k % 7 + 20}\n" for k in range(60))
LAST = "30.0,860,86.00,45"


@pytest.mark.parametrize("cut", range(1, len(LAST) + 1))
def test_no_cut_value_is_taken_for_a_whole_one(tmp_path: Path, cut: int) -> None:
    """Wherever the last line ends: what is read of it is what it was to say, and what was whole before is there."""
    capture = captured(tmp_path, HEAD + BODY + LAST[:cut])
    found = values(capture)
    kept = LAST[:cut].split(",")
    expected = {"Engine RPM": 860.0, "Coolant temperature": 86.0, "Vehicle speed": 45.0}
    for k, (name, value) in enumerate(expected.items(), 1):
        rows = found[name]
        assert len(rows) - (30.0 in rows) == 60
        assert rows.get(30.0, value) == value
        if k < len(kept) - 1 or cut == len(LAST):
            assert rows[30.0] == value  # a cell with another one behind it is whole, and so is the line
    is_within = LAST[cut - 1] != "," and LAST[:cut] not in ("30.0", "30.0,860,86.00", LAST)
    assert [r.count for r in capture.remarks if r.kind == "cut_value"] == [1] * is_within


FLOATS = st.floats(-1000, 10000, allow_nan=False, width=32)


@given(
    st.lists(st.tuples(FLOATS, st.integers(0, 9999)), min_size=2, max_size=60),
    st.sampled_from((None, "%.1f", "%.3f", "%g")), st.booleans(),
)  # fmt: skip
@settings(max_examples=120, deadline=None)
def test_whole_tables_of_pandas_lose_nothing(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[float, int]], form: str | None, whole_last: bool
) -> None:
    table = pd.DataFrame(rows, columns=["a", "b"])[["a", "b"] if whole_last else ["b", "a"]]
    table.insert(0, "time", np.arange(len(rows)) * 0.5)
    written = table.to_csv(index=False, float_format=form)
    folder = tmp_path_factory.mktemp("whole")
    ended, open_ended = captured(folder, written), captured(folder, written.rstrip("\n"))
    if form == "%g" or (form is None and not whole_last):  # decimals come and go: a whole number may look cut
        lost = [(name, t) for name, of_name in values(ended).items() for t in of_name.keys() - values(open_ended)[name]]
        told = [remark for remark in open_ended.remarks if remark.kind == "cut_value"]
        assert len(lost) == len(told) <= 1
    else:
        assert values(open_ended) == values(ended)
        assert open_ended.remarks == ended.remarks


@pytest.mark.parametrize("decimals", [(1, 0), (1, 1), (0, 0), (2, 3)])
def test_whole_rows_of_a_steady_form_are_kept(tmp_path: Path, decimals: tuple[int, int]) -> None:
    rows = [
        (f"{k / 10:.1f}", f"{95 + k * 1.25:.{decimals[0]}f}", f"{np.sin(k) * 50 + 60:.{decimals[1]}f}")
        for k in range(80)
    ]
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows([("time", "a", "b"), *rows])
    for count in range(3, 82):
        whole = "\n".join(text.getvalue().split("\n")[:count])
        capture = captured(tmp_path, whole)
        assert [len(rows) for rows in values(capture).values()] == [count - 1] * 2, whole[-40:]
        assert capture.remarks == ()


def test_rows_that_always_end_early_are_whole(tmp_path: Path) -> None:
    """Rows without the empty cells at their ends: common practice, no source."""
    rows = [f"{k},{k * 3}" + ",7" * (k % 2) for k in range(41)]
    capture = captured(tmp_path, "time,a,b\n" + "\n".join(rows))
    assert len(values(capture)["a"]) == 41
    assert not [remark for remark in capture.remarks if remark.kind == "cut_value"]


def test_a_number_ten_times_smaller_than_all_above_is_cut(tmp_path: Path) -> None:
    body = "".join(f"{k / 2:.1f},{800 + k},{101 - k % 2}\n" for k in range(60))
    capture = captured(tmp_path, "time,a,b\n" + body + "30.0,860,10")
    assert len(values(capture)["b"]) == 60
    assert len(values(capture)["a"]) == 61


@pytest.mark.parametrize(("last", "kept"), [("10.5s,810rp", 20), ("10.5s,810", 20), ("10.5s,810rpm", 21)])
def test_a_unit_that_is_cut(tmp_path: Path, last: str, kept: int) -> None:
    body = "".join(f"{k / 2:.1f}s,{800 + k}rpm,1\n" for k in range(20))
    assert len(values(captured(tmp_path, "time,speed,x\n" + body + last))["speed"]) == kept


def test_a_last_line_of_nothing_but_half_a_line_end_is_no_row(tmp_path: Path) -> None:
    """Written with CR LF and cut between the two: all rows are whole (RFC 4180, 2)."""
    path = tmp_path / "half.csv"
    rows = "".join(f"{k / 10},{800 + k}\n" for k in range(40))
    path.write_bytes(f"time [s],Engine RPM [rpm]\n{rows}\r".encode())
    assert read(path).frames == 40
