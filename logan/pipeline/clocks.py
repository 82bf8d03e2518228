"""Which files of a road test share a clock, where the others stand, and what the clocks leave open."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan import parallel
from logan.dsp import recording_holes
from logan.model.capture import Capture, Content, Remark, Table, first_places
from logan.model.frames import Frames, FramesByKind, Payloads
from logan.model.sensor import Edges, Waveform
from logan.pipeline import same_records
from logan.pipeline.records import Marks, Recorded, alike, marks_of
from logan.pipeline.same_records import Twice
from logan.pipeline.union import united

LONGEST_CHANGE_S: Final = 60.0
"""Parts of one recording follow each other within this, on a recorder's own count of time (judgement)."""
SHORTEST_HOLE_S: Final = 5.0
HOLE_STEPS: Final = 20.0
"""A hole is this many usual steps long at least, so that slow polling has none."""
APART_S: Final = 3600.0
DAY_S: Final = 86_400.0
QUARTER_HOUR_S: Final = 900.0
LARGEST_ZONE_S: Final = 14 * 3600.0
_NEVER: Final = (0.0, 0.0)
_AT_ONCE: Final = 1 << 15
"""Times looked at together, few enough to stay in the processor's cache."""


class Clocks(Struct, frozen=True):
    """The clock of each capture, in their order.

    Parameters
    ----------
    origin_ns : Unix time of the axis' zero in ns, 0 where no file has absolute time
    shift_s : what to add to a file's times, s
    number : files of one number share a clock; absolute time is number 0
    remarks : what a reader must know about them
    contents : what each holds that none of the others does; None where nothing is left
    """

    origin_ns: int
    shift_s: tuple[float, ...]
    number: tuple[int, ...]
    remarks: tuple[Remark, ...]
    contents: tuple[Content | None, ...]


def common(captures: Sequence[Capture]) -> Clocks:
    """Put the files on as few clocks as what they say of time allows."""
    absolute = [capture.content.absolute for capture in captures]
    origin_ns = min((c.content.origin_ns for c in captures if c.content.absolute), default=0)
    shift_s = [(c.content.origin_ns - origin_ns) / 1e9 if c.content.absolute else 0.0 for c in captures]
    number = [0 if known else k + 1 for k, known in enumerate(absolute)]
    span = [_span(capture, shift) for capture, shift in zip(captures, shift_s, strict=True)]
    remarks: list[Remark] = [hole for capture in captures for hole in _holes(capture)]

    _pass_midnight(captures, shift_s, span)
    parts = [k for k in range(len(captures)) if span[k] is not None]
    last: dict[tuple[bool, type], int] = {}
    for k in sorted(parts, key=lambda k: span[k] or _NEVER):
        kind = (absolute[k], type(captures[k].content))
        before = last.get(kind, k)
        (begin_s, end_s), (_, before_s) = span[k] or _NEVER, span[before] or _NEVER
        if end_s >= before_s:
            last[kind] = k
        step_s, name = begin_s - before_s, captures[before].name
        if before == k or step_s < 0:
            continue
        if absolute[k] and step_s > SHORTEST_HOLE_S:
            text = f"begins {step_s:.3f} s after the end of {name}: nothing was recorded in between"
        elif not absolute[k] and step_s <= LONGEST_CHANGE_S:
            number[k] = number[before]
            text = f"goes on {step_s:.3f} s after the end of {name}: taken as a further part of one recording"
        else:
            continue
        remarks.append(Remark("next_part", text, file=captures[k].name))

    remarks += _apart(captures, span)
    contents: list[Content | None] = [capture.content for capture in captures]
    remarks += _twice(captures, contents, shift_s, span, number)
    clocks = {number[k] for k in parts}
    lonely = [k for k in parts if number[k] and len(clocks) > 1]
    text = "has no absolute time: it stands beside the other files on an axis of its own, not aligned with them"
    remarks += [Remark("no_common_clock", text, file=captures[k].name) for k in lonely]
    return Clocks(origin_ns, tuple(shift_s), tuple(number), tuple(remarks), tuple(contents))


