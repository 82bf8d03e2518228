"""ASC, TRC and CSV by whole columns against python-can alone: the same frames and counts, whatever the file."""

from __future__ import annotations

import io
import math
import re
import tracemalloc
from pathlib import Path
from typing import Any

import can
import numpy as np
import pytest
from can.io.trc import TRCFileVersion
from hypothesis import example, given, settings
from hypothesis import strategies as st

from logan.capture import can_library_text, hexwords, library_lines, read, text_numbers
from logan.capture.can_columns import CanColumns
from logan.capture.library_lines import Lines, Ordinary
from logan.capture.reader import Tally
from logan.errors import CaptureError
from logan.model.capture import Remark
from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, REMOTE, SENT, Frames

COLUMNS = ("t_s", "can_id", "flags", "bus", "length", "data", "fd_row", "fd_data")
HEAD = "date Sat Sep 30 15:06:13.191 2017\nbase {base}  timestamps {stamps}\ninternal events logged\n"
ASC = """// made for this test
Begin Triggerblock Sat Sep 30 15:06:13.191 2017
   0.000000 Start of measurement
   0.100000 1  123             Rx   d 2 11 22
   0.100250 2  7FF             Tx   d 8 01 02 03 04 05 06 07 08  Length = 240015 BitCount = 124 ID = 1785
   0.150000 1  0               Rx   d 0
   0.200000 1  Statistic: D 0 R 0 XD 0 XR 0 E 0 O 0 B 0.00%
   0.300000 1  124             Rx   r 4
   0.300001 2  ErrorFrame
   0.400000 CANFD   1 Rx        30a                                   1 0 9 12 01 02 03 04 05 06 07 08 09 0A 0B 0C 0 0
   0.450000 CANFD   3 Tx   18DAF110x                                  0 1 8  8 01 02 03 04 05 06 07 08    0    0
   0.500000 1  18DAF110x       Tx   d 3 77 88 99
   0.600000 1  125             Rx   d 4 55 66
   0.700000 1  126             Rx   d 1 AB
   0.800000 12 1FFFFFFFx       Rx   d 1 cd
End TriggerBlock
"""
DECIMAL = """Begin Triggerblock Sat Sep 30 15:06:13.191 2017
   0.000000 Start of measurement
   0.100000 1  291             Rx   d 2 17 034
   0.100250 2  2047            Tx   d 8 1 2 3 4 5 6 7 255  Length = 240015 BitCount = 124 ID = 2047
   0.150000 1  0               Rx   d 0
   0.200000 1  2048            Rx   d 1 7
   0.300000 1  12              Rx   d 1 256
   0.400000 CANFD   1 Rx        778                                   1 0 9 12 1 2 3 4 5 6 7 8 9 10 11 12 0 0
   0.410000 CANFD   1 Rx        778                                   1 0 15 64 {}
   0.500000 1  536870911x      Tx   d 3 77 88 99
   0.600000 1  125             Rx   d 4 55 66
""".format(" ".join(map(str, range(64))))
TRC_1_0 = """;##########
     1)     17535  00000100  8  00 01 02 03 04 05 06 07
     2)     17540  FFFFFFFF  4  00 00 00 08 -- -- -- -- BUSHEAVY
     3)     17700      0100  2  0A 0B
     4)     17873      0101  0
     5)     17900      0102  3  RTR
     6)     18000.5    07FF  1  FF
"""
TRC_1_1 = """;$FILEVERSION=1.1
;$STARTTIME=44548.6028595139
     1)     17535.4  Tx     00000100  8  00 01 02 03 04 05 06 07
     2)     17540.3  Warng  FFFFFFFF  4  00 00 00 08  BUSHEAVY
     3)     17700.3  Rx         0100  2  0A 0B
     4)     17873.8  Rx         0101  0
     5)     18000.5  Rx         07FF  1  FF
"""
TRC_1_3 = """;$FILEVERSION=1.3
;$STARTTIME=44548.6028595139
     1)     17535.4 1  Tx     00000100 -  8    00 01 02 03 04 05 06 07
     2)     17540.3 1  Warng  FFFFFFFF -  4    00 00 00 08  BUSHEAVY
     3)     17700.3 2  Rx         0100 -  2    0A 0B
     4)     17873.8 10 Rx         0101 -  0
"""
TRC_2_0 = """;$FILEVERSION=2.0
;$STARTTIME=44548.6028595139
;$COLUMNS=N,O,T,I,d,l,D
      1     17535.400 DT 00000100 Tx 8  00 01 02 03 04 05 06 07
      2     17540.300 ST          Rx    00 00 00 08
      3     17700.300 DT     0100 Rx 2  0A 0B
      4     17800.300 FB     0100 Rx 12 00 01 02 03 04 05 06 07 08 09 0A 0B
      5     17873.800 DT     0101 Rx 0
      6     17900.000 RR     0102 Rx 4
"""
TRC_2_1 = TRC_2_0.replace("2.0\n", "2.1\n").replace("N,O,T,I,d,l,D", "N,O,T,B,I,d,R,L,D")
TRC_2_1 = TRC_2_1.replace("Rx 12", "Rx 9").replace(" DT ", " DT 1 ").replace(" FB ", " FB 1 ")
TRC_2_1 = TRC_2_1.replace(" RR ", " RR 1 ").replace("Rx ", "Rx - ").replace("Tx ", "Tx - ")
CSV = """timestamp,arbitration_id,extended,remote,error,dlc,data
1700000000.000417,0x7e8,0,0,0,8,AwQFBgcICQo=
1700000000.0010002,0x18daf110,1,0,0,3,d4iZ
1700000000.25,0x0,0,0,0,0,
0.3,0x123,0,0,0,1,/w==
0.30000000000000004,0x123,0,0,0,2,+/8=
1700000001.5,0x123,0,1,0,4,
1700000001.5,0x0,0,0,1,0,
1700000001.75,0x321,0,0,0,12,AAECAwQFBgcICQoL
1700000002,0x321,0,0,0,1,AA==
"""
FORMS = [
    (".asc", HEAD.format(base="hex", stamps="absolute") + ASC, 8),
    (".asc", HEAD.format(base="hex", stamps="relative") + ASC, 8),
    (".asc", HEAD.format(base="dec", stamps="absolute") + DECIMAL, 6),
    (".asc", ASC.replace("// made for this test\n", ""), 8),
    (".trc", TRC_1_0, 3), (".trc", TRC_1_1, 3), (".trc", TRC_1_3, 2), (".trc", TRC_2_0, 2), (".trc", TRC_2_1, 2),
    (".csv", CSV, 5),
]  # fmt: skip
"""Ending, text, and how many of its lines are ordinary."""


