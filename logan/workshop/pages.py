"""The pages: hand in, list, case, report, sign in."""

from __future__ import annotations

import asyncio
import json
import secrets
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Final

from fastapi import APIRouter, Request, Response
from starlette.responses import RedirectResponse, StreamingResponse

from logan.knowledge import faults as fault_files
from logan.knowledge import profiles, texts
from logan.knowledge.folders import Folders
from logan.report import moments
from logan.report.text import plainly
from logan.store import cases, people
from logan.store.database import Case
from logan.workshop import aside, guard, intake, ticked, words
from logan.workshop import export as exports
from logan.workshop.analyst import report_of
from logan.workshop.fields import Asked, Number, Text

router = APIRouter(include_in_schema=False)
WATCH_S: Final = 0.3
MOST_FAULTS: Final = 5
MOST_CHECKED: Final = 3


def _who(request: Request) -> guard.Asker:
    return guard.asker(request, request.app.state.sessions)


def _case(request: Request, case_id: int, who: guard.Asker) -> Case:
    """A case that somebody may read."""
    sessions = request.app.state.sessions
    found = cases.get(sessions, case_id)
    if found is None or case_id in guard.hidden(who, sessions):
        raise guard.Refused(404, "There is no such case.")
    return found


def _others(request: Request, found: Case, who: guard.Asker) -> list[Case]:
    """Other cases of the vehicle that somebody may read."""
    sessions = request.app.state.sessions
    without = guard.hidden(who, sessions)
    return [one for one in cases.others_of_the_vehicle(sessions, found) if one.id not in without]


@router.get("/look.css")
def look() -> Response:
    """The style."""
    return Response(words.look(), media_type="text/css")


@router.get("/workshop.js")
def script() -> Response:
    """The script."""
    return Response(words.script(), media_type="text/javascript")


@router.get("/replay.js")
def replay_script() -> Response:
    """The script of a record that is played."""
    return Response(moments.script(), media_type="text/javascript")


@router.get("/favicon.ico")
def icon() -> Response:
    """The sign of the tab: a wheel with one tooth missing."""
    return Response((words.HERE / "assets" / "icon.svg").read_text("utf-8"), media_type="image/svg+xml")


@router.get("/")
def listed(
    request: Request, words_: Asked = "", state: Asked = "", fault: Asked = "", since: Asked = "", until: Asked = ""
) -> Response:
    """All cases, the newest first, or those that fit."""
    who, sessions = _who(request), request.app.state.sessions
    asked = {"words_": words_, "state": state, "fault": fault, "since": since, "until": until}
    found = cases.find(sessions, words_, state, fault, since, until, guard.hidden(who, sessions))
    return words.page(
        request, "cases.html.j2", who=who, cases=found, asked=asked, most=cases.PAGE, verdicts=cases.VERDICTS,
        now={one.id: cases.verdict_now(one.reviews) for one in found},
        faults=_titles(cases.faults_seen(sessions), request.app.state.folders),
    )  # fmt: skip


def _titles(ids: list[str], folders: Folders) -> list[tuple[str, str]]:
    """Faults with their titles, in the order of these; one that no file describes any more keeps its name."""
    known = fault_files.load(folders=folders).faults
    return sorted(((id_, known[id_].title if id_ in known else plainly(id_)) for id_ in ids), key=lambda pair: pair[1])


@router.get("/hand-in")
def form(request: Request) -> Response:
    """The form of a new case."""
    who, folders = _who(request), request.app.state.folders
    guard.check_may(who, "hand_in")
    return words.page(
        request, "hand_in.html.j2", who=who, engines=profiles.titles(folders), work=texts.work(folders).values(),
        complaints=texts.complaints(folders).values(), sending=secrets.token_hex(16),
    )  # fmt: skip


@router.post("/hand-in")
async def hand_in(request: Request) -> Response:
    """Take captures in; the answer comes when they are safe. The form's token comes before them and is checked then."""
    case_id = await intake.hand_in(request, _who, lambda form: guard.check_form(request, form.one("token")))
    return RedirectResponse(f"/cases/{case_id}", 303)


