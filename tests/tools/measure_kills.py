"""Whether anything acknowledged is lost, or stands twice, when the workshop is killed 200 times at random moments.

    python tests/tools/measure_kills.py [KILLS] [--seed N] [--database URL] [--keep FOLDER]

Two senders hand captures in, each with a mark of its own that it sends again until it gets an answer, as a recording
device does; two reviewers leave notes on cases that are known to be there; analyses run beside it. The whole program is
killed (SIGKILL) after a random time, started again on the same folder, and so on; each second kill waits until an
analysis is under way. At the end it is left in peace until nothing waits, and everything that was ever acknowledged
must be there once: each case under the number that was told, with its capture whole; each note; one finding a case and
no case more than there were marks. docs/workshop.md quotes what this prints (Linux, macOS).
"""

from __future__ import annotations

import argparse
import hashlib
import random
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from contextlib import suppress
from pathlib import Path

import httpx
import sqlalchemy as sa

from logan.store.captures import path_of
from logan.store.database import Case, CaseFile, Deed, Review, Sessions, opened

SAMPLE = Path(__file__).parent.parent.parent / "sample_logs" / "crank_signal_inverted.log.gz"
LOGAN = [sys.executable, "-c", "import sys; from logan.cli import main; sys.exit(main())"]
LONGEST_S = 1.5
MOST_SENT = 40
STEADY_S = 600.0