def taken(found: tuple[CanColumns, Tally]) -> tuple[Frames, int, set[Remark]]:
    columns, tally = found
    return columns.frames(tally), columns.rows, set(tally.remarks())


def assert_same(content: bytes, suffix: str) -> Frames:
    """Both ways give the same; returns it."""
    ours, rows, remarks = taken(can_library_text.read(content, suffix))
    text = content.decode("utf-8-sig", "replace")
    lines = Lines(io.StringIO(text, newline=None).read().encode())
    theirs, their_rows, their_remarks = taken(can_library_text._nothing_ordinary(lines, suffix))
    for name in COLUMNS:
        np.testing.assert_array_equal(getattr(ours, name), getattr(theirs, name), name)
    assert (ours.origin_ns, ours.absolute, ours.buses) == (theirs.origin_ns, theirs.absolute, theirs.buses)
    assert (rows, remarks) == (their_rows, their_remarks)
    return ours


def ordinary_rows(content: bytes, suffix: str) -> int:
    """How many lines are read by whole columns."""
    lines = Lines(content)
    header = can_library_text._header(lines, suffix)
    ordinary = Ordinary(lines, header.lines)
    if suffix == ".csv":
        ordinary.read_cells()
    else:
        ordinary.read_words(header.shapes)
    return int(ordinary.out.kept.sum())


@pytest.mark.parametrize("form", range(len(FORMS)))
def test_samples_mean_the_same_and_are_read_by_columns(form: int) -> None:
    suffix, text, ordinary = FORMS[form]
    assert len(assert_same(text.encode(), suffix)) >= 3
    assert len(assert_same(text.replace("\n", "\r\n").encode(), suffix)) >= 3
    assert ordinary_rows(text.encode(), suffix) == ordinary


EDIT = st.tuples(
    st.sampled_from(("put", "in", "out", "line", "twice", "cut")), st.floats(0, 1, exclude_max=True),
    st.sampled_from([*" \t\r\n\x0b\x0c\x1c\x1f\x00,.;/-_+=xX0123789aAfFgGdDrRtT\xe9\x85\xa0\u2028",
                     "Rx", "Tx", "0x", "RTR", "CANFD", "//", "begin triggerblock", "date", "base dec", "1e3", "nan",
                     "99999999999", "Begin Triggerblock Mon Oct 2 09:00:00.000 2017\n",
                     "Begin Triggerblock Mon Maj 2 09:00:00.000 2017\n", "date Mon Jan 1 10:00:00 9999\n",
                     ";$FILEVERSION=1.1\n", ";$STARTTIME=x1\n", "==", "A", "\ufeff"]),
)  # fmt: skip


