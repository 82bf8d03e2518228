"""What each cylinder does, from the speed of the crank within the cycle: work at idle, compression while cranking."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp import cylinder_work, misfire, stats, tooth_learning
from logan.dsp.crank_speed import Cycles
from logan.dsp.cylinder_work import Balance, Level
from logan.dsp.order import lack_of_work, orders
from logan.dsp.tooth_learning import Learnt
from logan.measures import cranking
from logan.measures.crank_cycles import CrankRecord, crank_records, cranking_cycles, idle_cycles
from logan.measures.cylinder_lists import in_cylinder_order, named, provenance
from logan.measures.perhaps import lacking
from logan.measures.registry import Results, gives
from logan.measures.settled import settled_spans, stretches, why_no_idle
from logan.measures.wheel_reading import WheelReading
from logan.model.measure import Measure, Missing, Provenance
from logan.model.record import Record

CONTRIBUTION: Final = "cylinder_contribution_percent"
HALF_ORDER: Final = "crank_half_order_rpm"
MISFIRES: Final = "cylinder_misfires_per_1000"
FROM_TEETH: Final = (CONTRIBUTION, *cranking.NAMES, HALF_ORDER, MISFIRES)
CORRECTION: Final = "cylinder_fuel_correction_percent"

FEWEST_IDLE: Final = 20
FEWEST_VALUES: Final = 5
STANDS: Final = 0.8
"""Share of idle at its largest value from which a fuel correction stands at its stop (judgement)."""
LEAST_STOP: Final = 3.0
"""No control module stops at less, % (judgement)."""
ALL_FUEL: Final = 100.0
"""What a cylinder gets altogether, %: no correction that is wanted is larger."""
IGNITION: Final = "compression"
"""Assumed where the profile does not say."""
RUNOUT_FELT: Final = 0.002
COMPRESSION_PASSED: Final = 0.012
"""Standard uncertainty: a cylinder's compression lies in the interval before its own, and good ones differ by 0.5 %."""
TEETH_PER_ORDER: Final = 3.5
LEAST_SCALE: Final = 0.1
"""Relative standard uncertainty of the mean work that no fit of its shape goes below."""
DEAD: Final = 1.05
"""A cylinder without fire gives nothing and costs a little: none falls further below the mean, as a share of it."""
LEAST: Final = 1.6
"""No bound lies lower: a dead cylinder that also leaks gives nothing back of what the interval compresses."""
LEAK_FELT: Final = 0.1
"""Work that a lack of compression moves from one interval to the next, as a share of the mean work, that is stated."""
MISSED: Final = 0.5
"""Share of the mean work that a firing lacks from which it counts as lost."""
MISSED_BETWEEN: Final = (0.3, 0.9)
SCATTERS: Final = 4.0
"""A limit so many standard deviations off is passed by chance once in 30 000 firings."""
WEAK_FROM: Final = 0.06
"""Share of the mean work that a cylinder lacks from which it is named."""

Array = NDArray[np.float64]


def cylinders(record: Record, readings: tuple[WheelReading, ...]) -> Results:
    """Contribution and half order at idle, compression while cranking."""
    found, why = crank_records(record, readings)
    if not found:
        for name in FROM_TEETH:
            yield Missing(measure=name, why=why, capture_hint="")
        return
    cut = [(source, source.cycles()) for source in found]
    yield from _idle(record, *max(((r, c, idle_cycles(c)) for r, c in cut), key=lambda one: len(one[2])))
    yield from cranking.cranked(record, *max(((r, cranking_cycles(c)) for r, c in cut), key=lambda pair: len(pair[1])))


