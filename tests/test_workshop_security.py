"""The workshop against strangers and against its own people, by the OWASP Top Ten of 2021 (headings from memory).

What belongs to the other tests of the workshop stands there; docs/workshop.md lists which test is about what.
"""

from __future__ import annotations

import gzip
import hashlib
import hmac
import io
import socket
import stat
import sys
import zipfile
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, Final

import pytest

pytest.importorskip("fastapi", reason="pip install '.[workshop]'")
pytest.importorskip("argon2", reason="pip install '.[workshop]'")

import sqlalchemy as sa
from can_text import write_log
from fastapi import FastAPI
from fastapi.testclient import TestClient
from isotp_frames import segment

from logan.store import cases, lessons, people
from logan.store.captures import Kept, path_of
from logan.store.database import Deed, Sessions, opened
from logan.workshop import aside, exercises, guard
from logan.workshop.analyst import Analysts, report_of
from logan.workshop.app import make
from logan.workshop.exercises import Preparer
from tests.test_workshop import HOME, PASSWORD, ended, hand_in, sign_in, token

PROBE: Final = "\"'><probe onclick=x>{{4321*1234}}</probe>"
CHECK: Final = {"text": f"look {PROBE}", "cautions": [PROBE], "minutes": 1, "outcomes": [f"yes {PROBE}", f"no {PROBE}"]}
RESULT: Final[dict[str, Any]] = {
    "sentence": f"s {PROBE}", "verdict": "fault", "no_fault": 0.1, "something_else": 0.1,
    "faults": [{"fault": "boost_leak", "title": f"t {PROBE}", "probability": 0.8, "next_checks": [CHECK],
                "evidence": [{"dtc": "P0299", "weight": 3.0}]}],
    "vehicle": {"vin": f"<probe>{'V' * 10}"},
}  # fmt: skip

NOBODY, ANYBODY, DEVICE = "nobody", "anybody", "device"
ROLES: Final = (NOBODY, "technician", "lead", "trainer", "trainee")
SIGNED_IN: Final = {"technician", "lead", "trainer", "trainee"}
WORK: Final = {"technician", "lead", "trainer"}
TRAIN: Final = {"lead", "trainer"}
OWN: Final = {"trainee", *TRAIN}
"""Who may see the attempt of this test: the trainee whose it is, and who trains."""
FORMS: Final[dict[str, dict[str, str]]] = {
    "/cases/{case_id}/review": {"kind": "agree"},
    "/cases/{case_id}/check": {"fault": "boost_leak", "text": CHECK["text"], "outcome": "confirmed"},
    "/training/exercises": {"source": "canned", "canned": "boost_leak"},
    "/training/lessons": {"title": "Second day", "chosen": "1"},
    "/training/lessons/{link}/begin": {"number": "1"},
    "/training/exercises/{number}/title": {"title": "Another"},
    "/training/exercises/{number}/withdrawn": {"away": "no"},
    "/training/lessons/{link}/title": {"title": "Another"},
    "/training/lessons/{link}/withdrawn": {"away": "no"},
    "/training/attempts/{number}/see": {"view": "drive"},
    "/training/attempts/{number}/answer": {"first": "boost_leak"},
    "/sign-in": {"name": "lead", "password": PASSWORD},
}
# Who may: every address of the application, written down by hand against what the application really has.
RULES: Final[dict[str, set[str] | str]] = {
    "GET /api/openapi.json": ANYBODY,
    "GET /look.css": ANYBODY,
    "GET /workshop.js": ANYBODY,
    "GET /replay.js": ANYBODY,
    "GET /favicon.ico": ANYBODY,
    "GET /sign-in": ANYBODY,
    "POST /sign-in": ANYBODY,
    "POST /sign-out": ANYBODY,
    "GET /": SIGNED_IN,
    "GET /hand-in": WORK,
    "POST /hand-in": WORK,
    "GET /cases/{case_id}": SIGNED_IN,
    "GET /cases/{case_id}/report": SIGNED_IN,
    "GET /cases/{case_id}/export": SIGNED_IN,
    "GET /cases/{case_id}/plan": SIGNED_IN,
    "GET /cases/{case_id}/against/{other_id}": SIGNED_IN,
    "GET /cases/{case_id}/history": SIGNED_IN,
    "GET /cases/{case_id}/progress": SIGNED_IN,
    "POST /cases/{case_id}/again": WORK,
    "POST /cases/{case_id}/review": {"lead"},
    "POST /cases/{case_id}/check": WORK,
    "GET /training": SIGNED_IN,
    "POST /training/exercises": TRAIN,
    "GET /training/exercises/{number}": TRAIN,
    "GET /training/exercises/{number}/replay": TRAIN,
    "GET /training/exercises/{number}/replay/at": TRAIN,
    "GET /training/exercises/{number}/{view}": TRAIN,
    "POST /training/exercises/{number}/title": TRAIN,
    "POST /training/exercises/{number}/withdrawn": TRAIN,
    "POST /training/lessons": TRAIN,
    "POST /training/lessons/{link}/title": TRAIN,
    "POST /training/lessons/{link}/withdrawn": TRAIN,
    "GET /training/lessons/{link}": SIGNED_IN,
    "POST /training/lessons/{link}/begin": SIGNED_IN,
    "GET /training/attempts/{number}": OWN,
    "GET /training/attempts/{number}/replay": OWN,
    "GET /training/attempts/{number}/replay/at": OWN,
    "GET /training/attempts/{number}/views/{view}": OWN,
    "POST /training/attempts/{number}/see": OWN,
    "POST /training/attempts/{number}/answer": OWN,
    "POST /api/v1/cases": DEVICE,
    "GET /api/v1/cases/{case_id}": DEVICE,
}