def edited(text: str, edits: list[tuple[str, float, str]]) -> str:
    for kind, share, piece in edits:
        at = int(share * len(text))
        if kind == "put":
            text = text[:at] + piece + text[at + len(piece) :]
        elif kind == "in":
            text = text[:at] + piece + text[at:]
        elif kind == "out":
            text = text[:at] + text[at + 1 :]
        elif kind == "cut":
            text = text[: len(text) - at % 90]
        else:
            lines = text.splitlines(keepends=True) or [""]
            number = int(share * len(lines))
            text = "".join(lines[:number] + ([piece] if kind == "line" else [lines[number]]) + lines[number:])
    return text


@given(st.sampled_from(range(len(FORMS))), st.lists(EDIT, max_size=4), st.booleans())
@example(0, [("line", 0.0, "date Mon Jan 1 10:00:00 9999\n")], True)
@settings(max_examples=1500, deadline=None)
def test_spoilt_files_mean_the_same(form: int, edits: list[tuple[str, float, str]], bare: bool) -> None:
    suffix, text, _ = FORMS[form]
    content = edited(text, edits).encode()
    content = content if bare else content.replace(b"\n", b"\r\n")
    try:
        assert_same(content, suffix)
    except CaptureError as error:  # of a foreign version
        lines = Lines(io.StringIO(content.decode("utf-8-sig", "replace"), newline=None).read().encode())
        with pytest.raises(CaptureError, match=re.escape(error.reason)):
            can_library_text._nothing_ordinary(lines, suffix)


MESSAGES = st.lists(
    st.tuples(
        st.integers(0, 10**7), st.booleans(), st.integers(0, 0x1FFFFFFF), st.booleans(), st.integers(0, 5),
        st.sampled_from(("data", "data", "data", "remote", "error", "fd", "fd")), st.binary(max_size=8),
        st.sampled_from((0, 1, 7, 8, 12, 64)), st.booleans(), st.booleans(),
    ),
    max_size=30,
)  # fmt: skip


@given(MESSAGES, st.sampled_from((".asc", ".csv", "1.0", "2.1")), st.sampled_from((0.0, 1.7e9, 1.7e9 + 1 / 3)))
@settings(max_examples=300, deadline=None)
def test_what_python_can_writes_comes_back(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[Any, ...]], form: str, start: float
) -> None:
    path = tmp_path_factory.mktemp("written") / f"drive{form if form.startswith('.') else '.trc'}"
    writer = {".asc": can.ASCWriter, ".csv": can.CSVWriter}.get(form, can.TRCWriter)(path)
    if isinstance(writer, can.TRCWriter):
        writer.file_version = TRCFileVersion.V1_0 if form == "1.0" else TRCFileVersion.V2_1
    sent = []
    for us, extended, can_id, received, channel, kind, data, size, brs, esi in sorted(rows, key=lambda row: row[0]):
        fd = kind == "fd" and form == ".asc"
        payload = (data * 64)[:size].ljust(size, b"\x5a") if fd else b"" if kind in ("remote", "error") else data
        sent.append(can.Message(
            timestamp=start + us / 1e6, is_extended_id=extended, arbitration_id=can_id if extended else can_id & 0x7FF,
            is_rx=received, channel=channel, is_remote_frame=kind == "remote", is_error_frame=kind == "error",
            is_fd=fd, dlc=len(payload), data=payload, bitrate_switch=brs and fd, error_state_indicator=esi and fd,
        ))  # fmt: skip
        writer.on_message_received(sent[-1])
    writer.stop()
    ours = assert_same(path.read_bytes(), path.suffix)
    if path.suffix == ".trc":  # its writer has neither remote nor error frames
        sent = [one for one in sent if not one.is_remote_frame and not one.is_error_frame]
    payload = ours.payload(np.arange(len(ours)))
    assert [row[:size].tobytes() for row, size in zip(payload, ours.length, strict=True)] == [
        bytes(one.data) for one in sent
    ]
    told = EXTENDED | FD | REMOTE | ERROR | BRS | ESI | (0 if form in (".csv", "1.0") else SENT)
    frames = [row for row, one in enumerate(sent) if not one.is_error_frame]
    assert (ours.flags[frames] & told).tolist() == [
        EXTENDED * one.is_extended_id | FD * one.is_fd | REMOTE * one.is_remote_frame | SENT * (not one.is_rx) & told
        | BRS * one.bitrate_switch | ESI * one.error_state_indicator
        for one in (sent[row] for row in frames)
    ]  # fmt: skip
    assert ours.can_id[frames].tolist() == [sent[row].arbitration_id for row in frames]