@router.get("/cases/{case_id}")
def case(request: Request, case_id: Number) -> Response:
    """A case: how far it is, its finding, reviews and trail."""
    who = _who(request)
    found = _case(request, case_id, who)
    ranks = ticked.after_checks(found.result, found.ticks, request.app.state.folders) if found.result else []
    suspects = cases.in_question(found.result) if found.result else []
    shown = {fault["fault"] for fault in suspects[:MOST_CHECKED]} | {tick.fault for tick in found.ticks}
    faults = [fault for fault in (found.result or {}).get("faults", []) if fault["fault"] in shown]
    others = _others(request, found, who)
    now = cases.verdict_now(found.reviews)
    return words.page(
        request, "case.html.j2", who=who, case=found, faults=faults, verdicts=cases.VERDICTS,
        outcomes=cases.OUTCOMES, said={(tick.fault, tick.text): tick.outcome for tick in found.ticks},
        ranks=ranks[:MOST_FAULTS], trail=cases.trail(request.app.state.sessions, case_id), others=others,
        trend=sum(one.id < case_id for one in others) + 1 >= aside.LEAST_DRIVES,
        again=now is not None and now.kind == "record_again", now=now, replaced=cases.replaced(found.reviews),
    )  # fmt: skip


@router.get("/cases/{case_id}/report")
def report(request: Request, case_id: Number) -> Response:
    """The report as the command line writes it, kept apart from the workshop by its policy."""
    path = report_of(request.app.state.folder, _case(request, case_id, _who(request)).id)
    if not path.exists():
        raise guard.Refused(404, "This case has no report yet.")
    return words.stored(path)


@router.get("/cases/{case_id}/export")
def export(request: Request, case_id: Number) -> Response:
    """The case as one JSON file."""
    found = _case(request, case_id, _who(request))
    content = exports.document(found, cases.trail(request.app.state.sessions, found.id))
    name = {"content-disposition": f'attachment; filename="case_{found.id}.json"'}
    return Response(content, media_type="application/json", headers=name)


@router.get("/cases/{case_id}/plan")
def plan(request: Request, case_id: Number) -> Response:
    """What the next recording must hold to tell what this one left open, with the card for the road."""
    found, state = _done(request, case_id, _who(request)), request.app.state
    path = aside.plan_of(state.folder, found.id)
    trouble = aside.made(path, aside.write_plan, aside.suspects(found.result or {}), found.engine, state.folders)
    return _aside(path, trouble)


@router.get("/cases/{case_id}/against/{other_id}")
def against(request: Request, case_id: Number, other_id: Number) -> Response:
    """This case and another one of the vehicle: before and after."""
    who, state = _who(request), request.app.state
    before, after = sorted((_done(request, one, who) for one in (case_id, other_id)), key=lambda one: one.id)
    if before.id == after.id:
        raise guard.Refused(404, "A case is not compared with itself.")
    path = aside.comparison_of(state.folder, before.id, after.id)
    drives = [(aside.drive_name(one), [(file.sha256, file.name) for file in one.files]) for one in (before, after)]
    return _compared(request, path, drives, after)


@router.get("/cases/{case_id}/history")
def history(request: Request, case_id: Number) -> Response:
    """All road tests of the vehicle up to this one, and the trend of every measure over them."""
    who, state = _who(request), request.app.state
    found = _done(request, case_id, who)
    before = [one for one in _others(request, found, who) if one.id < found.id]
    line = [*before, found][-aside.MOST_DRIVES :]
    if len(line) < aside.LEAST_DRIVES:
        raise guard.Refused(404, f"A trend needs {aside.LEAST_DRIVES} road tests of one vehicle.")
    path = aside.history_of(state.folder, [one.id for one in line])
    drives = [(aside.drive_name(one), [(file.sha256, file.name) for file in one.files]) for one in line]
    return _compared(request, path, drives, found)


def _compared(request: Request, path: Path, drives: list[tuple[str, list[tuple[str, str]]]], last: Case) -> Response:
    state = request.app.state
    arguments = (state.folder, drives, last.engine, last.work, state.folders)
    return _aside(path, aside.made(path, aside.write_comparison, *arguments))


