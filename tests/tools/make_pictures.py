"""The pictures of docs/images, made anew from the sample logs with the program itself and Debian's chromium.

python tests/tools/make_pictures.py [NAME...]
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from playwright.sync_api import Browser, Page, sync_playwright

from logan import simulate
from tests.workshop_program import Program

ROOT = Path(__file__).parent.parent.parent
LARGEST_BYTES: Final = 300_000
SAMPLES = "sample_logs"
ENGINE = ("--engine", "training_rotary_six")
# picture: command, what to scroll to, height in CSS pixels
PICTURES: Final[dict[str, tuple[tuple[str, ...], str, int]]] = {
    "report": (
        ("report", f"{SAMPLES}/pump_key_reversed.log.gz", *ENGINE, "--recent-work", "pump"),
        "#verdict", 1250,
    ),
    "compare": (
        ("compare", f"{SAMPLES}/fuel_supply_low.log.gz", f"{SAMPLES}/healthy_rotary_six.log.gz", *ENGINE,
         "--recent-work", "lift_pump"),
        "#verdict", 1000,
    ),
    "plan": (("plan", "--suspect", "pump_key_reversed", *ENGINE), "#card", 800),
    "explain": (("explain", "cam_phase_offset"), "#verdict", 1000),
}  # fmt: skip


WORKSHOP: Final = ("training", "moving", "trend")
"""Pictures of pages of the workshop, in this order."""
WIDTH: Final = 1180
SINKING: Final = (5.0, 25.0, 45.0, 65.0, 85.0, 105.0)
"""kPa that the fuel supply lacks at each road test of the trend."""


def page(command: tuple[str, ...], target: Path) -> None:
    """Run a command of the program, its page to ``target``."""
    whole = [sys.executable, "-m", "logan", *command, "--html", str(target)]
    subprocess.run(whole, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)


def kept(opened: Page, name: str) -> None:
    """Keep what a window shows as a picture of that name."""
    picture = ROOT / "docs" / "images" / f"{name}.png"
    opened.screenshot(path=picture)
    size = picture.stat().st_size
    print(f"{picture.relative_to(ROOT)}: {size / 1000:.0f} kB")
    if size > LARGEST_BYTES:
        raise SystemExit(f"{name} is too large for a document: less height")


def workshop(browser: Browser, program: Program, folder: Path, names: list[str]) -> None:
    """Pictures of an exercise half way, of its record moving, and of a vehicle whose fuel supply sinks."""
    opened = browser.new_page(viewport={"width": WIDTH, "height": 760})
    if {"training", "moving"} & set(names):
        opened.goto(f"{program.address}/training")
        form = opened.locator("form:has(select[name=canned])")
        form.locator("[name=canned]").select_option("fuel_supply_low")
        form.locator("[name=title]").fill("No power uphill")
        form.locator("[name=story]").fill("The driver says that it lacks power uphill since last week.")
        form.get_by_role("button").click()
        opened.get_by_role("heading", name="The truth:").wait_for(timeout=120_000)
        opened.goto(f"{program.address}/training")
        opened.get_by_text("Compose a lesson").click()
        opened.locator("input[name=chosen]").check()
        opened.locator("form:has(input[name=chosen]) input[name=title]").fill("First day")
        opened.get_by_role("button", name="Compose").click()
        opened.get_by_role("button", name="Begin").click()
        attempt = opened.url
        for view in ("Codes and vehicle data", "The drive over time"):
            opened.goto(attempt)
            opened.get_by_role("button", name=view).click()
        opened.goto(attempt)
        kept(opened, "training")
        opened.goto(f"{attempt}/replay?t=62")
        opened.get_by_role("button", name="Pause").click()
        kept(opened, "moving")
    if "trend" in names:
        for number, size in enumerate(SINKING, 1):
            spec = simulate.make_spec(
                profile="training_rotary_six", drive="short_test", fault="fuel_supply_low", size=size, seed=number
            )
            log = next(
                path for path in simulate.write(simulate.run(spec), folder, f"drive_{number}") if "log" in path.name
            )
            case = program.hand_in(log.read_bytes(), vehicle="van 7")
            assert program.ended(case) == "done"
        opened.set_viewport_size({"width": WIDTH, "height": 1000})
        opened.goto(f"{program.address}/cases/{case}/history#trends")
        opened.wait_for_selector("html[data-ready]")
        opened.wait_for_timeout(2000)  # what stands above is drawn and has its height
        opened.evaluate("document.querySelector('#trends').scrollIntoView({behavior: 'instant'})")
        kept(opened, "trend")


def main() -> None:
    """Make the pictures that are named, or all."""
    names = sys.argv[1:] or [*PICTURES, *WORKSHOP]
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name in [name for name in names if name in PICTURES]:
            command, place, height = PICTURES[name]
            target = Path(folder) / f"{name}.html"
            page(command, target)
            opened = browser.new_page(viewport={"width": WIDTH, "height": height})
            opened.goto(target.as_uri())
            opened.wait_for_selector("html[data-ready]")
            opened.evaluate("place => document.querySelector(place).scrollIntoView({behavior: 'instant'})", place)
            opened.wait_for_timeout(1000)
            kept(opened, name)
        if set(names) & set(WORKSHOP):
            program = Program(Path(folder) / "workshop")
            try:
                workshop(browser, program, Path(folder), names)
            finally:
                program.kill()
        browser.close()


if __name__ == "__main__":
    main()
