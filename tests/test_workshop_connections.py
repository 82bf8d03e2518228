"""Connections on which no request comes are ended; those that ask are served."""

from __future__ import annotations

import asyncio
import socket
import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest

pytest.importorskip("uvicorn", reason="pip install '.[workshop]'")
pytest.importorskip("fastapi", reason="pip install '.[workshop]'")

import uvicorn

from logan.workshop import connections

SLOW_S = 1.5


async def app(scope: dict[str, Any], receive: Any, send: Any) -> None:
    if scope["type"] != "http":
        return
    if scope["path"] == "/slow":
        await asyncio.sleep(SLOW_S)
    await send({"type": "http.response.start", "status": 200, "headers": [(b"content-length", b"2")]})
    await send({"type": "http.response.body", "body": b"ok"})


@pytest.fixture
def port(monkeypatch: pytest.MonkeyPatch) -> Iterator[int]:
    monkeypatch.setattr(connections, "HEAD_S", 0.6)
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        held.listen()
        server = uvicorn.Server(uvicorn.Config(app, http=connections.Prompt, lifespan="off", log_level="critical"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [held]})
        thread.start()
        yield held.getsockname()[1]
        server.should_exit = True
        thread.join()


def ended(link: socket.socket, within_s: float) -> bool:
    link.settimeout(within_s)
    try:
        return link.recv(1) == b""
    except TimeoutError:
        return False
    except ConnectionError:
        return True


def test_who_says_nothing_or_never_ends_the_head_is_ended(port: int) -> None:
    for first in (b"", b"GET / HTTP/1.1\r\nHost: x\r\nX-Long: "):
        with socket.create_connection(("127.0.0.1", port)) as link:
            link.sendall(first)
            for _ in range(3):
                time.sleep(0.1)
                if first:
                    link.sendall(b"y")
            assert ended(link, 3.0), first


def test_who_asks_is_served_however_long_the_answer_takes(port: int) -> None:
    with socket.create_connection(("127.0.0.1", port)) as link:
        for path in (b"/", b"/slow", b"/"):
            link.sendall(b"GET " + path + b" HTTP/1.1\r\nHost: x\r\n\r\n")
            link.settimeout(SLOW_S + 3.0)
            said = b""
            while not said.endswith(b"ok"):
                piece = link.recv(1000)
                assert piece, "the connection was ended"
                said += piece
            time.sleep(0.2)
        assert ended(link, 3.0), "after the last answer it is ended too"
