"""Runs in one process: rows, bad logs, resuming, copies, the data sets, object stores."""

from __future__ import annotations

import errno
import functools
import json
import math
import socket
from collections.abc import Iterator, Sequence
from pathlib import Path

import fsspec
import msgspec
import pyarrow.dataset as ds
import pyarrow.parquet as pq
import pytest
from fleet_logs import SAMPLES, row, write_logs

import logan
from logan.cli import main
from logan.errors import CaptureError, OutputError, UsageError
from logan.fleet import in_process, run, sources, table
from logan.fleet.options import Options
from logan.fleet.store import Store
from logan.fleet.task import Outcome, Task, analyse_log, failed
from logan.knowledge import measures
from logan.model.fleet import FleetLog
from logan.report.json_document import build


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("logs")
    write_logs(folder, 3, ("pump_key_reversed", "healthy_spark_four"), bad=1)
    return folder


@pytest.fixture(scope="module")
def done(logs: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[FleetLog]]:
    out = tmp_path_factory.mktemp("out")
    todo = run.plan(sources.find([logs])[0], Options(channels=True), out)
    return out, run.run(todo)


def by_name(rows: Sequence[FleetLog]) -> dict[str, FleetLog]:
    return {one.log: one for one in rows}


def test_a_row_says_what_the_report_of_the_log_says(done: tuple[Path, list[FleetLog]]) -> None:
    found = by_name(done[1])["canned/pump_key_reversed"]
    paths = [SAMPLES / Path(file).name for file in found.files]
    alone = logan.analyse(paths)
    document = build(alone.record, alone.finding)
    assert found.verdict == document["verdict"]
    assert [one.fault for one in found.faults] == [one["fault"] for one in document["faults"]]
    assert [one.probability for one in found.faults] == [one["probability"] for one in document["faults"]]
    assert {m.name: m.value for m in found.measures} == {n: m["value"] for n, m in document["measures"].items()}
    assert found.blind == sorted(alone.finding.ranking.blind) != []
    assert found.vehicle == document["vehicle"]["vin"]
    assert found.content == [one["sha256"] for one in document["capture"]["files"]]
    assert len(found.files) == 2


def test_a_bad_log_is_a_row_with_its_error_and_the_rest_goes_on(done: tuple[Path, list[FleetLog]]) -> None:
    rows = by_name(done[1])
    assert len(rows) == 6
    assert rows["bad_0"].trouble == "capture"
    assert "bad_0.log: not recognised" in (rows["bad_0"].error or "")
    assert [one.log for one in done[1] if one.error] == ["bad_0"]


def test_equal_bad_logs_name_their_own_files(tmp_path: Path) -> None:
    """Three copies of a file that is no capture; the second run reads what the first one kept."""
    for name in ("van_a", "van_b", "van_b2"):
        (tmp_path / "logs" / name).mkdir(parents=True)
        (tmp_path / "logs" / name / "bad.log").write_bytes(b"no capture at all\n" * 9)
    for _ in range(2):
        rows = run.run(run.plan(sources.find([tmp_path / "logs"])[0], Options(), tmp_path / "out"))
        assert [one.files for one in rows] == [["van_a/bad.log"], ["van_b/bad.log"], ["van_b2/bad.log"]]
        assert [(one.error or "").partition(": ")[0] for one in rows] == [one.files[0] for one in rows]


def test_the_data_set_gives_the_rows_back(done: tuple[Path, list[FleetLog]]) -> None:
    out, rows = done
    back = table.read(out)
    for one, other in zip(rows, back, strict=True):
        ours, theirs = ({m.name: (m.value, m.low, m.high, m.n, m.unit) for m in r.measures} for r in (one, other))
        assert ours == theirs
        assert msgspec.structs.replace(one, measures=[]) == msgspec.structs.replace(other, measures=[])
    found = ds.dataset(out / "logs").to_table()
    assert found.num_rows == len(rows)
    assert found.schema.equals(table.schema(measures.load()))
    assert found["top_fault"].to_pylist() == [one.faults[0].fault if one.faults else None for one in rows]


