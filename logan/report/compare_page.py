"""A comparison of drives as a document, in the look of the report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from logan import __version__
from logan.knowledge import texts
from logan.knowledge.measures import MeasureInfo
from logan.model.comparison import Comparison, Difference, FaultChange, Reference, Trend
from logan.model.finding import Finding
from logan.model.record import Record
from logan.report import compare_figures, html_page
from logan.report.compare_figures import OUTCOMES, difference_title
from logan.report.document import Block, Bullets, Cell, Document, Drawing, Paragraph, Section, Summary, Table
from logan.report.text import (
    Catalogue,
    Interval,
    Quantity,
    measure_title,
    outside,
    percent,
    utc,
)
from logan.report.trend_words import reach_words, steady_words
from logan.units import of_difference

FATES: Final = {
    "cleared": "cleared", "still_there": "still there", "new": "new", "cannot_tell": "cannot be told",
}  # fmt: skip
TAGS: Final = {
    "worked": ("The repair worked", "no_fault_supported"),
    "worked_in_part": ("Worked in part", "insufficient_evidence"),
    "not_worked": ("The repair did not work", "fault_supported"),
    "not_shown": ("Not shown", "insufficient_evidence"),
}
MARKS: Final = {"worse": "beyond", "better": "within"}
ROWS_IN_A_DRAWING: Final = 12
"""So that two drawings stand on a printed page."""
LIMIT_WORDS: Final = {"about": "± ", "over": "at most ", "under": "at least "}


@dataclass(frozen=True, slots=True)
class Side:
    """One drive as the page shows it."""

    name: str
    record: Record
    finding: Finding


def render(sides: Sequence[Side], comparison: Comparison, catalogue: Catalogue) -> str:
    """The whole page as text."""
    return html_page.page(build(sides, comparison, catalogue))


def build(sides: Sequence[Side], comparison: Comparison, catalogue: Catalogue) -> Document:
    """The comparison as data, chapters without content left out."""
    sections = (
        _faults(comparison),
        _cautions(sides, comparison),
        _differences(comparison, catalogue),
        _trends(comparison, catalogue),
        _not_compared(comparison, catalogue),
        _drives(sides),
        _method(comparison, catalogue),
    )
    first, last = sides[0], sides[-1]
    return Document(
        title=f"Comparison: {outside(first.name, 60)} and {outside(last.name, 60)}",
        version=__version__,
        summary=_summary(sides, comparison),
        sections=tuple(section for section in sections if section is not None),
        strip=(),
        brand="Before and after",
    )


def _summary(sides: Sequence[Side], comparison: Comparison) -> Summary:
    tag, verdict = TAGS[comparison.success]
    rows = comparison.differences
    key = [(role, words, str(sum(row.outcome == one for row in rows))) for one, (words, role) in OUTCOMES.items()]
    first, last = sides[0], sides[-1]
    facts: list[tuple[str, Cell]] = [
        ("Before", outside(first.name, 80)),
        ("After", outside(last.name, 80)),
        ("Engine", outside(last.record.profile.name, 120)),
        ("Numbers compared", str(len(rows))),
        ("VIN", outside(last.record.vehicle.vin or first.record.vehicle.vin or "not in the captures", 40)),
        ("Fitted between", ", ".join(outside(word, 40).replace("_", " ") for word in last.record.work) or "not stated"),
    ]
    return Summary(
        verdict=verdict,
        tag=tag,
        sentence=outside(comparison.sentence, 800),
        shares=compare_figures.strip(rows),
        key=tuple(entry for entry in key if entry[2] != "0"),
        facts=tuple(facts),
    )


def fault_title(one: FaultChange) -> str:
    """Title with the cylinder."""
    title = outside(one.title, 120)
    return title if one.cylinder is None else f"{title}: cylinder {one.cylinder}"


def _faults(comparison: Comparison) -> Section:
    title = "What became of the faults"
    if not comparison.faults:
        return Section("faults", title, "", (Paragraph("Neither record supports a fault."),))
    head = ("Fault", "Outcome", "Before", "After", "Why")
    rows = tuple(
        (fault_title(one), FATES[one.fate], percent(one.before), percent(one.after), outside(one.why, 600))
        for one in comparison.faults
    )
    marks = tuple({"cleared": "within", "cannot_tell": ""}.get(one.fate, "beyond") for one in comparison.faults)
    lead = (
        "A fault is cleared only where the record after could have shown it and speaks against it. "
        "Before and after are its probabilities in each record by itself."
    )
    return Section("faults", title, lead, (Table("Faults before and after", head, rows, frozenset({2, 3}), marks),))


def _cautions(sides: Sequence[Side], comparison: Comparison) -> Section:
    present = {one.fault for one in comparison.faults if one.fate != "cleared"}
    lines = [texts.cautions()["road_test"].text]
    lines += [text for fault in sides[-1].finding.ranking.faults if fault.fault in present for text in fault.cautions]
    lines.append("All this is inferred from records. The service manual, local rules and licensed practice come first.")
    return Section("cautions", "Cautions", "", (Bullets(tuple(dict.fromkeys(lines)), warning=True),))


def _differences(comparison: Comparison, catalogue: Catalogue) -> Section:
    rows: list[tuple[Cell, ...]] = []
    marks: list[str] = []
    ordered: list[Difference] = []
    for outcome, (words, _) in OUTCOMES.items():
        members = [row for row in comparison.differences if row.outcome == outcome]
        if members:
            rows.append((words[:1].upper() + words[1:],))
            rows += [_row(row, catalogue) for row in members]
            marks += ["", *(MARKS.get(outcome, "") for _ in members)]
            ordered += members
    if not rows:
        return Section("differences", "Measure by measure", "", (Paragraph("No measure stands on both sides."),))
    lead = (
        "After minus before, with its 95 % interval. “The same” means that the whole interval lies within what "
        "matters; “cannot be told”, that it does not and that no real difference is shown either: the record is short, "
        "or so large a difference comes by chance among so many numbers. "
        "Better and worse are judged by the limit or target of the engine profile, else by what is best for an error: "
        "nothing."
    )
    head = ("Measure", "Before", "After", "Difference", "95 % interval")
    blocks: list[Block] = [Table("Differences", head, tuple(rows), frozenset({1, 2, 3, 4}), tuple(marks))]
    scaled = [row for row in ordered if row.matters]
    caption = (
        "Differences in units of the change that matters; within the shaded band they do not matter. "
        "Longer bars are cut at the edge."
    )
    for start in range(0, len(scaled), ROWS_IN_A_DRAWING):
        drawn = compare_figures.differences(scaled[start : start + ROWS_IN_A_DRAWING], catalogue)
        blocks.append(Drawing(drawn, "" if start + ROWS_IN_A_DRAWING < len(scaled) else caption))
    return Section("differences", "Measure by measure", lead, tuple(blocks))


def _row(row: Difference, catalogue: Catalogue) -> tuple[Cell, ...]:
    decimals, shown = _adding_up(row, _decimals(row.measure, catalogue))
    unit = of_difference(row.unit)
    return (
        difference_title(row, catalogue) + _crossing(row) + _by_chance(row),
        Quantity(row.before.value, row.unit, decimals),
        Quantity(row.after.value, row.unit, decimals), Quantity(shown, unit, decimals),
        Interval(row.low, row.high, unit, decimals),
    )  # fmt: skip


def _adding_up(row: Difference, decimals: int) -> tuple[int, float]:
    """Decimals, one or two more than usual where need be, and the difference, so that the shown numbers add up."""
    for places in range(decimals, decimals + 3):
        of_shown = round(row.after.value, places) - round(row.before.value, places)
        if abs(of_shown - round(row.difference, places)) < 0.1 * 10.0**-places:
            return places, row.difference
    return decimals, row.difference


def _limit(where: Reference | None, unit: str, decimals: int) -> Cell:
    if where is None:
        return ""
    if where.limit is None:
        return Quantity(where.centre, unit, decimals, "target ")
    return Quantity(where.limit, unit, decimals, LIMIT_WORDS[where.kind])


def _scales(comparison: Comparison, catalogue: Catalogue) -> Table:
    """From when a difference of each measure matters, and where the profile wants it."""
    rows: dict[str, tuple[Cell, ...]] = {}
    for row in comparison.differences:
        decimals = _decimals(row.measure, catalogue)
        matters: Cell = "not known"
        if row.matters is not None:
            matters = Quantity(row.matters, of_difference(row.unit), _fine(row.matters, decimals))
        limit = _limit(row.reference, row.unit, decimals)
        rows[row.measure] = (measure_title(row.measure, catalogue), matters, limit, f"{100.0 * row.shared:.0f} %")
    head = ("Measure", "A change matters from", "Limit or target", "Systematic error shared")
    return Table("What each measure was judged by", head, tuple(rows.values()), frozenset({1, 2, 3}))


def _fine(value: float, decimals: int) -> int:
    """Decimals with which a number is not rounded by more than a twentieth of itself."""
    return next(
        (d for d in range(decimals, decimals + 3) if abs(round(value, d) - value) <= 0.05 * abs(value)), decimals
    )


def _crossing(row: Difference) -> str:
    if row.beyond_after:
        return " (beyond the limit on both days)" if row.beyond_before else " (now beyond the limit)"
    return " (no longer beyond the limit)" if row.beyond_before else ""


def _by_chance(row: Difference) -> str:
    """Why a difference counts for nothing although its own interval shows one."""
    alone = row.outcome == "cannot_tell" and not row.low <= 0.0 <= row.high
    return " (by itself a difference, but one of so many that chance may make it)" if alone else ""


def _decimals(name: str, catalogue: Catalogue) -> int:
    info: MeasureInfo | None = catalogue.get(name)
    return info.decimals if info else 2


def _trends(comparison: Comparison, catalogue: Catalogue) -> Section | None:
    if not comparison.trends:
        return None
    shown = [one for one in comparison.trends if one.shown]
    stepped = [one for one in comparison.trends if one.steps]
    blocks: list[Block] = []
    if shown:
        head = ("Measure", "Slope", "95 % interval", "Towards its limit")
        blocks.append(Table("Trends", head, tuple(_trend_row(one, catalogue) for one in shown), frozenset({1, 2})))
    if stepped:
        lines = [
            f"{difference_title(one, catalogue)}: from drive {', '.join(str(k + 1) for k in one.steps)} on"
            for one in stepped
        ]
        blocks += [Paragraph("The level changes:"), Bullets(tuple(lines))]
    limits = {row.measure: row.reference for row in comparison.differences}
    for one in list({id(t): t for t in (*shown, *stepped)}.values()):
        where = limits.get(one.measure)
        limit = where.limit if where is not None else None
        if limit is not None and where is not None and where.kind == "about" and one.values[-1] < 0.0:
            limit = -limit
        drawn = compare_figures.over_drives(one, limit, _decimals(one.measure, catalogue), catalogue)
        words = "days after the first" if one.per == "day" else "number of the drive"
        title = difference_title(one, catalogue)
        caption = f"{title}: each drive with its 95 % interval; below, {words}."
        blocks.append(Drawing(drawn, caption, unit=one.unit))
    quiet = len(comparison.trends) - len(shown)
    blocks.append(
        Paragraph(
            f"No trend is shown for {quiet} of {len(comparison.trends)} numbers; nothing is forecast for them.",
            note=True,
        )
    )
    if steady := steady_words(comparison, catalogue):
        blocks.append(Paragraph(steady))
    lead = (
        "The slope is the median of the slopes between all pairs of drives. A trend is shown only where so "
        "steady an order would hardly come by chance among so many numbers: fewer than five drives seldom suffice."
    )
    return Section("trends", "Over all drives", lead, tuple(blocks))


def _trend_row(one: Trend, catalogue: Catalogue) -> tuple[Cell, ...]:
    decimals = _decimals(one.measure, catalogue) + 1
    unit, per = of_difference(one.unit), f" per {one.per}"
    return (
        difference_title(one, catalogue), Quantity(one.slope, unit, decimals, after=per),
        Interval(one.low, one.high, unit, decimals, per), reach_words(one),
    )  # fmt: skip


def _not_compared(comparison: Comparison, catalogue: Catalogue) -> Section | None:
    if not comparison.not_comparable:
        return None
    rows = tuple((measure_title(one.measure, catalogue), outside(one.why)) for one in comparison.not_comparable)
    table = Table("Not compared", ("Measure", "Why"), rows)
    return Section(
        "not-compared",
        "Not comparable",
        "Measures that one drive holds and that cannot be set against the other's.",
        (table,),
    )


def _drives(sides: Sequence[Side]) -> Section:
    head = ("Drive", "VIN", "Recorded, UTC", "What it shows by itself")
    starts = [min((c.start for c in side.record.captures if c.start is not None), default=None) for side in sides]
    rows = tuple(
        (
            _drive_title(side), outside(side.record.vehicle.vin or "–", 40), utc(start, "%Y-%m-%d %H:%M"),
            outside(side.finding.ranking.sentence, 400),
        )
        for side, start in zip(sides, starts, strict=True)
    )  # fmt: skip
    return Section("drives", "The drives", "", (Table("Drives", head, rows),))


def _drive_title(side: Side) -> str:
    """Its name, and the files where they are others."""
    names = [outside(capture.name, 60) for capture in side.record.captures]
    return outside(side.name, 80) if names == [side.name] else f"{outside(side.name, 80)}: {', '.join(names)}"


def _method(comparison: Comparison, catalogue: Catalogue) -> Section:
    count = len(comparison.differences)
    lines = [
        *comparison.remarks,
        f"{count} numbers were compared. Were nothing different, about {comparison.by_chance:.1f} of them would still "
        "lie outside their 95 % interval by chance alone; so a difference counts only where it survives with at most "
        "5 % false discoveries among all that count (Benjamini and Hochberg 1995).",
        "What is fixed to the vehicle cancels in part in a difference: tooth pitch, where a sensor sits, its "
        "calibration, the angles of the profile. How much is a judgement for each measure, on the careful side. "
        "Nothing cancels where a part that carries it was fitted between the drives, where the value was read another "
        "way, or between vehicles. Chance, gaps in the record and the way of driving do not cancel.",
        "What matters is a quarter of the profile's tolerance for most measures that have one, else a judgement; all "
        "of it stands in a data file that a workshop can edit.",
        "Where the profile sets no limit or target, a measure is not called better or worse, only changed.",
    ]
    blocks: list[Block] = [Bullets(tuple(lines))]
    if comparison.differences:
        blocks.append(_scales(comparison, catalogue))
    return Section("method", "How it was compared", "", tuple(blocks))
