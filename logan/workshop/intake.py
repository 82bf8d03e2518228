"""What pages and devices share: captures taken in, only acknowledged when they are safe."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Final

from fastapi import Request

from logan.errors import UsageError
from logan.knowledge import profiles, texts
from logan.store import cases
from logan.workshop import arriving
from logan.workshop.arriving import Form
from logan.workshop.guard import Asker, check_may

LONGEST_LABEL: Final = 80
MOST_WORDS: Final = 20
MOST_FILES: Final = 50
FIELDS: Final = {"token", "vehicle", "engine", "work", "complaints", "sending"}


async def hand_in(
    request: Request, asks: Callable[[Request], Asker], allowed: Callable[[Form], None] = lambda _form: None
) -> int:
    """Take the captures of a request in and make their case; its number.

    Parameters
    ----------
    asks : who sends, asked before anything of the body is read
    allowed : refuses by the fields before the first capture
    """
    who = await asyncio.to_thread(asks, request)
    check_may(who, "hand_in")
    form = await arriving.received(request, request.app.state.folder, allowed)
    try:
        return await asyncio.to_thread(take, request, who, form)
    finally:
        form.drop()


def take(
    request: Request,
    who: Asker,
    form: Form,
) -> int:
    """Keep the captures of a form and make their case; its number.

    Raises
    ------
    UsageError : no or empty files, unknown words, a label that is too long
    """
    state = request.app.state
    vehicle, engine = form.one("vehicle").strip(), form.one("engine")
    work, complaints = form.all("work"), form.all("complaints")
    if len(vehicle) > LONGEST_LABEL:
        raise UsageError("the vehicle's label is too long", do=f"use at most {LONGEST_LABEL} characters")
    unknown = {name for name, _ in form.fields} - FIELDS
    if unknown:
        raise UsageError(f"there is no field {min(unknown)[:LONGEST_LABEL]}", do=f"use {', '.join(sorted(FIELDS))}")
    if len(form.files) > MOST_FILES or max(len(work), len(complaints)) > MOST_WORDS:
        raise UsageError("there are too many of one kind", do=f"at most {MOST_FILES} files and {MOST_WORDS} words")
    if len(form.one("sending")) > LONGEST_LABEL:
        raise UsageError("the mark of this sending is too long", do=f"use at most {LONGEST_LABEL} characters")
    if engine and engine not in profiles.names(state.folders):
        raise UsageError("this engine has no profile here", do="choose one from the list")
    if set(work) - set(texts.work(state.folders)) or set(complaints) - set(texts.complaints(state.folders)):
        raise UsageError("a word of the recent work or complaints is not known", do="choose from the list")
    for file in form.files:
        file.check()  # all of them before the first is kept
    case_id = cases.hand_in(
        state.sessions, [file.keep() for file in form.files], who.name,
        vehicle=vehicle, engine=engine or None, work=work, complaints=complaints, sending=form.one("sending"),
    )  # fmt: skip
    state.analysts.wake()
    return case_id
