"""The workshop over HTTP: hand in, review, accounts, and what it refuses."""

from __future__ import annotations

import hashlib
import html
import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("fastapi", reason="pip install '.[workshop]'")
pytest.importorskip("argon2", reason="pip install '.[workshop]'")

import sqlalchemy as sa
from fastapi.testclient import TestClient

from logan.errors import UsageError
from logan.knowledge import faults, texts
from logan.knowledge.faults import Check
from logan.ranking.next_checks import in_trade_order
from logan.store import cases, people
from logan.store.captures import path_of
from logan.store.database import Deed, Sessions, Tick
from logan.workshop import ticked
from logan.workshop.app import make

CAPTURE = Path(__file__).parent.parent / "sample_logs" / "pump_key_reversed.log.gz"
HOME = "http://127.0.0.1"
PASSWORD = "a long enough password"
SCRIPT = "\"><script>alert(1)</script>'{{7*7}}"


@pytest.fixture
def client(tmp_path: Path, sessions: Sessions) -> Iterator[TestClient]:
    with TestClient(make(sessions, tmp_path, most_bytes=3_000_000), base_url=HOME, follow_redirects=False) as client:
        yield client


def token(client: TestClient, page: str = "/hand-in") -> str:
    found = re.search(r'name="token" value="([0-9a-f]+)"', client.get(page).text)
    assert found
    return found[1]


def hand_in(client: TestClient, data: bytes, name: str = "drive.log", **fields: str | list[str]) -> str:
    answer = client.post("/hand-in", data={"token": token(client), **fields}, files={"captures": (name, data)})
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def ended(client: TestClient, case: str) -> str:
    """Follow the progress to its end; the last state."""
    end = time.monotonic() + 40
    while time.monotonic() < end:
        events = client.get(f"{case}/progress").text
        states = re.findall(r'"state": "(\w+)"', events)
        if states[-1] in ("done", "failed"):
            return str(states[-1])
    raise AssertionError("the analysis did not end")


def sign_in(client: TestClient, name: str, password: str = PASSWORD) -> int:
    fields = {"token": token(client, "/sign-in"), "name": name, "password": password}
    return int(client.post("/sign-in", data=fields).status_code)


def test_from_hand_in_to_report_and_review(client: TestClient) -> None:
    assert "No case yet" in client.get("/").text
    case = hand_in(
        client, CAPTURE.read_bytes(), CAPTURE.name, vehicle="van 7", engine="training_rotary_six", work=["pump"]
    )
    assert ended(client, case) == "done"
    assert "fitted backwards" in client.get(case).text
    report = client.get(f"{case}/report")
    assert "<!doctype html>" in report.text[:200].lower()
    assert report.headers["content-security-policy"].startswith("sandbox ")
    assert "allow-same-origin" not in report.headers["content-security-policy"]
    shown = [tuple(re.findall(r'name="(?:fault|text)" value="([^"]*)"', form)) for form in
             client.get(case).text.split('/check">')[1:]]  # fmt: skip
    fault, check = (html.unescape(part) for part in shown[0])
    for outcome in ("refuted", "undone", "confirmed"):
        ticked_off = {"token": token(client), "fault": fault, "text": check, "outcome": outcome}
        assert client.post(f"{case}/check", data=ticked_off).status_code == 303
    assert "fault confirmed" in client.get(case).text
    assert client.post(f"{case}/check", data={**ticked_off, "text": "no such check"}).status_code == 400
    said = {"token": token(client), "kind": "disagree", "text": "the key was looked at"}
    assert client.post(f"{case}/review", data=said).status_code == 303
    page = client.get(case).text
    assert "the key was looked at" in page
    assert page.count("local user: disagrees with the finding") == 1
    for query, there in (("words_=van", 1), ("words_=lorry", 0), ("state=done", 1), ("state=failed", 0),
                         ("since=2000-01-01", 1), ("until=2000-01-01", 0), ("fault=pump_key_reversed", 1)):  # fmt: skip
        assert (f'href="{case}"' in client.get(f"/?{query}").text) == bool(there), query


