"""A recording played on a page of this machine: served on the loopback address only, to whoever sits here."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Final
from urllib.parse import parse_qs, urlsplit

from logan.errors import UsageError
from logan.pipeline.analyse import analyse
from logan.report import moments

LOOPBACK: Final = "127.0.0.1"
SILENT_S: Final = 20.0
"""Longest silence on a connection."""
HEADERS: Final = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
}
WHOLE: Final = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Replay · logan</title><link rel="stylesheet" href="/look.css"><script src="/replay.js" defer></script></head>
<body><main>{}</main></body></html>
"""


class Server(ThreadingHTTPServer):
    """The page of one tape, at ``address`` until it is shut down."""

    daemon_threads = True

    def __init__(self, tape: moments.Tape, title: str, port: int = 0) -> None:
        super().__init__((LOOPBACK, port), partial(_Answer, tape, title))
        self.address = f"http://{LOOPBACK}:{self.server_port}"


class _Answer(BaseHTTPRequestHandler):
    """Four addresses, all of them only read."""

    server_version, sys_version = "logan", ""
    timeout = SILENT_S

    def __init__(self, tape: moments.Tape, title: str, *rest: object) -> None:
        self._tape, self._title = tape, title
        super().__init__(*rest)  # type: ignore[arg-type]

    def do_GET(self) -> None:
        """One request."""
        asked = urlsplit(self.path)
        t_s = moments.within(self._tape, parse_qs(asked.query).get("t", [""])[0])
        # a page elsewhere that made its own name point here must not read this one
        if self.headers.get("host", "").rsplit(":", 1)[0] not in (LOOPBACK, "localhost"):
            self._send(400, "text/plain", "asked for under another name")
        elif asked.path == "/":
            self._send(200, "text/html", WHOLE.format(moments.body(self._tape, t_s, "/at", self._title)))
        elif asked.path == "/at":
            self._send(200, "text/html", moments.fragment(self._tape, t_s))
        elif asked.path == "/replay.js":
            self._send(200, "text/javascript", moments.script())
        elif asked.path == "/look.css":
            self._send(200, "text/css", moments.look())
        elif asked.path == "/favicon.ico":
            self._send(204, "image/x-icon", "")  # browsers ask for it, and call it an error where there is none
        else:
            self._send(404, "text/plain", "there is nothing here")

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """What this page does not do, with the headers of every answer."""
        self._send(code, "text/plain", message or "that cannot be done here")

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 (the name is the library's)
        """Requests of the page are not news."""

    def _send(self, status: int, kind: str, text: str) -> None:
        data = text.encode()
        self.send_response(status)
        for name, value in {**HEADERS, "content-type": f"{kind}; charset=utf-8", "content-length": len(data)}.items():
            self.send_header(name, str(value))
        self.end_headers()
        self.wfile.write(data)


def play(capture: str, engine: str | None = None) -> Iterator[str]:
    """Serve the page of a capture until Ctrl-C; yields what happens in plain words.

    Raises
    ------
    UsageError : the capture holds no channel
    LoganError : the capture cannot be read
    KeyboardInterrupt : Ctrl-C, the only end that it has
    """
    tape = moments.tape(analyse([capture], engine=engine).record)
    if not tape.tracks:
        raise UsageError("holds no channel with numbers", file=capture, do="look at it with logan inspect")
    with Server(tape, Path(capture).name) as server:
        yield f"{len(tape.tracks)} channels, {tape.end_s:.1f} s: {server.address}   end with Ctrl-C"
        server.serve_forever()
