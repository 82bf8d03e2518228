"""A workshop's own faults, engines and words in its pages; a folder that is wrong is refused at the start."""

from __future__ import annotations

import html
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("fastapi", reason="pip install '.[workshop]'")
pytest.importorskip("argon2", reason="pip install '.[workshop]'")

from fastapi.testclient import TestClient
from workshop_program import COMMAND, SAMPLES

from logan.knowledge.locate import DATA
from logan.store.database import opened
from logan.workshop.app import make
from tests.test_workshop import HOME, ended, hand_in, token
from tests.test_workshop_training import exercise, lesson, post

CAPTURE = SAMPLES / "pump_key_reversed.log.gz"
FAULT = """
title = "Key the wrong way round, as our shop calls it"

[work]
our_bench_test = 8

[[checks]]
stage = "look"
text = "Ask our bench for the photograph of the key"
minutes = 3
finds = 0.98
wrongly = 0.01
confirmed = "The photograph shows it reversed"
refuted = "The photograph shows it right"
cautions = ["engine_off"]

[[checks]]
stage = "measure"
text = "Check static timing by the method of the service manual"
minutes = 40
confirmed = "Late by the same angle"
refuted = "Static timing is right"
cautions = ["engine_off"]
"""


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A knowledge folder: a changed fault, an engine and a word of recent work."""
    folder = tmp_path / "our_shop"
    for name in ("faults", "profiles"):
        (folder / name).mkdir(parents=True)
    (folder / "faults" / "pump_key_reversed.toml").write_text(FAULT)
    (folder / "work.toml").write_text('[[word]]\nid = "our_bench_test"\ntitle = "pump on our own bench"\n')
    profile = (DATA / "profiles" / "training_rotary_six.toml").read_text("utf-8")
    (folder / "profiles" / "our_six.toml").write_text(profile, "utf-8")
    return folder


@pytest.fixture
def client(tmp_path: Path, own: Path, database: str | None) -> Iterator[TestClient]:
    app = make(opened(tmp_path, database), tmp_path, folders=(own,))
    with TestClient(app, base_url=HOME, follow_redirects=False) as client:
        yield client


def test_analyses_checks_and_plans_use_the_workshops_own(client: TestClient, own: Path) -> None:
    form = client.get("/hand-in").text
    for name in ("our_six", "training_rotary_six"):
        assert f'<option value="{name}">Training diesel, inline six, rotary pump ({name})</option>' in form
    assert "pump on our own bench" in form
    described = client.get("/api/openapi.json").text
    assert '"our_six"' in described
    assert '"our_bench_test"' in described
    case = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name, engine="our_six", work="our_bench_test")
    assert ended(client, case) == "done"
    page = client.get(case).text
    assert "as our shop calls it" in page
    assert "Ask our bench for the photograph of the key" in page
    report = client.get(f"{case}/report").text
    assert "as our shop calls it" in report
    assert "pump on our own bench" in report
    assert "faults/pump_key_reversed.toml" in report, "the report says which files of whose it used"
    assert "as our shop calls it" in client.get(f"{case}/plan").text
    before = _first(page)
    said = {"fault": "pump_key_reversed", "text": "Ask our bench for the photograph of the key", "outcome": "refuted"}
    assert client.post(f"{case}/check", data={"token": token(client), **said}).status_code == 303
    assert _first(client.get(case).text) != before, "a check of the folder moves the ranking too"


def _first(page: str) -> str:
    found = re.search(r"<ol><li>(.*?)<", page, re.S)
    assert found
    return html.unescape(found[1])


def test_the_training_room_uses_them_too(client: TestClient) -> None:
    made = exercise(client, source="canned", canned="pump_key_reversed", title="Hard to start")
    assert "as our shop calls it" in client.get(f"{made}/report").text
    link = lesson(client, made)
    attempt = post(client, f"{link}/begin", link, number=made.rsplit("/", 1)[1], name="Dora")
    page = client.get(attempt).text
    assert "Ask our bench for the photograph of the key" in page
    answered = post(
        client, f"{attempt}/answer", attempt, first="pump_key_reversed",
        check="Ask our bench for the photograph of the key",
    )  # fmt: skip
    assert "100 of 100 points" in client.get(answered).text


@pytest.mark.parametrize(
    ("file", "text", "says"),
    [
        ("faults/pump_key_reversed.toml", 'title = "x"\nprior = 3\n', ("line 2", "prior")),
        ("work.toml", '[[word]]\nid = "a"\ncolour = "x"\n', ("line 3", "colour")),
        ("profiles/our_six.toml", "cylinders = \n", ("line 1", "our_six.toml")),
    ],
)
def test_a_wrong_folder_is_refused_at_the_start(
    tmp_path: Path, own: Path, file: str, text: str, says: tuple[str, str]
) -> None:
    (own / file).write_text(text)
    command = [*COMMAND, "serve", "--data", str(tmp_path / "data"), "--knowledge", str(own)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    for word in (file.rsplit("/", 1)[-1], *says, "mend"):
        assert word in done.stderr, done.stderr
    assert not (tmp_path / "data").exists(), "nothing was begun"


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    command = [*COMMAND, "serve", "--data", str(tmp_path / "data"), "--knowledge", str(tmp_path / "none")]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    assert "--knowledge names no folder" in done.stderr
