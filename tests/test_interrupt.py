"""Ctrl-C: one line that says what was written, exit status 130, and results in place all or none."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from logan import interrupt
from logan.cli import main
from logan.report import files

SAMPLES = Path(__file__).parent.parent / "sample_logs"
LOG = str(SAMPLES / "healthy_spark_four.log.gz")
INTERRUPTED = 130  # 128 and the number of the signal, as a shell counts (POSIX, Shell Command Language, 2.8.2)


@pytest.fixture(autouse=True)
def heard() -> object:
    """The handler of Ctrl-C, and what an interruption leaves behind, as they were."""
    before, left = signal.getsignal(signal.SIGINT), interrupt.left()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a job behind others is born deaf to it
    yield
    signal.signal(signal.SIGINT, before)
    interrupt.leaves(left)


def stop(*_: object, **__: object) -> None:
    os.kill(os.getpid(), signal.SIGINT)
    signal.sigtimedwait([], 1)  # the handler runs in between


WHILE_LOADING = """
import os, signal, sys
class Stop:
    def find_spec(self, name, *_):
        if name == {module!r}:
            sys.meta_path.remove(self)
            os.kill(os.getpid(), signal.SIGINT)
signal.signal(signal.SIGINT, signal.default_int_handler)
sys.meta_path.insert(0, Stop())
from logan.cli import main
main(["inspect", {log!r}])
"""


@pytest.mark.parametrize(
    "module", ["logan.cli.running", "logan.interrupt", "logan.cli.direct", "logan.pipeline.overview"]
)
def test_it_may_come_while_the_program_loads(module: str, tmp_path: Path) -> None:
    code = WHILE_LOADING.format(module=module, log=LOG)
    ended = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False)
    said = (ended.returncode, ended.stdout, ended.stderr)
    assert said == (INTERRUPTED, "", "logan: interrupted; nothing was written\n")


@pytest.mark.parametrize(
    ("arguments", "at"),
    [
        (["report", LOG], "logan.pipeline.analyse.analyse"),
        (["decode", LOG], "logan.pipeline.decode.decode_channels"),
        (["compare", LOG, LOG], "logan.pipeline.compare.compare"),
        (["inspect", LOG], "logan.pipeline.overview.overview_lines"),
        (["explain", "boost_leak"], "logan.pipeline.explain.explain"),
        (["simulate"], "logan.simulate.run"),
        (["plan"], "logan.pipeline.plan.plan"),
        (["replay", LOG, "--to", "virtual"], "logan.training.session.read"),
        (["replay", LOG, "--to", "page"], "logan.training.page.analyse"),
        (["knowledge", "check", "."], "logan.pipeline.knowledge_check.mistakes"),
        (["fleet", "run", LOG, "--out", "out"], "logan.fleet.sources.find"),
    ],
)
def test_every_command_says_that_nothing_was_written(
    arguments: list[str],
    at: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(at, stop)
    with pytest.raises(SystemExit) as end:
        main(arguments)
    assert end.value.code == INTERRUPTED
    assert capsys.readouterr() == ("", "logan: interrupted; nothing was written\n")
    assert not list(tmp_path.iterdir())


def test_what_is_ready_is_put_in_place_whole_and_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It comes between the first file and the second: both are there, and the line says so."""
    whole = Path.replace

    def replaced(path: Path, target: Path) -> Path:
        if target.parent == tmp_path:  # what is kept for the next start may be written before
            stop()
        return whole(path, target)

    monkeypatch.setattr(Path, "replace", replaced)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as end:
        main(["report", LOG, "--html", "page.html", "--json", "finding.json"])
    assert end.value.code == INTERRUPTED
    assert capsys.readouterr() == ("", "logan: interrupted; written: page.html, finding.json\n")
    assert {path.name for path in tmp_path.iterdir()} == {"page.html", "finding.json"}


def test_it_comes_while_the_files_are_still_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = Path.open
    monkeypatch.setattr(Path, "open", lambda path, *how, **more: (stop(), opened(path, *how, **more))[1])
    with pytest.raises(KeyboardInterrupt):
        files.write_all({tmp_path / "a": "a", tmp_path / "b": "b"})
    assert not list(tmp_path.iterdir())


def test_a_replay_tells_what_it_sent(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "logan", "replay", LOG, "--to", "virtual"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(SAMPLES.parent), "PYTHONUNBUFFERED": "1"},
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdout.readline().endswith("Ctrl-C stops\n")
    time.sleep(0.5)
    process.send_signal(signal.SIGINT)
    said, errors = process.communicate(timeout=20)
    assert process.returncode == INTERRUPTED
    assert said.startswith("sent ")
    assert errors == "logan: interrupted; nothing was written\n"


@pytest.mark.skipif(sys.platform == "win32", reason="a folder is held by a lock of the system that Windows has not")
def test_the_workshop_says_what_keeps_it_from_starting_and_what_its_end_leaves(tmp_path: Path) -> None:
    """A port that is taken and a folder that is served already: one line of ours each, and nothing is started."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "logan", "serve", "--port", str(port), "--data"]
    environment = {**os.environ, "PYTHONPATH": str(SAMPLES.parent), "PYTHONUNBUFFERED": "1"}
    first = subprocess.Popen(
        [*command, str(tmp_path / "one")], env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    assert first.stdout is not None
    assert first.stdout.readline().startswith("Workshop: ")
    taken = subprocess.run([*command, str(tmp_path / "two")], env=environment, capture_output=True, text=True)
    served = subprocess.run([*command[:-2], "1", "--data", str(tmp_path / "one")], env=environment,
                            capture_output=True, text=True)  # fmt: skip
    for refused, said in ((taken, f"port {port} of 127.0.0.1 is taken"), (served, "serves this data folder already")):
        assert (refused.returncode, refused.stdout) == (2, "")
        assert refused.stderr.startswith("logan: ")
        assert len(refused.stderr.splitlines()) == 1
        assert said in refused.stderr
    first.send_signal(signal.SIGINT)
    _, errors = first.communicate(timeout=20)
    assert first.returncode == INTERRUPTED
    assert errors.startswith("logan: interrupted; the workshop is closed, its cases are kept")
    assert len(errors.splitlines()) == 1


def test_a_job_that_does_not_hear_it_stays_deaf(tmp_path: Path) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with interrupt.waits():
        stop()
    assert signal.getsignal(signal.SIGINT) == signal.SIG_IGN
