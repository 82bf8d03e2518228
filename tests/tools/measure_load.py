"""How the workshop bears a full day at once: 50 readers while 20 captures of 20 MB are handed in together.

    python tests/tools/measure_load.py [--readers 50] [--uploads 20] [--megabytes 20] [--database URL]

Starts ``logan serve`` on a folder of its own with 60 cases that have a finding. The readers then ask for pages in turn
(list, search, case, report, hand-in form, training room), each about once a second as people do; after ten seconds all
uploads begin in the same moment, each another capture; ten seconds after the last one is acknowledged the readers end.
Analyses run beside it all, as they do in a workshop. docs/workshop.md quotes what this prints (Linux).
"""

from __future__ import annotations

import argparse
import asyncio
import os
import random
import re
import shutil
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import httpx

from logan import simulate
from logan.pipeline.analyse import analyse
from logan.report import html_page, json_document
from logan.store import captures, cases
from logan.store.database import opened
from logan.workshop.analyst import report_of

SAMPLE = Path(__file__).parent.parent.parent / "sample_logs" / "charging_voltage_low.log.gz"
LOGAN = [sys.executable, "-c", "import sys; from logan.cli import main; sys.exit(main())"]
STORED = 60
QUIET_S = 10.0
FRAMES_PER_S = 330.0
BYTES_PER_FRAME = 45.0


def fill(folder: Path, database: str | None) -> None:
    """Cases with a finding, as a workshop has them after some months."""
    sessions = opened(folder, database)
    found = analyse([SAMPLE])
    page = html_page.render(found.record, found.finding, found.known.measures)
    result = json_document.build(found.record, found.finding)
    with SAMPLE.open("rb") as stream:
        kept = captures.keep(folder, stream, SAMPLE.name)
    for number in range(STORED):
        case = cases.hand_in(sessions, [kept], "somebody", vehicle=f"van {number % 20}")
        cases.claim(sessions)
        cases.finish(sessions, case, result)
        report_of(folder, case).parent.mkdir(exist_ok=True)
        report_of(folder, case).write_text(page, "utf-8")


def drive(folder: Path, megabytes: float) -> bytes:
    """A simulated log of that size."""
    seconds = megabytes * 1e6 / (FRAMES_PER_S * BYTES_PER_FRAME)
    spec = simulate.make_spec(profile="training_rail_four", seed=5, duration_s=seconds)
    log = next(path for path in simulate.write(simulate.run(spec), folder, "drive") if path.suffix == ".log")
    whole = log.read_bytes()
    while len(whole) < megabytes * 1e6:
        whole += whole
    return whole[: whole.rindex(b"\n", 0, int(megabytes * 1e6)) + 1]


class Memory(threading.Thread):
    """Largest resident memory of a process and of all that it started, MB, looked at four times a second."""

    def __init__(self, pid: int) -> None:
        super().__init__(daemon=True)
        self.pid, self.own, self.all, self.end = pid, 0.0, 0.0, False

    def run(self) -> None:
        while not self.end:
            held = {pid: self._held(pid) for pid in self._family(self.pid)}
            self.own, self.all = max(self.own, held[self.pid]), max(self.all, sum(held.values()))
            time.sleep(0.25)

    def _family(self, pid: int) -> list[int]:
        out = [pid]
        for task in Path(f"/proc/{pid}/task").glob("*/children"):
            try:
                for child in task.read_text().split():
                    out += self._family(int(child))
            except OSError:  # ended in between
                continue
        return out

    def _held(self, pid: int) -> float:
        try:
            return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
        except OSError:
            return 0.0


def worked(pid: int) -> float:
    """Processor time that a process itself has used, s."""
    parts = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(parts[11]) + int(parts[12])) / os.sysconf("SC_CLK_TCK")


