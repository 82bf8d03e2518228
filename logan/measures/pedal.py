"""Pedal tracks against each other and against the idle validation."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.robust import mad_sigma
from logan.dsp.stats import end_factor
from logan.measures.align import Pair, Windows, longest_gap_s, near, pair, period_s, sources, step_of, windows
from logan.measures.pedal_lapses import around, lapses, of_one_instant
from logan.measures.perhaps import lacking
from logan.measures.registry import Results, gives
from logan.model.channel import Channel
from logan.model.measure import Measure, Missing
from logan.model.record import Record

NAME: Final = "pedal_track_error_percent"
CONFLICT: Final = "idle_validation_conflict_percent"
RATIOS: Final = (1.0, 0.5, 2.0)
"""Usual ratios of track e to track d (common practice, no source)."""
WINDOW_S: Final = 1.0
AT_ONCE_S: Final = 0.2
"""A table whose rows come faster hardly shows a pedal at two positions in one row (assumed)."""
STEP: Final = 100.0 / 255.0
"""Step of a track that never moves and so does not show its own, % (SAE J1979-DA, PID 49 to 4B)."""
MOST: Final = 0.98
FEIGNED: Final = 2.05
"""Standard deviations by which the highest 2 % of a scatter stand above its middle (normal)."""
CLEAR: Final = 1.5
"""Times that, from which the highest stand clear of what scatter explains (assumed)."""
FEW: Final = 10
"""Readings of a pressed pedal below which its whole travel says nothing."""
STEADY_PERCENT: Final = 3.0
"""A track that moves by less within a window is steady."""
STANDS_OUT_PERCENT: Final = 3.0
"""A difference that comes and goes counts where it is larger by this than what lasts (assumed)."""
REST_SHARE: Final = 40.0
KEEPS_OFFSET_PERCENT: Final = 2.0
"""Tracks apart by the rest of the pedal on purpose keep to it within this (assumed)."""
SLOPE_SPAN_PERCENT: Final = 20.0
SLOPE_OCTAVES: Final = 0.75
"""The tracks' slope over the pedal's whole travel rules out a ratio that is further off; usual ratios are one apart."""
RULE_OF_THREE: Final = 3.0
"""Upper 95 % limit of a share never seen in n values, times n (Hanley, Lippman-Hand, JAMA 249, 1743, from memory)."""
SWITCH_PERCENT: Final = 10.0
"""An idle validation switches within this of the rest of the pedal (common practice, no source)."""

Array = NDArray[np.float64]


@gives(NAME)
def pedal_tracks(record: Record) -> Results:
    """Largest difference that lasts a second, after the usual ratio between the tracks is allowed for.

    It lasts wherever the pedal stands or in stretches that come and go; what polling is too slow to tell from a pedal
    in motion or from something shorter widens the interval alone.
    """
    d, e = record.channels.get("accelerator_pedal_d"), record.channels.get("accelerator_pedal_e")
    if d is None or e is None:
        why = lacking(["accelerator_pedal_d" if d is None else "accelerator_pedal_e"], record.channels)
        yield Missing(measure=NAME, why=why, capture_hint="")
        return
    d, e = of_one_instant(d, e)
    both = pair(d, e)
    if both is None or both.t_s[-1] - both.t_s[0] < WINDOW_S:
        yield Missing(measure=NAME, why="the two pedal tracks do not overlap in time", capture_hint="")
        return
    cut = windows(both.t_s, max(WINDOW_S, 2.5 * both.period_s))
    # one track may jump by a fault, but not both at once: a stretch counts where either is steady; where they are not
    # read at the same instant, a pedal in motion would look like a fault, and both must be steady
    # nor are the cells of a table's row, where its recorder asked for one after the other
    together = np.array_equal(d.t_s, e.t_s) and (both.period_s <= AT_ONCE_S or not d.from_table)
    spreads = cut.spread(both.actual), cut.spread(both.commanded)
    steady = (np.minimum(*spreads) <= STEADY_PERCENT) if together else _still(both, cut, e)
    moved = not steady.any()
    notes = []
    if moved:
        steady[:] = True
        notes.append("the pedal never stood still: what the tracks differ by includes their time shift")
    x, y = cut.middle(both.actual)[steady], cut.middle(both.commanded)[steady]
    relations = _relations(both)
    errors = [_errors(x, y, ratio, offset) for ratio, offset, _ in relations]
    # tracks read one after the other: a single window may be feigned by a pedal that moved in step with the readings
    share = MOST if together else min(MOST, max(1.0 - 1.0 / max(len(x) - 1, 1), 0.5))
    levels = [float(np.quantile(np.abs(error), MOST)) for error in errors]
    # an offset is believed only where the tracks keep to it: otherwise it would explain an error away in part
    slope = _slope(both)
    believed = [
        (not offset or level <= KEEPS_OFFSET_PERCENT) and _fits(slope, ratio)
        for (ratio, offset, _), level in zip(relations, levels, strict=True)
    ]
    if not any(believed):
        believed = [not offset for _, offset, _ in relations]
    fit = [np.median(np.abs(error)) + level for error, level in zip(errors, levels, strict=True)]
    if not together:  # it may have stood where the ratio does not show, at rest above all: other readings tell it
        fit = [one + _far(both, ratio, offset) for one, (ratio, offset, _) in zip(fit, relations, strict=True)]
    k = int(np.argmin(np.where(believed, fit, np.inf)))
    error, text = errors[k], relations[k][2]
    ratio, offset, _ = relations[k]
    step = float(np.hypot(step_of(d) or STEP, (step_of(e) or STEP) / ratio)) / math.sqrt(12.0)
    # a held pedal keeps its rounding; over many positions it averages out
    rounding = step * float(np.linalg.norm(np.unique(np.round(x), return_counts=True)[1])) / len(x)
    # read one after the other, tracks of a pedal that creeps within a window differ by up to half of its creep
    creep = 0.0 if together else 0.5 * float(np.quantile(np.maximum(*spreads)[steady], MOST))
    often = float(np.quantile(np.abs(error), share))
    level, noise, hidden = _lasting(error, often, step, creep)
    hidden = max(hidden, levels[k] - level)
    # polled slowly a pedal seldom stands still; what is apart wherever it is pressed shows in the middle of all
    middle, doubt = _pressed(both, pair(e, d), ratio, offset)
    if moved and not together:
        level, noise, hidden = middle, doubt, max(levels[k] - middle, 0.0)
    elif middle - 1.96 * math.hypot(doubt, step) > level + hidden:
        level, noise, hidden = middle, doubt, 0.0
        notes.append("told from the whole travel, moving or not: the pedal hardly stood still while it was pressed")
    lapse = lapses(d, e, ratio, offset, together)
    if lapse.sure > level + hidden + STANDS_OUT_PERCENT:
        level, noise, hidden = lapse.sure, math.hypot(noise, step), 0.0
        notes.append("the tracks differ only now and then: this is the largest difference that lasted a second")
    if lapse.possible > level + hidden + STANDS_OUT_PERCENT:
        hidden = lapse.possible - level
        notes.append("a larger difference was read too seldom to tell a failing track from a disturbance or motion")
    sd = math.hypot(noise, rounding)
    half = end_factor(hidden / max(sd, 1e-9)) * sd
    low, high = max(level - half, 0.0), level + hidden + half
    if np.ptp(x) < 10.0:
        notes.append("the pedal was hardly moved: an error that grows with its travel cannot be seen")
        if low > 0.0 and np.ptp(both.actual) < 10.0:  # none of the usual ratios fits: which one it is does not show
            plain = [x for x, (_, offset, _) in zip(levels, relations, strict=True) if not offset]
            low, high = max(min(level, *plain) - half, 0.0), max(level, *plain) + half
            notes.append("no usual ratio of the tracks fits where the pedal stood: the interval holds them all")
    yield Measure(
        name=NAME, unit="%", value=level, low=low, high=high,
        n=int(cut.count[steady].sum()), provenance=sources([d, e], cut.spans(steady), text),
        statistical=noise, systematic=rounding, notes=notes,
    )  # fmt: skip


@gives(CONFLICT, needs=("idle_validation", "accelerator_pedal_d"))
def idle_validation(record: Record) -> Results:
    """Share of the time in which idle validation and pedal track contradict each other clearly."""
    flag, track = record.channels.best["idle_validation"], record.channels.best["accelerator_pedal_d"]
    t_s, said = flag.finite()
    travel = near(track, t_s)
    good = np.isfinite(travel)
    if np.count_nonzero(good) < 5:
        yield Missing(measure=CONFLICT, why="idle validation and pedal track do not overlap in time", capture_hint="")
        return
    t_s, released, travel = t_s[good], said[good] >= 0.5, travel[good]
    rest = _rest(travel, released)
    if rest is None:
        why = "the pedal was pressed all the time, or idle validation never said released: its rest is not known"
        yield Missing(measure=CONFLICT, why=why, capture_hint="")
        return
    # while the pedal moves, the two are read at different positions
    about = [near(track, np.clip(t_s + shift, t_s[0], t_s[-1])) for shift in (-0.5 * WINDOW_S, 0.5 * WINDOW_S)]
    still = np.abs(about[1] - about[0]) < STEADY_PERCENT
    wrong = still & ((released & (travel > rest + SWITCH_PERCENT)) | (~released & (travel <= rest + 1.0)))
    n = int(np.count_nonzero(still))
    lasts_s = np.clip(np.diff(t_s, append=t_s[-1] + period_s(flag)), 0.0, longest_gap_s(flag)) * still
    if n == 0 or not lasts_s.sum() > 0.0:
        yield Missing(measure=CONFLICT, why="the pedal never stood still", capture_hint="")
        return
    share = min(float(lasts_s @ wrong / lasts_s.sum()), 1.0)
    # the share is of this record: how long contradictions last does not make it less sure
    half = 1.96 * float(np.sqrt(share * (1.0 - share) / n)) + 1.0 / n
    # what was never met in n values may still be there that often; the same for what was met in all of them
    most, least = (RULE_OF_THREE / n if share == end else 0.0 for end in (0.0, 1.0))
    yield Measure(
        name=CONFLICT, unit="%", value=100.0 * share, low=100.0 * max(min(share - half, 1.0 - least), 0.0),
        high=100.0 * min(max(share + half, most), 1.0), n=n,
        provenance=sources([flag, track], [(float(t_s[0]), float(t_s[-1]))]),
    )  # fmt: skip


def _rest(travel: Array, released: NDArray[np.bool_]) -> float | None:
    """Track with the pedal released, %: the lowest that lasts, where idle validation also says so or it is near 0."""
    lowest = float(np.quantile(travel, 0.01))
    if not released.any():
        return lowest if lowest <= 1.0 else None
    return min(lowest, float(np.quantile(travel[released], 0.1))) if lowest <= REST_SHARE else 0.0


def _relations(both: Pair) -> list[tuple[float, float, str]]:
    """Usual relations e = ratio * d + offset; an offset as large as the rest of d is met in open records."""
    rest = float(np.quantile(both.actual, 0.01))
    plain = [(ratio, 0.0, f"taken as track e = {ratio:g} x track d") for ratio in RATIOS]
    if 5.0 < rest <= REST_SHARE:
        plain.append((1.0, rest, f"taken as track e = track d + {rest:.0f} %"))
    return plain


def _still(both: Pair, cut: Windows, e: Channel) -> NDArray[np.bool_]:
    """Windows in which both tracks, read one after the other, kept still by readings of their own.

    One reading shows no stillness, and an interpolated one only where those that it lies between are alike.
    """
    lowest, highest = around(both.t_s, e)
    spread = np.maximum.reduceat(highest, cut.start) - np.minimum.reduceat(lowest, cut.start)
    out: NDArray[np.bool_] = np.maximum(cut.spread(both.actual), spread) <= 0.5 * STEADY_PERCENT
    return out & (cut.count >= 2)


def _far(both: Pair, ratio: float, offset: float) -> float:
    """Median size of the difference while the pedal is pressed, moving or not; 0 where it hardly is."""
    pressed = _is_pressed(both.actual)
    if np.count_nonzero(pressed) < FEW:
        return 0.0
    return float(np.median(np.abs(_errors(both.actual[pressed], both.commanded[pressed], ratio, offset))))


def _fits(slope: tuple[float, float] | None, ratio: float) -> bool:
    if slope is None:
        return True
    return math.log2(slope[0] / ratio) <= SLOPE_OCTAVES and math.log2(ratio / slope[1]) <= SLOPE_OCTAVES


def _slope(both: Pair) -> tuple[float, float] | None:
    """Slope of track e over track d from pressed a little to pressed far, moving or not; None where it says nothing.

    Held at one position, an offset looks like another ratio; the whole travel tells them apart. Read one after the
    other, a pedal that moves flattens a track over the other, whichever is taken as the travel: the slope lies between
    the two (regression dilution).
    """
    one, other = _flattened(both.actual, both.commanded), _flattened(both.commanded, both.actual)
    if one is None:
        return None
    return (one, max(one, 1.0 / other)) if both.apart_s > 0.0 and other is not None else (one, one)


def _flattened(travel: Array, track: Array) -> float | None:
    pressed = _is_pressed(travel)
    d, e = travel[pressed], track[pressed]
    if d.size < FEW:
        return None
    near_rest, far = d <= np.quantile(d, 0.25), d >= np.quantile(d, 0.75)
    span = np.median(d[far]) - np.median(d[near_rest])
    if span < SLOPE_SPAN_PERCENT:
        return None
    slope = float((np.median(e[far]) - np.median(e[near_rest])) / span)
    return slope if slope > 0.5 * min(RATIOS) else None


def _pressed(both: Pair, turned: Pair | None, ratio: float, offset: float) -> tuple[float, float]:
    """Size of the middle difference while the pedal is pressed, and its standard uncertainty (of a median).

    Read one after the other, a pedal seen pressed by one track is on its way for what lies between the readings of the
    other, and that one falls short of it. Taken the other way round (turned) it is the first that falls short: the
    truth lies between.
    """
    ways = [(both, both.actual, both.commanded)]
    if turned is not None and both.apart_s > 0.0:
        ways.append((turned, turned.commanded, turned.actual))
    middles = []
    for way, d, e in ways:
        pressed = _is_pressed(way.actual)
        if np.count_nonzero(pressed) >= FEW:
            error = _errors(d[pressed], e[pressed], ratio, offset)
            middles.append((float(np.median(error)), math.sqrt(0.5 * math.pi / error.size) * mad_sigma(error)))
    if not middles:
        return 0.0, 0.0
    least, doubt = min(middles, key=lambda one: abs(one[0]))
    return (abs(least) if all(least * one >= 0.0 for one, _ in middles) else 0.0), doubt


def _lasting(error: Array, highest: float, step: float, creep: float) -> tuple[float, float, float]:
    """Difference that lasts, its noise, and how much more it may be.

    Where scatter, steps and creep explain how far the highest windows stand above the middle of all, the difference may
    be the same everywhere or that of the highest; where they do not, the highest tell it, freed of what these add.
    """
    noise = mad_sigma(np.diff(error)) / math.sqrt(2.0) if len(error) > 2 else 0.0
    middle = float(np.median(np.abs(error)))
    apart = highest - middle
    feigned = math.hypot(FEIGNED * math.hypot(noise, step), creep)
    if apart > CLEAR * feigned:
        return middle + math.sqrt(apart**2 - feigned**2), math.hypot(noise, step, 0.5 * creep), 0.0
    return middle, math.sqrt(0.5 * math.pi / len(error)) * mad_sigma(error), apart


def _is_pressed(travel: Array) -> NDArray[np.bool_]:
    out: NDArray[np.bool_] = travel > np.quantile(travel, 0.01) + 2.0
    return out


def _errors(d: Array, e: Array, ratio: float, offset: float) -> Array:
    """Track e minus its expectation, in percent of the travel of track d."""
    out: Array = (e - offset) / ratio - d
    return out
