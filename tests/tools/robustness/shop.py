"""The workshop's server as targets: what a browser or device sends, and what must hold of every answer.

An input of ``pages`` is the head and body of a request: method and address in its first line, the kind of the body in
its second. Cookie and form token are those of one browser, so that inputs come past them; analyses never start.
"""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final
from urllib.parse import unquote

from logan.errors import UsageError
from logan.store import captures, cases, lessons
from logan.store.captures import Kept
from logan.store.database import opened
from logan.workshop import arriving, aside, exercises, guard
from logan.workshop.analyst import report_of
from logan.workshop.app import make
from logan.workshop.arriving import Form

COOKIE: Final = "a browser"
KEY: Final = bytes(32)
TOKEN: Final = hmac.new(KEY, COOKIE.encode(), hashlib.sha256).hexdigest().encode()
HASHING_BYTES: Final = 64 << 20
"""What argon2id fills to hash one password: the second recommended option of RFC 9106, section 4."""
ANEW: Final = 1000
"""Requests after which data base and folder begin anew: pages grow with what is kept."""
RESULT: Final[dict[str, Any]] = {
    "sentence": "boost leak", "verdict": "fault", "no_fault": 0.1, "something_else": 0.1, "vehicle": {},
    "faults": [{"fault": "boost_leak", "title": "Boost leak", "probability": 0.8,
        "evidence": [{"measure": "boost_error", "weight": 1.0}], "next_checks": [
        {"text": "look", "cautions": [], "minutes": 1, "outcomes": ["yes", "no"]}]}],
}  # fmt: skip


def part(name: bytes, value: bytes, filename: bytes | None = None) -> bytes:
    """One part of a form with captures (RFC 7578)."""
    named = b"" if filename is None else b'; filename="' + filename + b'"'
    return b'--b\r\nContent-Disposition: form-data; name="' + name + b'"' + named + b"\r\n\r\n" + value + b"\r\n"


NAMES: Final = (
    b"drive.log", b"../../etc/passwd", b"..\\..\\x.log", b"/abs/a.csv", b"C:\\a.csv", b"a\\\"b.log", b".", b"..",
    b"...log", "Prüfung ü 東京.log".encode(), "\u202egol.exe".encode(), "\ud7ff\ufeff.log".encode(), b"con.txt",
    b"a" * 300 + b".log", b"%2e%2e%2fa", b"a\x00b.log", b"~/x", b" ", b"a;b=c", b"\xff\xfe.log",
)  # fmt: skip
FORMS: Final = [
    *(part(b"token", TOKEN) + part(b"vehicle", b"van 7") + part(b"captures", b"(1.0) can0 123#00\n", name)
      + b"--b--\r\n" for name in NAMES),
    part(b"token", TOKEN) + part(b"work", b"pump") + part(b"work", b"") + part(b"captures", b"", b"") + b"--b--\r\n",
]  # fmt: skip
_MULTI, _PLAIN = b"multipart/form-data; boundary=b", b"application/x-www-form-urlencoded"


def _asked(line: bytes, kind: bytes = _PLAIN, body: bytes = b"") -> bytes:
    return line + b"\n" + kind + b"\n" + body


REQUESTS: Final = [
    *(_asked(b"POST /hand-in", _MULTI, form) for form in FORMS),
    _asked(b"POST /api/v1/cases", _MULTI, FORMS[0]),
    *(_asked(b"POST " + address, _PLAIN, b"token=" + TOKEN + fields) for address, fields in (
        (b"/cases/1/review", b"&kind=disagree&text=the+key+was+looked+at"),
        (b"/cases/1/check", b"&fault=boost_leak&text=look&outcome=confirmed"),
        (b"/cases/1/again", b""),
        (b"/training/exercises", b"&source=canned&canned=boost_leak&title=One&story=told"),
        (b"/training/exercises", b"&source=simulated&engine=training_rail_four&fault=boost_leak&size=1.5&seed=3"),
        (b"/training/exercises", b"&source=case&case=1&fault=boost_leak&cylinder=2"),
        (b"/training/lessons", b"&title=Second+day&chosen=1&chosen=2"),
        (b"/training/exercises/1/title", b"&title=Another"),
        (b"/training/exercises/1/withdrawn", b"&away=no"),
        (b"/training/attempts/1/see", b"&view=drive"),
        (b"/training/attempts/1/answer", b"&first=boost_leak&second=&third=&check=look"),
        (b"/sign-in", b"&name=Ada&password=a+long+enough+password"),
    )),
    *(_asked(b"GET " + address) for address in (
        b"/", b"/?words_=van&state=done&fault=boost_leak&since=2024-01-01&until=2030-01-01", b"/cases/1", b"/hand-in",
        b"/cases/1/report", b"/cases/2/plan", b"/cases/2/against/1", b"/training", b"/training/exercises/1",
        b"/training/exercises/1/replay/at?t=1", b"/training/attempts/1", b"/training/attempts/1/views/drive",
        b"/api/openapi.json", b"/api/v1/cases/1", b"/look.css",
    )),
]  # fmt: skip