NUMBERS = st.one_of(
    st.floats(0, 1e12, allow_subnormal=False).map(repr),
    st.tuples(st.integers(0, 10**11), st.integers(1, 12)).map(lambda n: f"{n[0]}.{n[0] % 10 ** n[1]:0>{n[1]}}"),
    st.floats(2.0**30, 2.0**33).map(lambda t: f"{t:.9f}"),
    st.text("0123456789.e-", min_size=1, max_size=20),
)  # fmt: skip


@given(st.lists(NUMBERS, min_size=1, max_size=50), st.booleans())
@settings(max_examples=500, deadline=None)
def test_fractions_are_those_of_float(numbers: list[str], point: bool) -> None:
    text = np.frombuffer(bytes(16) + " ".join(numbers).encode() + bytes(16), np.uint8)
    edges = np.flatnonzero((text[1:] > 32) != (text[:-1] > 32)) + 1
    value, good = text_numbers.fractions(text, hexwords.view(text), edges[0::2], edges[1::2], point)
    for number, ours, read_ in zip(numbers, value.tolist(), good.tolist(), strict=True):
        if read_:
            assert ours == float(number)
        elif number.replace(".", "", 1).isdigit() and number[0] != "." and number[-1] != ".":
            assert not point or "." not in number or len(number) > 20 or math.isinf(float(number))


@given(st.lists(st.binary(max_size=8), min_size=1, max_size=30), st.text("AZaz09+/=_- ", max_size=12))
@settings(deadline=None)
def test_base_64_is_that_of_the_library(rows: list[bytes], odd: str) -> None:
    import base64

    cells = [base64.b64encode(row).decode() for row in rows]
    text = "".join(f"1.5,0x1,0,0,0,{len(row)},{cell}\n" for row, cell in zip(rows, cells, strict=True))
    content = f"{library_lines.__name__}\n{text}1.5,0x1,0,0,0,{len(odd) // 4 * 3},{odd}\n".encode()
    assert ordinary_rows(content, ".csv") >= len(rows)
    assert_same(content, ".csv")


def test_lines_split_the_way_python_splits_them_or_are_not_plain() -> None:
    for end in ("\x0b", "\x0c", "\x1c", "\x1d", "\x1e", "\x85", "\u2028", "\u2029", "\r", "\x1f", "\0"):
        assert not Lines(f"one{end}two\n".encode()).plain
    for content in (b"one\r\ntwo", b"\tone two\n", "é\n".encode(), b""):
        lines = Lines(content)
        assert lines.plain
        assert [lines.line(k).rstrip("\r\n") for k in range(len(lines))] == content.decode().splitlines()


def test_the_first_trigger_counts_at_once_where_nothing_stands_before_it() -> None:
    """No header line ends before it, and a frame follows it at once: the clock is the trigger's."""
    text = "Begin Triggerblock Mon Oct 2 09:00:00.000 2017\n   0.1 1  100             Rx   d 1 11\n"
    frames = assert_same(text.encode(), ".asc")
    assert frames.origin_ns == pytest.approx(1_506_934_800_100_000_000, abs=1000)


@pytest.mark.parametrize("end", ["\x0b", "\x0c", "\x1c", "\x85", "\u2028"])
def test_a_line_goes_on_behind_what_ends_none_in_a_text_file(end: str) -> None:
    """python-can on the same text: whatever stands behind such a character is no frame of its own."""
    text = HEAD.format(base="hex", stamps="absolute") + "".join(
        f"   0.{k} 1  10{k}             Rx   d 1 0{k}{behind}\n"
        for k, behind in ((1, ""), (2, f"{end}   0.25 1  7FF             Rx   d 1 FF"), (3, ""))
    )
    theirs = list(can.ASCReader(io.StringIO(text, newline=None), relative_timestamp=True))
    ours, _, remarks = taken(can_library_text.read(text.encode(), ".asc"))
    assert ours.can_id.tolist() == [one.arbitration_id for one in theirs] == [0x101, 0x102, 0x103]
    assert not remarks


