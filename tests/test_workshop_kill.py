"""The workshop as a program: kill -9 at any moment loses nothing that was acknowledged; the browser's way through."""

from __future__ import annotations

import http.cookiejar
import os
import random
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import needs_program

httpx = pytest.importorskip("httpx", reason="pip install '.[test]'")
sa = pytest.importorskip("sqlalchemy", reason="pip install '.[workshop]'")
pytest.importorskip("uvicorn", reason="pip install '.[workshop]'")

CAPTURE = Path(__file__).parent.parent / "sample_logs" / "pump_key_reversed.log.gz"


class Program:
    """A running ``logan serve``."""

    def __init__(self, folder: Path, database: str | None = None) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{port}"
        command = [sys.executable, "-m", "logan", "serve", "--data", str(folder), "--port", str(port)]
        command += ["--database", database] if database else []
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        for _ in range(200):
            with suppress(httpx.TransportError):
                httpx.get(f"{self.address}/sign-in")
                return
            time.sleep(0.1)
        raise AssertionError("the workshop did not start")

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL if os.name == "posix" else signal.SIGTERM)
        self.process.wait()

    def hand_in(self, data: bytes) -> int:
        with httpx.Client(base_url=self.address, cookies=http.cookiejar.CookieJar(), timeout=20) as client:
            token = re.search(r'name="token" value="(\w+)"', client.get("/hand-in").text)
            assert token
            fields = {"token": token[1], "engine": "training_rotary_six", "work": "pump"}
            answer = client.post("/hand-in", data=fields, files={"captures": ("drive.log.gz", data)})
            return int(answer.headers["location"].rsplit("/", 1)[1])

    def ended(self, case: int) -> str:
        for _ in range(300):
            page = httpx.get(f"{self.address}/cases/{case}").text
            if "Read the whole report" in page:
                return "done"
            if "could not be analysed" in page:
                return page
            time.sleep(0.1)
        return "not ended"


def column(folder: Path, name: str, database: str | None = None) -> list[Any]:
    """One column of the cases, read beside the running program."""
    with sa.create_engine(database or f"sqlite:///{folder / 'workshop.sqlite3'}").connect() as base:
        return list(base.scalars(sa.text(f"SELECT {name} FROM cases")))


def test_kill_during_upload_and_analysis(tmp_path: Path, database: str | None) -> None:
    acknowledged: list[int] = []
    chance = random.Random(7)
    data = CAPTURE.read_bytes()
    for wanted in ("any moment", "running"):
        program = Program(tmp_path, database)

        def keep_handing_in(program: Program = program) -> None:
            with suppress(httpx.TransportError):
                while len(acknowledged) < 4:
                    acknowledged.append(program.hand_in(data))

        sender = threading.Thread(target=keep_handing_in)
        sender.start()
        time.sleep(chance.uniform(0.2, 1.5))
        for _ in range(200):
            if wanted == "any moment" or wanted in column(tmp_path, "state", database):
                break
            time.sleep(0.02)
        program.kill()
        sender.join()
    program = Program(tmp_path, database)
    try:
        if not acknowledged:
            acknowledged.append(program.hand_in(data))
        assert [program.ended(case) for case in acknowledged] == ["done"] * len(acknowledged)
        assert max(column(tmp_path, "attempts", database)) >= 2, "no analysis was interrupted: the test proved nothing"
        assert not list((tmp_path / "captures").glob("arriving/*"))
    finally:
        program.kill()


def test_beyond_this_machine_needs_accounts(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "logan", "serve", "--data", str(tmp_path), "--host", "0.0.0.0"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
    assert done.returncode == 2
    assert "no accounts" in done.stderr
    assert "logan people add" in done.stderr


def test_accounts_by_command(tmp_path: Path) -> None:
    people = [sys.executable, "-m", "logan", "people"]
    add = [*people, "add", "first lead", "--role", "lead", "--data", str(tmp_path)]
    made = subprocess.run(add, input="a long enough password\n", capture_output=True, text=True, check=False)
    assert made.returncode == 0, made.stderr
    again = subprocess.run(add, input="a long enough password\n", capture_output=True, text=True, check=False)
    assert again.returncode == 2
    listed = subprocess.run([*people, "list", "--data", str(tmp_path)], capture_output=True, text=True, check=True)
    assert "first lead\tlead" in listed.stdout


@pytest.mark.browser
@needs_program("chromium")
def test_in_a_browser(tmp_path: Path) -> None:
    sync_api = pytest.importorskip("playwright.sync_api", reason="pip install '.[test]'")
    program = Program(tmp_path)
    try:
        with sync_api.sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=["--no-sandbox"])
            page = browser.new_page(viewport={"width": 390, "height": 800})
            wrong: list[str] = []
            page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
            page.on(
                "request",
                lambda asked: asked.url.startswith((program.address, "data:", "blob:")) or wrong.append(asked.url),
            )
            page.goto(f"{program.address}/hand-in")
            page.set_input_files("input[type=file]", str(CAPTURE))
            page.select_option("select[name=engine]", "training_rotary_six")
            page.get_by_role("button", name="Hand in").click()
            page.wait_for_url("**/report", timeout=30_000)
            sync_api.expect(page.locator("h1").first).to_contain_text("fitted backwards")
            page.goto(f"{program.address}/cases/1")
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
            page.get_by_label("What you say").select_option("agree")
            page.get_by_role("button", name="Add to the case").click()
            sync_api.expect(page.locator("article")).to_contain_text("agrees with the finding")
            browser.close()
        assert wrong == []
    finally:
        program.kill()