def test_a_measure_is_a_list_where_it_is_one_of_the_cylinders(tmp_path: Path) -> None:
    write_logs(tmp_path, 0, ("cylinder_fuel_low",), bad=0)
    (log,) = sources.find([tmp_path])[0]
    found = analyse_log(Task(log, "k", engine="training_rotary_six")).row
    lists = {m.name: isinstance(m.value, list) for m in found.measures}
    assert set(lists.values()) == {True, False}
    assert lists == {name: table.of_cylinders(name) for name in lists}
    table.write([found], measures.load(), Store(tmp_path / "out"))
    (back,) = table.read(tmp_path / "out")
    assert {m.name: m.value for m in back.measures} == {m.name: m.value for m in found.measures}


def test_numbers_that_have_no_bound_survive(tmp_path: Path) -> None:
    open_end = row("v", 1, {"running_voltage_v": (14.0, math.inf)})
    table.write([open_end], measures.load(), Store(tmp_path))
    (back,) = table.read(tmp_path)
    assert (back.measures[0].low, back.measures[0].high) == (-math.inf, math.inf)


def test_channels_are_a_second_data_set(done: tuple[Path, list[FleetLog]]) -> None:
    out, rows = done
    found = ds.dataset(out / "channels").to_table().to_pandas()
    good = [one for one in rows if one.error is None]
    assert set(found["key"]) == {one.key for one in good}
    one = by_name(rows)["canned/healthy_spark_four"]
    speed = found[(found["key"] == one.key) & (found["channel"] == "engine_speed")]
    truth = logan.analyse([SAMPLES / "healthy_spark_four.log.gz"]).record.channels.best["engine_speed"]
    assert speed["value"].to_list() == truth.value.tolist()
    assert speed["t_s"].to_list() == truth.t_s.tolist()
    assert set(speed["unit"]) == {"rpm"}


class Counting:
    """An engine that notes what it was given, and may stop in the middle."""

    def __init__(self, stop_after: int | None = None) -> None:
        self.given: list[str] = []
        self.stop_after = stop_after

    def __call__(self, tasks: Sequence[Task]) -> Iterator[tuple[Task, Outcome]]:
        for task in tasks:
            if len(self.given) == self.stop_after:
                raise KeyboardInterrupt
            self.given.append(task.log.name)
            yield task, Outcome(FleetLog(key=task.key, verdict="no_fault_supported", content=[task.key]))


def test_it_goes_on_where_it_was(logs: Path, tmp_path: Path) -> None:
    found = sources.find([logs])[0]
    first, second, third = Counting(stop_after=2), Counting(), Counting()
    with pytest.raises(KeyboardInterrupt):
        run.run(run.plan(found, Options(), tmp_path), first)
    run.run(run.plan(found, Options(), tmp_path), second)
    run.run(run.plan(found, Options(), tmp_path), third)
    assert first.given + second.given == [log.name for log in found]
    assert third.given == []