def _pass_midnight(captures: Sequence[Capture], shift_s: list[float], span: list[tuple[float, float] | None]) -> None:
    """Move files with times of day alone that go on after midnight behind those that end there, in place."""
    ends = [k for k, one in enumerate(span) if one is not None and not captures[k].content.absolute]
    before = [k for k in ends if (span[k] or _NEVER)[1] >= DAY_S - LONGEST_CHANGE_S]
    while before:
        former = before.pop()
        for k in ends:
            begin_s, end_s = span[k] or _NEVER
            step_s = begin_s + DAY_S - (span[former] or _NEVER)[1]
            if k == former or shift_s[k] or not 0 <= step_s <= LONGEST_CHANGE_S or begin_s > DAY_S / 2:
                continue
            if type(captures[k].content) is type(captures[former].content):
                shift_s[k], span[k] = DAY_S, (begin_s + DAY_S, end_s + DAY_S)
                before.append(k)


def _twice(
    captures: Sequence[Capture], contents: list[Content | None], shift_s: list[float],
    span: list[tuple[float, float] | None], number: list[int],
) -> Iterator[Remark]:  # fmt: skip
    """Put together, in place, what several files hold of one thing, and what that tells of their clocks."""
    marks: dict[int, Marks] = {}
    todo = list(itertools.combinations([k for k in range(len(captures)) if span[k] is not None], 2))
    while todo:
        one, other = todo.pop(0)
        one_clock = number[one] == number[other]
        ends = span[one] or _NEVER, span[other] or _NEVER
        mine, its = contents[one], contents[other]
        if one_clock and min(end_s for _, end_s in ends) <= max(begin_s for begin_s, _ in ends):
            continue
        if not isinstance(mine, Recorded) or not isinstance(its, Recorded) or not alike(mine, its):
            continue
        if not one_clock and not isinstance(mine, Table):
            marks |= {k: marks_of(c, shift_s[k]) for k, c in ((one, mine), (other, its)) if k not in marks}
            if not same_records.perhaps_twice(marks[one], marks[other]):
                continue
        twice = same_records.recorded_twice(mine, its, (shift_s[one], shift_s[other]), one_clock)
        if twice is None:
            continue
        # What has absolute time stays where it is, then what holds more, then what began earlier.
        if (number[one] > 0, -twice.held[0], ends[0][0]) > (number[other] > 0, -twice.held[1], ends[1][0]):
            one, other, mine, its, twice = other, one, its, mine, twice.turned()
        moved = [other] if one_clock else [k for k, clock in enumerate(number) if clock == number[other]]
        before_s = shift_s[other]
        for k in moved:
            begin_s, end_s = span[k] or _NEVER
            shift_s[k], number[k] = shift_s[k] + twice.shift_s, number[one]
            span[k] = (begin_s + twice.shift_s, end_s + twice.shift_s) if span[k] is not None else None
        yield _said_twice(twice, captures[one].name, captures[other].name, one_clock, shift_s[other] - shift_s[one])
        contents[one], contents[other] = united(mine, its, twice, (shift_s[one], before_s, shift_s[other]))
        if contents[one] is not mine:
            both = [end for k in (one, other) for end in span[k] or _NEVER]
            span[one] = min(both), max(both)
            marks.pop(one, None)
            todo += [(one, k) for k, content in enumerate(contents) if content is not None and k != one and span[k]]


def _said_twice(twice: Twice, one: str, other: str, one_clock: bool, zero_s: float) -> Remark:
    text = f"holds the same records as {one} for {twice.span_s:.1f} s"
    if not one_clock:
        text += f", where its time 0 is {zero_s:.4f} s"
    elif twice.shift_s:
        text += f", stamped {abs(twice.shift_s):.4f} s {'earlier' if twice.shift_s > 0 else 'later'}"
    return Remark("recorded_twice", text + ": what both hold counts once", twice.number, file=other)


