"""The page in a real browser, from a file: quiet console, no request, nothing cut off, all charts drawn and printed.

Accessibility is judged by axe-core 4.14.1 (MPL 2.0, tests/data/axe.LICENSE.txt), WCAG 2.2 A and AA.
"""

from __future__ import annotations

import gzip
import re
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest
import report_sample
from conftest import needs_program
from playwright.sync_api import Browser, Page

from logan.model.capture import Remark
from logan.pipeline.analyse import analyse
from logan.report import html_page

pytestmark = [pytest.mark.browser, needs_program("chromium")]

SAMPLES = Path(__file__).parent.parent / "sample_logs"
AXE = Path(__file__).parent / "data" / "axe-4.14.1.min.js.gz"
# A chart is drawn when it comes into view: each is shown and waited for, however slow the machine.
SHOW_ALL = """async () => {
  const end = Date.now() + 120_000;
  for (const plot of document.querySelectorAll(".plot")) {
    while (!plot.hasAttribute("data-drawn")) {
      if (Date.now() > end) throw new Error(`${plot.id} is not drawn`);
      plot.scrollIntoView({ behavior: "instant", block: "center" });
      await new Promise((done) => setTimeout(done, 50));
    }
  }
}"""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> str:
    document = html_page.build(report_sample.record(), report_sample.finding(), report_sample.CATALOGUE)
    path = tmp_path_factory.mktemp("report") / "drive <b>&' log.report.html"
    path.write_text(html_page.page(document), "utf-8")
    return path.as_uri()


class Opened:
    """A page with everything that it said and asked for."""

    def __init__(self, browser: Browser, address: str, width: int, scheme: str = "light") -> None:
        self.said: list[str] = []
        self.asked: list[str] = []
        context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)  # type: ignore[arg-type]
        self.page: Page = context.new_page()
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(address)
        self.page.wait_for_selector("html[data-ready]")

    def drawn(self) -> tuple[int, int]:
        count = "document.querySelectorAll('{}').length"
        return self.page.evaluate(count.format(".plot[data-drawn] svg.main-svg:first-of-type")), self.page.evaluate(
            count.format(".plot")
        )

    def quiet(self, address: str) -> None:
        assert self.said == []
        assert [url for url in self.asked if url != address and not url.startswith(("data:", "blob:"))] == []


@pytest.mark.parametrize(("width", "scheme"), [(1400, "light"), (820, "dark"), (390, "light"), (360, "dark")])
def test_draws_everything_and_fits(browser: Browser, address: str, width: int, scheme: str) -> None:
    opened = Opened(browser, address, width, scheme)
    opened.page.evaluate(SHOW_ALL)
    drawn, charts = opened.drawn()
    assert drawn == charts == 10
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= width
    opened.quiet(address)


def test_endless_names_do_not_widen_a_phone(browser: Browser, tmp_path: Path) -> None:
    record, finding = report_sample.record(), report_sample.finding()
    name = "w" * 3_000
    long = replace(
        record,
        captures=(replace(record.captures[0], name=name, format=name),),
        profile_source=name,
        assumed=(name,),
        remarks=(Remark(name, name, 2, (name,), name),),
    )
    first = msgspec.structs.replace(finding.ranking.faults[0], title=name)
    ranking = msgspec.structs.replace(finding.ranking, faults=[first, *finding.ranking.faults[1:]], sentence=name)
    document = html_page.build(long, msgspec.structs.replace(finding, ranking=ranking), report_sample.CATALOGUE)
    path = tmp_path / "long.html"
    path.write_text(html_page.page(document), "utf-8")
    opened = Opened(browser, path.as_uri(), 390)
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 390


def test_an_old_browser_says_so(browser: Browser, address: str) -> None:
    page = browser.new_page()
    page.add_init_script("delete window.DecompressionStream")
    page.goto(address)
    page.wait_for_function("document.getElementById('plot-speed').textContent.includes('too old')")


def test_charts_wait_until_they_are_seen(browser: Browser, address: str) -> None:
    opened = Opened(browser, address, 1400)
    assert opened.drawn()[0] == 0