def test_what_changes_a_result_is_done_again(logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    found = sources.find([logs])[0]

    def again(options: Options) -> int:
        engine = Counting()
        run.run(run.plan(sources.find([logs])[0], options, tmp_path / "out"), engine)
        return len(engine.given)

    profile = tmp_path / "own.toml"
    profile.write_text('name = "Own"\n')
    assert again(Options()) == len(found)
    assert again(Options()) == 0
    assert again(Options(work=("pump",))) == len(found)
    assert again(Options(engine=str(profile))) == len(found)
    profile.write_text('name = "Own one"\n')
    assert again(Options(engine=str(profile))) == len(found)
    canned = sum(log.name.startswith("canned/") for log in found)
    assert again(Options(engines=(("canned/*", "training_rotary_six"),))) == canned
    monkeypatch.setattr("logan.fleet.options.__version__", "9.9")
    assert again(Options()) == len(found)


def test_a_moved_log_is_known_and_a_changed_one_is_not(tmp_path: Path) -> None:
    place = tmp_path / "a"
    write_logs(place, 0, ("charging_voltage_low",), bad=0)
    out = tmp_path / "out"
    run.run(run.plan(sources.find([place])[0], Options(), out), Counting())
    place.rename(tmp_path / "b")
    assert run.plan(sources.find([tmp_path / "b"])[0], Options(), out).tasks == []
    log = tmp_path / "b" / "canned" / "charging_voltage_low.log.gz"
    log.write_bytes(log.read_bytes() + b" ")
    assert len(run.plan(sources.find([tmp_path / "b"])[0], Options(), out).tasks) == 1


def test_torn_results_and_missing_channels_are_made_again(logs: Path, tmp_path: Path) -> None:
    found = sources.find([logs / "vehicle_00"])[0]
    run.run(run.plan(found, Options(channels=True), tmp_path))
    torn, lost = sorted((tmp_path / "done").iterdir())[:2]
    torn.write_bytes(torn.read_bytes()[:-5])
    (tmp_path / "channels" / f"{lost.stem}.parquet").unlink()
    todo = run.plan(found, Options(channels=True), tmp_path)
    assert {task.key for task in todo.tasks} == {torn.stem, lost.stem}
    assert {task.key for task in run.plan(found, Options(), tmp_path).tasks} == {torn.stem}
    torn.write_bytes(b"\x80")  # nothing at all, and yet a row: of another log
    assert {task.key for task in run.plan(found, Options(), tmp_path).tasks} == {torn.stem}


def test_errors_are_taken_up_again_only_when_asked(logs: Path, tmp_path: Path) -> None:
    found = [log for log in sources.find([logs])[0] if log.name == "bad_0"]
    run.run(run.plan(found, Options(), tmp_path))
    assert run.plan(found, Options(), tmp_path).tasks == []
    assert len(run.plan(found, Options(), tmp_path, again=True).tasks) == 1


def test_what_is_not_the_logs_fault_is_not_kept(logs: Path, tmp_path: Path) -> None:
    found = sources.find([logs / "vehicle_00"])[0]

    def away(tasks: Sequence[Task]) -> Iterator[tuple[Task, Outcome]]:
        return ((task, Outcome(failed(task, "no disk here", "not_reached"))) for task in tasks)

    rows = run.run(run.plan(found, Options(), tmp_path), away)
    assert {one.trouble for one in rows} == {"not_reached"}
    assert len(run.plan(found, Options(), tmp_path).tasks) == len(found)


def test_a_worker_that_cannot_work_says_so(logs: Path) -> None:
    (log,) = [log for log in sources.find([logs])[0] if log.name == "bad_0"]
    assert "runs logan" in (analyse_log(Task(log, "k", version="0.0.0")).row.error or "")
    elsewhere = sources.Log("x", (sources.LogFile("/absent/x.log", "x.log", "0", True),))
    assert analyse_log(Task(elsewhere, "k")).row.trouble == "not_reached"


def test_a_log_that_changes_meanwhile_is_not_kept(tmp_path: Path) -> None:
    write_logs(tmp_path, 0, ("charging_voltage_low",), bad=0)
    (log,) = sources.find([tmp_path])[0]
    stale = sources.Log(log.name, (sources.LogFile(log.files[0].address, log.files[0].name, "0" * 64, True),))
    found = analyse_log(Task(stale, "k")).row
    assert found.trouble == "not_reached"
    assert "changed" in (found.error or "")


def test_a_log_that_vanishes_or_cannot_be_read_stops_nobody_and_is_tried_again(tmp_path: Path) -> None:
    write_logs(tmp_path / "logs", 2, (), bad=0)
    absent = tmp_path / "logs" / "vehicle_00" / "absent.log"
    absent.symlink_to("nothing")
    found = sources.find([tmp_path / "logs"])[0]
    gone = Path(found[0].files[0].address)
    content = gone.read_bytes()

    def slow(task: Task) -> Outcome:
        gone.unlink(missing_ok=True)
        return analyse_log(task)

    todo = run.plan(found, Options(), tmp_path / "out")
    rows = by_name(run.run(todo, lambda tasks: in_process.outcomes(tasks, slow)))
    assert {name: one.trouble for name, one in rows.items()} == {
        "000": "not_reached",
        "001": "",
        "absent": "not_reached",
    }
    gone.write_bytes(content)
    absent.unlink()
    absent.write_bytes(content + b"(1700000100.5) can0 123#00\n")
    again = run.plan(sources.find([tmp_path / "logs"])[0], Options(), tmp_path / "out")
    assert {task.log.name for task in again.tasks} == {"000", "absent"}
    assert {one.trouble for one in run.run(again)} == {""}


def test_a_log_that_vanishes_while_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_logs(tmp_path, 1, (), bad=0)
    (log,) = sources.find([tmp_path])[0]

    def vanishing(paths: Sequence[Path], **_: object) -> None:
        paths[0].unlink()
        raise CaptureError("no such file or directory", file=str(paths[0]), do="check the path")

    monkeypatch.setattr("logan.fleet.task.analyse", vanishing)
    found = analyse_log(Task(log, "k")).row
    assert (found.trouble, found.error) == ("not_reached", "000.log: it vanished while the fleet was analysed")


def test_a_disk_that_refuses_is_one_clear_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Read-only, not even what was begun can be taken away again (POSIX EROFS)."""
    store = Store(tmp_path)

    def refused(*_: object, **__: object) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(Path, "write_bytes", refused)
    monkeypatch.setattr(Path, "unlink", refused)
    with pytest.raises(OutputError, match="read-only file system; name another folder"):
        store.write(tmp_path / "x", b"")


def test_a_defect_of_the_program_is_a_row(logs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("by\x00zero\ud800")

    monkeypatch.setattr("logan.fleet.task.analyse", broken)
    found = analyse_log(Task(sources.find([logs / "vehicle_00"])[0][0], "k")).row
    assert found.trouble == "defect"
    msgspec.msgpack.encode(found)


def test_copies_count_once(tmp_path: Path) -> None:
    write_logs(tmp_path, 0, ("charging_voltage_low",), bad=0)
    first = tmp_path / "canned" / "charging_voltage_low.log.gz"
    (tmp_path / "z.log.gz").write_bytes(first.read_bytes())
    rows = run.run(run.plan(sources.find([tmp_path])[0], Options(), tmp_path / "out"))
    assert {one.log: one.copy_of for one in rows} == {
        "canned/charging_voltage_low": None,
        "z": "canned/charging_voltage_low",
    }


def test_the_folder_names_a_vehicle_only_where_no_vin_does(tmp_path: Path) -> None:
    write_logs(tmp_path, 0, ("charging_voltage_low",), bad=0)
    silent = tmp_path / "van_7"
    silent.mkdir()
    (silent / "1.csv").write_text("time_s,engine_speed [rpm]\n" + "".join(f"{k / 10},800\n" for k in range(100)))
    todo = run.plan(sources.find([tmp_path])[0], Options(), tmp_path / "out")
    rows = by_name(run.run(todo, folder_is_vehicle=True))
    assert (rows["van_7/1"].vehicle, rows["van_7/1"].vehicle_from) == ("van_7", "folder")
    assert rows["canned/charging_voltage_low"].vehicle_from == "vin"
    assert rows["canned/charging_voltage_low"].folder == "canned"
    assert {one.folder for one in run.run(todo)} == {""}
    assert by_name(run.run(todo))["van_7/1"].vehicle is None


def test_a_log_without_a_vin_is_of_the_vehicle_whose_folder_it_lies_in(tmp_path: Path) -> None:
    write_logs(tmp_path, 0, ("charging_voltage_low",), bad=0)
    silent = tmp_path / "canned" / "later.csv"
    silent.write_text("time_s,engine_speed [rpm]\n" + "".join(f"{k / 10},800\n" for k in range(100)))
    todo = run.plan(sources.find([tmp_path])[0], Options(), tmp_path / "out")
    rows = by_name(run.run(todo, folder_is_vehicle=True))
    vin = rows["charging_voltage_low"].vehicle
    assert len(vin or "") == 17
    assert (rows["later"].vehicle, rows["later"].vehicle_from) == (vin, "folder")


def test_object_store_and_file_address_give_the_same_rows(tmp_path: Path) -> None:
    write_logs(tmp_path / "logs", 0, ("charging_voltage_low",), bad=1)
    store = fsspec.filesystem("memory")
    for path in (tmp_path / "logs").rglob("*.*"):
        store.pipe(f"/fleet_run/{path.relative_to(tmp_path / 'logs')}", path.read_bytes())
    found = []
    for k, place in enumerate((str(tmp_path / "logs"), (tmp_path / "logs").as_uri(), "memory://fleet_run")):
        todo = run.plan(sources.find([place])[0], Options(), tmp_path / f"out{k}")
        found.append([msgspec.structs.replace(one, key="", seconds=0.0) for one in run.run(todo)])
        if place.startswith("memory"):
            again = run.plan(sources.find([place])[0], Options(), tmp_path / f"out{k}")
            assert again.tasks == []
            todo = run.plan(sources.find([place])[0], Options(work=("pump",)), tmp_path / f"out{k}")
            with pytest.raises(UsageError, match="--in-process"):
                run.run(todo, lambda tasks: in_process.outcomes(tasks))
    assert found[0] == found[1] == found[2]
    assert "bad_0.log" in (found[2][0].error or "")
    assert "/tmp" not in (found[2][0].error or "")


def test_the_command(logs: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    arguments = [
        "fleet",
        "run",
        str(logs),
        "--out",
        str(out),
        "--in-process",
        "--engine-for",
        "vehicle*=" + "training_rotary_six",
    ]
    for expected in ("6 logs", "6 logs, 6 of them done already"):
        with pytest.raises(SystemExit) as ended:
            main(arguments)
        assert ended.value.code == 0
        said = capsys.readouterr()
        assert said.out.startswith(expected)
        assert "Logs without a result: 1" in said.out
    page, text = (out / "fleet.html").read_text("utf-8"), (out / "fleet.json").read_text("utf-8")
    assert "Logs without a result" in page
    (out / "fleet.html").unlink()
    with pytest.raises(SystemExit) as ended:
        main(["fleet", "report", str(out), "--quiet"])
    assert ended.value.code == 0
    assert capsys.readouterr().out == ""
    assert (out / "fleet.html").read_text("utf-8") == page
    assert (out / "fleet.json").read_text("utf-8") == text
    assert json.loads(text)["logs"] == 6
    engines = pq.read_table(out / "logs", columns=["log", "engine_source"]).to_pylist()
    assert {one["engine_source"] for one in engines if one["log"].startswith("vehicle")} == {"training_rotary_six"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["run", "absent", "--out", "o"], "no such file or folder"),
        (["run", ".", "--out", "o", "--engine", "nonsense"], "no engine profile is called nonsense"),
        (["run", ".", "--out", "o", "--engine-for", "x"], "--engine-for x is no pattern and engine"),
        (["run", ".", "--out", "o", "--scheduler", "tcp://x", "--in-process"], "has its own workers"),
        (["report", "."], "holds no fleet results"),
    ],
)
def test_misuse_is_one_line(
    arguments: list[str],
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as ended:
        main(["fleet", *arguments])
    assert ended.value.code == 2
    assert words in capsys.readouterr().err
    assert not (tmp_path / "o").exists(), "what is refused leaves nothing behind"


def test_a_scheduler_that_is_not_there_leaves_no_folder_behind(
    logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    cluster = pytest.importorskip("logan.fleet.cluster", reason="pip install '.[fleet]'", exc_type=ImportError)
    monkeypatch.setattr(cluster, "connected", functools.partial(cluster.connected, connect_s=1.0))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        nobody = f"tcp://127.0.0.1:{free.getsockname()[1]}"
    with pytest.raises(SystemExit) as ended:
        main(["fleet", "run", str(logs), "--out", str(tmp_path / "o"), "--scheduler", nobody])
    assert ended.value.code == 2
    assert "no scheduler answers" in capsys.readouterr().err
    assert not (tmp_path / "o").exists()


def test_a_folder_that_cannot_be_made_is_told_before_any_work(logs: Path, tmp_path: Path) -> None:
    (tmp_path / "o").write_text("a file")
    counting = Counting()
    with pytest.raises(OutputError, match="name another folder"):
        run.run(run.plan(sources.find([logs])[0], Options(), tmp_path / "o"), counting)
    assert counting.given == []
