"""Cases: handed in, analysed, looked for, reviewed. Each step leaves a line in the trail of deeds."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from contextlib import suppress
from typing import Any, Final

import sqlalchemy as sa
from sqlalchemy.orm import Session, defer

from logan.errors import UsageError
from logan.model.finding import SPEAKS, SUSPECT
from logan.store.captures import Kept
from logan.store.database import Case, CaseFile, Deed, Review, Sessions, StoredFile, Tick, now

MOST_ATTEMPTS: Final = 3
PAGE: Final = 50
LONGEST_VIN: Final = 40
VERDICTS: Final = {
    "agree": "agrees with the finding",
    "disagree": "disagrees with the finding",
    "record_again": "needs another recording",
}
"""What the lead can say of a finding."""
OUTCOMES: Final = {"confirmed": "fault confirmed", "refuted": "fault not confirmed", "undone": "taken back"}
"""How a check can come out."""


class MarkTakenError(UsageError):
    """The sender's mark stands on another sending already."""


def hand_in(
    sessions: Sessions,
    files: Sequence[Kept],
    by: str,
    *,
    vehicle: str = "",
    engine: str | None = None,
    work: Sequence[str] = (),
    complaints: Sequence[str] = (),
    sending: str = "",
) -> int:
    """Take captures that are already durable as a new case that waits for its analysis; its number.

    ``sending`` is the sender's own mark, if any: the same one again gives the case of the first time.

    Raises
    ------
    UsageError : no file at all
    MarkTakenError : the mark is that of other captures
    """
    unique = list({file.sha256: file for file in files}.values())
    if not unique:
        raise UsageError("no capture was handed in", do="choose at least one file")
    for file in unique:
        _enter(sessions, file)
    mark = hashlib.sha256(f"{by}\n{sending}".encode()).hexdigest() if sending else None
    case = Case(by=by, vehicle=vehicle, engine=engine, work=list(work), complaints=list(complaints), sending=mark)
    case.files = [CaseFile(place=k, sha256=file.sha256, name=file.name) for k, file in enumerate(unique)]
    try:
        with sessions.begin() as session:
            session.add(case)
            session.flush()
            note(session, by, f"handed in {len(unique)} capture{'s' * (len(unique) > 1)}", case.id)
            return case.id
    except sa.exc.IntegrityError:
        with sessions() as session:
            first = session.scalars(sa.select(Case).where(Case.sending == mark)).one()
        if {file.sha256 for file in first.files} != {file.sha256 for file in unique}:
            raise MarkTakenError(
                f"this mark of a sending belongs to case {first.id}, which holds other captures",
                do="load the form again, or let the device give each sending a mark of its own",
            ) from None
        return first.id


def _enter(sessions: Sessions, file: Kept) -> None:
    """Enter a file that is on disk, where it is not known yet."""
    with (
        suppress(sa.exc.IntegrityError),
        sessions.begin() as session,
    ):  # handed in twice at once: one of them entered it
        if session.get(StoredFile, file.sha256) is None:
            session.add(StoredFile(sha256=file.sha256, size=file.size))


def note(session: Session, by: str, what: str, case_id: int | None = None) -> None:
    """Add a deed to the trail."""
    session.add(Deed(by=by, what=what, case_id=case_id))


def resume(sessions: Sessions) -> None:
    """After a start: what was being analysed when the program ended waits again."""
    with sessions.begin() as session:
        session.execute(sa.update(Case).where(Case.state == "running").values(state="waiting"))


def claim(sessions: Sessions) -> Case | None:
    """Take the case that has waited longest, None where none waits; one that was interrupted too often is given up."""
    with sessions.begin() as session:
        oldest = sa.select(Case).where(Case.state == "waiting").order_by(Case.id).limit(1)
        case = session.scalars(oldest.with_for_update(skip_locked=True)).first()
        if case is None:
            return None
        if case.attempts >= MOST_ATTEMPTS:
            case.state, case.trouble = "failed", f"the analysis was interrupted {case.attempts} times"
            note(session, "logan", f"gave up: {case.trouble}", case.id)
            return None
        case.state, case.attempts = "running", case.attempts + 1
        return case


def finish(sessions: Sessions, case_id: int, result: dict[str, Any] | None, trouble: str = "") -> None:
    """Keep what an analysis gave, or why it gave nothing."""
    with sessions.begin() as session:
        case = session.get_one(Case, case_id)
        trouble = trouble.replace("\x00", "")
        case.state, case.trouble = ("failed", trouble) if result is None else ("done", "")
        if result is not None:
            case.result, case.sentence = result, result["sentence"]
            case.fault = next((fault["fault"] for fault in in_question(result)), "")
            case.vin = ((result.get("vehicle") or {}).get("vin") or "")[:LONGEST_VIN]
        note(session, "logan", trouble or "analysed", case_id)


def in_question(result: dict[str, Any]) -> list[dict[str, Any]]:
    """The faults of a finding for which something that was read speaks, the likeliest first, as its report shows them.

    Of a good engine none, however likely one is before anything is measured.
    """
    likely = [
        fault
        for fault in result["faults"]
        if fault["probability"] >= SUSPECT
        and any(("measure" in piece or "dtc" in piece) and piece["weight"] > SPEAKS for piece in fault["evidence"])
    ]
    return likely or (result["faults"][:1] if result["verdict"] == "fault_supported" else [])


