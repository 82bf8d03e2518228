"""A fleet as a document, in the look of the report."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Final

from logan import __version__
from logan.knowledge import texts
from logan.model.fleet import Drift, Fleet, FleetLog, Peer, Standing
from logan.report import compare_figures, fleet_figures, html_page
from logan.report.compare_figures import difference_title
from logan.report.document import Block, Bullets, Cell, Document, Drawing, Paragraph, Section, Summary, Table
from logan.report.fleet_figures import URGENCIES
from logan.report.text import (
    Catalogue,
    Quantity,
    measure_title,
    number,
    outside,
    percent,
    utc,
)
from logan.report.trend_words import reach_words
from logan.units import of_difference

MOST_ROWS: Final = 200
"""In one table, or one group of it; the JSON holds all."""
MOST_DRAWINGS: Final = 12
DATE: Final = "%Y-%m-%d"


def render(fleet: Fleet, catalogue: Catalogue) -> str:
    """The whole page as text."""
    return html_page.page(build(fleet, catalogue))


def build(fleet: Fleet, catalogue: Catalogue) -> Document:
    """The fleet as data, chapters without content left out."""
    sections = (
        _vehicles(fleet),
        _cautions(),
        _remarks(fleet),
        _drift(fleet, catalogue),
        _peers(fleet, catalogue),
        _bad(fleet),
        _copies(fleet),
        _method(fleet),
    )
    return Document(
        title="Fleet report",
        version=__version__,
        summary=_summary(fleet),
        sections=tuple(section for section in sections if section is not None),
        strip=(),
        brand="Fleet report",
    )


def sentence(fleet: Fleet) -> str:
    """The fleet in one sentence."""
    count = {key: sum(one.urgency == key for one in fleet.vehicles) for key in URGENCIES}
    if not fleet.vehicles:
        return "No log could be analysed."
    alone = len(fleet.vehicles) == 1
    whole = "the one vehicle" if alone else f"{len(fleet.vehicles)} vehicles"
    if not count["fault"] and not count["watch"]:
        if count["cannot_tell"] == len(fleet.vehicles):
            return f"The logs of {whole} hold too little to tell."
        rest = f"; {count['cannot_tell']} of them cannot be told" if count["cannot_tell"] else ""
        return f"Nothing was found on {whole}{rest}."
    if not count["fault"]:
        which, watch = ("", "it") if alone else ("any of ", count["watch"])
        return f"No fault is likely on {which}{whole}; {watch} should be watched."
    watched = f", and {count['watch']} more should be watched" if count["watch"] else ""
    which = "" if alone else f"{count['fault']} of "
    return f"A fault is likely on {which}{whole}{watched}."


def _summary(fleet: Fleet) -> Summary:
    key = [(role, words, str(sum(one.urgency == urgency for one in fleet.vehicles)))
           for urgency, (words, role) in URGENCIES.items()]  # fmt: skip
    starts = sorted(one.start for one in fleet.vehicles if one.start is not None)
    urgent = {one.urgency for one in fleet.vehicles}
    verdict = "no_fault_supported"
    if "fault" in urgent:
        verdict = "fault_supported"
    elif urgent & {"watch", "cannot_tell"} or not urgent:
        verdict = "insufficient_evidence"
    facts: list[tuple[str, Cell]] = [
        ("Logs", str(fleet.logs)),
        ("Logs that gave no result", str(len(fleet.bad))),
        ("Copies of other logs", str(len(fleet.copies))),
        ("Vehicles known by a name", str(sum(one.known for one in fleet.vehicles))),
        ("Engine families", str(len(fleet.families))),
        ("Latest logs, UTC", f"{_day(starts[0])} to {_day(starts[-1])}" if starts else "not known"),
    ]
    return Summary(
        verdict=verdict,
        tag="The fleet by urgency",
        sentence=sentence(fleet),
        shares=fleet_figures.strip(fleet),
        key=tuple(entry for entry in key if entry[2] != "0"),
        facts=tuple(facts),
    )


def _vehicles(fleet: Fleet) -> Section:
    rows: list[tuple[Cell, ...]] = []
    for urgency, (words, _) in URGENCIES.items():
        members = [one for one in fleet.vehicles if one.urgency == urgency]
        if urgency == "none" or not members:
            continue
        rows += [(f"{words[:1].upper()}{words[1:]}: {len(members)}",), *map(_standing, members[:MOST_ROWS])]
        if len(members) > MOST_ROWS:
            rows.append((f"and {len(members) - MOST_ROWS} more, in the JSON file",))
    lead = (
        "Each vehicle as it stands with its latest log. First those whose log supports a fault, the most probable "
        "first; then those beyond a limit, off their peers, or drifting; then those whose log could not show enough."
    )
    head = ("Vehicle", "Likely fault", "Probability", "Why", "Recorded, UTC", "Logs")
    blocks: list[Block] = [Table("Vehicles", head, tuple(rows), frozenset({2, 5}))] if rows else []
    quiet = [one for one in fleet.vehicles if one.urgency == "none"]
    if quiet:
        more = f" and {len(quiet) - MOST_ROWS} more" if len(quiet) > MOST_ROWS else ""
        names = ", ".join(map(_unseen, quiet[:MOST_ROWS]))
        blocks.append(Paragraph(f"Nothing found on {len(quiet)}{_blind_share(quiet)}: {names}{more}."))
        if any(one.blind for one in quiet):
            told = (
                "In brackets: how many of the known faults the latest drive could not have shown, had they been there."
            )
            blocks.append(Paragraph(told, note=True))
    return Section("vehicles", "Vehicles by urgency", lead, tuple(blocks))


def _unseen(one: Standing) -> str:
    """A vehicle on which nothing was found, with how much its drive could not have shown."""
    return f"{_name(one)} ({one.blind} of {one.known_faults})" if one.blind else _name(one)


def _blind_share(quiet: Sequence[Standing]) -> str:
    half = half_blind(quiet)
    if not half:
        return ""
    drives = "the latest drive" if half == len(quiet) == 1 else f"{half} of the latest drives"
    return f", where {drives} could not have shown half of the known faults or more"


def half_blind(quiet: Sequence[Standing]) -> int:
    """How many latest drives could not have shown half of the known faults or more."""
    return sum(one.blind is not None and 0 < one.known_faults <= 2 * one.blind for one in quiet)


def _name(one: Standing) -> str:
    name = outside(one.vehicle, 60)
    return name if one.known else f"not known ({name})"


def _day(start: float | None) -> str:
    """A date that stays on one line."""
    return utc(start, DATE).replace("-", "\N{NON-BREAKING HYPHEN}")


def _standing(one: Standing) -> tuple[Cell, ...]:
    fault = outside(one.fault_title, 120) + ("" if one.cylinder is None else f": cylinder {one.cylinder}")
    why = "; ".join(text.rstrip(".") for text in one.why)
    return (
        _name(one), fault, percent(one.probability) if one.fault else "", outside(why, 600),
        _day(one.start), str(one.logs),
    )  # fmt: skip


def _cautions() -> Section:
    lines = (
        texts.cautions()["road_test"].text,
        "The report of the single log names the checks of a vehicle and the dangers of each.",
        "All this is inferred from records. The service manual, local rules and licensed practice come first.",
    )
    return Section("cautions", "Cautions", "", (Bullets(lines, warning=True),))


def _remarks(fleet: Fleet) -> Section | None:
    """How far the comparison reaches, and what of the logs cannot be."""
    if not fleet.remarks:
        return None
    lines = tuple(outside(remark, 1000) for remark in fleet.remarks)
    return Section("remarks", "Remarks on the logs", "", (Bullets(lines),))


def _drift(fleet: Fleet, catalogue: Catalogue) -> Section | None:
    if not fleet.drifts:
        return None
    moved = [one for one in fleet.drifts if one.trend.shown or (one.step is not None and one.step.shown)]
    blocks: list[Block] = []
    if moved:
        head = ("Vehicle", "Measure", "Slope", "Towards its limit", "Change of level")
        rows = tuple(_drift_row(one, catalogue) for one in moved[:MOST_ROWS])
        blocks.append(Table("Drifts", head, rows, frozenset({2})))
    for one in moved[:MOST_DRAWINGS]:
        trend = one.trend
        level_from = one.step.at if one.step is not None and one.step.shown and not trend.shown else None
        decimals = _decimals(trend.measure, catalogue)
        drawn = compare_figures.over_drives(trend, one.limit, decimals, catalogue, level_from)
        words = "days after the first log" if trend.per == "day" else "number of the log"
        title = f"{outside(one.vehicle, 60)}, {difference_title(trend, catalogue)}"
        caption = f"{title}: each log with its 95 % interval; below, {words}."
        blocks.append(Drawing(drawn, caption, unit=trend.unit))
    blocks.append(
        Paragraph(
            f"Numbers of vehicles with three logs and more that moved by more than matters: {len(fleet.drifts)}; "
            f"in one direction, or by a step that chance does not explain: {len(moved)}.",
            note=True,
        )
    )
    lead = "What wanders from visit to visit on one vehicle, with a slope that outliers do not make."
    return Section("drift", "Drift over visits", lead, tuple(blocks))


def _drift_row(one: Drift, catalogue: Catalogue) -> tuple[Cell, ...]:
    trend, step = one.trend, one.step
    decimals, unit = _decimals(trend.measure, catalogue), of_difference(trend.unit)
    slope: Cell = Quantity(trend.slope, unit, decimals + 1, after=f" per {trend.per}") if trend.shown else ""
    changed: Cell = ""
    if step is not None and step.shown:
        changed = Quantity(step.change, unit, decimals, after=f" with {outside(step.log, 80)}")
    reach = reach_words(trend) if trend.shown else ""
    return (outside(one.vehicle, 60), difference_title(trend, catalogue), slope, reach, changed)


def _peers(fleet: Fleet, catalogue: Catalogue) -> Section | None:
    if not fleet.peers:
        return None
    shown = [one for one in fleet.peers if one.shown]
    blocks: list[Block] = []
    if shown:
        head = ("Vehicle", "Measure", "Value", "Peers' middle", "Peers' spread", "Spreads off", "Peers")
        rows = tuple(_peer_row(one, catalogue) for one in shown[:MOST_ROWS])
        blocks.append(Table("Vehicles that stand out among their peers", head, rows, frozenset({2, 3, 4, 5, 6})))
    for place in list(dict.fromkeys(map(_place, shown)))[:MOST_DRAWINGS]:
        rows_of = [one for one in fleet.peers if _place(one) == place]
        title = _peer_title(rows_of[0], catalogue)
        drawn = fleet_figures.among_peers(rows_of, _decimals(rows_of[0].measure, catalogue), title)
        caption = (
            f"{title}: every vehicle of the family {outside(rows_of[0].family, 60)}; "
            "shaded, one spread to each side of the middle."
        )
        blocks.append(Drawing(drawn, caption, unit=rows_of[0].unit))
    blocks.append(
        Paragraph(
            f"Numbers compared with those of the family: {len(fleet.peers)}; that stand out: {len(shown)}.", note=True
        )
    )
    lead = (
        "The latest number of each vehicle against the others with the same engine. A number can be within its limit "
        "and still be the one that does not belong: a single log cannot show that."
    )
    return Section("peers", "Against vehicles of the same engine", lead, tuple(blocks))


def _place(one: Peer) -> tuple[str, str, int | None]:
    return one.family, one.measure, one.cylinder


def _peer_title(one: Peer, catalogue: Catalogue) -> str:
    title = measure_title(one.measure, catalogue)
    return title if one.cylinder is None else f"{title}, cylinder {one.cylinder}"


def _peer_row(one: Peer, catalogue: Catalogue) -> tuple[Cell, ...]:
    decimals = _decimals(one.measure, catalogue)
    spread_unit = of_difference(one.unit)
    return (
        outside(one.vehicle, 60), _peer_title(one, catalogue), Quantity(one.value, one.unit, decimals),
        Quantity(one.centre, one.unit, decimals), Quantity(one.spread, spread_unit, decimals + 1),
        number(one.z, 1), str(one.peers),
    )  # fmt: skip


def _decimals(name: str, catalogue: Catalogue) -> int:
    return catalogue[name].decimals if name in catalogue else 2


def _bad(fleet: Fleet) -> Section | None:
    if not fleet.bad:
        return None
    lead = "What these logs hold is not known. The others were analysed all the same."
    return Section("bad-logs", "Logs without a result", lead, (Table("Bad logs", ("Log", "Why"), _reasons(fleet.bad)),))


def _reasons(rows: Sequence[FleetLog]) -> tuple[tuple[Cell, ...], ...]:
    listed: Iterable[FleetLog] = rows[:MOST_ROWS]
    out: list[tuple[Cell, ...]] = [(outside(row.log, 120), outside(row.error or "", 400)) for row in listed]
    if len(rows) > MOST_ROWS:
        out.append((f"and {len(rows) - MOST_ROWS} more, in the JSON file",))
    return tuple(out)


def _copies(fleet: Fleet) -> Section | None:
    if not fleet.copies:
        return None
    ordered = sorted(fleet.copies, key=lambda row: row.copy_of or "")
    rows: list[tuple[Cell, ...]] = [
        (outside(first, 120), outside(", ".join(row.log for row in group), 400))
        for first, group in groupby(ordered, key=lambda row: row.copy_of or "")
    ]
    lead = "The same bytes under several names count once."
    return Section("copies", "Copies", lead, (Table("Copies", ("Log", "The same as"), tuple(rows[:MOST_ROWS])),))


def _method(fleet: Fleet) -> Section:
    lines = [
        "Against peers: the distance of a number from the median of the other vehicles, in units of their spread "
        "(biweight, which outliers do not move, and at least what the numbers are uncertain by), as if good vehicles "
        "scatter normally. A family needs eight vehicles. The engine is the one that was named, or else the kind of "
        "vehicle that the VIN states.",
        "Over visits: the median of the slopes between all pairs of logs (Theil and Sen), tests of its order (Kendall) "
        "and of its size (Student), and changes of level by a penalised segmentation. A trend needs three logs "
        "and a step six, and few logs seldom suffice.",
        f"False discoveries are kept under control at {100.0 * fleet.rate:.0f} % (Benjamini and Hochberg 1995), over "
        "all comparisons of the whole fleet with peers together, and over all trends and steps together: of the "
        f"numbers that are said to stand out, about one in {1.0 / fleet.rate:.0f} may do so by chance. It holds for "
        "numbers that are independent or rise and fall together.",
        "Numbers of different drives are compared as they are. Weather, load and the way of driving differ too: before "
        "anything is taken apart, repeat the drive on the vehicle that stands out.",
    ]  # fmt: skip
    return Section("method", "How it was judged", "", (Bullets(tuple(lines)),))