def _idle(record: Record, source: CrankRecord, every: Cycles, chosen: Cycles) -> Results:
    z = len(record.profile.firing_order)
    highest = min(4 * z, int(2 * source.teeth / TEETH_PER_ORDER))
    why = ""
    if len(chosen) < FEWEST_IDLE:
        why = f"{len(chosen)} steady cycles under 1500 rpm were recorded; {FEWEST_IDLE} are needed"
    elif highest <= z:
        why = f"a crank wheel of {source.teeth} places is too coarse for {z} cylinders"
    if why:
        yield Missing(measure=CONTRIBUTION, why=why, capture_hint="")
        yield Missing(measure=HALF_ORDER, why=why, capture_hint="")
        yield Missing(measure=MISFIRES, why=why, capture_hint="")
        return
    seen = _balance(record, source, chosen, highest)
    learnt, taught = _learnt(every, seen, z, record.profile.ignition or IGNITION)
    if learnt is not None:
        whole = np.array(learnt.orders)
        source = source.straightened(whole, learnt.ripple[2 * whole - 1])
        chosen = idle_cycles(source.cycles())
        seen = _balance(record, source, chosen, highest, learnt=learnt)
    shown = abs(complex(seen.spectrum[:, 1].mean())) / (2.0 * seen.speed_rad_s**2)
    if min(shown, abs(seen.balance.runout)) > RUNOUT_FELT:
        # an eccentric wheel also mixes the firing order into its neighbours: put its teeth right and look again
        for _ in range(2):
            source = source.straightened(np.array([1]), np.array([seen.balance.runout]))
            chosen = idle_cycles(source.cycles())
            seen = _balance(record, source, chosen, highest, cylinder_work.STRAIGHTENED, learnt)
    level, found = seen.level, seen.balance
    yield _half_order(source, chosen, seen, z)
    square = max(level.square, -float(found.beyond.min()) / DEAD)
    yield _misfires(record, source, chosen, found.beyond, Level(square, max(level.relative, LEAST_SCALE)))
    ignition = record.profile.ignition or IGNITION
    # work that runs on into the next cylinder's interval: its own or that interval's is a matter of words
    carried = 0.5 * (1.0 - cylinder_work.interval_share(z, ignition)) * (found.beyond - np.roll(found.beyond, 1))
    additive = np.hypot(np.sqrt(np.diag(found.covariance) + carried**2) / square, COMPRESSION_PASSED)
    scale = max(level.relative, LEAST_SCALE)
    share = found.beyond / square
    grown = share * np.exp(1.96 * scale) - share
    shrunk = share * np.exp(-1.96 * scale) - share
    low = share - np.hypot(1.96 * additive, np.minimum(grown, shrunk))
    high = share + np.hypot(1.96 * additive, np.maximum(grown, shrunk))
    # what a cylinder does not compress it does not give back, and the one before it is spared: work of the interval
    # where the contribution is taken as what the gas gives beyond compression, so the truth may lie anywhere between
    spared = cylinder_work.compression_work(ignition) * (np.roll(found.leak, -1) - found.leak)
    spared = np.where(np.abs(spared) > LEAK_FELT, spared, 0.0)
    low, high = low + np.minimum(spared, 0.0), high + np.maximum(spared, 0.0)
    noise = [stats.mean(column).sd for column in found.each.T]
    floor = np.maximum(low, -LEAST)
    notes = [*_notes(record, share, found.covariance / square**2, scale), *taught]
    yield Measure(
        name=CONTRIBUTION, unit="%", value=in_cylinder_order(record, 100.0 * share),
        low=in_cylinder_order(record, 100.0 * floor), high=in_cylinder_order(record, 100.0 * high),
        n=len(chosen), provenance=provenance(source, chosen), statistical=100.0 * max(noise) / square,
        systematic=100.0 * float(np.max(np.hypot(additive, scale * np.abs(share)))), notes=notes,
    )  # fmt: skip


def _misfires(record: Record, source: CrankRecord, chosen: Cycles, beyond: Array, level: Level) -> Measure | Missing:
    """Firings of each cylinder that gave less than half of the mean work, of a thousand."""
    z = len(beyond)
    own = level.square * cylinder_work.interval_share(z, record.profile.ignition or IGNITION)
    work, position = misfire.firing_work(chosen, beyond)
    limits = own * np.clip(MISSED * np.exp(1.96 * level.relative * np.array([1.0, 0.0, -1.0])), *MISSED_BETWEEN)
    if limits[2] < SCATTERS * misfire.scatter(work, position):
        why = "the work of single firings scatters too much, or the mean work is too little known, to tell a lost one"
        return Missing(measure=MISFIRES, why=why, capture_hint="")
    n = np.bincount(position, minlength=z)
    count = np.array([misfire.failed(work, position, limit) for limit in limits])
    # Jeffreys' interval of a share (Brown, Cai, DasGupta 2001, from memory)
    low = np.where(count[0] > 0, scipy.special.betaincinv(count[0] + 0.5, n - count[0] + 0.5, 0.025), 0.0)
    high = np.where(count[2] < n, scipy.special.betaincinv(count[2] + 0.5, n - count[2] + 0.5, 0.975), 1.0)
    return Measure(
        name=MISFIRES, unit="1/1000", value=in_cylinder_order(record, 1000.0 * count[1] / n),
        low=in_cylinder_order(record, 1000.0 * low), high=in_cylinder_order(record, 1000.0 * high), n=int(n.sum()),
        provenance=provenance(source, chosen), statistical=None, systematic=None,
        notes=["steady idle only; a firing counts as lost below half of the mean work and below both its neighbours"],
    )  # fmt: skip