def again(sessions: Sessions, case_id: int, by: str) -> None:
    """Have a case analysed again that could not be analysed; its captures are still there.

    Raises
    ------
    UsageError : its analysis did not fail
    """
    with sessions.begin() as session:
        failed = sa.update(Case).where(Case.id == case_id, Case.state == "failed")
        if not session.execute(failed.values(state="waiting", attempts=0, trouble="").returning(Case.id)).all():
            raise UsageError("this case has not failed", do="look at it again")
        note(session, by, "asked to analyse it again", case_id)


def get(sessions: Sessions, case_id: int) -> Case | None:
    """One case with its files and reviews."""
    with sessions() as session:
        return session.get(Case, case_id)


def find(
    sessions: Sessions,
    words: str = "",
    state: str = "",
    fault: str = "",
    since: str = "",
    until: str = "",
    without: Collection[int] = (),
) -> list[Case]:
    """The newest cases that fit, without their results: words in vehicle, sender or finding; dates are included.

    Those whose numbers are in ``without`` are left out.
    """
    query = sa.select(Case).order_by(Case.id.desc()).limit(PAGE).options(defer(Case.result))
    query = query.where(Case.id.not_in(without))
    for word in words.split():
        query = query.where(
            sa.or_(*(c.icontains(word, autoescape=True) for c in (Case.vehicle, Case.by, Case.sentence)))
        )
    for column, value in ((Case.state, state), (Case.fault, fault)):
        if value:
            query = query.where(column == value)
    if since:
        query = query.where(Case.made >= since)
    if until:
        query = query.where(Case.made <= f"{until}T99")
    with sessions() as session:
        return list(session.scalars(query))


def others_of_the_vehicle(sessions: Sessions, case: Case) -> list[Case]:
    """Cases with a finding of the same vehicle, by its label, else by its identification number, the oldest first."""
    same = Case.vehicle == case.vehicle if case.vehicle else Case.vin == case.vin
    if not case.vehicle and not case.vin:
        return []
    query = sa.select(Case).where(Case.state == "done", Case.id != case.id, same).options(defer(Case.result))
    with sessions() as session:
        return list(session.scalars(query.order_by(Case.id.desc()).limit(PAGE)))[::-1]


def faults_seen(sessions: Sessions) -> list[str]:
    """Identifiers of the faults that lead a finding."""
    with sessions() as session:
        return list(session.scalars(sa.select(Case.fault).where(Case.fault != "").distinct().order_by(Case.fault)))


def review(sessions: Sessions, case_id: int, by: str, kind: str, text: str) -> None:
    """Add the lead's verdict (``VERDICTS``) or a ``note``.

    Raises
    ------
    UsageError : unknown verdict, or words absent where they are needed
    """
    if kind not in (*VERDICTS, "note"):
        raise UsageError("the verdict is none that is known", do="choose one from the list")
    if not text.strip() and kind != "agree":
        raise UsageError("the reason is absent", do="say why in a few words")
    with sessions.begin() as session:
        last = session.scalars(sa.select(Review).where(Review.case_id == case_id).order_by(Review.id.desc())).first()
        if last is not None and (last.by, last.kind, last.text) == (by, kind, text.strip()):
            return  # a form sent twice
        session.add(Review(case_id=case_id, by=by, kind=kind, text=text.strip(), made=now()))
        note(session, by, VERDICTS.get(kind, "left a note"), case_id)


def verdict_now(reviews: Sequence[Review]) -> Review | None:
    """The verdict that holds: the last one, whoever gave it; None where there is none.

    Parameters
    ----------
    reviews : of one case, in their order
    """
    return next((one for one in reversed(reviews) if one.kind in VERDICTS), None)


def replaced(reviews: Sequence[Review]) -> set[int]:
    """Numbers of the verdicts in whose place the same person has put a later one."""
    last = {one.by: one.id for one in reviews if one.kind in VERDICTS}
    return {one.id for one in reviews if one.kind in VERDICTS and last[one.by] != one.id}


def tick(sessions: Sessions, case_id: int, by: str, fault: str, text: str, outcome: str) -> None:
    """Add the outcome of a check that the finding lists: ``OUTCOMES``.

    Raises
    ------
    UsageError : no finding, a check that it does not list, or an unknown outcome
    """
    with sessions.begin() as session:
        case = session.get_one(Case, case_id)
        listed = {(f["fault"], c["text"]) for f in (case.result or {}).get("faults", []) for c in f["next_checks"]}
        if (fault, text) not in listed or outcome not in OUTCOMES:
            raise UsageError("the finding lists no such check", do="choose one from the page of the case")
        said = [one.outcome for one in case.ticks if (one.fault, one.text) == (fault, text)]
        if said[-1:] == [outcome]:
            return  # a form sent twice
        session.add(Tick(case_id=case_id, by=by, fault=fault, text=text, outcome=outcome))
        note(session, by, f"check, {OUTCOMES[outcome]}: {text}", case_id)


def trail(sessions: Sessions, case_id: int) -> list[Deed]:
    """Who did what with a case, the oldest first."""
    with sessions() as session:
        return list(session.scalars(sa.select(Deed).where(Deed.case_id == case_id).order_by(Deed.id)))