def _done(request: Request, case_id: int, who: guard.Asker) -> Case:
    found = _case(request, case_id, who)
    if found.state != "done":
        raise guard.Refused(409, "This case has no finding yet.")
    return found


def _aside(path: Path, trouble: str) -> Response:
    if trouble:
        raise guard.Refused(422, f"This page cannot be made: {trouble}.")
    return words.stored(path)


@router.get("/cases/{case_id}/progress")
async def progress(request: Request, case_id: Number) -> Response:
    """How far the analysis is, as server-sent events, until it ends."""
    who = await asyncio.to_thread(_who, request)

    async def told() -> AsyncIterator[str]:
        while not await request.is_disconnected():
            found = await asyncio.to_thread(_case, request, case_id, who)
            ended = found.state in ("done", "failed")
            still = words.STATES[found.state], float(ended)
            doing, share = still if ended else request.app.state.analysts.progress.get(case_id, still)
            yield f"data: {json.dumps({'state': found.state, 'doing': doing, 'share': share})}\n\n"
            if ended:
                return
            await asyncio.sleep(WATCH_S)

    await asyncio.to_thread(_case, request, case_id, who)
    return StreamingResponse(told(), media_type="text/event-stream")


@router.post("/cases/{case_id}/again")
def again(request: Request, case_id: Number, token: Text) -> Response:
    """Analyse a case again that could not be analysed."""
    who, state = _who(request), request.app.state
    guard.check_form(request, token)
    guard.check_may(who, "hand_in")
    cases.again(state.sessions, _case(request, case_id, who).id, who.name)
    state.analysts.wake()
    return RedirectResponse(f"/cases/{case_id}", 303)


@router.post("/cases/{case_id}/review")
def review(request: Request, case_id: Number, token: Text, kind: Text, text: Text = "") -> Response:
    """Add a verdict or a note."""
    who = _who(request)
    guard.check_form(request, token)
    guard.check_may(who, "note" if kind == "note" else "verdict")
    found = _case(request, case_id, who)
    if kind != "note" and found.state != "done":
        raise guard.Refused(409, "There is no finding yet on which to give a verdict.")
    cases.review(request.app.state.sessions, case_id, who.name, kind, text)
    return RedirectResponse(f"/cases/{case_id}", 303)


@router.post("/cases/{case_id}/check")
def check(request: Request, case_id: Number, token: Text, fault: Text, text: Text, outcome: Text) -> Response:
    """Add the outcome of a check on the vehicle."""
    who = _who(request)
    guard.check_form(request, token)
    guard.check_may(who, "check")
    cases.tick(request.app.state.sessions, _case(request, case_id, who).id, who.name, fault, text, outcome)
    return RedirectResponse(f"/cases/{case_id}", 303)


@router.get("/sign-in")
def sign_in_form(request: Request) -> Response:
    """The sign-in form."""
    return words.page(request, "sign_in.html.j2", wrong="")


@router.post("/sign-in")
def sign_in(request: Request, token: Text, name: Text, password: Text) -> Response:
    """Sign in; the browser gets a new session."""
    guard.check_form(request, token)
    state = request.app.state
    address = request.client.host if request.client else ""
    keys = (f"name {name}", f"address {address}")
    state.tries.check(*keys)
    if people.checked(state.sessions, name, password) is None:
        state.tries.wrong(*keys)
        people.refused(state.sessions, name, address)
        return words.page(request, "sign_in.html.j2", status=403, wrong="Name or password is wrong.")
    answer = RedirectResponse("/", 303)
    answer.headers["set-cookie"] = guard.cookie_line(people.give_pass(state.sessions, name, "browser"), request)
    return answer


@router.post("/sign-out")
def sign_out(request: Request, token: Text) -> Response:
    """End the session."""
    guard.check_form(request, token)
    people.take_back(request.app.state.sessions, request.state.cookie)
    return RedirectResponse("/sign-in", 303)
