"""Pages from templates: everything that came from outside is escaped, and nothing in it can act."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

import jinja2
from fastapi import Request
from markupsafe import Markup
from starlette.responses import HTMLResponse, Response

from logan.report import moments
from logan.report.text import outside, percent, printable, told
from logan.workshop import guard

HERE: Final = Path(__file__).parent
STATES: Final = {
    "waiting": "waiting",
    "running": "being analysed",
    "done": "finding ready",
    "failed": "could not be analysed",
}
LONGEST: Final = 2000


def _safe(value: object) -> object:
    return value if isinstance(value, Markup) else printable(value)


def _said(text: object) -> str:
    """A text of a finding with numbers and units as the report writes them."""
    return told(outside(text, LONGEST))


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_safe,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"percent": percent, "said": _said}
    return environment


@cache
def look() -> str:
    """The style of every page: the report's colours and shapes, and what forms need."""
    return moments.look() + (HERE / "assets" / "workshop.css").read_text("utf-8")


@cache
def script() -> str:
    """The little script that the pages share."""
    return (HERE / "assets" / "workshop.js").read_text("utf-8")


def page(
    request: Request, template: str, *, status: int = 200, who: guard.Asker | None = None, **content: object
) -> HTMLResponse:
    """A page with the form token and the name of whoever is signed in."""
    text = (
        _environment().get_template(template).render(token=guard.form_token(request), who=who, states=STATES, **content)
    )
    return HTMLResponse(text, status)


def stored(path: Path) -> Response:
    """A page that was written before, kept apart from the workshop by its policy; in one piece, since it is small."""
    return HTMLResponse(path.read_bytes(), headers={"content-security-policy": guard.REPORTS})
