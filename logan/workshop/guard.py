"""Who is asking and whether the question is honest: sessions, form tokens, limits, headers."""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import secrets
import time
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from logan.store import lessons, people
from logan.store.database import Sessions

COOKIE: Final = "logan_session"
LOCAL: Final = "local user"
TRIES: Final = 5
TRIES_WITHIN_S: Final = 300.0
TAKE_CAPTURES: Final = ("/hand-in", "/api/v1/cases")
MOST_FORM_BYTES: Final = 100_000
STALL_S: Final = 30.0
"""Longest silence within a body, and what every body may take however small."""
SLOWEST_BYTES_S: Final = 4_000.0
"""Slowest mean rate of a body."""
PAGES: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
REPORTS: Final = "sandbox allow-scripts allow-downloads allow-modals; frame-ancestors 'none'"
"""The report's own policy, in its head, allows its scripts by hash; this one also keeps it apart from the workshop."""
HEADERS: Final = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


class Refused(Exception):  # noqa: N818 (a refusal is an answer, not a fault)
    """What was asked is not allowed; shown in plain words with its HTTP status."""

    def __init__(self, status: int, text: str) -> None:
        super().__init__(text)
        self.status, self.text = status, text


@dataclass(frozen=True, slots=True)
class Asker:
    """Who asks, and what this one may do."""

    name: str
    role: str
    may: frozenset[str]


def secret(folder: Path) -> bytes:
    """The key of the form tokens; made once for a data folder."""
    path = folder / "form_key"
    if not path.exists():
        path.touch(mode=0o600)
        path.write_bytes(secrets.token_bytes(32))
    return path.read_bytes()


def asker(request: Request, sessions: Sessions) -> Asker:
    """Who asks: the holder of the browser's session, or the local user where there are no accounts.

    Raises
    ------
    Refused : 401, nobody is signed in
    """
    if not people.listed(sessions):
        return Asker(LOCAL, "", frozenset().union(*people.ROLES.values()))
    person = people.holder(sessions, request.cookies.get(COOKIE, ""), "browser")
    if person is None:
        raise Refused(401, "Please sign in.")
    return Asker(person.name, person.role, frozenset(people.ROLES[person.role]))


def device(request: Request, sessions: Sessions) -> Asker:
    """Who a recording device hands in for: the holder of its pass.

    Raises
    ------
    Refused : 401, no pass or not a good one
    """
    scheme, _, shown = request.headers.get("authorization", "").partition(" ")
    person = people.holder(sessions, shown.strip(), "device") if scheme.lower() == "bearer" else None
    if person is None:
        raise Refused(401, "The pass of the recording device is absent or not good: see logan people pass.")
    return Asker(person.name, person.role, frozenset(people.ROLES[person.role]))


def form_token(request: Request) -> str:
    """What every form must bring back, tied to the browser's cookie."""
    key: bytes = request.app.state.key
    return hmac.new(key, request.state.cookie.encode(), hashlib.sha256).hexdigest()


def check_form(request: Request, token: str) -> None:
    """Refuse a form that did not come from a page of ours.

    Raises
    ------
    Refused : 403
    """
    if not hmac.compare_digest(form_token(request).encode(), token.encode()):
        raise Refused(403, "This form is out of date. Go back, load the page again and send it once more.")


def hidden(who: Asker, sessions: Sessions) -> set[int]:
    """Cases that somebody may not read: for those who are here to learn, the ones behind exercises that stand open."""
    return lessons.cases_behind(sessions) if who.role == people.LEARNING else set()


def check_may(who: Asker, what: str) -> None:
    """Refuse what a role does not allow.

    Raises
    ------
    Refused : 403
    """
    if what not in who.may:
        raise Refused(403, f"The role {who.role} does not allow this. Ask the lead.")