class _Idle(NamedTuple):
    """Orders of the chosen cycles and what they say."""

    spectrum: NDArray[np.complex128]
    speed_rad_s: float
    level: Level
    balance: Balance
    off_deg: float
    error: Array


def _balance(
    record: Record,
    source: CrankRecord,
    chosen: Cycles,
    highest: int,
    runouts: tuple[tuple[float, float], ...] = cylinder_work.RUNOUT_GRID,
    learnt: Learnt | None = None,
) -> _Idle:
    """Mean work and what each firing position does beyond it."""
    z = len(record.profile.firing_order)
    ignition = record.profile.ignition or IGNITION
    spectrum = orders(chosen.ripple, highest)
    speed = float(chosen.speed_rad_s.mean())
    off_deg = cylinder_work.tooth_deg(chosen.ripple.mean(axis=0), z, speed, source.teeth)
    error = cylinder_work.tooth_error(speed, np.arange(1, highest + 1) / 2.0, off_deg, source.teeth)
    error *= 1.0 if learnt is None else learnt.left
    firing = slice(z - 1, None, z)
    shape = cylinder_work.mean_level(spectrum.mean(axis=0)[firing], z, speed, ignition, error[firing])
    level = cylinder_work.refine(shape, source.run_downs(speed, z), z, ignition)
    kept, doubt = (None, None) if learnt is None else (learnt.kept, learnt.doubt)
    place = np.array(record.profile.firing_order)
    found = cylinder_work.balance(spectrum, z, speed, level.square, ignition, error, place, runouts, kept, doubt)
    return _Idle(spectrum, speed, level, found, off_deg, error)


def _learnt(every: Cycles, seen: _Idle, z: int, ignition: str) -> tuple[Learnt | None, list[str]]:
    """What cycles above idle teach of the wheel, where its teeth stand off, and the remark on it."""
    if seen.off_deg < tooth_learning.FROM_DEG:
        return None, []
    fast = tooth_learning.fast_cycles(every, seen.speed_rad_s)
    half_orders = np.arange(1, len(seen.error) + 1)
    work = cylinder_work.usual_size(half_orders, complex(seen.spectrum[:, 0].mean()), seen.level.square, ignition)
    firing = abs(complex(seen.spectrum[:, z - 1].mean())) / (2.0 * seen.speed_rad_s**2)
    found = tooth_learning.learn(fast, seen.spectrum, z, seen.speed_rad_s, seen.error, work, firing)
    uneven = f"the teeth of the wheel stand about {seen.off_deg:.2f} deg off their places"
    if found is None:
        above = f"above {tooth_learning.SPEED_RATIO * seen.speed_rad_s * 30.0 / np.pi:.0f} rpm"
        if len(fast) < tooth_learning.FEWEST_CYCLES:
            why = (
                f"to learn them {tooth_learning.FEWEST_CYCLES} cycles at a steady speed {above} or in overrun are "
                f"needed, {len(fast)} were recorded"
            )
        else:
            why = (
                f"the {len(fast)} cycles {above} do not show them apart from what the cylinders do there (too fast, "
                "too much load, or no half orders at idle to go by)"
            )
        return None, [f"{uneven}, which the interval allows for; {why}"]
    slow, quick = found.rpm
    return found, [
        f"{uneven}: learnt from {found.cycles} cycles at {slow:.0f} to {quick:.0f} rpm, as far as it repeats each turn "
        f"(orders {', '.join(map(str, found.orders))}); what comes every second turn is the cylinders' own and was kept"
    ]


