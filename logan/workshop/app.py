"""The web application: put together from its parts."""

from __future__ import annotations

import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Final

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from sqlalchemy.exc import OperationalError
from starlette.exceptions import HTTPException
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse, RedirectResponse

from logan import __version__
from logan.errors import LoganError
from logan.knowledge.folders import Folders
from logan.store.cases import MarkTakenError
from logan.store.database import Sessions, make_folder
from logan.workshop import device, guard, pages, training_pages, words
from logan.workshop.analyst import LIMIT_S, Analysts
from logan.workshop.exercises import Preparer

LOOPBACK: Final = ("127.0.0.1", "localhost", "::1", "[::1]")
MOST_BYTES: Final = 2_000_000_000


def make(
    sessions: Sessions,
    folder: Path,
    *,
    hosts: tuple[str, ...] = LOOPBACK,
    most_bytes: int = MOST_BYTES,
    limit_s: float = LIMIT_S,
    folders: Folders = (),
) -> FastAPI:
    """The application over a data base and a data folder.

    Parameters
    ----------
    hosts : names under which it may be asked for
    folders : knowledge folders over the built-in data files
    """
    make_folder(folder)
    analysts = Analysts(sessions, folder, max(1, (os.cpu_count() or 2) - 1), limit_s, folders)
    preparer = Preparer(sessions, folder, limit_s, folders)

    @asynccontextmanager
    async def life(_app: FastAPI) -> AsyncIterator[None]:
        analysts.start()
        preparer.start()
        yield
        preparer.stop()
        analysts.stop()

    app = FastAPI(
        title="logan workshop", version=__version__, docs_url=None, redoc_url=None, openapi_url="/api/openapi.json",
        lifespan=life,
    )  # fmt: skip
    app.state.sessions, app.state.folder, app.state.analysts = sessions, folder, analysts
    app.state.preparer, app.state.folders = preparer, folders
    app.state.key, app.state.tries = guard.secret(folder), guard.Tries()
    app.include_router(pages.router)
    app.include_router(training_pages.router)
    app.include_router(device.router(folders))
    app.add_exception_handler(guard.Refused, _refused)
    app.add_exception_handler(LoganError, _wrong)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(RequestValidationError, _incomplete)
    app.add_exception_handler(OperationalError, _not_kept)
    app.add_exception_handler(OSError, _not_kept)
    app.add_exception_handler(ClientDisconnect, _gone)
    app.add_middleware(TrustedHostMiddleware, allowed_hosts=list(hosts))
    app.add_middleware(guard.Gate, most_bytes=most_bytes)  # the last is the outermost: its headers are on every answer
    return app


def _answer(request: Request, status: int, text: str) -> Response:
    if request.url.path.startswith("/api/"):
        return JSONResponse({"error": text}, status)
    return words.page(request, "trouble.html.j2", status=status, text=text)


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, guard.Refused)
    if error.status == 401 and not request.url.path.startswith("/api/"):
        return RedirectResponse("/sign-in", 303)
    return _answer(request, error.status, error.text)


async def _wrong(request: Request, error: Exception) -> Response:
    assert isinstance(error, LoganError)
    text = str(error)
    if not error.file and not error.place:  # a name stays as it is
        text = f"{text[0].upper()}{text[1:]}"
    return _answer(request, 409 if isinstance(error, MarkTakenError) else 400, f"{text}.")


async def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    text = "There is nothing here." if error.status_code == 404 else str(error.detail)
    return _answer(request, error.status_code, text)


async def _incomplete(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    if any(wrong["loc"][0] == "path" for wrong in error.errors()):
        return _answer(request, 404, "There is nothing here.")
    return _answer(request, 422, "Something is absent or not as it should be. Go back and fill in the form again.")


async def _not_kept(request: Request, error: Exception) -> Response:
    """The data base is locked or away, or the disk full: nothing of this request was taken."""
    why = getattr(error, "strerror", None) or next(
        iter(str(getattr(error, "orig", "")).splitlines()), "no reason given"
    )
    text = f"The workshop cannot write just now ({why}). Nothing of this was taken: send it again in a while."
    return _answer(request, 503, text)


async def _gone(_request: Request, _error: Exception) -> Response:
    """Whoever sent has gone before the end: nobody reads this answer."""
    return Response(status_code=400)