def test_print_draws_every_chart(browser: Browser, address: str) -> None:
    opened = Opened(browser, address, 1400, "dark")
    printed = opened.page.pdf(prefer_css_page_size=True, print_background=True)
    assert opened.page.evaluate("document.querySelectorAll('.plot:not([data-drawn])').length") == 0
    pages = printed.count(b"/Type /Page\n") or printed.count(b"/Type /Page ")
    assert 3 <= pages <= 6
    opened.quiet(address)


@pytest.mark.parametrize(
    ("name", "engine", "sensors"),
    [
        ("pump_key_reversed", "training_rotary_six", True),
        ("cylinder_fuel_low", "training_rotary_six", True),
        ("healthy_rail_four", "training_rail_four", True),
        ("mixture_lean", "training_spark_four", False),
    ],
)
def test_a_sample_prints_on_three_to_six_sheets(
    browser: Browser, tmp_path: Path, name: str, engine: str, sensors: bool
) -> None:
    files = [str(SAMPLES / f"{name}.log.gz"), *([str(SAMPLES / f"{name}.edges.csv.gz")] if sensors else [])]
    done = analyse(files, engine=engine)
    path = tmp_path / "sample.html"
    path.write_text(html_page.render(done.record, done.finding, done.known.measures), "utf-8")
    opened = Opened(browser, path.as_uri(), 1280)
    printed = opened.page.pdf(prefer_css_page_size=True, print_background=True)
    pages = printed.count(b"/Type /Page\n") or printed.count(b"/Type /Page ")
    assert 3 <= pages <= 6
    opened.quiet(path.as_uri())


@pytest.mark.parametrize("width", [360, 1280])
def test_text_of_twice_the_size_fits(browser: Browser, address: str, width: int) -> None:
    """WCAG 2.2, success criterion 1.4.4."""
    opened = Opened(browser, address, width)
    opened.page.add_style_tag(content="html, body { font-size: 200% }")
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= width


def test_four_measures_by_cylinder_fit_a_page_of_1280(browser: Browser, tmp_path: Path) -> None:
    """No column behind a scroller; on a phone the bars of the evidence share one scale, which is shown."""
    files = [SAMPLES / f"cylinder_compression_low.{kind}" for kind in ("log.gz", "edges.csv.gz")]
    made = analyse(files, engine="training_rail_four")
    path = tmp_path / "four.html"
    path.write_text(html_page.render(made.record, made.finding), "utf-8")
    wide = Opened(browser, path.as_uri(), 1280)
    tables = wide.page.locator("#cylinders .scroller")
    assert tables.count() == 2
    assert wide.page.evaluate(
        "[...document.querySelectorAll('.scroller')].every(n => n.scrollWidth <= n.clientWidth + 1)"
    )
    phone = Opened(browser, path.as_uri(), 390)
    widths = phone.page.evaluate("[...document.querySelectorAll('.balance td.scale')].map(n => n.clientWidth)")
    assert len(widths) > 3
    assert len(set(widths)) == 1
    assert phone.page.locator(".balance thead .scale").first.is_visible()


def test_on_a_phone_a_check_refers_to_the_cautions_above_it(browser: Browser, address: str) -> None:
    """Read once above, numbered; a wide page and one without numbers above keep them at the check."""
    for width, listed in ((1400, True), (390, False)):
        page = Opened(browser, address, width).page
        checks = page.locator("article.check")
        assert checks.count() >= 2
        for k in range(checks.count()):
            own, see = (
                checks.nth(k).locator(".caution"),
                checks.nth(k).get_by_text(re.compile(r"^Cautions [\d, ]+ above")),
            )
            if own.count():
                assert own.first.is_visible() == listed
                assert see.first.is_visible() != listed
        assert page.locator("#cautions ol > li").first.is_visible()
        numbers = {int(n) for text in page.locator("article.check .paper-only").all_text_contents()
                   for n in re.findall(r"\d+", text)}  # fmt: skip
        assert numbers <= set(range(1, page.locator("#cautions ol > li").count() + 1))
        assert numbers


