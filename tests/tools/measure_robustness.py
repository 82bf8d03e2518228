"""Fuzz every reader, decoder and loader and count what happened.

``python tests/tools/measure_robustness.py --inputs 10000000`` goes on from the counts that ``--state`` keeps.

An input is one byte string handed to one target of ``robustness/targets.py`` in this process. Two ways of making
inputs: mutation of small samples (the same number always gives the same input, so any input can be made again), and
with ``--guided`` libFuzzer's coverage-guided search (needs ``pip install atheris``). A failure is an exception that is
no ``LoganError`` of the kind that the command line prints (a warning of a library counts as one), more than a second
of processor time per 64 KiB of input (and per input at least), or memory beyond 20 times the input and the fixed
buffers of the readers. ``--show`` prints the counts, ``--again`` runs the inputs that failed once more, ``--page``
writes the counts to docs/robustness.md.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import resource
import signal
import sys
import time
import traceback
import warnings
from collections.abc import Sequence
from pathlib import Path
from types import FrameType
from typing import Any

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]

PAGE = ROOT / "docs" / "robustness.md"
BEGIN, END = "<!-- counts begin -->", "<!-- counts end -->"
HEAD = (
    "| target | inputs | of them guided | taken | crashes | hangs | memory | longest, ms |\n"
    "|---|---:|---:|---:|---:|---:|---:|---:|\n"
)
FIXED_BYTES = 64 << 20
"""Buffers of the readers and tables made on first use, whatever the size of the input."""
MEMORY_FACTOR = 20
HANG_S = 1.0
GIVE_UP_S = 10
CHUNK_S = 1.0
"""Processor time that every target has before the next one's turn."""
SLOW = 4
"""How many times as long a target has that is still behind the least that is wanted of it."""
MOST_PART, LEAST_PART = 5, 500
"""No target has more than a fifth of all inputs; each shall have one of 500, if it takes four times as long."""


class GaveUpError(BaseException):
    """An input took so long that it was stopped; no handler of ours may swallow it."""


def _give_up(_number: int, _frame: FrameType | None) -> None:
    raise GaveUpError


class Counts:
    """What happened so far, kept in a file."""

    def __init__(self, state: Path) -> None:
        self.state = state
        self.of: dict[str, dict[str, Any]] = json.loads(state.read_text()) if state.exists() else {}

    def target(self, name: str) -> dict[str, Any]:
        zero = dict.fromkeys(("inputs", "guided", "taken", "crashes", "hangs", "memory", "next"), 0)
        return self.of.setdefault(name, {**zero, "used_s": 0.0, "longest_s": 0.0, "found": {}})

    def sum(self, key: str, name: str | None = None) -> int:
        """How many of something there are of one target or of all."""
        return sum(c[key] for n, c in self.of.items() if name in (None, n))

    def save(self) -> None:
        part = self.state.with_suffix(".part")
        part.write_text(json.dumps(self.of, indent=1))
        part.replace(self.state)


def _plain(name: str) -> str:
    """The name of a target as that of a file."""
    return "".join(c if c.isalnum() else "_" for c in name)


def _guided_of(counts: Counts) -> Counts:
    """The counts of the guided search, which may run beside the other."""
    return Counts(counts.state.with_name("guided.json"))


