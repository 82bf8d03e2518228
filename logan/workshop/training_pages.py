"""The training room: exercises and lessons for the trainer, the record step by step for the trainee."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Final

from fastapi import APIRouter, Form, Request, Response
from starlette.responses import HTMLResponse, RedirectResponse

from logan.errors import UsageError
from logan.knowledge import training
from logan.report import moments
from logan.simulate import parameters
from logan.simulate.samples import samples
from logan.store import cases, lessons
from logan.store.database import Attempt, Exercise, Lesson, now
from logan.workshop import exercises, guard, making, scoring, words
from logan.workshop.fields import Asked, Number, Numbers, Text

router = APIRouter(include_in_schema=False, prefix="/training")
PLAIN_STORY: Final = "A vehicle came in for a road test. Nothing else is known."
PLAYED: Final = "drive"
"""The view whose cost pays for playing the record too."""


def _who(request: Request) -> guard.Asker:
    return guard.asker(request, request.app.state.sessions)


def _trainer(request: Request) -> guard.Asker:
    who = _who(request)
    guard.check_may(who, "train")
    return who


@router.get("")
def room(request: Request) -> Response:
    """The trainer's exercises and lessons; for anybody else, how to begin."""
    who, sessions = _who(request), request.app.state.sessions
    if "train" not in who.may:
        return words.page(request, "training.html.j2", who=who, train=False, exercises=[], lessons=[], titles={})
    return words.page(
        request, "training.html.j2", who=who, train=True, exercises=lessons.exercises(sessions),
        lessons=lessons.lessons(sessions), titles=scoring.titles(request.app.state.folders),
        engines=sorted(parameters.engines()), drives=sorted(parameters.drives()), canned=sorted(samples()),
        makeable=parameters.faults(),
        exists={fault: making.engines_of(kind) for fault, kind in parameters.faults().items()},
    )  # fmt: skip


@router.post("/exercises")
def make(
    request: Request,
    token: Text,
    source: Text,
    title: Text = "",
    story: Text = "",
    canned: Text = "",
    case: Text = "",
    truth: Text = "",
    engine: Text = "",
    fault: Text = "",
    size: Text = "",
    cylinder: Text = "",
    drive: Text = "short_test",
    seed: Text = "1",
    sensors: Annotated[bool, Form()] = False,
) -> Response:
    """Make an exercise of a canned log, of a new simulation or of a stored case."""
    who = _trainer(request)
    guard.check_form(request, token)
    state = request.app.state
    if source == "canned":
        origin, known = making.canned(canned)
    elif source == "made":
        origin, known = making.simulated(engine, fault, size, cylinder, drive, seed, sensors)
    elif source == "case":
        origin, known = making.stored(cases.get(state.sessions, making.number("case", case)), truth, state.folders)
    else:
        raise UsageError("what the exercise is made from is not said", do="go back and choose")
    number = lessons.make(
        state.sessions, who.name, title or f"Road test of {now()[:10]}", story or PLAIN_STORY, origin, known
    )
    state.preparer.add(number)
    return RedirectResponse(f"/training/exercises/{number}", 303)


@router.get("/exercises/{number}")
def exercise(request: Request, number: Number) -> Response:
    """An exercise as the trainer sees it, with its truth."""
    who, found = _trainer(request), _exercise(request, number)
    tool = scoring.of_the_tool(found.result, found.truth["fault"]) if found.result else None
    return words.page(request, "training_exercise.html.j2", who=who, exercise=found, views=_views(found), tool=tool,
        played=PLAYED,
    )  # fmt: skip


@router.post("/exercises/{number}/title")
def rename_exercise(request: Request, number: Number, token: Text, title: Text) -> Response:
    """Give an exercise another title."""
    who, found = _made(request, number, token)
    lessons.rename(request.app.state.sessions, who.name, lessons.EXERCISE, found.id, title)
    return RedirectResponse(f"/training/exercises/{number}", 303)


@router.post("/exercises/{number}/withdrawn")
def withdraw_exercise(request: Request, number: Number, token: Text, away: Annotated[bool, Form()]) -> Response:
    """Withdraw an exercise, or take it up again."""
    who, found = _made(request, number, token)
    lessons.withdraw(request.app.state.sessions, who.name, lessons.EXERCISE, found.id, away)
    return RedirectResponse(f"/training/exercises/{number}", 303)


@router.post("/lessons/{link}/title")
def rename_lesson(request: Request, link: Asked, token: Text, title: Text) -> Response:
    """Give a lesson another title."""
    who, found = _composed(request, link, token)
    lessons.rename(request.app.state.sessions, who.name, lessons.LESSON, found.id, title)
    return RedirectResponse(f"/training/lessons/{link}", 303)


