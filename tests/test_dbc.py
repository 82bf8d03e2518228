"""Signal data bases: loading, cache, duplicates, encodings, J1939 marks and errors (reference library: cantools)."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from logan.decode import dbc
from logan.decode.plan import Condition
from logan.errors import KnowledgeError

HEAD = 'VERSION ""\n\nNS_ :\n\nBS_:\n\nBU_: ECU\n\n'
SPEED = ' SG_ Speed : 0|16@1+ (0.25,-5) [0|16000] "rpm" ECU\n'


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "cache"
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder))
    return folder / "logan"


def written(tmp_path: Path, text: str, name: str = "a.dbc", encoding: str = "utf-8") -> Path:
    path = tmp_path / name
    path.write_bytes(text.encode(encoding))
    return path


def test_plan_of_a_message(tmp_path: Path) -> None:
    text = (
        HEAD + "BO_ 291 Engine: 8 ECU\n" + SPEED + ' SG_ Mode M : 23|8@0+ (1,0) [0|0] "" ECU\n'
        ' SG_ Temp m3 : 31|12@0- (0.5,-40) [-40|200] "degC" ECU\n\n'
        'VAL_ 291 Mode 0 "off" 1 "on" ;\n'
    )
    (plan,), remarks = dbc.load([written(tmp_path, text)])
    assert remarks == []
    assert (plan.frame_id, plan.extended, plan.name, plan.length_bytes, plan.pgn) == (0x123, False, "Engine", 8, None)
    speed, mode, temp = sorted(plan.signals, key=lambda s: ["Speed", "Mode", "Temp"].index(s.name))
    assert (speed.scale, speed.offset, speed.maximum, speed.unit) == (0.25, -5.0, 16000.0, "rpm")
    assert mode.labels == {0: "off", 1: "on"}
    assert temp.signed
    assert temp.big_endian
    assert temp.multiplexing == (Condition("Mode", ((3, 3),)),)


def test_extended_multiplexing_goes_up_the_chain(tmp_path: Path) -> None:
    text = (
        HEAD + "BO_ 5 Deep: 8 ECU\n"
        ' SG_ A M : 0|8@1+ (1,0) [0|0] "" ECU\n SG_ B m0M : 8|8@1+ (1,0) [0|0] "" ECU\n'
        ' SG_ C m2 : 16|8@1+ (1,0) [0|0] "" ECU\n\nSG_MUL_VAL_ 5 B A 0-9;\nSG_MUL_VAL_ 5 C B 2-5, 7-7;\n'
    )
    (plan,), _ = dbc.load([written(tmp_path, text)])
    of = {signal.name: signal.multiplexing for signal in plan.signals}
    assert of["C"] == (Condition("B", ((2, 5), (7, 7))), Condition("A", ((0, 9),)))


@pytest.mark.parametrize("encoding", ["utf-8", "cp1252", "utf-8-sig"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    text = HEAD + 'BO_ 1 M: 8 ECU\n SG_ T : 0|8@1+ (1,0) [0|0] "°C" ECU\n'
    (plan,), _ = dbc.load([written(tmp_path, text, encoding=encoding)])
    assert plan.signals[0].unit == "°C"


def test_later_file_wins(tmp_path: Path) -> None:
    first = written(tmp_path, HEAD + "BO_ 1 Old: 8 ECU\n" + SPEED + "\nBO_ 2 Kept: 8 ECU\n" + SPEED, "first.dbc")
    second = written(tmp_path, HEAD + "BO_ 1 New: 8 ECU\n" + SPEED, "second.dbc")
    plans, (remark,) = dbc.load([first, second])
    assert sorted(plan.name for plan in plans) == ["Kept", "New"]
    assert (remark.kind, remark.count, remark.places, remark.file) == (
        "dbc_message_replaced", 1, ("Old by New",), "first.dbc",
    )  # fmt: skip


# 0x18FEEE00 is PGN 65262 (PDU2), 0x0C0003FE is PGN 0 to destination 3 (PDU1): SAE J1939-21, 5.2
@pytest.mark.parametrize(("frame_id", "pgn"), [(0x18FEEE00, 65262), (0x0CF004FE, 61444), (0x0C0003FE, 0)])
@pytest.mark.parametrize("mark", ["default", "message", "protocol", "none", "protocol but not this message"])
def test_j1939_marks(tmp_path: Path, mark: str, frame_id: int, pgn: int) -> None:
    number = frame_id | 1 << 31
    formats = '"StandardCAN","ExtendedCAN","reserved","J1939PG"'
    define = f'BA_DEF_ BO_ "VFrameFormat" ENUM {formats};\nBA_DEF_ "ProtocolType" STRING ;\n'
    standard = 'BA_DEF_DEF_ "VFrameFormat" "StandardCAN";\nBA_DEF_DEF_ "ProtocolType" "";\n'
    tail = {
        "default": define + standard.replace("StandardCAN", "J1939PG"),
        "message": define + standard + f'BA_ "VFrameFormat" BO_ {number} 3;\n',
        "protocol": define + standard + 'BA_ "ProtocolType" "J1939";\n',
        "none": "",
        "protocol but not this message": define
        + standard
        + f'BA_ "ProtocolType" "J1939";\nBA_ "VFrameFormat" BO_ {number} 1;\n',
    }[mark]
    (plan,), _ = dbc.load([written(tmp_path, f"{HEAD}BO_ {number} M: 8 ECU\n{SPEED}\n{tail}")])
    assert plan.pgn == (pgn if mark in ("default", "message", "protocol") else None)


@pytest.mark.parametrize(
    ("content", "place"),
    [
        (b"\x00\x01binary", "line 1"),
        (b"", "line 1"),
        ((HEAD + "BO_ 1 M: 8 ECU\n" + SPEED + "BO_ 2 }{\n").encode(), "line 11"),
        ((HEAD + "BO_ 3000 M: 8 ECU\n" + SPEED).encode(), None),
    ],
)
def test_broken_file(tmp_path: Path, content: bytes, place: str | None) -> None:
    path = tmp_path / "broken.dbc"
    path.write_bytes(content)
    with pytest.raises(KnowledgeError) as caught:
        dbc.load([path])
    assert caught.value.file == str(path)
    assert caught.value.place == place
    assert caught.value.do


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("M: 8", "M: 94967296", "94967296 as the length of a message"),
        (": 0|16@", ": 04294967296|16@", "04294967296 as the first bit of a signal"),
        (": 0|16@", ": -94967296|16@", "-94967296 as the first bit of a signal"),
        (": 0|16@", ": 0|99999999999999999999999@", "99999999999999999999 as the length of a signal"),
        ("\n", "\nSG_MUL_VAL_ 1 A B 1-1, 3 -94967296;\n", "more than 1048576 numbers"),
    ],
)
def test_numbers_that_would_fill_memory_are_refused(tmp_path: Path, old: str, new: str, said: str) -> None:
    text = 'VERSION ""\nBO_ 1 M: 8 ECU\n SG_ S : 0|16@1+ (1,0) [0|0] "" ECU\n'
    dbc.load([written(tmp_path, text)])
    with pytest.raises(KnowledgeError, match=r"line [123]: ") as caught:
        dbc.load([written(tmp_path, text.replace(old, new, 1))])
    assert said in str(caught.value)


def test_absent_file(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match="cannot be read"):
        dbc.load([tmp_path / "absent.dbc"])


def test_signals_that_no_plan_can_express_are_named(tmp_path: Path) -> None:
    text = HEAD + 'BO_ 1 M: 16 ECU\n SG_ Text : 0|80@1+ (1,0) [0|0] "" ECU\n SG_ S : 80|8@1+ (1,0) [0|0] "" ECU\n'
    text += ' SG_ Before : -4|8@1+ (1,0) [0|0] "" ECU\n'
    (plan,), (remark,) = dbc.load([written(tmp_path, text)])
    assert [signal.name for signal in plan.signals] == ["S"]
    assert (remark.kind, remark.places) == ("dbc_signal_unread", ("M.Before", "M.Text"))


def test_cache_is_used_remade_and_optional(tmp_path: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, HEAD + "BO_ 1 M: 8 ECU\n" + SPEED)
    first = dbc.load([path])
    (stored,) = cache.iterdir()
    content = stored.read_bytes()
    monkeypatch.setattr(dbc, "_parse", lambda *_: pytest.fail("the cache was not used"))
    assert dbc.load([path]) == first
    monkeypatch.undo()
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache.parent))
    for damaged in (content[:40], b"\xff\xfe", b'{"messages": 3}'):
        stored.write_bytes(damaged)
        assert dbc.load([path]) == first
        assert stored.read_bytes() == content
    (tmp_path / "file").write_text("no folder can be made in here")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    assert dbc.load([path]) == first


def test_cantools_is_imported_on_a_miss_only(tmp_path: Path) -> None:
    path = written(tmp_path, HEAD + "BO_ 1 M: 8 ECU\n" + SPEED)
    program = f"import sys; from logan.decode import dbc; dbc.load([{str(path)!r}]); print('cantools' in sys.modules)"
    said = [
        subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout.strip()
        for _ in range(2)
    ]
    assert said == ["True", "False"]