class Load:
    """Readers and senders against one address; how long each page took, s, and what went wrong."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.took: dict[str, list[float]] = {}
        self.during: list[float] = []
        self.sent: list[float] = []
        self.wrong: list[str] = []
        self.sending = self.end = False

    async def read(self, seed: int) -> None:
        chance = random.Random(seed)
        async with httpx.AsyncClient(base_url=self.address, timeout=60) as client:
            while not self.end:
                case = f"/cases/{chance.randint(1, STORED)}"
                name, page = chance.choice(
                    [("list", "/"), ("search", "/?words_=van&state=done"), ("case", case), ("report", f"{case}/report"),
                     ("form", "/hand-in"), ("training", "/training")]
                )  # fmt: skip
                begun = time.perf_counter()
                try:
                    answer = await client.get(page)
                    if answer.status_code != 200:
                        self.wrong.append(f"{page}: {answer.status_code}")
                except httpx.HTTPError as error:
                    self.wrong.append(f"{page}: {error!r}")
                took = time.perf_counter() - begun
                self.took.setdefault(name, []).append(took)
                if self.sending:
                    self.during.append(took)
                await asyncio.sleep(chance.uniform(0.5, 1.5))

    async def send(self, number: int, capture: bytes) -> None:
        async with httpx.AsyncClient(base_url=self.address, timeout=600) as client:
            token = re.search(r'name="token" value="(\w+)"', (await client.get("/hand-in")).text)
            assert token
            own = capture[: capture.rindex(b"\n", 0, len(capture) - 200 * number) + 1]
            begun = time.perf_counter()
            try:
                fields = {"token": token[1], "vehicle": f"lorry {number}"}
                answer = await client.post("/hand-in", data=fields, files={"captures": ("drive.log", own)})
                if answer.status_code != 303:
                    self.wrong.append(f"upload {number}: {answer.status_code}")
            except httpx.HTTPError as error:
                self.wrong.append(f"upload {number}: {error!r}")
            self.sent.append(time.perf_counter() - begun)

    async def run(self, readers: int, uploads: int, capture: bytes) -> None:
        reading = [asyncio.create_task(self.read(seed)) for seed in range(readers)]
        await asyncio.sleep(QUIET_S)
        self.sending = True
        await asyncio.gather(*(self.send(number, capture) for number in range(uploads)))
        self.sending = False
        await asyncio.sleep(QUIET_S)
        self.end = True
        await asyncio.gather(*reading)


def told(name: str, took: list[float]) -> str:
    """One line: how often, median, 95th part in a hundred, worst."""
    ordered = sorted(took)
    late = ordered[int(0.95 * (len(ordered) - 1))]
    ms = [1e3 * part for part in (statistics.median(ordered), late, ordered[-1])]
    return (
        f"{name:>16}: {len(took):5} asked, median {ms[0]:6.0f} ms, 95 % within {ms[1]:6.0f} ms, worst {ms[2]:6.0f} ms"
    )


def main() -> None:
    """Run it and print the figures."""
    read = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    read.add_argument("--readers", type=int, default=50)
    read.add_argument("--uploads", type=int, default=20)
    read.add_argument("--megabytes", type=float, default=20.0)
    read.add_argument("--database", help="an empty data base of its own")
    asked = read.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="load-"))
    data = folder / "data"
    fill(data, asked.database)
    capture = drive(folder, asked.megabytes)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [*LOGAN, "serve", "--data", str(data), "--port", str(port)]
    server = subprocess.Popen(command + (["--database", asked.database] if asked.database else []))
    try:
        for _ in range(300):
            with socket.socket() as trial:
                if trial.connect_ex(("127.0.0.1", port)) == 0:
                    break
            time.sleep(0.1)
        memory = Memory(server.pid)
        memory.start()
        load = Load(f"http://127.0.0.1:{port}")
        others = os.getloadavg()[0]
        used_s = worked(server.pid)
        asyncio.run(load.run(asked.readers, asked.uploads, capture))
        used_s = worked(server.pid) - used_s
        memory.end = True
        memory.join()
    finally:
        server.send_signal(signal.SIGKILL)
        server.wait()
    print(f"{asked.readers} readers, {asked.uploads} uploads of {len(capture) / 1e6:.0f} MB; {os.cpu_count()} cores, "
          f"load of the machine before: {others:.1f}")  # fmt: skip
    for name, took in sorted(load.took.items()):
        print(told(name, took))
    print(told("all pages", [one for took in load.took.values() for one in took]))
    print(told("during uploads", load.during))
    print(f"uploads acknowledged after {min(load.sent):.1f} to {max(load.sent):.1f} s; wrong: {len(load.wrong)}")
    for line in load.wrong[:10]:
        print(f"  {line}")
    print(f"processor time of the server: {used_s:.1f} s for all of it")
    print(f"memory: server {memory.own:.0f} MB, with its analyses {memory.all:.0f} MB")
    kept = [path for path in (data / "captures").rglob("*") if path.is_file()]
    print(f"captures on disk: {len(kept)} of {asked.uploads + 1}")
    shutil.rmtree(folder)


if __name__ == "__main__":
    main()