def test_another_recording_comes_with_its_plan_and_is_compared(client: TestClient) -> None:
    fields = {"vehicle": "van 7", "engine": "training_rotary_six"}
    first = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name, **fields, work=["pump"])
    assert client.get(f"{first}/plan").status_code == 409, "no finding yet"
    assert ended(client, first) == "done"
    said = {"token": token(client), "kind": "record_again", "text": "more speeds, please"}
    assert client.post(f"{first}/review", data=said).status_code == 303
    page = client.get(first).text
    assert "Another recording is asked for" in page
    assert f'href="{first}/plan"' in page
    plan = client.get(f"{first}/plan")
    assert "Pump drive key fitted backwards" in plan.text
    assert "service manual" in plan.text
    assert plan.headers["content-security-policy"].startswith("sandbox ")
    good = CAPTURE.with_name("healthy_rotary_six.log.gz")
    second = hand_in(client, good.read_bytes(), good.name, **fields, work=["pump_key"])
    assert ended(client, second) == "done"
    number = first.rsplit("/", 1)[1]
    assert f'href="{second}/against/{number}"' in client.get(second).text
    compared = client.get(f"{second}/against/{number}")
    assert "cleared" in compared.text
    assert compared.text == client.get(f"{first}/against/{second.rsplit('/', 1)[1]}").text, (
        "made once, in order of time"
    )
    assert client.get(f"{first}/against/{number}").status_code == 404
    assert client.get(f"{first}/against/999").status_code == 404


def test_the_last_verdict_holds_and_the_case_goes_out_whole(client: TestClient, sessions: Sessions) -> None:
    case = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name, vehicle="van 7", engine="training_rotary_six")
    assert ended(client, case) == "done"
    assert client.get(f"{case}/export").json()["verdict"] is None
    number = int(case.rsplit("/", 1)[1])
    for by, kind, text in (
        ("Ada", "record_again", "too short"), ("Ben", "agree", ""), ("Ada", "note", "I was wrong"),
        ("Ada", "disagree", "no"),
    ):  # fmt: skip
        cases.review(sessions, number, by, kind, text)
    page, listed = client.get(case).text, client.get("/").text
    assert "The last verdict holds: <strong>Ada disagrees with the finding</strong>" in page
    assert "<strong>Ada disagrees with the finding</strong>" in listed
    assert page.count("replaced by a later verdict") == 1
    assert "<del>needs another recording</del>" in page
    assert "Another recording is asked for" not in page, "that was replaced"
    assert "Ada: needs another recording" in page, "the trail keeps it"
    export = client.get(f"{case}/export").json()
    assert [(one["by"], one["kind"], one["holds"], one["replaced"]) for one in export["review"]] == [
        ("Ada", "record_again", False, True), ("Ben", "agree", False, False), ("Ada", "note", False, False),
        ("Ada", "disagree", True, False),
    ]  # fmt: skip
    assert export["verdict"]["text"] == "no"
    found = cases.get(sessions, number)
    assert found is not None
    assert export["finding"] == found.result
    assert export["files"] == [{"name": CAPTURE.name, "sha256": hashlib.sha256(CAPTURE.read_bytes()).hexdigest()}]
    assert len(export["trail"]) == len(cases.trail(sessions, number)) == 6
    check = found.result["faults"][0]["next_checks"][0]["text"] if found.result else ""
    fault = found.result["faults"][0]["fault"] if found.result else ""
    for outcome in ("refuted", "confirmed"):
        cases.tick(sessions, number, "Ben", fault, check, outcome)
    checks = client.get(f"{case}/export").json()["checks"]
    assert [(one["outcome"], one["counts"]) for one in checks] == [("refuted", False), ("confirmed", True)]


def test_a_file_keeps_its_name_in_what_is_said_of_it(client: TestClient) -> None:
    answer = client.post(
        "/hand-in",
        data={"token": token(client)},
        files=[("captures", ("empty.log", b"")), ("captures", ("b.log", b"x"))],
    )
    assert answer.status_code == 400
    assert "empty.log: is empty; hand in a capture with data." in answer.text
    fields = {"token": token(client), "vehicle": "x" * 81}
    said = client.post("/hand-in", data=fields, files={"captures": ("a.log", b"x")}).text
    assert "The vehicle&#39;s label is too long; " in said


def test_three_road_tests_of_a_vehicle_have_a_trend(client: TestClient) -> None:
    cases = []
    capture = CAPTURE.with_name("crank_signal_inverted.log.gz").read_bytes()
    for _ in range(3):
        if cases:
            assert "/history" not in client.get(cases[-1]).text
            assert client.get(f"{cases[-1]}/history").status_code == 404
        cases.append(hand_in(client, capture, f"{len(cases)}.log.gz", vehicle="van 7"))
        assert ended(client, cases[-1]) == "done"
    assert f'href="{cases[-1]}/history#trends"' in client.get(cases[-1]).text
    page = client.get(f"{cases[-1]}/history")
    assert page.status_code == 200, page.text
    assert page.headers["content-security-policy"].startswith("sandbox ")
    assert "Over all drives" in page.text
    for number in (1, 2, 3):
        assert f"case_{number}_" in page.text
    assert client.get(f"{cases[0]}/history").status_code == 404, "only road tests up to that one count"