@pytest.fixture
def still(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is analysed, and pages beside a report are a word: only who may ask for them matters."""
    for name in ("start", "stop"):
        monkeypatch.setattr(Analysts, name, lambda _self: None)
        monkeypatch.setattr(Preparer, name, lambda _self: None)

    def word(target: Path, *_: object) -> str:
        target.parent.mkdir(exist_ok=True)
        target.write_text("a page")
        return ""

    monkeypatch.setattr(aside, "made", word)


@pytest.fixture
def client(tmp_path: Path, sessions: Sessions) -> Iterator[TestClient]:
    app = make(sessions, tmp_path)
    with TestClient(app, base_url=HOME, follow_redirects=False, raise_server_exceptions=False) as client:
        yield client


def routes(app: FastAPI) -> list[tuple[str, str]]:
    """Method and address of everything that the application answers."""
    out = []
    for one in app.routes:
        inner = getattr(one, "original_router", None)  # newer FastAPI keeps what was included in its router
        for route in inner.routes if inner is not None else [one]:
            out += [(method, route.path) for method in sorted(route.methods - {"HEAD"})]
    return out


def filled(sessions: Sessions, folder: Path) -> str:
    """Three cases of one vehicle with findings, an exercise, a lesson and the trainee's attempt at it: the link."""
    for k in range(3):
        number = cases.hand_in(sessions, [Kept(f"{k:064x}", 1, f"{PROBE}.log")], "Ada", vehicle=f"van {PROBE}")
        cases.finish(sessions, number, RESULT)
        report_of(folder, number).parent.mkdir(exist_ok=True)
        report_of(folder, number).write_text("a report")
    made = lessons.make(
        sessions, f"Ada {PROBE}", f"One {PROBE}", f"told {PROBE}", {"canned": "boost_leak"},
        {"fault": "boost_leak", "cylinder": None, "text": f"it {PROBE}"},
    )  # fmt: skip
    lessons.prepared(sessions, made, ["drive", "measures"], RESULT)
    for view in ("drive", "measures", exercises.WHOLE):
        exercises.page_of(folder, made, view).parent.mkdir(parents=True, exist_ok=True)
        exercises.page_of(folder, made, view).write_text("a page")
    link = lessons.compose(sessions, "Ada", f"First day {PROBE}", [made])
    lesson = lessons.lesson(sessions, link)
    assert lesson is not None
    for who in ("trainee", f"Ben {PROBE}"):
        lessons.see(sessions, lessons.begin(sessions, lesson.id, made, who), "drive")
    return link


def signed(app: FastAPI, cookie: str) -> str:
    """The token of the forms that a browser with that cookie gets."""
    return hmac.new(app.state.key, cookie.encode(), hashlib.sha256).hexdigest()


def concrete(path: str, link: str) -> str:
    numbers = {"{case_id}": "3", "{other_id}": "1", "{number}": "1", "{link}": link, "{view}": "drive"}
    for name, value in numbers.items():
        path = path.replace(name, value)
    return path


# A01 broken access control


def test_every_address_has_its_rule_and_every_role_is_held_to_it(
    tmp_path: Path, sessions: Sessions, still: None
) -> None:
    app = make(sessions, tmp_path)
    found = routes(app)
    assert {f"{method} {path}" for method, path in found} == set(RULES), "an address without a rule, or the other way"
    link = filled(sessions, tmp_path)
    for role in ROLES[1:]:
        people.add(sessions, role, role, PASSWORD)
    client = TestClient(app, base_url=HOME, follow_redirects=False)
    for method, path in found:
        rule = RULES[f"{method} {path}"]
        for role in ROLES:
            cookie = people.give_pass(sessions, role, "browser") if role != NOBODY else "of a stranger"
            fields = {"token": signed(app, cookie), **FORMS.get(path, {})}
            files = {"captures": ("a.log", b"x")} if path == "/hand-in" else None
            client.cookies.clear()
            answer = client.request(
                method, concrete(path, link), headers={"cookie": f"{guard.COOKIE}={cookie}"},
                data=fields if method == "POST" else None, files=files if method == "POST" else None,
            )  # fmt: skip
            status, place = answer.status_code, answer.headers.get("location", "")
            case = (role, method, path, status, place)
            if rule == DEVICE:
                assert status == 401, case
            elif rule == ANYBODY or role in rule:
                assert status < 500, case
                assert status not in (401, 403, 405, 422), case
                assert path == "/sign-out" or place != "/sign-in", case
            elif role == NOBODY:
                assert (status, place) == (303, "/sign-in"), case
            else:
                assert status == (404 if path.startswith("/training/attempts") else 403), case
    with sessions() as session:
        kinds = {one.by for number in (1, 2, 3) for one in session.get_one(cases.Case, number).reviews}
    assert kinds == {"lead"}, "nobody else gave a verdict"


def test_a_form_without_its_token_is_refused_at_every_address(tmp_path: Path, sessions: Sessions, still: None) -> None:
    app = make(sessions, tmp_path)
    link = filled(sessions, tmp_path)
    people.add(sessions, "lead", "lead", PASSWORD)
    cookie = people.give_pass(sessions, "lead", "browser")
    before = {name: _count(sessions, name) for name in ("reviews", "ticks", "exercises", "lessons", "cases", "deeds")}
    client = TestClient(app, base_url=HOME, follow_redirects=False)
    tried = 0
    for method, path in routes(app):
        if method != "POST" or path.startswith("/api/"):
            continue
        for wrong in ("", "0" * 64, signed(app, "of another browser")):
            client.cookies.clear()
            files = {"captures": ("a.log", b"x")} if path == "/hand-in" else None
            answer = client.post(
                concrete(path, link), data={**FORMS.get(path, {}), "token": wrong}, files=files,
                headers={"cookie": f"{guard.COOKIE}={cookie}"},
            )  # fmt: skip
            assert answer.status_code == 403 or (wrong == "" and answer.status_code == 422), (path, wrong)
            tried += 1
    assert tried >= 30
    assert {name: _count(sessions, name) for name in before} == before
    assert people.holder(sessions, cookie, "browser") is not None, "nobody was signed out"


def _count(sessions: Sessions, table: str) -> int:
    with sessions() as session:
        return int(session.scalar(sa.select(sa.func.count()).select_from(sa.table(table))) or 0)


def test_numbers_and_links_that_were_guessed_lead_nowhere(
    client: TestClient, sessions: Sessions, tmp_path: Path
) -> None:
    link = filled(sessions, tmp_path)
    people.add(sessions, "trainee", "trainee", PASSWORD)
    assert sign_in(client, "trainee") == 303
    assert client.get("/training/attempts/1").status_code == 200
    assert client.get("/training/attempts/2").status_code == 404, "somebody else's"
    assert client.get("/training/attempts/3").status_code == 404
    assert client.get(f"/training/lessons/{link[:-1]}").status_code == 404
    assert len(link) >= 16, "96 bits of chance"
    for view in ("report", "measures", "../1/report", "..%2f..%2fform_key", "replay.npz"):
        assert client.get(f"/training/attempts/1/views/{view}").status_code in (403, 404), view


# A02 cryptographic failures


def test_the_data_folder_is_its_owners_and_cookies_keep_to_tls(
    tmp_path: Path, still: None, database: str | None
) -> None:
    folder = tmp_path / "data"
    sessions = opened(folder, database)
    app = make(sessions, folder)
    people.add(sessions, "lead", "lead", PASSWORD)
    if sys.platform != "win32":
        assert stat.S_IMODE(folder.stat().st_mode) == 0o700
        assert stat.S_IMODE((folder / "form_key").stat().st_mode) == 0o600
    for scheme, secure in (("http", False), ("https", True)):
        client = TestClient(app, base_url=f"{scheme}://127.0.0.1", follow_redirects=False)
        fresh = client.get("/sign-in").headers["set-cookie"]
        fields = {"token": token(client, "/sign-in"), "name": "lead", "password": PASSWORD}
        for cookie in (fresh, client.post("/sign-in", data=fields).headers["set-cookie"]):
            flags = {part.strip() for part in cookie.split(";")[1:]}
            assert flags == {"Path=/", "HttpOnly", "SameSite=Strict", *(["Secure"] if secure else [])}


# A03 injection


class Elements(HTMLParser):
    """The names of all elements of a page, and its attributes that would act."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.acting: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        self.acting += [name for name, _ in attrs if name.startswith("on")]


def test_what_comes_from_outside_stays_text_on_every_page(tmp_path: Path, sessions: Sessions, still: None) -> None:
    app = make(sessions, tmp_path)
    link = filled(sessions, tmp_path)
    cases.review(sessions, 3, f"Ada {PROBE}", "disagree", PROBE)
    cases.tick(sessions, 3, f"Ada {PROBE}", "boost_leak", CHECK["text"], "confirmed")
    failed = cases.hand_in(sessions, [Kept("f" * 64, 1, PROBE)], PROBE)
    cases.finish(sessions, failed, None, f"cannot be read {PROBE}")
    client = TestClient(app, base_url=HOME, follow_redirects=False)
    asked = dict.fromkeys(("words_", "state", "fault", "since", "until"), PROBE)
    seen = []
    for address, query in (
        ("/", {}), ("/", asked), ("/", {"words_": "probe"}), ("/cases/3", {}), (f"/cases/{failed}", {}),
        ("/training", {}), ("/training/exercises/1", {}), (f"/training/lessons/{link}", {}),
        ("/training/attempts/1", {}), ("/training/attempts/2", {}),
    ):  # fmt: skip
        page = client.get(address, params=query).text
        found = Elements(page)
        assert "probe" not in found.names, address
        assert found.acting == [], address
        assert "5332114" not in page.replace(link, ""), f"{address}: nothing from outside is a template"
        seen.append("&lt;probe onclick=x&gt;{{4321*1234}}" in page)
    assert sum(seen) >= 8, "the words were there to be seen"
    assert PROBE not in client.get("/cases/99", params={"x": PROBE}).text


def test_script_in_the_records_own_texts_stays_text(client: TestClient, tmp_path: Path) -> None:
    """Identification number and calibration as a capture holds them: SAE J1979 service 09, items 02 and 04."""
    vin, calibration = b"<probe>VVVVVVVVVV", b"</script><probe>"
    rows = [(0.01 * k, 0x7E8, bytes([3, 0x41, 0x0C, 0x1A])) for k in range(100)]
    for item, said in ((2, vin), (4, calibration)):
        frames = segment(bytes([0x49, item, 1]) + said, pad=0)
        asked = [(1.5 + item, 0x7DF, bytes([2, 9, item, 0, 0, 0, 0, 0]))]
        rows += asked + [(1.6 + item + 0.02 * k, 0x7E8, frame) for k, frame in enumerate(frames)]
    capture = tmp_path / "outside.log"
    write_log(capture, sorted(rows))
    data = capture.read_bytes()
    case = hand_in(client, data, "a<probe>.log", vehicle="van 7")
    assert ended(client, case) == "done"
    again = hand_in(client, data + b"\n", "b<probe>.log", vehicle="van 7")
    assert ended(client, again) == "done"
    whole = client.get(f"{case}/report").text
    assert "&lt;probe&gt;VVVVVVVVVV" in whole, "the number stands in the report"
    for address in (case, f"{case}/report", f"{case}/plan", f"{again}/against/{case.rsplit('/', 1)[1]}"):
        answer = client.get(address)
        assert answer.status_code == 200, answer.text
        assert "probe" not in Elements(answer.text).names, address
    export = client.get(f"{case}/export")
    assert export.headers["content-type"] == "application/json", "no page, whatever stands in it"
    assert export.headers["content-disposition"].startswith("attachment;")
    assert export.headers["x-content-type-options"] == "nosniff"


def test_a_search_is_no_pattern_and_no_query(client: TestClient, sessions: Sessions, tmp_path: Path) -> None:
    filled(sessions, tmp_path)
    for words in ("%", "_", "' OR 1=1 --", "van' OR 'x'='x", "\\"):
        assert "No case fits" in client.get("/", params={"words_": words}).text, words
    for field in ("state", "fault"):
        assert "No case fits" in client.get("/", params={field: "done' OR 'x'='x"}).text


# A04 insecure design


def zipped() -> bytes:
    """400 MB of zeros in a ZIP file, which no reader takes: it is never unpacked."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive,
        archive.open("a.log", "w") as inner,
    ):
        for _ in range(400):
            inner.write(bytes(1_000_000))
    return out.getvalue()


