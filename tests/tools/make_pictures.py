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

from playwright.sync_api import sync_playwright

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


def page(command: tuple[str, ...], target: Path) -> None:
    """Run a command of the program, its page to ``target``."""
    whole = [sys.executable, "-m", "logan", *command, "--html", str(target)]
    subprocess.run(whole, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)


def main() -> None:
    """Make the pictures that are named, or all."""
    names = sys.argv[1:] or list(PICTURES)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name in names:
            command, place, height = PICTURES[name]
            target = Path(folder) / f"{name}.html"
            page(command, target)
            opened = browser.new_page(viewport={"width": 1180, "height": height})
            opened.goto(target.as_uri())
            opened.wait_for_selector("html[data-ready]")
            opened.evaluate("place => document.querySelector(place).scrollIntoView({behavior: 'instant'})", place)
            opened.wait_for_timeout(1000)
            picture = ROOT / "docs" / "images" / f"{name}.png"
            opened.screenshot(path=picture)
            size = picture.stat().st_size
            print(f"{picture.relative_to(ROOT)}: {size / 1000:.0f} kB")
            if size > LARGEST_BYTES:
                raise SystemExit(f"{name} is too large for a document: less height")
        browser.close()


if __name__ == "__main__":
    main()
