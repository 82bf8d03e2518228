"""The page of a comparison in a real browser: quiet, asks for nothing, nothing cut off, readable for all."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest
from conftest import needs_program
from playwright.sync_api import Browser
from test_compare import drive, with_measure

from logan.comparison import compare
from logan.knowledge import measures
from logan.report import compare_page

pytestmark = [pytest.mark.browser, needs_program("chromium")]

AXE = Path(__file__).parent / "data" / "axe-4.14.1.min.js.gz"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    base = drive("healthy_rotary_six")
    drives = [with_measure(base, "running_voltage_v", 14.4 - 0.15 * k, 0.05) for k in range(6)]
    sides = [compare_page.Side(one.name, one.record, one.finding) for one in (drive("fuel_supply_low"), *drives)]
    path = tmp_path_factory.mktemp("compare") / "after.compare.html"
    path.write_text(compare_page.render(sides, compare([drive("fuel_supply_low"), *drives]), measures.load()), "utf-8")
    return path.as_uri()


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (768, "dark"), (360, "light")])
def test_page(browser: Browser, address: str, width: int, scheme: str) -> None:
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)  # type: ignore[arg-type]
    page = context.new_page()
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(address)
    assert "The repair worked" in page.inner_text("h1")
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    assert said == []
    assert asked == [address]
    page.evaluate(gzip.decompress(AXE.read_bytes()).decode("utf-8"))
    rules = "{runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']}"
    found = page.evaluate(f"axe.run({rules}).then((r) => r.violations.map((v) => v.id + ': ' + v.nodes[0].html))")
    assert found == []
    context.close()