class Judge:
    """Hands inputs to one target and counts the outcome."""

    def __init__(self, name: str, target: Any, counts: Counts, refused: tuple[type[Exception], ...]) -> None:
        self.name, self.call, self.refused = name, target.call, refused
        self.fixed_bytes = FIXED_BYTES + target.fixed_bytes
        self.counts, self.into = counts, counts.target(name)
        self.unraisable: list[str] = []
        sys.unraisablehook = lambda unraisable: self.unraisable.append(f"unraisable {unraisable.exc_value}")

    def judge(self, data: bytes) -> None:
        """One input."""
        before = resource.getrusage(resource.RUSAGE_SELF)
        taken, failure = False, ""
        signal.setitimer(signal.ITIMER_PROF, GIVE_UP_S)
        try:
            taken = self.call(data)
        except self.refused:
            pass
        except GaveUpError:
            failure = "hang"
        except Exception as error:
            failure = self._place(error)
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0.0)
        after = resource.getrusage(resource.RUSAGE_SELF)
        if after.ru_maxrss > before.ru_maxrss:
            Path("/proc/self/clear_refs").write_text("5")  # so that the next peak counts from what is in use now
        used_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        grown = (after.ru_maxrss - before.ru_maxrss) * 1024
        self.into["inputs"] += 1
        self.into["taken"] += taken
        self.into["longest_s"] = max(self.into["longest_s"], used_s)
        if self.unraisable:
            failure = failure or self.unraisable[0]
            self.unraisable.clear()
        if failure == "hang" or used_s > HANG_S * max(1.0, len(data) / 65536):
            self._found("hangs", f"{used_s:.1f} s", data)
        elif failure:
            self._found("crashes", failure, data)
        if grown > MEMORY_FACTOR * len(data) + self.fixed_bytes:
            self._found("memory", f"{grown >> 20} MiB for {len(data)} bytes", data)

    def _place(self, error: Exception) -> str:
        """Kind of error and the last place of ours that it went through."""
        ours = [f for f in traceback.extract_tb(error.__traceback__) if "/logan/" in f.filename]
        where = f"{Path(ours[-1].filename).name}:{ours[-1].lineno}" if ours else "?"
        return f"{type(error).__name__} {where} {str(error)[:90]}"

    def _found(self, kind: str, what: str, data: bytes) -> None:
        self.into[kind] += 1
        key = f"{kind}: {' '.join(what.split()[:2]) if kind == 'crashes' else kind}"
        if key not in self.into["found"]:
            folder = self.counts.state.parent / "found"
            folder.mkdir(exist_ok=True)
            file = folder / f"{self.counts.state.stem}-{_plain(self.name)}-{len(self.into['found'])}"
            file.write_bytes(data)
            self.into["found"][key] = {"what": what, "file": file.name}
            print(f"{self.name}: {kind}: {what} -> {file}", flush=True)


def _ready() -> Any:
    """The targets, with every warning an error but those about the future of libraries."""
    signal.signal(signal.SIGPROF, _give_up)
    targets = importlib.import_module("robustness.targets")
    every = targets.all_targets()
    warnings.simplefilter("error")
    for kind in (DeprecationWarning, FutureWarning, PendingDeprecationWarning, ResourceWarning):
        warnings.simplefilter("ignore", kind)
    return targets, every


def _mutate(counts: Counts, wanted: list[str], inputs: int, minutes: float) -> None:
    """Inputs in turn over all targets until so many are counted in all, or the time is over.

    Next is the target with the least processor time so far, a quarter of it counted where the target is still behind
    the least that is wanted of it; none has more than a fifth of all inputs.
    """
    targets, every = _ready()
    mutate = importlib.import_module("robustness.mutate")
    judges = {n: Judge(n, t, counts, targets.REFUSED) for n, t in every.items() if not wanted or n in wanted}
    until = time.monotonic() + 60.0 * minutes
    while time.monotonic() < until:
        guided = _guided_of(counts)
        left = {name: inputs // MOST_PART - counts.sum("inputs", name) - guided.sum("inputs", name) for name in judges}
        waiting = [name for name in judges if left[name] > 0]
        if not waiting or counts.sum("inputs") + guided.sum("inputs") >= inputs:
            break
        name = min(waiting, key=lambda n: _served_s(judges[n], inputs))
        judge, stop_s = judges[name], time.process_time() + CHUNK_S
        most = judge.into["inputs"] + left[name]
        while time.process_time() < stop_s and time.monotonic() < until and judge.into["inputs"] < most:
            for _ in range(10):
                judge.judge(mutate.mutated(every[name].seeds, name, judge.into["next"]))
                judge.into["next"] += 1
        judge.into["used_s"] += time.process_time() - stop_s + CHUNK_S
        counts.save()


def _served_s(judge: Judge, inputs: int) -> float:
    """Processor time that a target had, less where it is slow."""
    behind = judge.into["inputs"] < inputs // LEAST_PART
    return float(judge.into["used_s"]) / (SLOW if behind else 1)


def _guided(counts: Counts, wanted: list[str], seconds: int, inputs: int) -> None:
    """libFuzzer over one target after the other, each in a process of its own that libFuzzer ends."""
    atheris = importlib.import_module("atheris")
    with atheris.instrument_imports(include=["logan"]):
        targets, every = _ready()
    for name, target in every.items():
        if not wanted or name in wanted:
            process = os.fork()
            if not process:
                os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stderr.fileno())
                most = inputs // MOST_PART - counts.sum("inputs", name)
                _search(atheris, Judge(name, target, _guided_of(counts), targets.REFUSED), target.seeds, seconds, most)
            os.waitpid(process, 0)


