"""A record played on a page: what its channels said at a moment, with the seconds before it.

A page asks for one moment after another (``fragment``); the clock with speed, pause, loop and place is the page's own,
so that one record serves as many who watch as there are.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final

import jinja2
import msgspec
import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from logan.model.record import Record
from logan.report import palette, svg
from logan.report.text import channel_words, number, outside, printable, unit_words

Array = NDArray[np.float64]
HERE: Final = Path(__file__).parent
BEFORE_S: Final = 30.0
"""Length of the trace before a moment, s."""
SILENT_S: Final = 5.0
"""After this, or four times its usual distance, a channel that said nothing counts as silent."""
POINTS: Final = 150
SPEEDS: Final = (0.25, 0.5, 1, 2, 5, 10)
WIDTH, HEIGHT = 160.0, 28.0
MOST_CYLINDERS: Final = 99
_OF_CYLINDER: Final = re.compile(r"cylinder[ _]?(\d{1,2})(?!\d)", re.IGNORECASE)


class About(msgspec.Struct, frozen=True, kw_only=True):
    """What a channel is called and shown in; ``usual_s`` is the usual distance of its values."""

    title: str
    unit: str
    decimals: int
    labels: dict[int, str]
    low: float
    high: float
    usual_s: float


@dataclass(frozen=True, slots=True)
class Track:
    """One channel: times, (n,) s ascending from the record's first value on, and values, (n,)."""

    about: About
    t_s: Array
    value: Array


@dataclass(frozen=True, slots=True)
class Tape:
    """What can be played of a record, and its length."""

    tracks: tuple[Track, ...]
    end_s: float


def tape(record: Record) -> Tape:
    """The channels of a record that hold numbers, from time 0 on; without those of cylinders that are not fitted."""
    fitted = record.profile.cylinders or MOST_CYLINDERS
    held = [(channel, *channel.finite()) for channel in record.channels if _cylinder(channel.name) <= fitted]
    held = [one for one in held if len(one[1])]
    first = min((float(t[0]) for _, t, _ in held), default=0.0)
    tracks = []
    for channel, t_s, value in held:
        low, high = float(value.min()), float(value.max())
        about = About(
            title=channel_words(channel.name), unit=channel.unit, decimals=_decimals(high - low), labels=channel.labels,
            low=low, high=high, usual_s=float(np.median(np.diff(t_s))) if len(t_s) > 1 else 0.0,
        )  # fmt: skip
        tracks.append(Track(about, t_s - first, value))
    return Tape(tuple(tracks), max((float(track.t_s[-1]) for track in tracks), default=0.0))


def _cylinder(name: str) -> int:
    """The cylinder that a channel is named after, 0 for others."""
    found = _OF_CYLINDER.search(name)
    return int(found[1]) if found else 0


def _decimals(span: float) -> int:
    """Digits that show a hundredth of what the channel moves, three at most."""
    return int(np.clip(np.ceil(2.0 - np.log10(span)), 0, 3)) if span > 0.0 else 1


def packed(whole: Tape) -> bytes:
    """A tape as the bytes of a file."""
    arrays: dict[str, Any] = {}
    for k, track in enumerate(whole.tracks):
        arrays[f"t{k}"], arrays[f"v{k}"] = track.t_s, track.value
    about = msgspec.json.encode([track.about for track in whole.tracks])
    out = io.BytesIO()
    np.savez_compressed(out, about=np.frombuffer(about, np.uint8), **arrays)
    return out.getvalue()


@lru_cache(maxsize=8)
def unpacked(path: Path) -> Tape:
    """The tape of a file that does not change."""
    with np.load(path, allow_pickle=False) as held:
        about = msgspec.json.decode(held["about"].tobytes(), type=list[About])
        tracks = tuple(Track(one, held[f"t{k}"], held[f"v{k}"]) for k, one in enumerate(about))
    return Tape(tracks, max((float(track.t_s[-1]) for track in tracks), default=0.0))


def fragment(whole: Tape, t_s: float) -> Markup:
    """Every channel at a moment: its value, and its trace over the seconds before."""
    return Markup(
        _environment().get_template("moment.html.j2").render(rows=[_row(track, t_s) for track in whole.tracks])
    )


def body(whole: Tape, t_s: float, at: str, title: str) -> Markup:
    """The controls and the first moment; ``at`` is the address that gives a fragment for ``?t=SECONDS``."""
    return Markup(
        _environment()
        .get_template("replay.html.j2")
        .render(end_s=whole.end_s, t_s=t_s, at=at, title=outside(title), speeds=SPEEDS, moment=fragment(whole, t_s))
    )


def within(whole: Tape, asked: str) -> float:
    """A moment of the tape from what an address says, the nearest one it has; the beginning where it is no number."""
    try:
        t_s = float(asked)
    except ValueError:
        return 0.0
    return min(max(t_s, 0.0), whole.end_s) if np.isfinite(t_s) else 0.0


@cache
def script() -> str:
    """The clock of the page."""
    return (HERE / "assets" / "replay.js").read_text("utf-8")


@cache
def look() -> str:
    """The report's look with that of forms and of the replay."""
    report, *more = ((HERE / "assets" / f"{name}.css").read_text("utf-8") for name in ("report", "forms", "replay"))
    return report.replace("/*palette*/", palette.css()) + "".join(more)


def _row(track: Track, t_s: float) -> dict[str, object]:
    about = track.about
    last = int(np.searchsorted(track.t_s, t_s, side="right")) - 1
    known = last >= 0 and t_s - track.t_s[last] <= max(SILENT_S, 4.0 * about.usual_s)
    value = float(track.value[last]) if known else None
    words = about.labels.get(int(value), "") if value is not None and about.labels and value == int(value) else ""
    return {
        "title": about.title,
        "value": words or number(value, about.decimals),
        "unit": "" if words or value is None else unit_words(about.unit),
        "trace": _trace(track, t_s, last),
    }


def _trace(track: Track, t_s: float, last: int) -> Markup:
    """The seconds before a moment as a line over the range of the whole record."""
    first = max(int(np.searchsorted(track.t_s, t_s - BEFORE_S)) - 1, 0)
    step = max((last - first) // POINTS, 1)
    rows = np.arange(last, first - 1, -step)[::-1] if last >= first else np.arange(0)
    span = track.about.high - track.about.low
    x = WIDTH * (1.0 - (t_s - track.t_s[rows]) / BEFORE_S)
    y = (HEIGHT - 4.0) * (1.0 - (track.value[rows] - track.about.low) / span) + 2.0 if span else 0.0 * x + HEIGHT / 2.0
    points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))
    return svg.tag(
        "svg",
        svg.tag("polyline", points=points),
        viewBox=f"0 0 {WIDTH:g} {HEIGHT:g}",
        preserveAspectRatio="none",
        aria_hidden="true",
        class_="trace",
    )


@cache
def _environment() -> jinja2.Environment:
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=lambda value: value if isinstance(value, Markup) else printable(value),
        trim_blocks=True,
        lstrip_blocks=True,
    )