def _times(capture: Capture) -> NDArray[np.float64]:
    """Times of a file's records, s, ascending; none where it has no times, or where a still engine gives none."""
    content = capture.content
    if not capture.timed or isinstance(content, Edges | Waveform):
        return np.empty(0)
    if isinstance(content, Frames):
        return content.t_s
    if isinstance(content, Payloads):
        return np.sort(content.messages.t_s)
    return max((channel.t_s for channel in content.channels), key=len, default=np.empty(0))


def _span(capture: Capture, shift_s: float) -> tuple[float, float] | None:
    """First and last time of a file on the axis, None without times."""
    content = capture.content
    if isinstance(content, Frames) and capture.timed and len(content):
        first_s, last_s = content.ends_s
    elif len(t_s := _times(capture)):
        first_s, last_s = float(t_s[0]), float(t_s[-1])
    else:
        return None
    return first_s + shift_s, last_s + shift_s


def _holes(capture: Capture) -> Iterator[Remark]:
    """Stretches in which nothing was recorded."""
    content = capture.content
    if isinstance(content, Edges):
        yield from _sensor_holes(capture.name, content)
    if isinstance(content, FramesByKind) and content.longest_step_s < 0.999 * SHORTEST_HOLE_S:
        return
    t_s = _times(capture)
    parts = [t_s[at : at + _AT_ONCE + 1] for at in range(0, len(t_s) - 1, _AT_ONCE)]
    if len(t_s) < 3 or max(parallel.each(_longest_step, parts, pays=len(t_s) >= parallel.MANY)) <= SHORTEST_HOLE_S:
        return
    step = np.diff(t_s)
    usual = float(np.median(step[step > 0])) if (step > 0).any() else 0.0
    holes = np.flatnonzero(step > max(SHORTEST_HOLE_S, HOLE_STEPS * usual))
    if len(holes):
        text = f"holes of up to {step[holes].max():.1f} s in which nothing was recorded"
        places = first_places(f"t = {t_s[at]:.3f} s, {step[at]:.1f} s long" for at in holes.tolist())
        yield Remark("hole", text, len(holes), places, capture.name)


def _sensor_holes(file: str, content: Edges) -> Iterator[Remark]:
    """Stretches in which all sensors of a turning engine fell silent at once."""
    one_flank = {
        name: max(content.rising_s.get(name, rising_s[:0]), content.falling_s.get(name, rising_s[:0]), key=len)
        for name, rising_s in {**content.falling_s, **content.rising_s}.items()
    }
    crank_s = one_flank.pop("crank", np.empty(0))
    found = recording_holes.holes(crank_s, list(one_flank.values()))
    if len(found):
        text = (
            f"the recording has a hole of {np.diff(found).max():.2f} s: all sensors fell silent at once while the "
            "engine turned, which is the recorder, its plug or a common supply"
        )
        places = first_places(f"t = {begin:.3f} s, {end - begin:.2f} s long" for begin, end in found.tolist())
        yield Remark("hole", text, len(found), places, file)


def _longest_step(t_s: NDArray[np.float64]) -> float:
    return float(np.diff(t_s).max())


def _apart(captures: Sequence[Capture], span: Sequence[tuple[float, float] | None]) -> Iterator[Remark]:
    """Files whose absolute times lie far from all others of the drive."""
    known = [(c, s) for c, s in zip(captures, span, strict=True) if s is not None and c.content.absolute]
    for capture, (begin, end) in known:
        others = [other for c, other in known if c is not capture]
        away = min((max(a - end, begin - b, 0.0) for a, b in others), default=0.0)
        if away < APART_S:
            continue
        zones = QUARTER_HOUR_S * np.arange(1, LARGEST_ZONE_S / QUARTER_HOUR_S + 1)
        fits = {float(z) for z in (*zones, *-zones) for a, b in others if begin + z < b and end + z > a}
        text = f"lies {away / 3600:.2f} h away from the other files by their clocks"
        if fits:
            text += (
                f"; moved by {min(fits, key=abs) / 3600:+g} h it would overlap them: compare the recorders' time zones"
            )
        yield Remark("clocks_apart", text, file=capture.name)
