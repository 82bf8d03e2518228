"""The training room in a real browser: a lesson from making the exercise to the score, by click and on a phone.

Accessibility is judged by axe-core 4.14.1 (MPL 2.0, tests/data/axe.LICENSE.txt), WCAG 2.2 A and AA.
"""

from __future__ import annotations

import gzip
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from conftest import needs_program
from playwright.sync_api import Browser, Page, sync_playwright

pytest.importorskip("fastapi", reason="pip install '.[workshop]'")

pytestmark = [pytest.mark.browser, needs_program("chromium")]
AXE = gzip.decompress((Path(__file__).parent / "data" / "axe-4.14.1.min.js.gz").read_bytes()).decode("utf-8")
WIDTHS = (1280, 820, 390)


@pytest.fixture
def home(tmp_path: Path) -> Iterator[str]:
    """A workshop of its own, started from its command line."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-c", "import sys; from logan.cli import main; sys.exit(main())"]
    server = subprocess.Popen([*command, "serve", "--data", str(tmp_path / "data"), "--port", str(port)])
    for _ in range(300):
        time.sleep(0.1)
        with socket.socket() as trial:
            if trial.connect_ex(("127.0.0.1", port)) == 0:
                break
    yield f"http://127.0.0.1:{port}"
    server.terminate()
    server.wait()


@pytest.fixture
def browser() -> Iterator[Browser]:
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        yield opened
        opened.close()


def sound(page: Page) -> None:
    """Nothing cut off at three widths, nothing serious for people who read otherwise."""
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= width, (page.url, width)
    page.evaluate(AXE)
    found = page.evaluate("axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'] })")
    assert len(found["passes"]) > 8
    serious = [
        (v["id"], v["nodes"][0]["html"][:120]) for v in found["violations"] if v["impact"] in ("serious", "critical")
    ]
    assert serious == [], page.url
    page.set_viewport_size({"width": WIDTHS[0], "height": 900})


def test_a_lesson_by_click(browser: Browser, home: str) -> None:
    page = browser.new_page()
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))

    page.goto(f"{home}/training")
    sound(page)
    page.select_option("select[name=canned]", "charging_voltage_low")
    form = page.locator("form:has(select[name=canned])")
    form.locator("input[name=title]").fill("Lamps grow dim <i>at idle</i>")
    form.get_by_role("button").click()
    page.get_by_role("heading", name="The truth:").wait_for(timeout=90_000)  # the page looks again by itself
    sound(page)

    page.goto(f"{home}/training")
    page.get_by_text("Compose a lesson").click()
    page.locator("input[name=chosen]").check()
    page.locator("form:has(input[name=chosen]) input[name=title]").fill("First day")
    page.get_by_role("button", name="Compose").click()
    lesson = page.url
    assert page.get_by_text("Lamps grow dim <i>at idle</i>").first.is_visible()
    page.locator("input[name=name]").fill("Dora")
    page.get_by_role("button", name="Begin").click()
    attempt = page.url
    sound(page)

    page.get_by_role("button", name="All measures").click()
    page.wait_for_selector("html[data-ready]")
    assert "V" in page.inner_text("#measures")
    page.goto(attempt)
    assert page.get_by_role("status").inner_text().startswith("14 of ")
    page.select_option("select[name=first]", "charging_voltage_low")
    page.select_option("select[name=check]", index=1)
    page.get_by_role("button", name="This is my answer").click()
    assert page.get_by_text("It was:").is_visible()
    sound(page)
    page.goto(lesson)
    assert page.get_by_role("row").filter(has_text="Dora").get_by_role("link").is_visible()
    sound(page)
    assert said == []
    assert [url for url in asked if not url.startswith((home, "data:", "blob:"))] == []
