"""The interface for recording devices and other programs, described at ``/api/openapi.json``."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, File, Form, Request, UploadFile

from logan.store import cases
from logan.store.database import Case
from logan.workshop import guard, intake
from logan.workshop.fields import Number

router = APIRouter(prefix="/api/v1")


@router.post("/cases", status_code=201, summary="Hand in the captures of one road test")
def hand_in(
    request: Request,
    captures: Annotated[list[UploadFile], File(description="One or more captures.")],
    vehicle: Annotated[str, Form()] = "",
    engine: Annotated[str, Form(description="A profile by name; empty: recognised.")] = "",
    work: Annotated[list[str] | None, Form(description="Words of recent work.")] = None,
    complaints: Annotated[list[str] | None, Form(description="Words of complaint.")] = None,
) -> dict[str, Any]:
    """Answered only when the captures are safe on disk. Needs ``Authorization: Bearer`` with a device's pass."""
    who = guard.device(request, request.app.state.sessions)
    guard.check_may(who, "hand_in")
    return {"case": intake.take(request, who, captures, vehicle, engine, work or [], complaints or [])}


@router.get("/cases/{case_id}", summary="The state of a case and, when it is done, its finding")
def case(request: Request, case_id: Number) -> dict[str, Any]:
    """``finding`` is the JSON that ``logan report --json`` writes."""
    guard.device(request, request.app.state.sessions)
    found: Case | None = cases.get(request.app.state.sessions, case_id)
    if found is None:
        raise guard.Refused(404, "There is no such case.")
    return {
        "case": found.id, "state": found.state, "vehicle": found.vehicle, "handed_in": found.made,
        "trouble": found.trouble, "finding": found.result,
    }  # fmt: skip
