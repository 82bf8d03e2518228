"""What is kept for the next start: whole, the user's alone, and never trusted where it is neither."""

from __future__ import annotations

import importlib.metadata
import os
import sys
from pathlib import Path

import pytest

from logan import cache
from logan.report import html_page

posix = pytest.mark.skipif(sys.platform == "win32", reason="owner and mode of a file say nothing on Windows")


@posix
def test_kept_code_is_the_users_alone_whatever_the_umask(tmp_path: Path) -> None:
    path = tmp_path / "logan" / "code.o"
    before = os.umask(0o002)
    try:
        cache.store_code(path, b"code")
    finally:
        os.umask(before)
    assert path.stat().st_mode & 0o077 == 0
    assert cache.kept_code(path) == b"code"
    assert [one.name for one in path.parent.iterdir()] == ["code.o"]


@posix
@pytest.mark.parametrize("mode", [0o620, 0o602])
def test_code_that_others_may_have_written_is_not_run(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "code.o"
    cache.store_code(path, b"code")
    path.chmod(mode)
    assert cache.kept_code(path) is None


@posix
def test_another_users_code_is_not_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "code.o"
    cache.store_code(path, b"code")
    somebody_else = os.getuid() + 1
    monkeypatch.setattr(os, "getuid", lambda: somebody_else)
    assert cache.kept_code(path) is None


@pytest.mark.parametrize("spoilt", [b"", b"short", b"\0" * 32 + b"code"])
def test_spoilt_code_is_not_run(tmp_path: Path, spoilt: bytes) -> None:
    path = tmp_path / "code.o"
    cache.store(path, spoilt)
    assert cache.kept_code(path) is None


def test_versions_are_those_of_the_installation() -> None:
    for package in ("cantools", "jinja2"):
        assert cache.version_of(package) == importlib.metadata.version(package)
    assert cache.version_of("no_such_package") == ""


def test_the_pages_template_is_compiled_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    compiled = []
    made = html_page.jinja2.Environment.compile

    def counted(self: object, *given: object, **named: object) -> object:
        compiled.append(given[1])
        return made(self, *given, **named)  # type: ignore[call-overload]

    monkeypatch.setattr(html_page.jinja2.Environment, "compile", counted)
    for start in range(4):
        if start == 2:
            for path in (tmp_path / "logan").iterdir():
                path.write_bytes(path.read_bytes()[:-1])
        html_page._template.cache_clear()
        html_page._template()
        assert len(compiled) == (1 if start < 2 else 2)
    html_page._template.cache_clear()


def test_a_full_disk_leaves_no_part_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_self: Path, _target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    cache.store(tmp_path / "kept.bin", b"content")
    assert list(tmp_path.iterdir()) == []
