"""``logan serve`` as a program, for tests that need a real one; and its pages in a browser, watched and judged.

Accessibility is judged by axe-core 4.14.1 (MPL 2.0, tests/data/axe.LICENSE.txt), WCAG 2.2 A and AA.
"""

from __future__ import annotations

import gzip
import http.cookiejar
import os
import re
import signal
import socket
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import httpx

SAMPLES = Path(__file__).parent.parent / "sample_logs"
COMMAND = [sys.executable, "-m", "logan"]
WIDTHS = (390, 820, 1280)
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
AXE = Path(__file__).parent / "data" / "axe-4.14.1.min.js.gz"


class Program:
    """A running ``logan serve``; ``options`` are more of its command line."""

    def __init__(self, folder: Path, database: str | None = None, *options: str) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{port}"
        command = [*COMMAND, "serve", "--data", str(folder), "--port", str(port), *options]
        command += ["--database", database] if database else []
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        for _ in range(300):
            with suppress(httpx.TransportError):
                httpx.get(f"{self.address}/sign-in")
                return
            time.sleep(0.1)
        raise AssertionError("the workshop did not start")

    def kill(self) -> None:
        """End it without a word."""
        self.process.send_signal(signal.SIGKILL if os.name == "posix" else signal.SIGTERM)
        self.process.wait()

    def hand_in(self, data: bytes, **more: str) -> int:
        """Hand a capture in, with ``more`` fields of the form; the number of its case."""
        with httpx.Client(base_url=self.address, cookies=http.cookiejar.CookieJar(), timeout=20) as client:
            token = re.search(r'name="token" value="(\w+)"', client.get("/hand-in").text)
            assert token
            fields = {"token": token[1], "engine": "training_rotary_six", "work": "pump", **more}
            answer = client.post("/hand-in", data=fields, files={"captures": ("drive.log.gz", data)})
            return int(answer.headers["location"].rsplit("/", 1)[1])

    def ended(self, case: int) -> str:
        """Wait for an analysis; ``done``, or its page."""
        for _ in range(300):
            page = httpx.get(f"{self.address}/cases/{case}").text
            if "Read the whole report" in page:
                return "done"
            if "could not be analysed" in page:
                return page
            time.sleep(0.1)
        return "not ended"


class Watched:
    """A browser's window on the program, with everything that it said and asked for."""

    def __init__(self, browser: Any, home: str) -> None:
        self.home = home
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page = browser.new_context(viewport={"width": WIDTHS[-1], "height": 900}).new_page()
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))

    def to(self, address: str) -> None:
        """Open one of its pages."""
        self.page.goto(address if address.startswith("http") else f"{self.home}{address}")

    def sound(self, *schemes: str) -> None:
        """Nothing cut off at three widths, nothing serious for people who read otherwise; in light and dark, or one."""
        page = self.page
        page.wait_for_load_state()
        for scheme in schemes or ("dark", "light"):
            page.emulate_media(color_scheme=scheme)
            for width in WIDTHS if scheme == "light" else WIDTHS[:1]:
                page.set_viewport_size({"width": width, "height": 900})
                page.wait_for_function("width => document.documentElement?.scrollWidth <= width", arg=width)
            page.evaluate(gzip.decompress(AXE.read_bytes()).decode("utf-8"))
            found = page.evaluate("(tags) => axe.run({ exclude: ['.plot svg'] }, { runOnly: tags })", TAGS)
            assert len(found["passes"]) > 8
            serious = [
                (one["id"], one["nodes"][0]["html"][:160])
                for one in found["violations"]
                if one["impact"] in ("serious", "critical")
            ]
            assert serious == [], (page.url, scheme)

    def refused(self, status: int) -> None:
        """The last page was an error, which the browser tells too: once, and nothing else."""
        assert [line for line in self.said if f"status of {status}" not in line] == []
        assert len(self.said) == 1
        self.said.clear()

    def quiet(self) -> None:
        """No error and no word on the console, no request to anywhere else."""
        assert self.said == []
        assert [url for url in self.asked if not url.startswith((self.home, "data:", "blob:"))] == []