def _half_order(source: CrankRecord, chosen: Cycles, seen: _Idle, z: int) -> Measure:
    """Amplitude of order 0.5 of the speed, with the noise of its two parts; what it means depends on the engine."""
    speed, level = seen.speed_rad_s, seen.level
    to_rpm = 30.0 / np.pi / (2.0 * speed)
    first = seen.spectrum[:, 0]
    turned = first * np.exp(-1j * np.angle(first.mean()))
    along = stats.mean(turned.real * to_rpm)
    lack = lack_of_work(1.0, speed) * np.pi / 30.0 / level.square  # share of the mean work that makes 1 rpm
    doubt = 100.0 * max(level.relative, LEAST_SCALE)
    firing = abs(complex(seen.spectrum[:, z - 1].mean())) * to_rpm
    notes = [
        f"one cylinder that gives {100.0 * lack * along.value:.0f} % less than the mean work would make it "
        f"({doubt:.0f} % of that uncertain)",
        f"of this engine at {speed * 30.0 / np.pi:.0f} rpm: {100.0 * along.value / max(firing, 1e-9):.0f} % of the "
        f"swing of its firing order; a cylinder {100.0 * WEAK_FROM:.0f} % weak makes {WEAK_FROM / lack:.1f} rpm",
    ]
    return Measure(
        name=HALF_ORDER, unit="rpm", value=along.value, low=max(along.low, 0.0), high=along.high, n=len(chosen),
        provenance=provenance(source, chosen), statistical=along.sd, systematic=0.0, notes=notes,
    )  # fmt: skip


def _notes(record: Record, share: Array, covariance: Array, scale: float) -> list[str]:
    """Which cylinder stands out, and which other one it could be."""
    notes = [
        f"the mean work is known to {100.0 * scale:.0f} % (standard uncertainty), which stretches all values alike"
    ]
    if record.profile.ignition is None:
        notes.append("compression ignition assumed")
    doubt = np.sqrt(np.diag(covariance)[:, None] + np.diag(covariance) - 2.0 * covariance)
    lowest = named(record, "weak", share, doubt, WEAK_FROM)
    return [*notes, lowest] if lowest else notes


@gives(CORRECTION, needs=("engine_speed",))
def fuel_correction(record: Record) -> Results:
    """How much more fuel the control module gives each cylinder to keep the idle even (not the contribution)."""
    names = [f"cylinder_{k + 1}_fuel_correction" for k in range(record.profile.cylinders or 0)]
    why = lacking(names, record.channels) if names else "the number of cylinders is not known"
    if why:
        yield Missing(measure=CORRECTION, why=why, capture_hint="")
        return
    spans = settled_spans(record, "idle_warm")
    values = [
        np.concatenate([part.value for part in stretches(record.channels.best[name], spans)] or [np.empty(0)])
        for name in names
    ]
    if min(map(len, values)) < FEWEST_VALUES:
        yield Missing(measure=CORRECTION, why=why_no_idle(record), capture_hint="")
        return
    found = [stats.mean(v) for v in values]
    stops = at_stop(values, [record.channels.best[name].finite()[1] for name in names])
    notes = [f"cylinder {k + 1} at its stop: at least this much, {stop:+.1f} %" for k, stop in enumerate(stops) if stop]
    yield Measure(
        name=CORRECTION, unit="%", value=[f.value for f in found],
        low=[-ALL_FUEL if stop < 0.0 else f.low for f, stop in zip(found, stops, strict=True)],
        high=[ALL_FUEL if stop > 0.0 else f.high for f, stop in zip(found, stops, strict=True)],
        n=min(map(len, values)),
        provenance=Provenance(
            files=sorted({record.channels.best[name].file for name in names}), channels=names, spans_s=spans
        ),
        statistical=max(f.sd for f in found), systematic=0.0, notes=notes,
    )  # fmt: skip


def at_stop(idle: list[Array], whole: list[Array]) -> list[float]:
    """Where the correction of each cylinder stands at a limit that it never passes: that limit in %, else 0.

    A control that still corrects moves by its steps like that of the other cylinders; one at its end stands still.
    Where all stand still, ends of equal size on both sides betray it.

    Parameters
    ----------
    idle, whole : values at idle and in the whole record, one array a cylinder, %
    """
    ends = [float(v[np.argmax(np.abs(v))]) for v in whole]
    stands = [abs(end) >= LEAST_STOP and float(np.mean(v == end)) >= STANDS for v, end in zip(idle, ends, strict=True)]
    moves = any(len(np.unique(v)) >= 3 for v in idle)
    largest = max(map(abs, ends))
    mirrored = {end for end, still in zip(ends, stands, strict=True) if still} >= {largest, -largest}
    return [
        end if still and (moves or (mirrored and abs(end) == largest)) else 0.0
        for end, still in zip(ends, stands, strict=True)
    ]