def test_checks_move_the_ranking_by_bayes_rule() -> None:
    """Source: Bayes' rule, by hand: 0.5 * 0.9 / (0.5 * 0.9 + 0.3 * 0.2 + 0.2 * 0.1) = 45 / 53."""
    check = Check(
        stage="look", text="x", minutes=1, confirmed="y", refuted="n", cautions=[], finds=0.9, wrongly=0.1,
        also={"b": 0.2},
    )  # fmt: skip
    before = {"a": 0.5, "b": 0.3, "no fault": 0.2}
    after = ticked.updated(before, [("a", check, True)])
    assert after == pytest.approx({"a": 45 / 53, "b": 6 / 53, "no fault": 2 / 53})
    after = ticked.updated(before, [("a", check, False)])
    assert after == pytest.approx({"a": 5 / 47, "b": 24 / 47, "no fault": 18 / 47})
    assert ticked.updated(before, []) == before


def test_two_faults_at_once_are_one_row_until_a_check_speaks() -> None:
    shares = {"boost_leak": 0.55, "idle_hunting": 0.35, "thermostat_stuck_open": 0.05}  # 0.3 of them one alone
    result = {
        "faults": [{"fault": name, "title": name.title(), "probability": share} for name, share in shares.items()],
        "no_fault": 0.03, "something_else": 0.02, "together": {"faults": list(shares)[:2], "probability": 0.6},
    }  # fmt: skip
    first = ticked.after_checks(result, [])[0]
    assert first == ("Both at once: Boost_Leak and Idle_Hunting", 0.6, 0.6), "as in the report"
    fault = faults.load().faults["boost_leak"]
    text = in_trade_order(fault, texts.cautions())[0].text
    tick = Tick(fault="boost_leak", text=text, outcome="refuted")
    after = {title: share for title, _, share in ticked.after_checks(result, [tick])}
    assert after["Idle_Hunting"] > after["Boost_Leak"]


def test_what_cannot_be_read_is_told_in_plain_words(client: TestClient) -> None:
    case = hand_in(client, b"\x00\x01\x02 nothing that a bus ever said", "photo.bin")
    assert ended(client, case) == "failed"
    page = client.get(case).text
    assert "photo.bin" in page
    assert "/work/" not in page


def test_same_capture_twice_is_one_file(client: TestClient, tmp_path: Path) -> None:
    hand_in(client, b"same bytes", "a.log")
    hand_in(client, b"same bytes", "b.log")
    files = [path for path in (tmp_path / "captures").rglob("*") if path.is_file()]
    assert len(files) == 1
    assert files[0].read_bytes() == b"same bytes"
    assert files[0] == path_of(tmp_path, files[0].name)


@pytest.mark.parametrize("name", ["../../evil.log", "..\\..\\evil.log", "/etc/evil.log", "evil\x00\n.log", "x" * 300])
def test_names_cannot_leave_the_folder(client: TestClient, tmp_path: Path, name: str) -> None:
    case = hand_in(client, name.encode(), name)
    ended(client, case)
    assert not [path for path in tmp_path.parent.rglob("*evil*") if tmp_path not in path.parents]
    assert client.get(case).status_code == 200


def test_script_in_every_field_stays_text(client: TestClient) -> None:
    case = hand_in(client, b"x", f"{SCRIPT}.log", vehicle=SCRIPT)
    ended(client, case)
    client.post(f"{case}/review", data={"token": token(client), "kind": "note", "text": SCRIPT})
    for page in (case, "/", f"/?words_={SCRIPT}&state={SCRIPT}&fault={SCRIPT}&since={SCRIPT}"):
        text = client.get(page).text
        assert "<script>alert" not in text
    text = client.get(case).text
    assert "&lt;script&gt;alert" in text
    assert "{{7*7}}" in text


@pytest.mark.parametrize(
    "field", [{"engine": "/etc/passwd"}, {"work": "nonsense"}, {"complaints": SCRIPT}, {"vehicle": "v" * 81}]
)
def test_unknown_words_are_refused(client: TestClient, field: dict[str, str]) -> None:
    answer = client.post("/hand-in", data={"token": token(client), **field}, files={"captures": ("a", b"x")})
    assert answer.status_code == 400
    assert "choose" in answer.text or "at most" in answer.text


