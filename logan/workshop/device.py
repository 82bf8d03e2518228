"""The interface for recording devices and other programs, described at ``/api/openapi.json``."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from fastapi import APIRouter, Request

from logan.knowledge import profiles, texts
from logan.knowledge.folders import Folders
from logan.store import cases
from logan.store.database import Case
from logan.workshop import guard, intake
from logan.workshop.fields import Number

_WORD: Final = {"type": "string", "maxLength": intake.LONGEST_LABEL}


def _several(words: Iterable[str]) -> dict[str, Any]:
    return {"type": "array", "maxItems": intake.MOST_WORDS, "items": {"enum": sorted(words)}}


ANSWERS: Final[dict[int | str, dict[str, Any]]] = {
    400: {"description": "The form is not as described; the reason stands in ``error``."},
    401: {"description": "The pass is absent or not good."},
    403: {"description": "The role of the pass's holder does not allow it."},
    408: {"description": "The body came too slowly."},
    409: {"description": "The mark in ``sending`` stands on other captures already."},
    413: {"description": "The captures are too large."},
    503: {"description": "Nothing can be written just now; nothing was taken."},
}
READ: Final[dict[int | str, dict[str, Any]]] = {
    401: ANSWERS[401],
    404: {"description": "There is no such case."},
}


def _sends(folders: Folders) -> dict[str, Any]:
    return {
        "requestBody": {
            "required": True,
            "content": {
                "multipart/form-data": {
                    "schema": {
                        "type": "object",
                        "required": ["captures"],
                        "additionalProperties": False,
                        "properties": {
                            "captures": {
                                "type": "array", "minItems": 1, "maxItems": intake.MOST_FILES,
                                "items": {"type": "string", "format": "binary", "minLength": 1},
                                "description": "One or more captures, each with a file name.",
                            },
                            "vehicle": _WORD,
                            "engine": {"enum": ["", *profiles.names(folders)], "description": "Empty: recognised."},
                            "work": _several(texts.work(folders)),
                            "complaints": _several(texts.complaints(folders)),
                            "sending": {
                                **_WORD,
                                "description": "A mark of the sender's own: sent again with it, it is the same case.",
                            },
                        },
                    }
                }
            },
        },
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Told:
    """What a device is told of a case."""

    case: int
    state: str
    vehicle: str
    handed_in: str
    trouble: str
    finding: dict[str, Any] | None


def _asks(request: Request) -> guard.Asker:
    return guard.device(request, request.app.state.sessions)


def router(folders: Folders = ()) -> APIRouter:
    """The interface where these knowledge folders say what engines, work and complaints there are."""
    out = APIRouter(prefix="/api/v1")
    out.post(
        "/cases", status_code=201, summary="Hand in the captures of one road test", openapi_extra=_sends(folders),
        responses=ANSWERS,
    )(hand_in)  # fmt: skip
    out.get("/cases/{case_id}", summary="The state of a case and, when it is done, its finding", responses=READ)(case)
    return out


async def hand_in(request: Request) -> dict[str, int]:
    """Answered only when the captures are safe on disk. Needs ``Authorization: Bearer`` with a device's pass."""
    return {"case": await intake.hand_in(request, _asks)}


def case(request: Request, case_id: Number) -> Told:
    """``finding`` is the JSON that ``logan report --json`` writes."""
    who, sessions = _asks(request), request.app.state.sessions
    found: Case | None = cases.get(sessions, case_id)
    if found is None or case_id in guard.hidden(who, sessions):
        raise guard.Refused(404, "There is no such case.")
    return Told(found.id, found.state, found.vehicle, found.made, found.trouble, found.result)
