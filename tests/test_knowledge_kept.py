"""Data files that were read before: what comes from the cache folder is what the files say, always."""

from __future__ import annotations

from pathlib import Path

import pytest

from logan.errors import KnowledgeError
from logan.knowledge import faults, obd, plan
from logan.knowledge.channels import ChannelInfo
from logan.knowledge.kept import contents, kept
from logan.knowledge.load import toml
from logan.knowledge.locate import DATA, dbc_open


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache" / "logan"


def test_the_second_reading_is_the_first(monkeypatch: pytest.MonkeyPatch) -> None:
    pids = dbc_open() / "obd2_service01.csv"
    first = (faults.load(), plan.load(), obd._read(pids, obd.PidSignal))
    for module, name in ((faults, "_load"), (plan, "_load"), (obd, "_rows")):
        monkeypatch.setattr(module, name, lambda *_: pytest.fail("what was kept was not used"))
    assert (faults.load(), plan.load(), obd._read(pids, obd.PidSignal)) == first


def test_a_changed_file_is_read_anew_and_its_mistake_told(tmp_path: Path) -> None:
    file = tmp_path / "one.toml"
    for text in ('name = "a"\nunit = "rpm"', 'name = "b"\nunit = "rpm"', 'name = "b"\nunit = 7'):
        file.write_text(f"{text}\nlow = 0.0\nhigh = 1.0\ntitle = ''\n", "utf-8")
        for _ in range(2):
            if "7" in text:
                with pytest.raises(KnowledgeError):
                    toml(file, ChannelInfo)
            else:
                assert toml(file, ChannelInfo)[0].name == text[8]


@pytest.mark.parametrize("damage", [b"", b"xx", b"\xff" * 400])
def test_what_is_damaged_is_made_anew(cache: Path, damage: bytes) -> None:
    path, made = DATA / "x.toml", []

    def make() -> list[int]:
        made.append(1)
        return [1, 2]

    assert kept(path, b"text", list[int], make) == [1, 2]
    (stored,) = cache.iterdir()
    whole = stored.read_bytes()
    for spoilt in (damage, whole[:-1], b"text" + damage):
        stored.write_bytes(spoilt)
        assert kept(path, b"text", list[int], make) == [1, 2]
        assert stored.read_bytes() == whole
    assert kept(path, b"tex", list[int], make) == [1, 2]
    assert len(made) == 5


def test_contents_tell_files_apart(tmp_path: Path) -> None:
    one, two = tmp_path / "a", tmp_path / "b"
    one.write_bytes(b"1")
    before = contents([one, two])
    two.write_bytes(b"")
    assert contents([one]) != before != contents([one, two])