def test_oversized_uploads_are_refused_and_leave_nothing(client: TestClient, tmp_path: Path) -> None:
    fields = {"token": token(client)}
    answer = client.post("/hand-in", data=fields, files={"captures": ("big.log", b"x" * 3_100_000)})
    assert answer.status_code == 413
    assert "larger than 3 MB" in answer.text

    def unannounced() -> Iterator[bytes]:
        yield b'--b\r\nContent-Disposition: form-data; name="captures"; filename="big"\r\n\r\n'
        for _ in range(40):
            yield b"x" * 100_000

    answer = client.post("/hand-in", content=unannounced(), headers={"content-type": "multipart/form-data; boundary=b"})
    assert answer.status_code == 413
    assert not [path for path in (tmp_path / "captures").rglob("*") if path.is_file()]


@pytest.mark.parametrize("page", ["/hand-in", "/cases/1/review", "/cases/1/check", "/sign-in", "/sign-out"])
def test_forms_of_other_sites_are_refused(client: TestClient, page: str) -> None:
    client.get("/")
    fields = {
        "token": "0" * 64,
        "kind": "note",
        "text": "x",
        "name": "x",
        "password": "x",
        "fault": "x",
        "outcome": "x",
    }
    answer = client.post(page, data=fields, files={"captures": ("a", b"x")} if page == "/hand-in" else None)
    assert answer.status_code == 403
    assert "Case 1" not in client.get("/").text


def test_other_host_names_are_refused(client: TestClient) -> None:
    assert client.get("/", headers={"host": "elsewhere.example"}).status_code == 400


def test_every_answer_carries_its_headers(client: TestClient) -> None:
    for page in ("/", "/hand-in", "/look.css", "/cases/99", "/api/openapi.json"):
        answer = client.get(page)
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "no-referrer"
    client.cookies.clear()
    cookie = client.get("/").headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie


def test_accounts_and_roles(client: TestClient, sessions: Sessions) -> None:
    case = hand_in(client, b"nothing")
    ended(client, case)
    for role in people.ROLES:
        people.add(sessions, role, role, PASSWORD)
    assert client.get("/").headers["location"] == "/sign-in"
    assert client.get(f"{case}/report").headers["location"] == "/sign-in"
    assert sign_in(client, "trainee", "wrong password") == 403
    before = client.cookies["logan_session"]
    assert sign_in(client, "trainee") == 303
    assert client.cookies["logan_session"] != before
    assert client.get("/hand-in").status_code == 403
    page_token = token(client, case)
    answer = client.post("/hand-in", data={"token": page_token}, files={"captures": ("a", b"x")})
    assert answer.status_code == 403
    verdict = {"token": page_token, "kind": "agree"}
    assert client.post(f"{case}/review", data=verdict).status_code == 403
    assert client.post(f"{case}/review", data={**verdict, "kind": "note", "text": "seen"}).status_code == 303
    assert client.post("/sign-out", data={"token": page_token}).status_code == 303
    assert client.get("/").headers["location"] == "/sign-in"


def test_accounts_change_and_close_and_leave_their_trail(client: TestClient, sessions: Sessions) -> None:
    people.add(sessions, "Ada", "lead", PASSWORD)
    people.add(sessions, "Ben", "technician", PASSWORD)
    device = people.give_pass(sessions, "Ben", "device")
    assert sign_in(client, "Ben") == 303
    people.change(sessions, "Ben", role="lead")
    assert client.get("/").status_code == 303, "the old role ends with its sign-in"
    assert sign_in(client, "Ben") == 303
    assert people.holder(sessions, device, "device") is not None
    people.change(sessions, "Ben", password="another long password")
    assert sign_in(client, "Ben") == 403
    people.close(sessions, "Ben")
    assert sign_in(client, "Ben", "another long password") == 403
    assert people.holder(sessions, device, "device") is None
    with pytest.raises(UsageError, match="closed"):
        people.give_pass(sessions, "Ben", "device")
    with pytest.raises(UsageError, match="already"):
        people.add(sessions, "Ben", "lead", PASSWORD)
    with pytest.raises(UsageError, match="last open"):
        people.close(sessions, "Ada")
    with pytest.raises(UsageError, match="closed"):
        people.change(sessions, "Ben", role="lead")
    people.change(sessions, "Ben", role="trainee", password=PASSWORD)
    assert sign_in(client, "Ben") == 303
    for wrong in ({"role": "chief"}, {"password": "short"}):
        with pytest.raises(UsageError):
            people.change(sessions, "Ada", **wrong)
    people.give_pass(sessions, "Ada", "device")
    assert people.end_passes(sessions, "Ada") == 1
    with sessions() as session:
        done = [deed.what for deed in session.query(Deed) if deed.by == "logan"]
    assert "account of Ben closed" in done
    assert "Ben is lead now" in done


