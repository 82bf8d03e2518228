"""What strangers send: refused before it is on disk, in size and time; trouble below is told and passes."""

from __future__ import annotations

import asyncio
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("fastapi", reason="pip install '.[workshop]'")
pytest.importorskip("argon2", reason="pip install '.[workshop]'")

import sqlalchemy as sa
from fastapi.testclient import TestClient

from logan.store import captures, people
from logan.store.database import Sessions
from logan.workshop import guard
from logan.workshop.app import make
from tests.test_workshop import HOME, PASSWORD, ended, hand_in, sign_in, token

KIND = {"content-type": "multipart/form-data; boundary=b"}
FILE = b'--b\r\nContent-Disposition: form-data; name="captures"; filename="big.log"\r\n\r\n'
MANY = 200


@pytest.fixture
def client(tmp_path: Path, sessions: Sessions) -> Iterator[TestClient]:
    app = make(sessions, tmp_path)
    with TestClient(app, base_url=HOME, follow_redirects=False, raise_server_exceptions=False) as client:
        yield client


def part(name: str, value: bytes) -> bytes:
    return b'--b\r\nContent-Disposition: form-data; name="' + name.encode() + b'"\r\n\r\n' + value + b"\r\n"


class Body:
    """A body of many blocks, which counts those that were asked for."""

    def __init__(self, *first: bytes) -> None:
        self.first, self.taken = first, 0

    def __iter__(self) -> Iterator[bytes]:
        yield from self.first
        for _ in range(MANY):
            self.taken += 1
            yield b"x" * 100_000


def on_disk(folder: Path) -> list[Path]:
    return [path for path in (folder / "captures").rglob("*") if path.is_file()]


def ask(app: Any, address: str, headers: dict[str, str], body: Iterable[bytes], then: str = "end") -> tuple[int, str]:
    """One POST whose body is drawn block by block, as it is asked for; then it ends, goes away or says nothing more."""
    sent: list[dict[str, Any]] = []
    blocks = iter(body)

    async def receive() -> dict[str, Any]:
        block = next(blocks, None)
        if block is not None:
            return {"type": "http.request", "body": block, "more_body": True}
        if then == "silence":
            await asyncio.sleep(60)
            raise AssertionError("the gate waited on")
        return {"type": "http.request", "body": b""} if then == "end" else {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    named = {"host": "127.0.0.1", **headers}
    scope = {
        "type": "http", "http_version": "1.1", "method": "POST", "scheme": "http", "path": address,
        "raw_path": address.encode(), "query_string": b"", "server": ("127.0.0.1", 80), "client": ("127.0.0.1", 1),
        "headers": [(name.encode(), value.encode()) for name, value in named.items()],
    }  # fmt: skip
    asyncio.run(app(scope, receive, send))
    return sent[0]["status"], b"".join(message.get("body", b"") for message in sent).decode()


def browser(client: TestClient) -> dict[str, str]:
    """Headers of the browser that the client is."""
    client.get("/sign-in")
    return {**KIND, "cookie": f"logan_session={client.cookies['logan_session']}"}


def test_a_form_of_another_site_is_refused_before_its_capture_is_read(client: TestClient, tmp_path: Path) -> None:
    for first in (
        (part("token", b"0" * 64), FILE),
        (FILE,),
        (part("vehicle", b"van 7"), part("sending", b"x"), FILE),
    ):
        body = Body(*first)
        status, said = ask(client.app, "/hand-in", browser(client), body)
        assert status == 403
        assert "out of date" in said
        assert body.taken < 10
        assert on_disk(tmp_path) == []


def test_who_may_not_send_is_refused_before_anything_is_read(
    client: TestClient, sessions: Sessions, tmp_path: Path
) -> None:
    people.add(sessions, "Ben", "trainee", PASSWORD)
    shown = people.give_pass(sessions, "Ben", "device")
    for address, headers, status in (
        ("/hand-in", {}, 303),
        ("/api/v1/cases", {}, 401),
        ("/api/v1/cases", {"authorization": "Bearer wrong"}, 401),
        ("/api/v1/cases", {"authorization": f"Bearer {shown}"}, 403),
    ):
        body = Body(FILE)
        assert ask(client.app, address, {**KIND, **headers}, body)[0] == status
        assert body.taken == 0
    assert sign_in(client, "Ben") == 303
    body = Body(part("token", token(client, "/").encode()), FILE)
    assert ask(client.app, "/hand-in", browser(client), body)[0] == 403
    assert body.taken == 0
    assert on_disk(tmp_path) == []


@pytest.mark.parametrize("address", ["/sign-in", "/cases/1/review", "/training/exercises", "/training/lessons"])
def test_a_form_without_captures_is_small(client: TestClient, address: str) -> None:
    body = Body(b"token=")
    kind = {"content-type": "application/x-www-form-urlencoded"}
    assert ask(client.app, address, {**browser(client), **kind}, body)[0] == 413
    assert body.taken <= 3
    assert client.post(address, data={"token": "x" * 200_000}).status_code == 413


@pytest.mark.parametrize("address", ["/hand-in", "/sign-in", "/training/exercises", "/cases/1/review"])
@pytest.mark.parametrize("length", [71, 300, 5000])
def test_a_boundary_longer_than_any_is_refused(client: TestClient, tmp_path: Path, address: str, length: int) -> None:
    """RFC 2046, section 5.1.1: 70 characters at most."""
    kind = {"content-type": f"multipart/form-data; boundary={'b' * length}"}
    answer = client.post(address, content=b"--" + b"b" * length + b"--\r\n", headers=kind)
    assert 400 <= answer.status_code < 500
    assert on_disk(tmp_path) == []


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (part("vehicle", b"v" * 20_000) + FILE + b"x\r\n--b--\r\n", "too long"),
        (part("work", b"pump") * 300 + FILE + b"x\r\n--b--\r\n", "too many parts"),
        (b"--b\r\nX-Long: " + b"y" * 5_000 + b"\r\n\r\nx\r\n--b--\r\n", "the form"),
        (FILE + b"some of it", "cut off"),
        (FILE + b"some of it\r\n--b", "cut off"),
        (b"no form at all", "damaged"),
        (b"", "cut off"),
        (b'--b\r\nContent-Disposition: form-data; name="captures"; filename=""\r\n\r\n\r\n--b--\r\n', "no capture"),
        (FILE + b"\r\n--b--\r\n", "is empty"),
        (FILE + b"some bytes\r\n" + FILE + b"\r\n--b--\r\n", "is empty"),
    ],
    ids=[
        "field",
        "parts",
        "header",
        "cut",
        "cut at the end",
        "no form",
        "nothing",
        "no file",
        "empty file",
        "second empty",
    ],
)
def test_a_form_that_is_not_as_it_should_be_leaves_nothing(
    client: TestClient, tmp_path: Path, body: bytes, says: str
) -> None:
    whole = part("token", token(client).encode()) + body if body.startswith(b"--b") else body
    answer = client.post("/hand-in", content=whole, headers=KIND)
    assert answer.status_code == 400
    assert says in answer.text.lower()
    assert on_disk(tmp_path) == []
    assert "No case yet" in client.get("/").text


