"""How large the report of an hour's drive is and how soon a browser shows it.

    python tests/tools/measure_page.py [SECONDS] [RUNS]

Simulates a drive, writes its report, and opens it RUNS times in a fresh Debian chromium without a display. "Shown" is
the first contentful paint, "first chart" the time at which the first chart of the timing plane is drawn after a jump
to it; both count from the start of the navigation. The figures of docs/performance.md are this program's output.
"""

from __future__ import annotations

import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Playwright, sync_playwright

PAINTED = """() => new Promise(done => new PerformanceObserver(list => {
  for (const entry of list.getEntries()) if (entry.name === "first-contentful-paint") done(entry.startTime);
}).observe({ type: "paint", buffered: true }))"""
CHARTED = """async () => {
  document.getElementById("timing-plane").scrollIntoView({ behavior: "instant" });
  while (!document.querySelector("#timing-plane[data-drawn]")) await new Promise(done => setTimeout(done, 4));
  return performance.now();
}"""


def opened(play: Playwright, page: Path) -> tuple[float, float]:
    """Milliseconds to the first paint and to the first chart, in a browser of its own."""
    browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
    try:
        tab = browser.new_page(viewport={"width": 1280, "height": 900})
        tab.goto(page.as_uri())
        return tab.evaluate(PAINTED), tab.evaluate(CHARTED)
    finally:
        browser.close()


def main() -> None:
    """Measure and print."""
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 3600
    runs = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    with tempfile.TemporaryDirectory() as name, sync_playwright() as play:
        folder = Path(name)
        logan = [sys.executable, "-m", "logan"]
        made = ("--fault", "pump_timing_drift", "--drive", "road_test", "--seconds", str(seconds), "--stem", "drive")
        subprocess.run([*logan, "simulate", *made, "--out", name], check=True, stdout=subprocess.DEVNULL)
        log, page = folder / "drive.log", folder / "drive.html"
        engine = ("--engine", "training_rotary_six", "--quiet")
        subprocess.run([*logan, "report", str(log), *engine, "--html", str(page)], check=True)
        times = [opened(play, page) for _ in range(runs)]
        print(f"{seconds} s of drive, log {log.stat().st_size / 1e6:.0f} MB, page {page.stat().st_size / 1e6:.2f} MB")
        for words, values in zip(("shown", "first chart"), zip(*times, strict=True), strict=True):
            print(f"{words:12} after {statistics.median(values) / 1000:.2f} s, slowest {max(values) / 1000:.2f} s")


if __name__ == "__main__":
    main()