@router.post("/lessons/{link}/withdrawn")
def withdraw_lesson(request: Request, link: Asked, token: Text, away: Annotated[bool, Form()]) -> Response:
    """Withdraw a lesson, or take it up again."""
    who, found = _composed(request, link, token)
    lessons.withdraw(request.app.state.sessions, who.name, lessons.LESSON, found.id, away)
    return RedirectResponse(f"/training/lessons/{link}", 303)


@router.get("/exercises/{number}/replay")
def played(request: Request, number: Number, t: Asked = "") -> Response:
    """The record of an exercise moving, for its trainer."""
    who = _trainer(request)
    return _replay(request, who, number, f"/training/exercises/{number}", t)


@router.get("/exercises/{number}/replay/at")
def played_at(request: Request, number: Number, t: Asked = "") -> Response:
    """One moment of it."""
    _trainer(request)
    return _moment(request, number, t)


@router.get("/exercises/{number}/{view}")
def look(request: Request, number: Number, view: Asked) -> Response:
    """A view of an exercise, for its trainer."""
    _trainer(request)
    return _page(request, number, view)


@router.post("/lessons")
def compose(request: Request, token: Text, title: Text, chosen: Numbers = None) -> Response:
    """Compose a lesson; its link is for the class."""
    who = _trainer(request)
    guard.check_form(request, token)
    link = lessons.compose(request.app.state.sessions, who.name, title, chosen or [])
    return RedirectResponse(f"/training/lessons/{link}", 303)


@router.get("/lessons/{link}")
def lesson(request: Request, link: Asked) -> Response:
    """A lesson: what there is to do, and for the trainer who is where."""
    who, found = _who(request), _lesson(request, link)
    done = lessons.attempts(request.app.state.sessions, found.id)
    train = "train" in who.may
    return words.page(
        request, "training_lesson.html.j2", who=who, lesson=found, train=train,
        mine={one.exercise_id: one for one in done if one.who == who.name}, named=not who.role,
        people=_progress(done) if train else {}, address=str(request.url),
    )  # fmt: skip


@router.post("/lessons/{link}/begin")
def begin(request: Request, link: Asked, token: Text, number: Annotated[int, Form()], name: Text = "") -> Response:
    """Begin an exercise, or go on with it."""
    who, found = _who(request), _lesson(request, link)
    guard.check_form(request, token)
    if number not in [item.exercise_id for item in found.items]:
        raise guard.Refused(404, "This lesson has no such exercise.")
    trainee = who.name if who.role else (name.strip()[:80] or who.name)
    attempt = lessons.begin(request.app.state.sessions, found.id, number, trainee)
    return RedirectResponse(f"/training/attempts/{attempt}", 303)


@router.get("/attempts/{number}")
def attempt(request: Request, number: Number) -> Response:
    """The record step by step, the answer, and after it the truth."""
    who, found = _attempt(request, number)
    rules, folders = training.load(), request.app.state.folders
    known = scoring.catalogue(folders)
    checks = {fault.title: [one.text for one in fault.checks] for fault in known.values()}
    truth = found.exercise.truth
    entry = known.get(truth["fault"])
    tool = scoring.of_the_tool(found.exercise.result or {}, truth["fault"]) if found.answer else None
    return words.page(
        request, "training_attempt.html.j2", who=who, attempt=found, views=_views(found.exercise),
        titles=scoring.titles(folders), checks=checks, spent=scoring.minutes(rules, found.seen),
        most=scoring.minutes(rules, found.exercise.views), rules=rules.score,
        entry=entry if found.answer else None, tool=tool, played=PLAYED,
    )  # fmt: skip


@router.post("/attempts/{number}/see")
def see(request: Request, number: Number, token: Text, view: Text) -> Response:
    """Ask to see a part of the record."""
    _, found = _attempt(request, number)
    guard.check_form(request, token)
    if view not in found.exercise.views:
        raise guard.Refused(404, "This record does not show that.")
    lessons.see(request.app.state.sessions, number, view)
    return RedirectResponse(f"/training/attempts/{number}/views/{view}", 303)


@router.get("/attempts/{number}/replay")
def replay(request: Request, number: Number, t: Asked = "") -> Response:
    """The record moving, for a trainee who has asked for the drive over time: it shows the same."""
    who, found = _may_play(request, number)
    return _replay(request, who, found.exercise_id, f"/training/attempts/{number}", t)


@router.get("/attempts/{number}/replay/at")
def replay_at(request: Request, number: Number, t: Asked = "") -> Response:
    """One moment of it."""
    _, found = _may_play(request, number)
    return _moment(request, found.exercise_id, t)