def test_us_units_and_back(browser: Browser, address: str) -> None:
    """98 kPa = 14.2 psi and 83 degC = 181.4 degF by NIST SP 811, appendix B."""
    opened = Opened(browser, address, 1400)
    row = opened.page.locator("tr", has_text="Supply pressure, lowest under load")
    warm = opened.page.locator("tr", has_text="Coolant temperature reached")
    before = row.inner_text()
    assert "98\u00a0kPa" in before
    opened.page.check("input[value=us]")
    assert "14.2\u00a0psi" in row.inner_text()
    assert "13.3 to 15.1\u00a0psi" in row.inner_text()
    assert "at least 10.2\u00a0psi" in row.inner_text()
    assert "181\u00a0°F" in warm.inner_text()
    opened.page.locator("#plot-supply").scroll_into_view_if_needed()
    opened.page.wait_for_selector("#plot-supply[data-drawn]")
    highest = opened.page.evaluate("Math.max(...document.getElementById('plot-supply').data[0].y)")
    assert 16.0 < highest < 18.0  # about 118 kPa
    assert "psi" in opened.page.locator("figure", has=opened.page.locator("#plot-supply")).inner_text()
    opened.page.check("input[value=metric]")
    assert row.inner_text() == before
    opened.quiet(address)


def test_rates_of_temperature_are_scaled_in_us_units(browser: Browser, tmp_path: Path) -> None:
    """-4.2 K a minute = -7.6 degF a minute (NIST SP 811, appendix B: an interval of 1 degC is one of 1.8 degF)."""
    finding = report_sample.finding()
    seen = msgspec.structs.replace(
        finding.missing[0], why="the coolant has not levelled off: 70 degC, -4.2 K a minute; 110 kPa"
    )
    path = tmp_path / "rate.html"
    path.write_text(
        html_page.page(
            html_page.build(
                report_sample.record(), msgspec.structs.replace(finding, missing=[seen]), report_sample.CATALOGUE
            )
        ),
        "utf-8",
    )
    opened = Opened(browser, path.as_uri(), 1400)
    row = opened.page.locator("tr", has_text="levelled off")
    before = row.inner_text()
    assert "\N{MINUS SIGN}4.2\u00a0°C a minute" in before
    opened.page.check("input[value=us]")
    assert "158\u00a0°F, \N{MINUS SIGN}7.6\u00a0°F a minute; 16.0\u00a0psi" in row.inner_text()
    opened.page.check("input[value=metric]")
    assert row.inner_text() == before
    opened.quiet(path.as_uri())


def test_one_time_axis_for_all_plots(browser: Browser, address: str) -> None:
    opened = Opened(browser, address, 1400)
    opened.page.locator("#plot-speed").scroll_into_view_if_needed()
    opened.page.wait_for_selector("#plot-speed[data-drawn]")
    opened.page.evaluate("Plotly.relayout('plot-speed', {'xaxis.range[0]': 100, 'xaxis.range[1]': 200})")
    for name in ("plot-load", "plot-voltage"):
        opened.page.locator(f"#{name}").scroll_into_view_if_needed()
        opened.page.wait_for_selector(f"#{name}[data-drawn]")
        assert opened.page.evaluate(f"document.getElementById('{name}').layout.xaxis.range") == [100, 200]
    opened.page.evaluate("Plotly.relayout('plot-voltage', {'xaxis.autorange': true})")
    start, end = opened.page.evaluate("document.getElementById('plot-speed').layout.xaxis.range")
    assert (start, end) == (0, 402)


@pytest.mark.parametrize(("width", "scheme"), [(1400, "light"), (390, "dark")])
def test_nothing_serious_for_people_who_read_otherwise(browser: Browser, address: str, width: int, scheme: str) -> None:
    opened = Opened(browser, address, width, scheme)
    opened.page.evaluate(SHOW_ALL)
    opened.page.evaluate(gzip.decompress(AXE.read_bytes()).decode("utf-8"))
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    result = opened.page.evaluate("(tags) => axe.run({ exclude: ['.plot svg'] }, { runOnly: tags })", tags)
    assert len(result["passes"]) > 20
    serious = [
        (v["id"], v["impact"], [node["html"][:160] for node in v["nodes"][:3]])
        for v in result["violations"]
        if v["impact"] in ("serious", "critical", "moderate")
    ]
    assert serious == []


def test_keyboard_reaches_the_controls(browser: Browser, address: str) -> None:
    opened = Opened(browser, address, 1400)
    reached = []
    for _ in range(5):
        opened.page.keyboard.press("Tab")
        reached.append(
            opened.page.evaluate(
                "document.activeElement.id || document.activeElement.name || document.activeElement.className"
            )
        )
    assert reached[:3] == ["skip", "units", "print"]
