"""The devices' interface against its own description, with requests that schemathesis draws from it, and odd ones.

schemathesis (MIT) reads the OpenAPI document and judges each answer by it: status, type and shape as described, no
answer of the 500s, wrong requests refused. Pages, which are not described there, are asked with odd addresses.
"""

from __future__ import annotations

import itertools
import random
from pathlib import Path

import pytest

pytest.importorskip("fastapi", reason="pip install '.[workshop]'")
pytest.importorskip("argon2", reason="pip install '.[workshop]'")
pytest.importorskip("schemathesis", reason="pip install '.[test]'")

import hypothesis
import schemathesis
from fastapi.testclient import TestClient
from schemathesis import GenerationMode

from logan.store import people
from logan.store.database import opened
from logan.workshop.analyst import Analysts
from logan.workshop.app import make
from logan.workshop.exercises import Preparer

HOME = "http://127.0.0.1"
FEW = hypothesis.settings(
    max_examples=25, derandomize=True, deadline=None, database=None,
    suppress_health_check=list(hypothesis.HealthCheck),
)  # fmt: skip
ODD = [
    "0",
    "-1",
    "1.5",
    "99999999999999999999",
    "%00",
    "%ff",
    "..%2f",
    "%2e%2e%2f",
    "null",
    "1 OR 1=1",
    "<b>",
    "٣",
    "1e3",
]


def test_answers_are_as_described(tmp_path: Path, database: str | None, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("start", "stop"):  # each request starts and ends the application; nothing needs to be analysed here
        monkeypatch.setattr(Analysts, name, lambda _self: None)
        monkeypatch.setattr(Preparer, name, lambda _self: None)
    sessions = opened(tmp_path, database)
    people.add(sessions, "Ada", "technician", "a long enough password")
    good = {"authorization": f"Bearer {people.give_pass(sessions, 'Ada', 'device')}", "host": "127.0.0.1"}
    app = make(sessions, tmp_path, hosts=("127.0.0.1",))
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", app, headers={"host": "127.0.0.1"})
    seen: dict[str, set[int]] = {}
    every = [found.ok() for found in schema.get_all_operations()]
    for operation, mode in itertools.product(every, (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)):

        @FEW
        @hypothesis.seed(1)
        @hypothesis.given(case=operation.as_strategy(generation_mode=mode))
        def one(case: schemathesis.Case) -> None:
            answer = case.call(headers=good)
            seen.setdefault(f"{case.method} {case.path}", set()).add(answer.status_code)
            case.validate_response(answer)

        one()
    assert set(seen) == {"POST /api/v1/cases", "GET /api/v1/cases/{case_id}"}
    assert all(status < 500 for statuses in seen.values() for status in statuses)
    assert 201 in seen["POST /api/v1/cases"], "no request got through: the test proved little"


@pytest.mark.parametrize("odd", ODD)
def test_odd_addresses_are_answered_in_plain_words(tmp_path: Path, database: str | None, odd: str) -> None:
    with TestClient(make(opened(tmp_path, database), tmp_path), base_url=HOME, follow_redirects=False) as client:
        for address in (
            f"/cases/{odd}", f"/cases/{odd}/report", f"/cases/1/against/{odd}", f"/cases/{odd}/history",
            f"/training/exercises/{odd}", f"/training/exercises/1/{odd}", f"/training/lessons/{odd}",
            f"/training/attempts/{odd}/replay/at?t={odd}", f"/{odd}",
        ):  # fmt: skip
            assert client.get(address).status_code in (307, 404, 405), address
        for field in ("words_", "state", "fault", "since", "until"):
            answer = client.get(f"/?{field}={odd}")
            assert answer.status_code in (200, 422), (field, odd)
            assert "Traceback" not in answer.text


def test_forms_of_odd_bytes_never_break_a_page(tmp_path: Path, database: str | None) -> None:
    chance = random.Random(3)
    with TestClient(make(opened(tmp_path, database), tmp_path), base_url=HOME, follow_redirects=False) as client:
        for address in (
            "/sign-in", "/sign-out", "/hand-in", "/cases/1/review", "/cases/1/check", "/training/exercises",
            "/training/lessons", "/training/lessons/x/begin", "/training/attempts/1/see", "/training/attempts/1/answer",
        ):  # fmt: skip
            for kind in (
                "application/x-www-form-urlencoded",
                "multipart/form-data; boundary=b",
                "application/json",
                "",
            ):
                for _ in range(3):
                    data = chance.choice([b"", b"token=", b"--b\r\n", b"a=%00&token=\xff&token=2", b"{"])
                    data += chance.randbytes(chance.randrange(200))
                    answer = client.post(address, content=data, headers={"content-type": kind})
                    assert 400 <= answer.status_code < 500, (address, kind, data)