@pytest.mark.parametrize("form", range(len(FORMS)))
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_empty_lines_say_nothing_and_count_in_places(form: int, end: str) -> None:
    """As in python-can, but for its CSV reader, which fails on them."""
    suffix, text, _ = FORMS[form]
    header = len(text.splitlines()) - 3
    lines = [*text.splitlines(), "no frame at all"]
    apart = end.join([*lines[:header], "", *lines[header:-1], "", "", lines[-1], ""]) + end
    ours, rows, remarks = taken(can_library_text.read(apart.encode(), suffix))
    whole, whole_rows, told = taken(can_library_text.read("\n".join(lines).encode(), suffix))
    for name in COLUMNS:
        np.testing.assert_array_equal(getattr(ours, name), getattr(whole, name), name)
    assert rows == whole_rows
    assert {(one.kind, one.count) for one in remarks} == {(one.kind, one.count) for one in told}
    assert f"line {len(lines) + 3}" in {place for one in remarks for place in one.places}


@pytest.mark.parametrize(("line", "most"), [("\n", 40), ("x\n", 80), ("\r\n", 40), (" \n", 80)])
def test_lines_without_a_frame_are_not_kept(line: str, most: int) -> None:
    """Memory beside the file's own, bytes a byte of the file; some 200 a line would be 130 and more."""
    frame = "   0.1 1  100             Rx   d 1 11\n"
    content = (HEAD.format(base="hex", stamps="absolute") + frame + 50_000 * line + frame).encode()
    can_library_text.read(content[:1000], ".asc")
    tracemalloc.start()
    frames, _, remarks = taken(can_library_text.read(content, ".asc"))
    taken_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(frames) == 2
    assert sum(one.count for one in remarks) == (50_000 if "x" in line else 0)
    assert taken_bytes < most * len(content)


@pytest.mark.parametrize(
    ("flags", "dlc", "expected", "told"),
    [("1000", "0", FD, 0), ("5000", "0", FD | ESI, 0), ("1000", "9", FD, 1), ("10", "8", FD | REMOTE, 0)],
)
def test_can_fd_without_data_is_no_remote_frame(flags: str, dlc: str, expected: int, told: int) -> None:
    """CAN FD knows no remote frames (ISO 11898-1); a classical one in such a line says so (flag 10, from memory)."""
    bits = f"0 {int(flags, 16) >> 14 & 1}"
    line = f"   1.000000 CANFD   1 Rx   61E   {bits} {dlc}  0    0    0   {flags}   0   0   0\n"
    content = (HEAD.format(base="hex", stamps="absolute") + line).encode()
    found = assert_same(content, ".asc")
    assert (found.flags.tolist(), found.can_id.tolist()) == ([expected], [0x61E])
    assert found.length.tolist() == [8 if expected & REMOTE else 0]
    assert taken(can_library_text.read(content, ".asc"))[2] == (
        {Remark("length", "frames whose data are not as long as they say: length of the data taken", 1, ("record 1",))}
        if told else set()
    )  # fmt: skip


def test_a_second_trigger_starts_the_clock_anew() -> None:
    """A trigger between two ordinary lines holds from the next line on."""
    suffix, text, _ = FORMS[0]
    later = "Begin Triggerblock Sat Sep 30 16:06:13.191 2017\n"
    lines = text.splitlines(keepends=True)
    lines.insert(next(k for k, line in enumerate(lines) if "0.100250" in line), later)
    frames = assert_same("".join(lines).encode(), suffix)
    assert frames.t_s[:3] == pytest.approx([0.0, 3600.00025, 3600.05], abs=1e-6)


def test_a_date_in_an_unknown_language_keeps_the_base_of_the_numbers(tmp_path: Path) -> None:
    path = tmp_path / "drive.asc"
    path.write_text(
        "date Mon wrz 30 15:06:13.191 2017\nbase dec  timestamps absolute\ninternal events logged\n"
        "   0.100000 1  100             Rx   d 2 16 255\n"
    )
    capture = read(path)
    assert isinstance(capture.content, Frames)
    assert (capture.content.can_id.tolist(), capture.content.data[0, :2].tolist()) == ([100], [16, 255])
    assert {remark.kind for remark in capture.remarks} == {"no_start_time"}