class Trial:
    """A folder, the program over it, who sends and what they were told."""

    def __init__(self, folder: Path, chance: random.Random, database: str | None = None) -> None:
        self.folder, self.chance, self.database = folder, chance, database
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.sessions: Sessions = opened(folder, database)
        self.cases: dict[str, int] = {}
        self.hashes: dict[str, str] = {}
        self.notes: Counter[tuple[int, str]] = Counter()
        self.wrong: list[str] = []
        self.end = False
        self.kills = self.during_analysis = 0
        self._server: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start the program and wait until it answers."""
        command = [*LOGAN, "serve", "--data", str(self.folder), "--port", str(self.port)]
        command += ["--database", self.database] if self.database else []
        self._server = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        for _ in range(600):
            with suppress(httpx.TransportError):
                httpx.get(f"http://127.0.0.1:{self.port}/sign-in", timeout=30)
                return
            time.sleep(0.05)
        raise AssertionError("the workshop did not start")

    def kill(self) -> None:
        """End it as a power cut of the program would."""
        assert self._server is not None
        self._server.send_signal(signal.SIGKILL)
        self._server.wait()

    def send(self, seed: int) -> None:
        """Hand captures in, each until it is acknowledged."""
        for number in range(MOST_SENT):
            mark = f"sender {seed} capture {number}"
            data = SAMPLE.read_bytes() if number % 4 == 0 else mark.encode()
            self.hashes[mark] = hashlib.sha256(data).hexdigest()
            while not self.end and mark not in self.cases:
                with self._asking() as client, suppress(httpx.TransportError):
                    fields = {"token": self._token(client), "sending": mark, "vehicle": mark}
                    answer = client.post("/hand-in", data=fields, files={"captures": ("drive.log.gz", data)})
                    if answer.status_code == 303:
                        self.cases[mark] = int(answer.headers["location"].rsplit("/", 1)[1])
                    else:
                        self.wrong.append(f"{mark}: {answer.status_code}")
                time.sleep(0.02)
            time.sleep(self.chance.uniform(0.0, 0.5))

    def review(self, seed: int) -> None:
        """Leave notes, each once unless nobody answered."""
        number = 0
        while not self.end:
            known = list(self.cases.values())
            if known:
                case, text = self.chance.choice(known), f"reviewer {seed} note {number}"
                with self._asking() as client, suppress(httpx.TransportError):
                    fields = {"token": self._token(client), "kind": "note", "text": text}
                    if client.post(f"/cases/{case}/review", data=fields).status_code == 303:
                        self.notes[case, text] += 1
                number += 1
            time.sleep(self.chance.uniform(0.05, 0.3))

    def run(self, kills: int) -> None:
        """Kill and start again, then wait until nothing is to be done."""
        work = [threading.Thread(target=self.send, args=(seed,)) for seed in (1, 2)]
        work += [threading.Thread(target=self.review, args=(seed,)) for seed in (1, 2)]
        self.start()
        for one in work:
            one.start()
        for kill in range(kills):
            time.sleep(self.chance.uniform(0.0, LONGEST_S))
            if kill % 2:
                self._until("running", 2.0)
            self.during_analysis += self._count("running") > 0
            self.kill()
            self.kills += 1
            self.start()
        self.end = True
        for one in work:
            one.join()
        until = time.monotonic() + STEADY_S
        while time.monotonic() < until and self._count("running") + self._count("waiting"):
            time.sleep(0.2)
        self.kill()

    def judged(self) -> list[str]:
        """What is lost or stands twice, in words; empty where all is well."""
        out = list(self.wrong)
        with self.sessions() as session:
            stored = {case.id: case for case in session.scalars(sa.select(Case))}
            files = {(file.case_id, file.sha256) for file in session.scalars(sa.select(CaseFile))}
            notes = Counter((one.case_id, one.text) for one in session.scalars(sa.select(Review)))
            ends = Counter(
                deed.case_id for deed in session.scalars(sa.select(Deed).where(Deed.by == "logan"))
                if deed.what == "analysed"
            )  # fmt: skip
        for mark, number in self.cases.items():
            case, sha256 = stored.get(number), self.hashes[mark]
            if case is None or (number, sha256) not in files:
                out.append(f"case {number} was acknowledged and is lost")
                continue
            path = path_of(self.folder, sha256)
            if not path.exists() or hashlib.sha256(path.read_bytes()).hexdigest() != sha256:
                out.append(f"the capture of case {number} is not whole")
            if case.state not in ("done", "failed"):
                out.append(f"case {number} is still {case.state}")
        labels = Counter(case.vehicle for case in stored.values())
        out += [f"{label} is there {times} times" for label, times in labels.items() if times > 1]
        out += [f"note {key} was acknowledged and is lost" for key in self.notes if not notes[key]]
        out += [f"note {key} is there {times} times" for key, times in notes.items() if times > 1]
        out += [f"case {number} has {times} findings" for number, times in ends.items() if times > 1]
        if list((self.folder / "captures").glob("arriving/*")):
            self.start()  # what was on its way at the last kill goes at the next start
            self.kill()
            if list((self.folder / "captures").glob("arriving/*")):
                out.append("something that was arriving is still there")
        return out

    def told(self) -> str:
        """One paragraph of figures."""
        with self.sessions() as session:
            states = Counter(session.scalars(sa.select(Case.state)))
            again = len([one for one in session.scalars(sa.select(Case.attempts)) if one > 1])
        return (
            f"{self.kills} kills, {self.during_analysis} of them during an analysis; acknowledged: "
            f"{len(self.cases)} cases, {len(self.notes)} notes; at the end {dict(states)}, "
            f"{again} cases analysed more than once"
        )

    def _asking(self) -> httpx.Client:
        return httpx.Client(base_url=f"http://127.0.0.1:{self.port}", timeout=30)

    @staticmethod
    def _token(client: httpx.Client) -> str:
        found = re.search(r'name="token" value="(\w+)"', client.get("/hand-in").text)
        return found[1] if found else ""

    def _count(self, state: str) -> int:
        with self.sessions() as session:
            return session.scalar(sa.select(sa.func.count()).select_from(Case).where(Case.state == state)) or 0

    def _until(self, state: str, most_s: float) -> None:
        until = time.monotonic() + most_s
        while time.monotonic() < until and not self._count(state):
            time.sleep(0.01)


def main() -> None:
    """Run it and print the figures; exit status 1 where anything is lost or twice."""
    read = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    read.add_argument("kills", type=int, nargs="?", default=200)
    read.add_argument("--seed", type=int, default=1)
    read.add_argument("--database", help="an empty data base of its own")
    read.add_argument("--keep", type=Path, help="a folder that stays")
    asked = read.parse_args()
    folder = asked.keep or Path(tempfile.mkdtemp(prefix="kills-"))
    trial = Trial(folder, random.Random(asked.seed), asked.database)
    trial.run(asked.kills)
    wrong = trial.judged()
    print(trial.told())
    print("nothing lost, nothing twice" if not wrong else "\n".join(wrong))
    if not asked.keep:
        shutil.rmtree(folder)
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
