"""What the tests share: real captures, programs that may be missing, and the rule that CI may not miss any."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

    from logan.store.database import Sessions

INSTALL = {
    "tshark": "apt-get install -y tshark",
    "chromium": "apt-get install -y chromium",
    "pdftoppm": "apt-get install -y poppler-utils",
}


def needs_program(name: str) -> pytest.MarkDecorator:
    """Skip where a program is not installed, with its install line; where LOGAN_ALL_TOOLS is set, fail instead."""
    absent = shutil.which(name) is None
    if absent and os.environ.get("LOGAN_ALL_TOOLS"):
        raise RuntimeError(f"{name} is missing, and LOGAN_ALL_TOOLS says that nothing may be: {INSTALL[name]}")
    return pytest.mark.skipif(absent, reason=f"{name} is not installed: {INSTALL[name]}")


@pytest.fixture(scope="session")
def captures() -> Path:
    """Folder of real recordings, named by the environment variable LOGAN_CAPTURES."""
    named = os.environ.get("LOGAN_CAPTURES")
    if not named or not Path(named).is_dir():
        pytest.skip("real recordings are kept outside the project: set LOGAN_CAPTURES to their folder")
    return Path(named)


@pytest.fixture
def database() -> str | None:
    """URL of the data base that LOGAN_TEST_DATABASE names, emptied; None where the built-in one is to be used."""
    url = os.environ.get("LOGAN_TEST_DATABASE")
    if not url:
        return None
    import sqlalchemy as sa

    engine = sa.create_engine(url)
    assert "test" in (engine.url.database or ""), "LOGAN_TEST_DATABASE is emptied: its name must hold the word test"
    there = sa.MetaData()
    there.reflect(engine)
    there.drop_all(engine)
    engine.dispose()
    return url


@pytest.fixture
def sessions(tmp_path: Path, database: str | None) -> Sessions:
    """A data base of the workshop with nothing in it."""
    from logan.store.database import opened

    return opened(tmp_path, database)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A headless chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        yield opened
        opened.close()


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Where LOGAN_ALL_TOOLS says that nothing may be missing, a test skipped for a missing library fails the run."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if not os.environ.get("LOGAN_ALL_TOOLS") or reporter is None:
        return
    skipped = [str(report.longrepr) for report in reporter.stats.get("skipped", [])]
    if any("install" in why or "could not import" in why for why in skipped):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