def gzipped() -> bytes:
    """420 MB of a log as gzip members one after another (RFC 1952, 2.2)."""
    return gzip.compress(b"(1.0) can0 7E8#0341050000000000\n" * 60_000, 9) * 220


@pytest.mark.parametrize(("bomb", "says"), [(gzipped, "unpacks to more than"), (zipped, "bomb")])
def test_a_capture_that_unpacks_without_end_is_refused(
    client: TestClient, bomb: Callable[[], bytes], says: str
) -> None:
    data = bomb()
    assert len(data) < 3_000_000
    case = hand_in(client, data, "bomb.gz" if bomb is gzipped else "bomb.zip")
    assert ended(client, case) == "failed"
    assert says in client.get(case).text


# A05 security misconfiguration


def test_every_answer_carries_its_headers_whatever_it_is(
    client: TestClient, sessions: Sessions, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(_request: object) -> None:
        raise RuntimeError("secret detail")

    tried = {}
    for number in range(5):
        client.post("/sign-in", data={"token": token(client, "/sign-in"), "name": "x", "password": f"wrong {number}"})
    people.add(sessions, "lead", "lead", PASSWORD)
    tried[303] = client.get("/")
    tried[429] = client.post("/sign-in", data={"token": token(client, "/sign-in"), "name": "x", "password": "x"})
    tried[401] = client.get("/api/v1/cases/1")
    client.cookies.set(guard.COOKIE, people.give_pass(sessions, "lead", "browser"))
    case = hand_in(client, b"nothing that a bus ever said")
    tried[200] = client.get("/hand-in")
    tried[400] = client.get("/", headers={"host": "elsewhere.example"})
    tried[403] = client.post(f"{case}/review", data={"token": "0", "kind": "note", "text": "x"})
    tried[404] = client.get("/cases/99")
    tried[405] = client.delete("/")
    tried[413] = client.post("/sign-in", content=b"x" * 200_000)
    tried[422] = client.post("/sign-in", data={})
    tried["events"] = client.get(f"{case}/progress")
    ended(client, case)
    tried[409] = client.get(f"{case}/plan")
    monkeypatch.setattr(guard, "asker", broken)
    tried[500] = client.get("/")
    assert "secret detail" not in tried[500].text
    assert "defect" in tried[500].text
    for status, answer in tried.items():
        assert answer.status_code == (200 if status == "events" else status), answer.text
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy, status
        assert "unsafe" not in policy, status
        for name, value in guard.HEADERS.items():
            assert answer.headers[name] == value, (status, name)
        assert "server" not in answer.headers
        assert "Traceback" not in answer.text


def test_methods_that_no_page_has_are_refused(client: TestClient) -> None:
    for method in ("PUT", "DELETE", "PATCH", "TRACE", "OPTIONS", "CONNECT"):
        for address in ("/", "/hand-in", "/cases/1", "/training", "/api/v1/cases"):
            assert client.request(method, address).status_code in (404, 405), (method, address)


# A07 identification and authentication failures


def test_a_session_that_was_laid_into_a_browser_is_never_signed_in(client: TestClient, sessions: Sessions) -> None:
    people.add(sessions, "lead", "lead", PASSWORD)
    client.cookies.set(guard.COOKIE, "chosen by somebody else")
    assert sign_in(client, "lead") == 303
    new = next(iter(value for value in client.cookies.jar if value.value != "chosen by somebody else")).value
    assert new is not None
    for cookie, signed_in in (("chosen by somebody else", False), (new, True)):
        client.cookies.clear()
        client.cookies.set(guard.COOKIE, cookie)
        assert (client.get("/").status_code == 200) is signed_in
    client.post("/sign-out", data={"token": token(client, "/")})
    client.cookies.set(guard.COOKIE, new)
    assert client.get("/").status_code == 303, "ended for good, not only forgotten by the browser"


def test_guessing_passwords_is_slow_and_costs_no_memory(client: TestClient, sessions: Sessions) -> None:
    people.add(sessions, "lead", "lead", PASSWORD)
    fields = {"token": token(client, "/sign-in"), "password": "wrong"}
    statuses = [client.post("/sign-in", data={**fields, "name": f"name {k}"}).status_code for k in range(30)]
    assert statuses == [403] * guard.TRIES + [429] * (30 - guard.TRIES), (
        "an address that tries many names is closed too"
    )
    assert len(client.app.state.tries._wrong) == guard.TRIES + 1  # type: ignore[attr-defined]


# A08 software and data integrity failures


def test_what_lies_in_the_data_folder_is_never_run(client: TestClient, sessions: Sessions, tmp_path: Path) -> None:
    filled(sessions, tmp_path)
    ran = tmp_path / "ran"
    # a pickle that would make a file: protocol 0, a call of open(ran, "w")
    pickled = f"cbuiltins\nopen\n(V{ran}\nVw\ntR.".encode()
    exercises.tape_of(tmp_path, 1).write_bytes(pickled)
    answer = client.get("/training/exercises/1/replay")
    assert answer.status_code == 500
    assert not ran.exists()


# A09 security logging and monitoring failures


def test_who_signed_in_and_who_could_not_stands_in_the_trail(client: TestClient, sessions: Sessions) -> None:
    people.add(sessions, "lead", "lead", PASSWORD)
    sign_in(client, "lead", "wrong")
    sign_in(client, "x" * 500, "wrong")
    sign_in(client, "lead")
    with sessions() as session:
        said = [(deed.by, deed.what) for deed in session.scalars(sa.select(Deed).order_by(Deed.id))]
    assert said[0] == ("logan", "account of lead, lead")
    assert said[1] == ("logan", "wrong sign-in as 'lead' from testclient")
    assert len(said[2][1]) < 140
    assert said[3] == ("lead", "signed in")
    assert PASSWORD not in str(said)
    assert "wrong'" not in str(said), "no password that was tried stands there"


# A10 server-side request forgery


def test_no_address_that_is_sent_is_ever_asked_for(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[object] = []
    monkeypatch.setattr(socket.socket, "connect", lambda _self, where: asked.append(where))
    where = "http://127.0.0.1:9/secret"
    fields: dict[str, str] = {"token": token(client), "vehicle": where, "sending": where}
    for more, status in (({"engine": where}, 400), ({"work": where}, 400), ({}, 303)):
        answer = client.post("/hand-in", data={**fields, **more}, files={"captures": (where, b"x")})
        assert answer.status_code == status
    made = {"token": fields["token"], "source": "made", "engine": where}
    assert client.post("/training/exercises", data=made).status_code == 400
    assert asked == []
    assert path_of(tmp_path, hashlib.sha256(b"x").hexdigest()).exists()
