"""Accounts: who may do what. Passwords are kept as argon2 hashes, passes as SHA-256 of what they show."""

from __future__ import annotations

import hashlib
import secrets
from datetime import UTC, datetime, timedelta
from typing import Final

import argon2
import sqlalchemy as sa
from sqlalchemy.orm import Session

from logan.errors import UsageError
from logan.store.cases import note
from logan.store.database import Pass, Person, Sessions, now

ROLES: Final = {
    "technician": {"hand_in", "note", "check"},
    "lead": {"hand_in", "note", "check", "verdict", "train"},
    "trainer": {"hand_in", "note", "check", "train"},
    "trainee": {"note"},
}
"""What each role may do beside reading."""
LEARNING: Final = "trainee"
"""The role that does not see the cases behind exercises."""
CLOSED: Final = "closed"
"""Stands in place of the role of an account that was closed: its name stays taken, so that the trail stays clear."""
SHORTEST: Final = 8
LONGEST_NAME: Final = 80
SIGNED_IN: Final = timedelta(hours=12)
_HASHER = argon2.PasswordHasher()
_NOBODY = _HASHER.hash(secrets.token_hex(16))


def add(sessions: Sessions, name: str, role: str, password: str) -> None:
    """Make an account.

    Raises
    ------
    UsageError : unknown role, a name that is taken or unfit, a password that is too short
    """
    if role not in ROLES:
        raise UsageError(f"there is no role {role}", do=f"choose one of {', '.join(ROLES)}")
    if not name.strip() or len(name) > LONGEST_NAME or not name.isprintable() or name == "logan":
        raise UsageError("the name is empty, too long, taken or not printable", do="choose another name")
    _check_password(password)
    try:
        with sessions.begin() as session:
            session.add(Person(name=name, role=role, password=_HASHER.hash(password)))
            note(session, "logan", f"account of {name}, {role}")
    except sa.exc.IntegrityError as error:
        raise UsageError(f"there is already an account of {name}", do="choose another name") from error


def change(sessions: Sessions, name: str, role: str | None = None, password: str | None = None) -> None:
    """Give an account another role or password, or open it again; whoever is signed in to it has to sign in again.

    Raises
    ------
    UsageError : nobody of that name, unknown role, a password that is too short, a closed account without both
    """
    if role is not None and role not in ROLES:
        raise UsageError(f"there is no role {role}", do=f"choose one of {', '.join(ROLES)}")
    if password is not None:
        _check_password(password)
    with sessions.begin() as session:
        person = _named(session, name)
        if person.role == CLOSED and (role is None or password is None):
            raise UsageError(f"the account of {name} is closed", do="give a role and a new password to open it again")
        if role is not None:
            person.role = role
            note(session, "logan", f"{name} is {role} now")
        if password is not None:
            person.password = _HASHER.hash(password)
            note(session, "logan", f"{name} has another password")
        session.execute(sa.delete(Pass).where(Pass.person_id == person.id, Pass.kind == "browser"))


def close(sessions: Sessions, name: str) -> None:
    """Close an account: nobody can sign in to it and its devices' passes end; what was done under its name stays.

    Raises
    ------
    UsageError : nobody of that name, or the last open account
    """
    with sessions.begin() as session:
        person = _named(session, name)
        if not session.scalars(sa.select(Person.id).where(Person.role != CLOSED, Person.id != person.id)).first():
            raise UsageError("this is the last open account", do="make another one first: logan people add")
        person.role, person.password = CLOSED, _NOBODY
        session.execute(sa.delete(Pass).where(Pass.person_id == person.id))
        note(session, "logan", f"account of {name} closed")


def end_passes(sessions: Sessions, name: str) -> int:
    """Take all passes of somebody's recording devices back; how many.

    Raises
    ------
    UsageError : nobody of that name
    """
    with sessions.begin() as session:
        devices = sa.delete(Pass).where(Pass.person_id == _named(session, name).id, Pass.kind == "device")
        ended = session.execute(devices.returning(Pass.hash)).all()
        note(session, "logan", f"{len(ended)} passes of the recording devices of {name} taken back")
        return len(ended)


def _named(session: Session, name: str) -> Person:
    person = session.scalars(sa.select(Person).where(Person.name == name)).first()
    if person is None:
        raise UsageError(f"there is no account of {name}", do="see logan people list")
    return person


def _check_password(password: str) -> None:
    if len(password) < SHORTEST:
        raise UsageError("the password is too short", do=f"use at least {SHORTEST} characters")


def listed(sessions: Sessions) -> list[Person]:
    """All accounts by name."""
    with sessions() as session:
        return list(session.scalars(sa.select(Person).order_by(Person.name)))


def checked(sessions: Sessions, name: str, password: str) -> Person | None:
    """The person whose name and password these are; as slow for an unknown name as for a wrong password."""
    with sessions() as session:
        person = session.scalars(sa.select(Person).where(Person.name == name)).first()
    try:
        _HASHER.verify(person.password if person else _NOBODY, password)
    except argon2.exceptions.VerificationError:
        return None
    return person if person and person.role != CLOSED else None


def refused(sessions: Sessions, name: str, address: str) -> None:
    """Leave a line in the trail: somebody at an address could not sign in under a name."""
    with sessions.begin() as session:
        note(session, "logan", f"wrong sign-in as {name[:LONGEST_NAME]!r} from {address}")


def give_pass(sessions: Sessions, name: str, kind: str) -> str:
    """A new pass for a browser (``browser``, hours) or a recording device (``device``, until taken back).

    Raises
    ------
    UsageError : nobody of that name
    """
    shown = secrets.token_urlsafe(32)
    until = (datetime.now(UTC) + SIGNED_IN).isoformat(timespec="milliseconds") if kind == "browser" else None
    with sessions.begin() as session:
        person = _named(session, name)
        if person.role == CLOSED:
            raise UsageError(f"the account of {name} is closed", do="open it again: logan people change")
        session.add(Pass(hash=_hash(shown), person_id=person.id, kind=kind, until=until))
        note(session, name, "signed in" if kind == "browser" else "got a pass for a recording device")
    return shown


def holder(sessions: Sessions, shown: str, kind: str) -> Person | None:
    """Who holds a pass that is still good."""
    with sessions() as session:
        found = session.get(Pass, _hash(shown))
    good = found is not None and found.kind == kind and (found.until is None or found.until > now())
    return found.person if found is not None and good else None


def take_back(sessions: Sessions, shown: str) -> None:
    """End a pass."""
    with sessions.begin() as session:
        session.execute(sa.delete(Pass).where(Pass.hash == _hash(shown)))


def _hash(shown: str) -> str:
    return hashlib.sha256(shown.encode()).hexdigest()