def test_who_sends_too_slowly_or_goes_away_leaves_nothing(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = part("token", token(client).encode()) + FILE + b"x" * 400_000
    monkeypatch.setattr(guard, "STALL_S", 0.5)
    status, said = ask(client.app, "/hand-in", browser(client), [begun], "silence")
    assert status == 408
    assert "too slowly" in said
    assert on_disk(tmp_path) == []
    monkeypatch.undo()
    ask(client.app, "/hand-in", browser(client), [begun], "goes away")
    assert on_disk(tmp_path) == []
    assert "No case yet" in client.get("/").text


def test_a_full_disk_is_told_and_passes(client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    files = {"captures": ("a.log", b"some bytes")}
    monkeypatch.setattr(captures, "LEFT_FREE", 2**62)
    answer = client.post("/hand-in", data={"token": token(client), "sending": "one"}, files=files)
    assert answer.status_code == 503
    assert "No space left on device" in answer.text
    assert "Nothing of this was taken" in answer.text
    assert on_disk(tmp_path) == []
    monkeypatch.undo()
    hand_in(client, b"some bytes", sending="one")
    assert len(on_disk(tmp_path)) == 1


def test_a_locked_data_base_is_told_and_passes(
    client: TestClient, sessions: Sessions, monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = sessions.kw["bind"]
    if engine.dialect.name != "sqlite":
        pytest.skip("a PostgreSQL writer does not lock the others out")
    sa.event.listen(engine, "checkout", lambda held, *_: held.execute("PRAGMA busy_timeout=50"))
    engine.dispose()
    case = hand_in(client, b"first")
    ended(client, case)
    fields = {"token": token(client), "kind": "note", "text": "seen"}
    with engine.connect() as other:
        other.exec_driver_sql("BEGIN IMMEDIATE")
        said = client.post(f"{case}/review", data=fields)
        sent = client.post(
            "/hand-in", data={"token": fields["token"], "sending": "one"}, files={"captures": ("a", b"second")}
        )
        for answer in (said, sent):
            assert answer.status_code == 503
            assert "database is locked" in answer.text
        assert client.get(case).status_code == 200, "who reads does not wait"
        other.exec_driver_sql("ROLLBACK")
    assert client.post(f"{case}/review", data=fields).status_code == 303
    assert client.get(case).text.count("local user: left a note") == 1
    again = hand_in(client, b"second", sending="one")
    assert hand_in(client, b"second", sending="one") == again
    assert ended(client, again) == "failed"


def test_damaged_forms_write_nothing_to_the_console(tmp_path: Path) -> None:
    """A stranger's form is refused with its reason; a line each on the console would fill the disk of whoever keeps it.

    In a process of its own: under pytest there is always somebody who takes what is logged.
    """
    code = """
import sys
from pathlib import Path
from logan.errors import UsageError
from logan.workshop import arriving
refused = 0
for body in (b"--b\\r\\nCont\\0ent: x\\r\\n\\r\\n", b"xx", b"--b\\rx", b"--b--\\r\\nmore"):
    parts = arriving._Parts(arriving.Form(), Path(sys.argv[1]), lambda form: None, b"b")
    try:
        parts.take(body, last=True)
    except UsageError:
        refused += 1
print(refused)
"""
    command = [sys.executable, "-c", code, str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=Path(__file__).parents[1])
    assert (done.stdout, done.stderr) == ("3\n", "")
