"""Which files of a road test share a clock, where the others stand, and what the clocks leave open."""

from __future__ import annotations

import itertools
import zlib
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan import parallel
from logan.dsp import recording_holes
from logan.model.capture import Capture, Remark, Table, first_places
from logan.model.frames import Frames, FramesByKind, Payloads
from logan.model.sensor import Edges, Waveform

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
SAME_S: Final = 1e-4
"""Times of one record in two files agree to this: formats keep microseconds, some tenths of milliseconds."""
_MOST_COMPARED: Final = 50_000
_FEWEST_SHARED: Final = 10
_MIX: Final = np.uint64(0x9E3779B97F4A7C15)  # odd, so that no two times fall together
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
    """

    origin_ns: int
    shift_s: tuple[float, ...]
    number: tuple[int, ...]
    remarks: tuple[Remark, ...]


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
    remarks += _twice(captures, shift_s, span, number)
    clocks = {number[k] for k in parts}
    lonely = [k for k in parts if number[k] and len(clocks) > 1]
    text = "has no absolute time: it stands beside the other files on an axis of its own, not aligned with them"
    remarks += [Remark("no_common_clock", text, file=captures[k].name) for k in lonely]
    return Clocks(origin_ns, tuple(shift_s), tuple(number), tuple(remarks))


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
    captures: Sequence[Capture], shift_s: Sequence[float], span: Sequence[tuple[float, float] | None],
    number: Sequence[int],
) -> Iterator[Remark]:  # fmt: skip
    """Files of one clock that hold the same records where they overlap."""
    for (j, later), (k, former) in itertools.permutations(enumerate(span), 2):
        if later is None or former is None or number[j] != number[k] or (later[0], j) <= (former[0], k):
            continue
        end_s = min(later[1], former[1])
        if end_s <= later[0]:
            continue
        own = _records(captures[j], shift_s[j], later[0], end_s)
        other = _records(captures[k], shift_s[k], later[0], end_s)
        shared = int(np.isin(own, other).sum())
        if shared >= max(_FEWEST_SHARED, len(own) // 2):
            text = (
                f"holds the same records as {captures[k].name} for {end_s - later[0]:.1f} s: values that are the "
                "same count once"
            )
            yield Remark("recorded_twice", text, shared, file=captures[j].name)


def _records(capture: Capture, shift_s: float, begin_s: float, end_s: float) -> NDArray[np.uint64]:
    """A number for each of the first records between two times on the axis, equal where time and content are."""
    content = capture.content
    times = _times(capture)
    first, last = np.searchsorted(times, np.array([begin_s - SAME_S, end_s + SAME_S]) - shift_s)
    rows = np.arange(first, min(last, first + _MOST_COMPARED))
    if isinstance(content, Frames):
        some = content.take(rows)
        word = np.ascontiguousarray(some.data).view(np.uint64)[:, 0] * np.uint64(3) + some.can_id
    elif not isinstance(content, Table):
        return np.empty(0, np.uint64)
    else:
        longest = max(content.channels, key=lambda channel: len(channel.value))
        word = longest.value[rows].view(np.uint64) + np.uint64(zlib.crc32(longest.name.encode()))
    tick = np.rint((times[rows] + shift_s) / SAME_S).astype(np.int64).astype(np.uint64)
    return tick * _MIX ^ word


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