@router.get("/attempts/{number}/views/{view}")
def seen(request: Request, number: Number, view: Asked) -> Response:
    """A view that was asked for; the whole report only after the answer."""
    _, found = _attempt(request, number)
    if found.answer is None and view not in found.seen:
        raise guard.Refused(403, "Ask to see this first: it costs time, as a check does in the workshop.")
    return _page(request, found.exercise_id, view)


@router.post("/attempts/{number}/answer")
def answer(
    request: Request, number: Number, token: Text, first: Text, second: Text = "", third: Text = "", check: Text = ""
) -> Response:
    """Commit to a ranking and a next check."""
    _, found = _attempt(request, number)
    guard.check_form(request, token)
    folders = request.app.state.folders
    ranking = [one for one in dict.fromkeys((first, second, third)) if one]
    if not ranking or set(ranking) - set(scoring.titles(folders)):
        raise UsageError("a fault of the answer is not known", do="choose from the list")
    points = scoring.score(
        training.load(), found.exercise.truth["fault"], ranking, check, found.seen, found.exercise.views, folders
    )
    lessons.commit(request.app.state.sessions, number, {"ranking": ranking, "check": check}, points)
    return RedirectResponse(f"/training/attempts/{number}", 303)


def _exercise(request: Request, number: int) -> Exercise:
    found = lessons.exercise(request.app.state.sessions, number)
    if found is None:
        raise guard.Refused(404, "There is no such exercise.")
    return found


def _made(request: Request, number: int, token: str) -> tuple[guard.Asker, Exercise]:
    """The trainer who changes an exercise, and the exercise."""
    who = _trainer(request)
    guard.check_form(request, token)
    return who, _exercise(request, number)


def _composed(request: Request, link: str, token: str) -> tuple[guard.Asker, Lesson]:
    """The trainer who changes a lesson, and the lesson."""
    who = _trainer(request)
    guard.check_form(request, token)
    return who, _lesson(request, link)


def _lesson(request: Request, link: str) -> Lesson:
    found = lessons.lesson(request.app.state.sessions, link)
    if found is None:
        raise guard.Refused(404, "There is no such lesson.")
    return found


def _attempt(request: Request, number: int) -> tuple[guard.Asker, Attempt]:
    """An attempt and who asks: the trainee whose it is, or somebody who trains."""
    who = _who(request)
    found = lessons.attempt(request.app.state.sessions, number)
    if found is None or (found.who != who.name and "train" not in who.may):
        raise guard.Refused(404, "There is no such attempt of yours.")
    return who, found


def _may_play(request: Request, number: int) -> tuple[guard.Asker, Attempt]:
    who, found = _attempt(request, number)
    if found.answer is None and PLAYED not in found.seen:
        raise guard.Refused(
            403, "Ask to see the drive over time first: it costs time, as a check does in the workshop."
        )
    return who, found


def _tape(request: Request, exercise_id: int) -> moments.Tape:
    path = exercises.tape_of(request.app.state.folder, exercise_id)
    if not path.exists():
        raise guard.Refused(404, "This record cannot be played.")
    return moments.unpacked(path)


def _replay(request: Request, who: guard.Asker, exercise_id: int, back: str, asked: str) -> Response:
    tape, found = _tape(request, exercise_id), lessons.exercise(request.app.state.sessions, exercise_id)
    title = found.title if found else ""
    body = moments.body(tape, moments.within(tape, asked), f"{back}/replay/at", title)
    return words.page(request, "training_replay.html.j2", who=who, back=back, title=title, body=body)


def _moment(request: Request, exercise_id: int, asked: str) -> Response:
    tape = _tape(request, exercise_id)
    return HTMLResponse(moments.fragment(tape, moments.within(tape, asked)))


def _page(request: Request, exercise_id: int, view: str) -> Response:
    if view not in (exercises.WHOLE, *(one.id for one in training.load().view)):
        raise guard.Refused(404, "There is nothing here.")
    path = exercises.page_of(request.app.state.folder, exercise_id, view)
    if not path.exists():
        raise guard.Refused(404, "This record does not show that.")
    return words.stored(path)


def _views(found: Exercise) -> list[training.View]:
    return [view for view in training.load().view if view.id in found.views]


def _progress(done: list[Attempt]) -> dict[str, dict[int, tuple[Attempt, float, bool]]]:
    """Each trainee's attempts by exercise: the attempt, minutes spent in it, whether this one is stuck."""
    rules = training.load()
    out: dict[str, dict[int, tuple[Attempt, float, bool]]] = {}
    for one in done:
        quiet = (datetime.now(UTC) - datetime.fromisoformat(one.stepped)).total_seconds() / 60.0
        stuck = one.answer is None and quiet >= rules.score.stuck_minutes
        out.setdefault(one.who, {})[one.exercise_id] = (one, scoring.minutes(rules, one.seen), stuck)
    return out