class Tries:
    """Wrong sign-ins by name and by address; too many in a short time are refused."""

    def __init__(self) -> None:
        self._wrong: dict[str, list[float]] = defaultdict(list)

    def check(self, *keys: str) -> None:
        """Refuse after too many wrong ones.

        Raises
        ------
        Refused : 429
        """
        since = time.monotonic() - TRIES_WITHIN_S
        if any(sum(at > since for at in self._wrong.get(key, ())) >= TRIES for key in keys):
            raise Refused(429, "Too many wrong sign-ins. Wait five minutes and try again.")

    def wrong(self, *keys: str) -> None:
        """Count a wrong one; what is so old that it no longer counts is forgotten."""
        now = time.monotonic()
        recent = {key: times for key, times in self._wrong.items() if times[-1] > now - TRIES_WITHIN_S}
        self._wrong = defaultdict(list, recent)
        for key in keys:
            self._wrong[key].append(now)


class Gate:
    """Around the application: bodies within a size and a time, a cookie for each browser, headers on every answer.

    Parameters
    ----------
    most_bytes : of a body that brings captures; that of any other form is ``MOST_FORM_BYTES``
    """

    def __init__(self, app: ASGIApp, most_bytes: int) -> None:
        self.app, self.most_bytes = app, most_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        given = request.cookies.get(COOKIE)
        cookie = given or secrets.token_urlsafe(32)
        scope.setdefault("state", {})["cookie"] = cookie
        most = self.most_bytes if scope["path"] in TAKE_CAPTURES else MOST_FORM_BYTES
        began, received, started, whole = time.monotonic(), 0, False, False
        trouble: Refused | None = None

        async def limited() -> Message:
            nonlocal received, trouble, whole
            if whole:
                return await receive()
            due = began + STALL_S + received / SLOWEST_BYTES_S
            try:
                message = await asyncio.wait_for(receive(), min(STALL_S, max(due - time.monotonic(), 0.0)))
            except TimeoutError:
                trouble = Refused(408, "This came too slowly. Send it again over a better connection.")
                raise trouble from None
            received += len(message.get("body", b""))
            whole = not message.get("more_body", False)
            if received > most:
                trouble = _too_large(most)
                raise trouble
            return message

        async def with_headers(message: Message) -> None:
            nonlocal started
            if trouble is not None and not started:
                return  # whatever the application made of a body that was cut off
            if message["type"] == "http.response.start":
                started = True
                named = {name for name, _ in message["headers"]}
                extra: list[Any] = [(n.encode(), v.encode()) for n, v in HEADERS.items() if n.encode() not in named]
                if b"content-security-policy" not in named:
                    extra.append((b"content-security-policy", PAGES.encode()))
                if given is None and b"set-cookie" not in named:
                    extra.append((b"set-cookie", cookie_line(cookie, request).encode()))
                message["headers"] = [*message["headers"], *extra]
            await send(message)

        length = request.headers.get("content-length", "0")
        if length.isdigit() and int(length) > most:
            refusal: Refused | None = _too_large(most)
        else:
            try:
                await self.app(scope, limited, with_headers)
            except Refused:
                pass
            except Exception:  # a defect: said in plain words, and told whole where the program was started
                if not started and trouble is None:
                    await plain(500, "This went wrong by a defect of logan. Go back and try again.", with_headers)
                raise
            refusal = trouble
        if refusal is not None and not started:
            trouble = None
            await plain(refusal.status, refusal.text, with_headers)


def _too_large(most: int) -> Refused:
    if most <= MOST_FORM_BYTES:
        return Refused(413, "This form is too large. Write less, or hand it in as a file.")
    return Refused(413, f"The captures are larger than {most // 1_000_000} MB together. Hand in fewer or shorter ones.")


async def plain(status: int, text: str, send: Send) -> None:
    """An answer of one line of text."""
    head = [(b"content-type", b"text/plain; charset=utf-8"), (b"connection", b"close")]
    await send({"type": "http.response.start", "status": status, "headers": head})
    await send({"type": "http.response.body", "body": text.encode()})


def cookie_line(value: str, request: Request) -> str:
    """The session cookie: not for scripts, not for other sites, only over TLS where TLS is used."""
    secure = "; Secure" if request.url.scheme == "https" else ""
    return f"{COOKIE}={value}; Path=/; HttpOnly; SameSite=Strict{secure}"