def parts(folder: Path) -> Callable[[bytes], bool]:
    """The parts of a form with captures: no name leaves its folder, no text is one that a data base refuses."""
    folder.mkdir()

    def call(data: bytes) -> bool:
        form = Form()
        sorting = arriving._Parts(form, folder, lambda _: None, b"b")
        try:
            for at in range(0, len(data), 1000):
                sorting.take(data[at : at + 1000], last=at + 1000 >= len(data))
            for file in form.files:
                _check_name(file.name)
                captures.path_of(folder, "0" * 64)
            for name, value in form.fields:
                assert "\0" not in value, name
                value.encode()
        finally:
            form.drop()
        assert not list((folder / "captures" / "arriving").glob("*")), "something of a dropped form stays"
        return bool(form.files or form.fields)

    return call


def _check_name(name: str) -> None:
    """A plain file name that a file can have wherever it is laid out."""
    assert name, "no name"
    assert name not in (".", ".."), name
    assert not set(name) & set('/\\\0<>:"|?*'), name
    assert name.isprintable(), name
    assert len(name.encode()) <= captures.LONGEST_NAME, name


class Pages:
    """The application, asked in this process.

    Parameters
    ----------
    folder : its data folder; made anew after some requests
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._asked = 0
        self._loop = asyncio.new_event_loop()
        self._begin()

    def __call__(self, data: bytes) -> bool:
        """One request; whether it was answered with something else than a refusal."""
        self._asked += 1
        if self._asked % ANEW == 0:
            self._begin()
        line, _, rest = data.partition(b"\n")
        kind, _, body = rest.partition(b"\n")
        method, _, address = line.partition(b" ")
        path = address.partition(b"?")[0]
        text = unquote(path.decode("latin-1"))
        if (
            not address.isascii()
            or not text.startswith("/")
            or "progress" in text
            or method not in (b"GET", b"POST", b"HEAD", b"PUT", b"DELETE")
        ):
            raise UsageError("is no request that a web server hands on")  # progress waits for an analysis
        made, aside.made = aside.made, _word
        try:
            status, headers = self._loop.run_until_complete(self._answer(method, text, address, kind, body))
        finally:
            aside.made = made
        assert status < 500, f"status {status}"
        for name in (b"content-security-policy", b"x-content-type-options"):
            assert name in headers, f"{name!r} is absent"
        assert b"\n" not in headers.get(b"location", b""), "a line end in an address"
        waiting = self._folder / "captures" / "arriving"
        assert not waiting.exists() or not any(waiting.iterdir()), "something of a form stays half-made"
        with self._sessions() as session:
            for file in session.query(cases.CaseFile).order_by(cases.CaseFile.case_id.desc()).limit(2):
                _check_name(file.name)
        return status < 400

    def _begin(self) -> None:
        shutil.rmtree(self._folder, ignore_errors=True)
        self._folder.mkdir(parents=True)
        sessions = opened(self._folder, None)
        for k in range(2):
            number = cases.hand_in(sessions, [Kept(f"{k:064x}", 1, "drive.log")], "Ada", vehicle="van 7")
            cases.finish(sessions, number, RESULT)
        report_of(self._folder, 1).parent.mkdir(exist_ok=True)
        report_of(self._folder, 1).write_text("a report")
        truth = {"fault": "boost_leak", "cylinder": None, "text": "it leaks"}
        made = lessons.make(sessions, "Ada", "One", "told", {"canned": "boost_leak"}, truth)
        lessons.prepared(sessions, made, ["drive", "measures"], RESULT)
        for view in ("drive", "measures", exercises.WHOLE):
            exercises.page_of(self._folder, made, view).parent.mkdir(parents=True, exist_ok=True)
            exercises.page_of(self._folder, made, view).write_text("a page")
        lesson = lessons.lesson(sessions, lessons.compose(sessions, "Ada", "First day", [made]))
        assert lesson is not None
        lessons.see(sessions, lessons.begin(sessions, lesson.id, made, "Ben"), "drive")
        app = make(sessions, self._folder, hosts=("127.0.0.1",))
        app.state.key = KEY
        self._sessions, self._app = sessions, app

    async def _answer(
        self, method: bytes, path: str, address: bytes, kind: bytes, body: bytes
    ) -> tuple[int, dict[bytes, bytes]]:
        blocks = [body[:700], body[700:]]
        raw_path, _, query = address.partition(b"?")
        sent: list[dict[str, Any]] = []

        async def receive() -> dict[str, Any]:
            block = blocks.pop(0)
            return {"type": "http.request", "body": block, "more_body": bool(blocks)}

        async def send(message: dict[str, Any]) -> None:
            sent.append(message)

        cookie = f"{guard.COOKIE}={COOKIE}".encode()
        headers = [(b"host", b"127.0.0.1"), (b"cookie", cookie), (b"content-type", kind)]
        scope = {
            "type": "http", "http_version": "1.1", "method": method.decode("ascii"), "scheme": "http", "path": path,
            "raw_path": raw_path, "query_string": query, "server": ("127.0.0.1", 80),
            "client": ("127.0.0.1", 1), "headers": headers, "root_path": "",
        }  # fmt: skip
        await self._app(scope, receive, send)
        return int(sent[0]["status"]), {name.lower(): value for name, value in sent[0]["headers"]}


def _word(target: Path, *_: object) -> str:
    """Stands for a page that a process of its own would make."""
    target.parent.mkdir(exist_ok=True)
    target.write_text("a page")
    return ""
