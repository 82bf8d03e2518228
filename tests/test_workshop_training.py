"""The training room over HTTP: exercises from all three sources, a lesson, what a trainee may see, the score."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("fastapi", reason="pip install '.[workshop]'")
pytest.importorskip("argon2", reason="pip install '.[workshop]'")

from fastapi.testclient import TestClient

from logan.knowledge import faults, profiles, training
from logan.store import cases, lessons, people
from logan.store.captures import Kept
from logan.store.database import Deed, Sessions
from logan.workshop import scoring
from logan.workshop.app import make

HOME = "http://127.0.0.1"
PASSWORD = "a long enough password"
SAMPLES = Path(__file__).parent.parent / "sample_logs"


@pytest.fixture
def client(tmp_path: Path, sessions: Sessions) -> Iterator[TestClient]:
    with TestClient(make(sessions, tmp_path), base_url=HOME, follow_redirects=False) as client:
        yield client


def token(client: TestClient, page: str) -> str:
    found = re.search(r'name="token" value="([0-9a-f]+)"', client.get(page).text)
    assert found
    return found[1]


def post(client: TestClient, address: str, page: str, **fields: str | list[str]) -> str:
    """Send a form of a page; where it leads."""
    answer = client.post(address, data={"token": token(client, page), **fields})
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def exercise(client: TestClient, **fields: str | list[str]) -> str:
    """Make an exercise and wait until it is ready."""
    address = post(client, "/training/exercises", "/training", **fields)
    end = time.monotonic() + 60
    while time.monotonic() < end:
        if "Being made ready" not in (page := client.get(address).text):
            assert "could not be made ready" not in page, page
            return address
        time.sleep(0.2)
    raise AssertionError("the exercise was not made ready")


def lesson(client: TestClient, *addresses: str) -> str:
    chosen = [address.rsplit("/", 1)[1] for address in addresses]
    return post(client, "/training/lessons", "/training", title="Timing, first day", chosen=chosen)


def sign_in(client: TestClient, name: str) -> None:
    post(client, "/sign-in", "/sign-in", name=name, password=PASSWORD)


def test_a_lesson_from_the_canned_log_to_the_score(client: TestClient, sessions: Sessions) -> None:
    for name, role in (("Ada", "trainer"), ("Ben", "trainee"), ("Cleo", "trainee")):
        people.add(sessions, name, role, PASSWORD)
    sign_in(client, "Ada")
    made = exercise(
        client, source="canned", canned="pump_key_reversed", title="Hard to start", story="<b>Starts</b> badly"
    )
    shown = client.get(made).text
    assert "The truth: " in shown
    assert "&lt;b&gt;Starts&lt;/b&gt; badly" in shown
    link = lesson(client, made)
    sign_in(client, "Ben")
    number = made.rsplit("/", 1)[1]
    attempt = post(client, f"{link}/begin", link, number=number)
    assert post(client, f"{link}/begin", link, number=number) == attempt, "begun once"
    before = client.get(attempt).text
    for secret in ("fitted backwards:", "pump_key_reversed.log", "The truth", "Most likely:"):
        assert secret not in before
    # nothing is shown that was not asked for, and never the verdict
    assert client.get(f"{attempt}/views/timing").status_code == 403
    assert client.get(f"{attempt}/views/report").status_code == 403
    for hidden in (made, f"{made}/report", f"{made}/timing", "/training/exercises/1"):
        assert client.get(hidden).status_code == 403
    assert client.post(f"{attempt}/see", data={"token": token(client, attempt), "view": "report"}).status_code == 404
    view = client.get(post(client, f"{attempt}/see", attempt, view="timing"))
    assert view.status_code == 200
    assert "Timing plane" in view.text
    for secret in ("pump_key_reversed", "What to check next", "Most likely", "bears on:"):
        assert secret not in view.text
    assert view.headers["content-security-policy"].startswith("sandbox ")
    assert re.search(r"\b5 of \d+ minutes spent", client.get(attempt).text)
    # the record moving is paid for with the drive over time
    for address in (f"{attempt}/replay", f"{attempt}/replay/at?t=5", f"{made}/replay", f"{made}/replay/at?t=5"):
        assert client.get(address).status_code == 403
    post(client, f"{attempt}/see", attempt, view="drive")
    playing = client.get(f"{attempt}/replay?t=5")
    assert playing.status_code == 200
    assert f'data-at="{attempt}/replay/at"' in playing.text
    moment = client.get(f"{attempt}/replay/at?t=5").text
    assert "Engine speed" in moment
    assert moment in playing.text
    assert moment != client.get(f"{attempt}/replay/at?t=60").text
    for secret in ("fitted backwards:", "pump_key_reversed", "road_test", "The truth"):
        assert secret not in playing.text
    answered = post(client, f"{attempt}/answer", attempt, first="pump_key_reversed", second="pump_key_wrong", check="")
    after = client.get(answered).text
    assert "It was: " in after
    assert client.get(f"{attempt}/views/report").status_code == 200
    again = {"token": token(client, link), "first": "no_fault"}
    assert client.post(f"{attempt}/answer", data=again).status_code == 400
    # another trainee sees nothing of it; the trainer sees who is where
    sign_in(client, "Cleo")
    assert client.get(attempt).status_code == 404
    sign_in(client, "Ada")
    assert "Ben" in client.get(link).text


def test_a_fault_that_an_engine_cannot_have_is_not_offered_there_and_refused_by_its_title(client: TestClient) -> None:
    """An engine with port injection has no injection pump (common practice, no source)."""
    fields = {"token": token(client, "/training"), "source": "made", "drive": "short_test", "seed": "1"}
    said = client.post(
        "/training/exercises", data={**fields, "engine": "training_spark_four", "fault": "pump_key_wrong"}
    )
    assert said.status_code == 400
    title = faults.load().faults["pump_key_wrong"].title
    assert f"“{title}” does not exist on {profiles.load('training_spark_four')[0].name}; take an engine" in said.text
    said = client.post(
        "/training/exercises", data={**fields, "engine": "training_rotary_six", "fault": "boost_leak", "size": "4000"}
    )
    assert f"“{faults.load().faults['boost_leak'].title}” is outside 3 to 120" in said.text
    page = client.get("/training").text
    offered = dict(re.findall(r'<option value="(\w+)" data-engines="([\w ]+)"', page))
    assert "training_spark_four" not in offered["pump_key_wrong"].split()
    assert "training_rotary_six" in offered["pump_key_wrong"].split()
    assert offered["mixture_lean"].split() == ["training_spark_four"]


def test_exercises_of_ones_own_and_of_a_case(client: TestClient) -> None:
    own = exercise(
        client, source="made", engine="training_spark_four", fault="mixture_lean", size="18", drive="short_test",
        seed="4", title="Own",
    )  # fmt: skip
    assert "The truth: " in client.get(own).text
    capture = (SAMPLES / "charging_voltage_low.log.gz").read_bytes()
    answer = client.post(
        "/hand-in", data={"token": token(client, "/hand-in")}, files={"captures": ("van 7 of Jo.log.gz", capture)}
    )
    case = answer.headers["location"]
    end = time.monotonic() + 60
    while '"done"' not in client.get(f"{case}/progress").text and time.monotonic() < end:
        time.sleep(0.2)
    stored = exercise(client, source="case", case=case.rsplit("/", 1)[1], truth="charging_voltage_low", title="A case")
    seen = "".join(client.get(f"{stored}/{view.id}").text for view in training.load().view)
    seen += client.get(f"{stored}/report").text
    assert "van 7" not in seen
    assert "Vehicle identification number" not in seen
    assert "Vehicle identification number" in client.get(f"{case}/report").text, "the case itself has one"
    link = lesson(client, own, stored)
    attempt = post(client, f"{link}/begin", link, number=own.rsplit("/", 1)[1], name="Dora")
    assert "Dora" in client.get(link).text
    assert client.get(attempt).status_code == 200


@pytest.mark.parametrize(
    "fields",
    [
        {"source": "canned", "canned": "../../etc/passwd"},
        {"source": "made", "engine": "/etc/passwd", "fault": ""},
        {"source": "made", "engine": "training_rail_four", "drive": "/etc/hostname"},
        {"source": "made", "engine": "training_rail_four", "fault": "pump_key_wrong"},
        {"source": "made", "engine": "training_rail_four", "fault": "cylinder_fuel_low", "cylinder": "9"},
        {"source": "made", "engine": "training_rail_four", "fault": "idle_hunting", "size": "nan"},
        {"source": "made", "engine": "training_rail_four", "seed": "-3"},
        {"source": "case", "case": "77", "truth": "no_fault"},
        {"source": "elsewhere"},
    ],
)
def test_what_cannot_be_made_is_refused_at_once(client: TestClient, fields: dict[str, str]) -> None:
    answer = client.post("/training/exercises", data={"token": token(client, "/training"), **fields})
    assert answer.status_code == 400, answer.text
    assert "No exercise yet" in client.get("/training").text


def test_a_case_stays_hidden_until_the_last_who_began_has_answered(sessions: Sessions) -> None:
    """Whoever has begun a withdrawn exercise goes on, and must not read the finding meanwhile."""
    number = lessons.make(sessions, "Ada", "A case", "", {"case": 7}, {"fault": "no_fault"})
    lessons.prepared(sessions, number, ["timing"], {"faults": []})
    held = lessons.lesson(sessions, lessons.compose(sessions, "Ada", "One", [number]))
    assert held is not None
    attempt = lessons.begin(sessions, held.id, number, "Ben")
    lessons.withdraw(sessions, "Ada", lessons.EXERCISE, number, True)
    assert lessons.cases_behind(sessions) == {7}
    lessons.see(sessions, attempt, "timing")
    assert lessons.cases_behind(sessions) == {7}
    lessons.commit(sessions, attempt, {"first": "no_fault"}, {"sum": 100})
    assert lessons.cases_behind(sessions) == set()
    lessons.withdraw(sessions, "Ada", lessons.EXERCISE, number, False)
    assert lessons.cases_behind(sessions) == {7}


def test_a_lesson_needs_exercises_and_a_form_its_token(client: TestClient) -> None:
    form = {"token": token(client, "/training"), "title": "Empty"}
    assert client.post("/training/lessons", data=form).status_code == 400
    assert client.post("/training/lessons", data={**form, "chosen": ["99"]}).status_code == 400
    assert client.post("/training/lessons", data={**form, "token": "0" * 64}).status_code == 403
    for address in ("/training/lessons/none", "/training/attempts/1", "/training/exercises/1"):
        assert client.get(address).status_code == 404


def test_points_follow_the_rules() -> None:
    rules = training.load()
    offered = [view.id for view in rules.view]
    check = "nothing of the catalogue"
    best = scoring.score(rules, "no_fault", ["no_fault"], scoring.HAND_BACK, [], offered)
    assert best["sum"] == rules.score.first + rules.score.check + rules.score.time == 100
    # all time spent, second place, a check that finds nothing
    assert scoring.score(rules, "boost_leak", ["mixture_lean", "boost_leak"], check, offered, offered)["sum"] == (
        rules.score.second
    )
    half = scoring.score(rules, "boost_leak", ["boost_leak"], check, ["measures"], offered)
    left = 1.0 - next(view.minutes for view in rules.view if view.id == "measures") / rules.minutes
    assert half["sum"] == pytest.approx(rules.score.first + rules.score.time * left, abs=0.1)
    # a guess that is wrong gains nothing by haste
    assert scoring.score(rules, "boost_leak", ["no_fault"], check, [], offered)["sum"] == 0


def test_the_tool_is_placed_like_a_trainee() -> None:
    result = {"no_fault": 0.3, "faults": [{"fault": "a", "probability": 0.5}, {"fault": "b", "probability": 0.1}]}
    assert scoring.of_the_tool(result, "a") == (1, 0.5)
    assert scoring.of_the_tool(result, "no_fault") == (2, 0.3)
    assert scoring.of_the_tool(result, "c") == (None, 0.0)


def test_an_exercise_and_a_lesson_are_renamed_and_withdrawn(client: TestClient, sessions: Sessions) -> None:
    made = exercise(client, source="canned", canned="charging_voltage_low", title="Weak battery, look at the generator")
    number = made.rsplit("/", 1)[1]
    link = lesson(client, made)
    begun = post(client, f"{link}/begin", link, number=number, name="Dora")
    post(client, f"{made}/title", made, title="Lamps <i>dim</i>")
    post(client, f"{link}/title", link, title="Second day")
    for page in (made, link, begun, "/training"):
        text = client.get(page).text
        assert "look at the generator" not in text
        assert "Lamps &lt;i&gt;dim&lt;/i&gt;" in text
    views = [client.get(f"{made}/{view.id}") for view in training.load().view]
    assert not any("look at the generator" in view.text for view in views), "a title that gave it away is gone"
    assert client.post(f"{made}/title", data={"token": token(client, made), "title": " "}).status_code == 400

    post(client, f"{made}/withdrawn", made, away="yes")
    assert "Withdrawn" in client.get(made).text
    assert "Compose a lesson" not in client.get("/training").text
    form = {"token": token(client, link), "number": number, "name": "Emil"}
    assert client.post(f"{link}/begin", data=form).status_code == 400
    assert post(client, f"{link}/begin", link, number=number, name="Dora") == begun, "who has begun goes on"
    assert client.post("/training/lessons", data={**form, "title": "x", "chosen": [number]}).status_code == 400
    post(client, f"{made}/withdrawn", made, away="no")
    post(client, f"{link}/withdrawn", link, away="yes")
    assert "This lesson has been withdrawn" in client.get(link).text
    assert client.post(f"{link}/begin", data=form).status_code == 400
    assert "of 100 points" in client.get(post(client, f"{begun}/answer", begun, first="no_fault")).text
    post(client, f"{link}/withdrawn", link, away="no")
    assert post(client, f"{link}/begin", link, number=number, name="Emil") != begun
    with sessions() as session:
        trail = [deed.what for deed in session.query(Deed).order_by(Deed.id)]
    assert trail[2:] == [
        "renamed training exercise 1, which was 'Weak battery, look at the generator'",
        "renamed training lesson 1, which was 'Timing, first day'",
        "withdrew training exercise 1", "took up again training exercise 1",
        "withdrew training lesson 1", "took up again training lesson 1",
    ]  # fmt: skip


def test_trainees_do_not_read_the_case_behind_an_exercise(client: TestClient, sessions: Sessions) -> None:
    numbers = []
    for k in range(3):
        numbers.append(cases.hand_in(sessions, [Kept(f"{k:064x}", 1, "a.log")], "Ada", vehicle="van 7"))
        cases.finish(sessions, numbers[-1], {"sentence": f"verdict {k}", "faults": [], "verdict": "good_engine",
                                             "no_fault": 1.0, "something_else": 0.0})  # fmt: skip
    hidden = numbers[1]
    made = lessons.make(sessions, "Ada", "One", "", {"case": hidden}, {"fault": "no_fault", "text": "x"})
    for name, role in (("Ada", "trainer"), ("Ben", "trainee")):
        people.add(sessions, name, role, PASSWORD)
    device = {"authorization": f"Bearer {people.give_pass(sessions, 'Ben', 'device')}"}

    def seen() -> tuple[bool, bool, bool, int, int]:
        return (
            "verdict 1" in client.get("/").text, "verdict 1" in client.get(f"/cases/{numbers[0]}").text,
            "/history" in client.get(f"/cases/{numbers[2]}").text, client.get(f"/cases/{hidden}").status_code,
            client.get(f"/api/v1/cases/{hidden}", headers=device).status_code,
        )  # fmt: skip

    sign_in(client, "Ben")
    assert seen() == (False, False, False, 404, 404)
    for address in ("report", "export", "plan", "history", "progress", f"against/{numbers[0]}"):
        assert client.get(f"/cases/{hidden}/{address}").status_code == 404, address
    assert client.get(f"/cases/{numbers[0]}/against/{hidden}").status_code == 404
    note = {"token": token(client, "/"), "kind": "note", "text": "x"}
    assert client.post(f"/cases/{hidden}/review", data=note).status_code == 404
    assert client.get(f"/cases/{numbers[2]}/history").status_code == 404, "two road tests are no trend"
    lessons.withdraw(sessions, "Ada", lessons.EXERCISE, made, away=True)
    assert seen() == (True, True, True, 200, 200)
    lessons.withdraw(sessions, "Ada", lessons.EXERCISE, made, away=False)
    sign_in(client, "Ada")
    assert client.get(f"/cases/{hidden}").status_code == 200
    assert "whoever has an account of another role can" in client.get(f"/training/exercises/{made}").text