@pytest.mark.parametrize("word", ["dec", "Dec", "DEC"])
def test_the_base_of_the_numbers_in_any_letters(word: str) -> None:
    text = f"Base {word}  timestamps absolute\ninternal events logged\n   0.1 1  100             Rx   d 2 16 255\n"
    frames = assert_same(text.encode(), ".asc")
    assert (frames.can_id.tolist(), frames.data[0, :2].tolist()) == ([100], [16, 255])


@pytest.mark.parametrize("text", [TRC_2_0, TRC_2_1])
def test_the_length_of_can_fd_in_trc_is_no_trouble(text: str) -> None:
    """TRC 2.0 has the bytes themselves, 2.1 the code of ISO 11898-1 (9 means 12 bytes)."""
    lines = [line for line in text.splitlines(keepends=True) if line.startswith(";") or " FB " in line]
    frames, _, remarks = taken(can_library_text.read("".join(lines).encode(), ".trc"))
    assert (frames.length.tolist(), frames.flags.tolist(), remarks) == ([12], [FD | BRS], set())
    assert frames.fd_data[0, :12].tolist() == list(range(12))


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        (";$FILEVERSION=1.2\n", "version '1.2' of TRC, which is not known"),
        (";$FILEVERSION=3.0\n;$COLUMNS=N,O,T,I,d,L,D\n", "version '3.0'"),
        (";$FILEVERSION=\n", "version ''"),
        (";$COLUMNS=N,O,T,I,d,L,D\n", "says that it is of version 1.0"),
        (";$FILEVERSION=1.1\n;$COLUMNS=N,O,T,I,d,L,D\n", "says that it is of version 1.1"),
    ],
)
def test_a_trc_file_of_a_version_that_nobody_knows_is_refused(said: str, reason: str, tmp_path: Path) -> None:
    """Which of its columns is the identifier would be a guess: in 1.2 the place of 1.0 holds the bus."""
    path = tmp_path / "a.trc"
    path.write_text(f"{said};\n     1)      17.5 1  Rx     0123  2  11 22 \n")
    with pytest.raises(CaptureError, match=reason) as refused:
        read(path)
    assert str(path) in str(refused.value)
    assert "save it again as version" in str(refused.value)


@pytest.mark.parametrize("said", ["", ";$FILEVERSION=1.0\n"])
def test_a_trc_file_without_a_version_is_of_the_first(said: str, tmp_path: Path) -> None:
    path = tmp_path / "a.trc"
    path.write_text(f"{said};\n     1)      17.5  0123  2  11 22 \n     2)      18.5  0124  1  33 \n")
    found = read(path).content
    assert isinstance(found, Frames)
    assert found.can_id.tolist() == [0x123, 0x124]


def test_a_last_comment_that_looks_like_a_frame_is_none() -> None:
    text = ";$FILEVERSION=2.1\n;$COLUMNS=N,O,T,B,I,d,R,L,D\n;- 20798.600 DT 1  00000100 Tx -  2    00 00\n"
    assert len(assert_same(text.encode(), ".trc")) == 0
    assert len(assert_same(text.replace(";-", "1").encode(), ".trc")) == 1


def test_python_can_reads_the_samples_as_we_expect() -> None:
    """The independent side of the above: python-can alone, on frames that need none of our care."""
    text = FORMS[0][1]
    messages = list(can.ASCReader(io.StringIO(text), relative_timestamp=True))
    ours = assert_same(text.encode(), ".asc")
    assert [one.arbitration_id for one in messages] == ours.can_id.tolist()
    assert ours.t_s.tolist() == pytest.approx([one.timestamp - messages[0].timestamp for one in messages], abs=1e-6)


@pytest.mark.parametrize(
    "head", ["date Tue Nov 14 10:13:20.000 pm 2023\nbase hex  timestamps absolute\n", "", "// x\n"]
)
@pytest.mark.parametrize("odd", ["", "   0.05 1  7E9             Rx   r\n"])
def test_the_first_frame_of_an_asc_without_the_line_of_events(head: str, odd: str) -> None:
    """The line "internal events logged" may be missing; python-can takes the first frame for it."""
    frame = "   {:.6f} 1  7E8             Rx   d 2 16 255\n"
    text = head + odd + "".join(frame.format(0.1 * k).replace("16 255", "10 FF") for k in range(1, 4))
    frames = assert_same(text.encode(), ".asc")
    assert frames.can_id.tolist() == [0x7E9] * bool(odd) + [0x7E8] * 3
    assert np.diff(frames.t_s[-3:]) == pytest.approx([0.1, 0.1], abs=1e-6)
