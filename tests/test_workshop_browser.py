"""Every way through the workshop in a real browser: hand in, review, re-test, trend, training, a moving record."""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from conftest import needs_program

pytest.importorskip("httpx", reason="pip install '.[test]'")
pytest.importorskip("fastapi", reason="pip install '.[workshop]'")
pytest.importorskip("playwright", reason="pip install '.[test]'")

from playwright.sync_api import Browser, expect
from workshop_program import COMMAND, SAMPLES, Program, Watched

pytestmark = [pytest.mark.browser, needs_program("chromium")]

ENGINE = "training_rotary_six"
PASSWORD = "a long enough password"
LONG_MS = 60_000
# What the page shows of the analysis, each time that it changes, before it leaves for the report.
NOTE_PROGRESS = """document.addEventListener("DOMContentLoaded", () => {
  const doing = document.getElementById("doing");
  const note = () => noted(doing.textContent, document.getElementById("progress").value);
  if (doing) new MutationObserver(note).observe(doing, { childList: true });
});"""


@pytest.fixture(scope="module")
def program(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """A workshop without accounts."""
    running = Program(tmp_path_factory.mktemp("workshop"))
    yield running
    running.kill()


@pytest.fixture
def window(browser: Browser, program: Program) -> Iterator[Watched]:
    opened = Watched(browser, program.address)
    yield opened
    opened.quiet()
    opened.page.context.close()


def hand_in(window: Watched, vehicle: str, *names: str, work: str = "") -> str:
    """Hand in samples and wait for the report; the address of the case."""
    page = window.page
    window.to("/hand-in")
    page.set_input_files("input[type=file]", [str(SAMPLES / name) for name in names])
    page.get_by_label("Vehicle, as the workshop calls it").fill(vehicle)
    page.get_by_label("Engine").select_option(ENGINE)
    if work:
        page.locator(f"input[name=work][value={work}]").check()
    page.get_by_role("button", name="Hand in").click()
    page.wait_for_url("**/report", timeout=LONG_MS)
    return page.url.removesuffix("/report")


def analysed(program: Program, vehicle: str, name: str, work: str) -> str:
    """A sample handed in beside the browser, and its finding there: the address of the case."""
    case = program.hand_in((SAMPLES / name).read_bytes(), vehicle=vehicle, work=work)
    assert program.ended(case) == "done"
    return f"{program.address}/cases/{case}"


def say(window: Watched, kind: str, text: str) -> None:
    window.page.get_by_label("What you say").select_option(kind)
    window.page.get_by_label("In your words").fill(text)
    window.page.get_by_role("button", name="Add to the case").click()


def test_a_road_test_from_hand_in_to_verdict(window: Watched) -> None:
    page = window.page
    seen: list[tuple[str, float]] = []
    page.expose_function("noted", lambda doing, share: seen.append((doing, share)))
    page.add_init_script(NOTE_PROGRESS)
    window.to("/hand-in")
    window.sound()
    with page.expect_response("**/progress") as progress:
        case = hand_in(window, "van 7", "pump_key_reversed.log.gz", "pump_key_reversed.edges.csv.gz", work="pump")
    assert progress.value.headers["content-type"].startswith("text/event-stream")
    shares = [share for _, share in seen]
    assert shares == sorted(shares)
    assert 0.0 < shares[-1] <= 1.0
    assert len({doing for doing, _ in seen}) >= 2, seen
    expect(page.locator("h1").first).to_contain_text("fitted backwards")
    window.sound("light")

    window.to(case)
    window.sound()
    before = page.locator("section.verdict li").first.inner_text()
    page.locator("button[value=refuted]").first.click()
    expect(page.locator("section.verdict li", has_text="from the record alone").first).to_be_visible()
    assert page.locator("section.verdict li").first.inner_text() != before
    page.get_by_role("button", name="Take back").click()
    say(window, "disagree", "")
    expect(page.locator("main")).to_contain_text("say why")
    window.sound()
    window.refused(400)
    window.to(case)
    say(window, "disagree", "the key was looked at")
    expect(page.locator("article")).to_contain_text("local user disagrees with the finding")
    say(window, "agree", "")
    expect(page.locator("article").last).to_contain_text("agrees with the finding")
    say(window, "record_again", "more speeds, please")
    expect(page.get_by_role("heading", name="Another recording is asked for")).to_be_visible()
    expect(page.get_by_text("The last verdict holds")).to_contain_text("local user needs another recording")
    expect(page.locator("article del")).to_have_count(2)
    window.sound()
    with page.expect_download() as download:
        page.get_by_role("link", name="The whole case as one file").click()
    assert download.value.suggested_filename == f"case_{case.rsplit('/', 1)[1]}.json"
    assert json.loads(download.value.path().read_text("utf-8"))["verdict"]["kind"] == "record_again"
    page.get_by_role("link", name="What to record and how to drive").click()
    page.wait_for_selector("html[data-ready]")
    assert "service manual" in page.inner_text("body")
    window.sound()


def test_filters_of_the_list(window: Watched, program: Program) -> None:
    page = window.page
    window.to("/")
    before = page.locator("ul.cases li").count()
    analysed(program, "lorry 12", "charging_voltage_low.log.gz", "none")
    window.to("/")
    window.sound()
    assert page.locator("ul.cases li").count() == before + 1
    for name, value, there in (
        ("words_", "LORRY", 1), ("words_", "barge", 0), ("state", "done", 1), ("state", "failed", 0),
        ("since", "2001-02-03", 1), ("until", "2001-02-03", 0), ("fault", "charging_voltage_low", 1),
    ):  # fmt: skip
        window.to("/")
        field = page.locator(f"[name={name}]")
        field.select_option(value) if name in ("state", "fault") else field.fill(value)
        with page.expect_navigation():
            page.get_by_role("button", name="Find").click()
        assert page.get_by_role("link", name=re.compile("lorry 12")).count() == there, (name, value)
        assert field.input_value() == value, "what was asked for stays in the form"
    page.locator("[name=words_]").fill("barge")
    page.get_by_role("button", name="Find").click()
    window.sound()
    page.get_by_role("link", name="Show all").click()
    expect(page.locator("ul.cases li")).to_have_count(before + 1)


def test_a_vehicle_that_comes_again(window: Watched, program: Program) -> None:
    page = window.page
    first = analysed(program, "van 8", "fuel_supply_low.log.gz", "none")
    second = analysed(program, "van 8", "healthy_rotary_six.log.gz", "lift_pump")
    window.to(second)
    page.get_by_role("link", name="Before and after, side by side").click()
    page.wait_for_selector("html[data-ready]")
    assert page.url == f"{second}/against/{first.rsplit('/', 1)[1]}"
    assert "The repair worked" in page.inner_text("h1")
    window.sound("dark")
    third = analysed(program, "van 8", "healthy_rotary_six.log.gz", "none")
    window.to(third)
    window.sound()
    page.get_by_role("link", name="Trend of every measure").click()
    page.wait_for_selector("html[data-ready]")
    assert page.url == f"{third}/history#trends"
    assert "Over all drives" in page.inner_text("body")
    window.sound("light")


def test_a_lesson_by_click(browser: Browser, tmp_path: Path) -> None:
    for name, role in (("Ada", "trainer"), ("Ben", "trainee")):
        add = [*COMMAND, "people", "add", name, "--role", role, "--data", str(tmp_path)]
        subprocess.run(add, input=f"{PASSWORD}\n", text=True, check=True, stdout=subprocess.DEVNULL)
    program = Program(tmp_path)
    try:
        trainer, trainee = Watched(browser, program.address), Watched(browser, program.address)
        for window, name in ((trainer, "Ada"), (trainee, "Ben")):
            window.to("/")
            window.page.get_by_label("Name").fill(name)
            window.page.get_by_label("Password").fill("not the password")
            window.page.get_by_role("button", name="Sign in").click()
            expect(window.page.get_by_role("alert")).to_contain_text("wrong")
            window.refused(403)
            window.sound()
            window.page.get_by_label("Name").fill(name)
            window.page.get_by_label("Password").fill(PASSWORD)
            window.page.get_by_role("button", name="Sign in").click()
        link = _composed(trainer)
        _worked(trainee, link)
        trainer.to(link)
        row = trainer.page.get_by_role("row").filter(has_text="Ben")
        expect(row).to_contain_text("6 min")
        trainer.sound()
        row.get_by_role("link").first.click()
        expect(trainer.page.get_by_text("It was:")).to_be_visible()
        for window in (trainer, trainee):
            window.page.get_by_role("button", name="Sign out").click()
            expect(window.page.get_by_role("heading", name="Sign in")).to_be_visible()
            window.quiet()
            window.page.context.close()
    finally:
        program.kill()


def _composed(window: Watched) -> str:
    """An exercise of each kind, put into a lesson by its trainer; the link for the class."""
    page = window.page
    case = hand_in(window, "van 9", "charging_voltage_low.log.gz")
    window.to("/training")
    window.sound()
    for kind, title in (("canned", "Lamps grow dim <i>at idle</i>"), ("made", "Rough at idle"), ("case", "As it came")):
        window.to("/training")
        form = page.locator(f"form:has(input[name=source][value={kind}])")
        if not form.is_visible():
            page.locator(f"details:has(input[name=source][value={kind}]) > summary").click()
        if kind == "canned":
            form.locator("[name=canned]").select_option("charging_voltage_low")
        elif kind == "made":
            form.locator("[name=engine]").select_option("training_rotary_six")
            form.locator("[name=fault]").select_option("pump_key_wrong")
            form.locator("[name=engine]").select_option("training_spark_four")
            expect(form.locator("[name=fault]")).to_have_value("")  # an engine with port injection has no such pump
            expect(form.locator("option[value=pump_key_wrong]")).to_be_disabled()
            form.locator("[name=fault]").select_option("mixture_lean")
            form.locator("[name=size]").fill("18")
            form.locator("[name=sensors]").uncheck()
        else:
            form.locator("[name=case]").fill(case.rsplit("/", 1)[1])
            form.locator("[name=truth]").select_option("charging_voltage_low")
        form.locator("[name=title]").fill(title)
        form.get_by_role("button").click()
        page.get_by_role("heading", name="The truth:").wait_for(timeout=LONG_MS)  # the page looks again by itself
    window.sound()
    page.get_by_role("link", name="Play it").click()
    expect(page.locator("#moment")).to_contain_text("Engine speed")
    window.to("/training")
    page.get_by_text("Compose a lesson").click()
    for box in page.locator("input[name=chosen]").all():
        box.check()
    window.sound()
    page.locator("form:has(input[name=chosen]) input[name=title]").fill("First day")
    page.get_by_role("button", name="Compose").click()
    expect(page.get_by_text("Nobody has begun yet.")).to_be_visible()
    assert page.url in page.inner_text("main"), "the page says what the class has to open"
    for button, seen in (
        ("Rename", "First morning"),
        ("Withdraw", "has been withdrawn"),
        ("Take it up again", "Begin"),
    ):
        page.get_by_text("Rename or withdraw").click()
        page.get_by_label("Title, seen by trainees").fill("First morning")
        if button == "Withdraw":
            window.sound()
        page.get_by_role("button", name=button, exact=True).click()
        expect(page.get_by_text(seen).first).to_be_visible()
    window.sound()
    return page.url


def _worked(window: Watched, link: str) -> None:
    """One exercise of a lesson as its trainee sees it: step by step, the answer, the truth."""
    page = window.page
    window.to("/training")
    window.sound()
    window.to(link)
    assert page.get_by_text("Lamps grow dim <i>at idle</i>").first.is_visible()
    assert "The class" not in page.inner_text("main")
    window.sound()
    page.get_by_role("button", name="Begin").first.click()
    expect(page.get_by_role("status")).to_contain_text("0 of ")
    attempt = page.url
    assert "It was" not in page.inner_text("main")
    window.sound()
    page.get_by_role("button", name="The drive over time").click()
    page.wait_for_selector("html[data-ready]")
    window.sound("light")
    window.to(attempt)
    expect(page.get_by_role("status")).to_contain_text("6 of ")
    page.get_by_role("link", name="Play it").click()
    _moves(window)
    window.to(attempt)
    page.get_by_label("Most likely").select_option("charging_voltage_low")
    page.get_by_label("What you would check next").select_option(index=1)
    page.get_by_role("button", name="This is my answer").click()
    expect(page.locator("section.verdict h2")).to_contain_text("of 100 points")
    expect(page.get_by_text("It was:")).to_be_visible()
    window.sound()
    page.get_by_role("link", name="The whole report").click()
    page.wait_for_selector("html[data-ready]")
    window.to(link)
    expect(page.get_by_text("answered:")).to_be_visible()
    window.sound()


def _moves(window: Watched) -> None:
    """A record that is played: it goes on by itself, holds, and goes where it is told."""
    page = window.page
    clock, place = page.locator("#clock"), page.get_by_label("Time in the recording")
    window.sound()
    page.get_by_label("Speed").select_option("10")
    expect(clock).not_to_have_text(re.compile(r"^0\.0 of"))
    page.get_by_role("button", name="Pause").click()
    page.wait_for_function("document.querySelector('#play').textContent === 'Play'")
    held = clock.inner_text()
    page.wait_for_timeout(500)
    assert clock.inner_text() == held
    place.fill("5")
    expect(clock).to_have_text(re.compile(r"^5\.0 of"))
    at_5 = page.locator("#moment").inner_text()
    place.fill("40")
    expect(page.locator("#moment")).not_to_have_text(at_5)
    page.get_by_role("button", name="Play").click()
    expect(clock).not_to_have_text(re.compile(r"^40\.0 of"))


def test_a_recording_moves_on_a_page_of_its_own(browser: Browser) -> None:
    command = [*COMMAND, "replay", str(SAMPLES / "healthy_rotary_six.log.gz"), "--to", "page", "--engine", ENGINE]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as program:
        try:
            assert program.stdout is not None
            address = re.search(r"http://127\.0\.0\.1:\d+", program.stdout.readline())
            assert address
            window = Watched(browser, address[0])
            window.to("/")
            assert "nothing is sent" in window.page.inner_text("main")
            _moves(window)
            window.quiet()
            window.page.context.close()
        finally:
            program.kill()
