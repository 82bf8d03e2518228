"""What pages and devices share: captures taken in, only acknowledged when they are safe."""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import Request, UploadFile

from logan.errors import UsageError
from logan.knowledge import profiles, texts
from logan.store import captures, cases
from logan.workshop.guard import Asker

LONGEST_LABEL = 80


def take(
    request: Request,
    who: Asker,
    files: Sequence[UploadFile],
    vehicle: str,
    engine: str,
    work: Sequence[str],
    complaints: Sequence[str],
) -> int:
    """Keep captures and make their case; its number.

    Raises
    ------
    UsageError : no or empty files, unknown words, a label that is too long
    """
    if len(vehicle) > LONGEST_LABEL:
        raise UsageError("the vehicle's label is too long", do=f"use at most {LONGEST_LABEL} characters")
    if engine and engine not in profiles.names():
        raise UsageError("this engine has no profile here", do="choose one from the list")
    if set(work) - set(texts.work()) or set(complaints) - set(texts.complaints()):
        raise UsageError("a word of the recent work or complaints is not known", do="choose from the list")
    state = request.app.state
    kept = [captures.keep(state.folder, file.file, file.filename or "") for file in files if file.filename]
    case_id = cases.hand_in(
        state.sessions, kept, who.name,
        vehicle=vehicle.strip(), engine=engine or None, work=work, complaints=complaints,
    )  # fmt: skip
    state.analysts.wake()
    return case_id
