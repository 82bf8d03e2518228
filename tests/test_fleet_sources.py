"""Which files of folders, patterns and object stores are logs, and which of them belong to one drive."""

from __future__ import annotations

import errno
import hashlib
import os
from collections.abc import Iterator
from pathlib import Path

import fsspec
import pytest

from logan.errors import UsageError
from logan.fleet import sources


def names(*places: str | Path) -> dict[str, list[str]]:
    return {log.name: [file.name for file in log.files] for log in sources.find(places)[0]}


def touch(folder: Path, *files: str) -> None:
    for file in files:
        path = folder / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(file.encode())


def test_files_of_one_drive_stand_together(tmp_path: Path) -> None:
    touch(tmp_path, "a/1.log.gz", "a/1.edges.csv.gz", "a/1.wav", "a/2.log", "b/1.log", "a/2.truth.json", "README.md")
    logs, passed = sources.find([tmp_path])
    assert {log.name: [file.name for file in log.files] for log in logs} == {
        "a/1": ["a/1.edges.csv.gz", "a/1.log.gz", "a/1.wav"],
        "a/2": ["a/2.log"],
        "b/1": ["b/1.log"],
    }
    assert passed == {".json": 1, ".md": 1}
    assert [log.folder for log in logs] == [str(tmp_path / name) for name in ("a", "a", "b")]


def test_folders_of_one_name_are_told_apart_by_what_they_lie_in() -> None:
    assert sources.in_short(["/d/north/van", "/d/south/van", "/d/south/lorry"]) == {
        "/d/north/van": "north/van",
        "/d/south/van": "south/van",
        "/d/south/lorry": "lorry",
    }
    assert sources.in_short(["/van", "/x/van", "/y/x/van"]) == {"/van": "van", "/x/van": "x/van", "/y/x/van": "y/x/van"}


@pytest.mark.parametrize(
    ("files", "groups"),
    [
        (["drive 1.log", "drive 1.5 km.log"], 2),  # a number after the point is part of the name
        (["2025.03.01.log", "2025.03.02.log"], 2),
        (["car.a.log", "car.b.log"], 2),  # nothing says that both are of one drive
        (["car.log", "car.edges.csv"], 1),
        (["car.log", "car.crank.left.csv"], 2),
        (["car.log", "car.crank.csv", "car.crank.left.csv"], 1),
        (["car.log", "cargo.log"], 2),
        (["noending", "noending.wav"], 1),
    ],
)
def test_what_belongs_together(tmp_path: Path, files: list[str], groups: int) -> None:
    touch(tmp_path, *files)
    assert len(names(tmp_path)) == groups


def test_hidden_files_are_no_logs_but_a_hidden_place_is_a_place(tmp_path: Path) -> None:
    touch(tmp_path, ".store/x.log", ".store/.part", "y.log", ".z.log")
    assert list(names(tmp_path)) == ["y"]
    assert list(names(tmp_path / ".store")) == ["x"]


def test_patterns_and_single_files(tmp_path: Path) -> None:
    touch(tmp_path, "a/1.log", "a/2.csv", "b/c/3.log", "note.md", "[x].log")
    assert set(names(f"{tmp_path}/**/*.log")) == {"a/1", "b/c/3", "[x]"}
    assert set(names(tmp_path / "a" / "1.log", tmp_path / "a" / "2.csv")) == {"1", "2"}
    assert set(names(tmp_path / "note.md")) == {"note"}  # named by itself
    assert set(names(tmp_path / "[x].log")) == {"[x]"}


def test_a_place_given_twice_counts_once(tmp_path: Path) -> None:
    touch(tmp_path, "a/1.log")
    assert names(tmp_path, tmp_path / "a", tmp_path / "a" / "1.log") == {"1": ["1.log"]}


def test_addresses(tmp_path: Path) -> None:
    touch(tmp_path, "a/1.log", "a/2.log")
    assert names(tmp_path.as_uri()) == names(tmp_path)
    store = fsspec.filesystem("memory")
    store.pipe("/fleet_sources/a/1.log", b"one")
    store.pipe("/fleet_sources/b/1.log", b"two")
    logs = sources.find(["memory://fleet_sources"])[0]
    assert [log.name for log in logs] == ["a/1", "b/1"]
    assert all(log.in_this_process for log in logs)
    assert sources.find(["memory://fleet_sources/*/1.log"])[0] == logs
    before = logs[0].files[0].identity
    store.pipe("/fleet_sources/a/1.log", b"three")
    assert sources.find(["memory://fleet_sources"])[0][0].files[0].identity != before


def test_identity_of_a_local_file_is_its_content(tmp_path: Path) -> None:
    touch(tmp_path, "1.log")
    assert sources.find([tmp_path])[0][0].files[0].identity == hashlib.sha256(b"1.log").hexdigest()


@pytest.mark.parametrize("place", ["absent", "absent/*.log", "strange://x"])
def test_a_place_without_logs_is_told(tmp_path: Path, place: str) -> None:
    with pytest.raises(UsageError) as told:
        sources.find([place if "://" in place else tmp_path / place])
    assert place in str(told.value)
    assert ";" in str(told.value)


def test_a_folder_of_reports_only(tmp_path: Path) -> None:
    touch(tmp_path, "a.html", "b.json")
    with pytest.raises(UsageError, match="no capture"):
        sources.find([tmp_path])


def test_links_to_folders_are_followed_and_loops_end(tmp_path: Path) -> None:
    touch(tmp_path, "elsewhere/1.log", "place/2.log", "place/sub/3.log")
    place = tmp_path / "place"
    (place / "van").symlink_to("../elsewhere")
    (place / "sub" / "up").symlink_to("..")
    expected = {"2": ["2.log"], "sub/3": ["sub/3.log"], "van/1": ["van/1.log"]}
    assert names(place) == names(f"{place}/**") == names(place.as_uri()) == expected
    assert list(names(f"{place}/*/*.log")) == ["sub/3", "van/1"]


def test_a_pattern_in_a_hidden_folder(tmp_path: Path) -> None:
    touch(tmp_path, ".store/x.log", ".store/.y.log")
    assert list(names(f"{tmp_path}/.store/*.log")) == ["x"]


def test_what_cannot_be_read_is_among_the_logs_and_says_why(tmp_path: Path) -> None:
    """A link to nothing, one to itself and a pipe, which would keep a reader waiting for ever (POSIX mkfifo)."""
    touch(tmp_path, "a.log")
    (tmp_path / "b.log").symlink_to("nothing")
    (tmp_path / "c.log").symlink_to("c.log")
    os.mkfifo(tmp_path / "d.log")
    why = {log.name: log.files[0].unread for log in sources.find([tmp_path])[0]}
    assert why == {
        "a": "",
        "b": "no such file or directory",
        "c": "too many levels of symbolic links",
        "d": "neither a file nor a folder that can be listed",
    }


def test_a_folder_that_cannot_be_listed_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    touch(tmp_path, "a.log", "locked/b.log")
    listed = os.scandir

    def scandir(path: str) -> Iterator[os.DirEntry[str]]:
        if str(path).endswith("locked"):
            raise PermissionError(errno.EACCES, "Permission denied", path)
        return listed(path)

    monkeypatch.setattr(os, "scandir", scandir)
    why = {log.name: log.files[0].unread for log in sources.find([tmp_path])[0]}
    assert why == {"a": "", "locked": "neither a file nor a folder that can be listed"}