def _search(atheris: Any, judge: Judge, seeds: Sequence[bytes], seconds: int, most: int) -> None:
    """One target, for so many seconds of processor time or so many inputs in all; does not return."""
    corpus = judge.counts.state.parent / "corpus" / _plain(judge.name)
    if not corpus.exists():
        corpus.mkdir(parents=True)
        for k, seed in enumerate(seeds):
            (corpus / f"seed{k}").write_bytes(seed)
    end_s = time.process_time() + seconds

    def one(data: bytes) -> None:
        judge.judge(data)
        judge.into["guided"] += 1
        over = time.process_time() > end_s or judge.into["inputs"] >= most
        if over or judge.into["guided"] % 500 == 0:
            judge.counts.save()
        if over:
            os._exit(0)  # libFuzzer has no end of its own by processor time

    options = ["-max_len=8192", "-rss_limit_mb=0", "-detect_leaks=0", "-verbosity=0"]
    atheris.Setup([sys.argv[0], *options, str(corpus)], one)
    atheris.Fuzz()


def _again(counts: Counts, wanted: list[str]) -> None:
    """The inputs that failed, once more, with counts of their own."""
    targets, every = _ready()
    folder = counts.state.parent
    anew = Counts(folder / "again" / "counts.json")
    anew.state.parent.mkdir(exist_ok=True)
    for name, past in [*counts.of.items(), *_guided_of(counts).of.items()]:
        if name in every and (not wanted or name in wanted):
            judge = Judge(name, every[name], anew, targets.REFUSED)
            for failure in past["found"].values():
                judge.judge((folder / "found" / failure["file"]).read_bytes())
    print(_table(anew))


def _table(counts: Counts) -> str:
    """The counts as a table."""
    rows = []
    keys = ("inputs", "guided", "taken", "crashes", "hangs", "memory")
    both = (counts, _guided_of(counts))
    for name in dict.fromkeys(name for one in both for name in one.of):
        numbers = " | ".join(f"{sum(one.sum(key, name) for one in both):,}" for key in keys)
        longest_s = max(one.of[name]["longest_s"] for one in both if name in one.of)
        rows.append(f"| {name} | {numbers} | {1e3 * longest_s:.0f} |")
    total = " | ".join(f"{sum(one.sum(key) for one in both):,}" for key in keys)
    return HEAD + "\n".join([*rows, f"| all | {total} | |"])


def _page(counts: Counts) -> None:
    """The table into docs/robustness.md."""
    text = PAGE.read_text("utf-8")
    begin, end = text.index(BEGIN) + len(BEGIN), text.index(END)
    PAGE.write_text(f"{text[:begin]}\n{_table(counts)}\n{text[end:]}", "utf-8")


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=100_000, help="go on until so many are counted in all")
    parser.add_argument("--minutes", type=float, default=1e9, help="or until so long has passed")
    parser.add_argument("--only", action="append", default=[], help="name of a target; may be given again")
    parser.add_argument(
        "--guided", type=int, metavar="S", help="coverage-guided, so many seconds of processor time a target"
    )
    parser.add_argument("--state", type=Path, default=Path("robustness_counts") / "counts.json")
    parser.add_argument("--page", action="store_true", help="write the counts to docs/robustness.md")
    parser.add_argument("--show", action="store_true", help="print the counts")
    parser.add_argument("--again", action="store_true", help="run the inputs that failed once more")
    given = parser.parse_args()
    given.state.parent.mkdir(parents=True, exist_ok=True)
    counts = Counts(given.state)
    if given.page:
        _page(counts)
    elif given.show:
        print(_table(counts))
    elif given.again:
        _again(counts, given.only)
    elif given.guided:
        _guided(counts, given.only, given.guided, given.inputs)
    else:
        _mutate(counts, given.only, given.inputs, given.minutes)


if __name__ == "__main__":
    main()