def test_wrong_sign_ins_are_limited(client: TestClient, sessions: Sessions) -> None:
    people.add(sessions, "lead", "lead", PASSWORD)
    assert [sign_in(client, "lead", f"wrong {k}") for k in range(5)] == [403] * 5
    assert sign_in(client, "lead") == 429


def test_passwords_and_passes_are_kept_as_hashes(sessions: Sessions, tmp_path: Path) -> None:
    people.add(sessions, "lead", "lead", PASSWORD)
    shown = people.give_pass(sessions, "lead", "device")
    with sessions() as session:
        rows = [session.execute(sa.text(f"SELECT * FROM {table}")).all() for table in ("people", "passes", "deeds")]
    kept = b"".join(path.read_bytes() for path in tmp_path.glob("workshop.sqlite3*")) + str(rows).encode()
    assert b"$argon2id$" in kept
    assert PASSWORD.encode() not in kept
    assert shown.encode() not in kept


def test_recording_device(client: TestClient, sessions: Sessions) -> None:
    people.add(sessions, "technician", "technician", PASSWORD)
    shown = people.give_pass(sessions, "technician", "device")
    files = {"captures": ("drive.log", b"nothing")}
    assert client.post("/api/v1/cases", files=files).status_code == 401
    client.cookies.set("logan_session", shown)
    assert client.get("/").status_code == 303, "a device's pass opens no pages"
    good = {"authorization": f"Bearer {shown}"}
    answer = client.post("/api/v1/cases", files=files, data={"vehicle": "van 7"}, headers=good)
    assert answer.status_code == 201
    case = client.get(f"/api/v1/cases/{answer.json()['case']}", headers=good).json()
    assert case["vehicle"] == "van 7"
    described = client.get("/api/openapi.json").json()["paths"]
    assert set(described) == {"/api/v1/cases", "/api/v1/cases/{case_id}"}


def test_a_finding_reads_as_its_report_does(client: TestClient) -> None:
    """The verdict alone is the heading, numbers bear their signs and units, and cautions are called so."""
    case = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name, engine="training_rotary_six", work=["pump"])
    assert ended(client, case) == "done"
    page = client.get(case).text
    heading = re.search(r'<section class="verdict fault_supported"><h2>(.*?)</h2>', page, re.DOTALL)
    assert heading is not None
    assert heading[1].startswith("Most likely: ")
    assert heading[1].endswith("%).")
    rest = re.search(r'<p class="rests">(.*?)</p>', page, re.DOTALL)
    assert rest is not None
    assert re.search("is [\N{MINUS SIGN}\\d]", rest[1])
    assert " deg" not in re.sub("<form.*?</form>", "", page, flags=re.DOTALL)  # what a form sends is as it is kept
    assert page.count('<div class="caution"><p><b>Caution</b></p>') == page.count('/check">')


def test_of_a_good_engine_nothing_is_to_be_checked_and_no_fault_leads(client: TestClient) -> None:
    good = CAPTURE.parent / "healthy_spark_four.log.gz"
    bad = CAPTURE.parent / "charging_voltage_low.log.gz"
    pages = []
    for capture in (good, bad):
        case = hand_in(client, capture.read_bytes(), capture.name)
        assert ended(client, case) == "done"
        pages.append(client.get(case).text)
    assert "Checks on the vehicle" not in pages[0]
    assert "Checks on the vehicle" in pages[1]
    asked = re.search(r'<select name="fault">(.*?)</select>', client.get("/").text, re.DOTALL)
    assert asked is not None
    assert re.findall("<option[^>]*>(.*?)</option>", asked[1]) == ["any", "Charging voltage too low"]
    assert "Case 2" in client.get("/?fault=charging_voltage_low").text


def test_what_could_not_be_read_is_named_as_it_was_handed_in(client: TestClient) -> None:
    case = hand_in(client, bytes(range(256)) * 40, "noise.bin")
    assert ended(client, case) == "failed"
    assert re.search(r"<p>noise\.bin: ", client.get(case).text)
