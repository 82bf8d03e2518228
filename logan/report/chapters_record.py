"""Chapters about the record: the timing plane, the drive, the cycle, the cylinders, the measures."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from logan.knowledge.limits import LIMITS, judged, value_of
from logan.model.capture import OTHER_ENGINE
from logan.model.finding import Finding
from logan.model.measure import Measure
from logan.model.record import Record
from logan.report import cylinders, ribbon, ring, timing_plane
from logan.report.chapters_finding import suspects
from logan.report.document import Block, Bullets, Cell, Chart, Drawing, Heading, Legend, Pair, Paragraph, Section, Table
from logan.report.figures import time_plots
from logan.report.text import Catalogue, Interval, Quantity, measure_title, outside, plainly, scalar, unit_words

MOST_ABREAST = 3
"""Measures by cylinder in one table, each with its interval: what a page of 1280 px holds."""
COMPRESSION = "cylinder_compression_percent"
CYLINDER_WORDS = (
    (
        "cylinder_contribution_percent",
        "Contribution is the work of a cylinder against the mean of all, from the crank's speed within the cycle: one "
        "that works less but compresses as well as the others lacks fuel, one that also compresses less leaks.",
    ),
    (COMPRESSION, "Compression is read from the dips of the crank's speed while cranking; the best cylinder is 100."),
    (
        "cylinder_fuel_correction_percent",
        "Fuel correction is what the control module adds or takes to make the cylinders even: plus is more fuel.",
    ),
)
ALWAYS_PRINTED = ("speed", "load", "timing")
_LIMIT_WORDS = {"about": "± ", "over": "at most ", "under": "at least "}
_VERDICTS = {"within": "within", "beyond": "beyond", "open": "not decided"}


def _by_name(finding: Finding) -> dict[str, Measure]:
    return {measure.name: measure for measure in finding.measures}


def timing(record: Record, finding: Finding) -> Section | None:
    """The timing plane with its fit in words."""
    fit = timing_plane.fit_of(_by_name(finding))
    static, delay, drift = fit.static, fit.delay, fit.drift
    figure = timing_plane.figure(record, fit)
    if figure is None:
        return None
    lead = (
        "Actual minus commanded injection timing in crank degrees (plus is early) at every engine speed. "
        "A part seated wrongly moves all points by the same angle; a delay makes the points fall away as speed rises; "
        "shortage of fuel moves them under load; a drift moves them as the drive goes on."
    )
    blocks: list[Block] = []
    words = "Timing error against engine speed"
    found = []
    if static is not None:
        found.append(f"The part that is the same at every speed is {_value(static, 2)} ({_range(static, 2)})")
        words += f", constant part {_value(static, 1)}"
    if delay is not None:
        found.append(f"the part that grows with speed equals a delay of {_value(delay, 3)} ({_range(delay, 3)})")
    if drift is not None:
        shown = "the timing drifts by" if fit.drift_deg_per_min else "no drift is shown:"
        found.append(f"{shown} {_value(drift, 3)} ({_range(drift, 3)})")
    if found:
        text = "; ".join(found)
        blocks.append(Paragraph(f"{text[0].upper()}{text[1:]}. In brackets: 95 % intervals."))
    if fit.drift_deg_per_min:
        words += f", drift of {_value(drift, 2)} taken out" if drift is not None else ""
        blocks.append(
            Paragraph(
                "That drift is taken out of the points: each stands where it would have stood at the start of the "
                "drive, as the line and its constant part do. How the error grew with time shows in the plots of the "
                "drive.",
                note=True,
            )
        )
    pump = record.profile.pump
    if pump is None or (pump.key_offset_deg is None and pump.key_step_deg is None):
        note = "The engine profile does not say how the pump's drive key is made, so no key lines are drawn."
    else:
        note = (
            "Shaded: the profile's tolerance. Dotted: where a drive key that many steps off would put every point. "
            "Dashed: where the right key fitted backwards would put them."
        )
    blocks.append(Paragraph(note, note=True))
    blocks.append(
        Chart("timing-plane", "Timing error at each engine speed", figure, words, "plane", key=timing_plane.key(figure))
    )
    return Section("timing", "Timing plane", lead, tuple(blocks))


def _value(measure: Measure, decimals: int) -> str:
    return str(Quantity(scalar(measure.value), measure.unit, decimals))


def _range(measure: Measure, decimals: int) -> str:
    return str(Interval(scalar(measure.low), scalar(measure.high), measure.unit, decimals))


def drive(record: Record, finding: Finding) -> Section | None:
    """The ribbon, then every channel that was recorded, on one time axis."""
    strip = ribbon.draw(record)
    plots = time_plots(record)
    if strip is None and not plots:
        return None
    blocks: list[Block] = []
    if strip is not None:
        blocks.append(Drawing(strip, "What the engine was asked to do."))
        items = tuple((kind, words, f"{seconds:.0f} s") for kind, words, seconds in ribbon.legend(record))
        blocks.append(Legend(items))
        left_out = ribbon.not_drawn(record)
        if left_out:
            blocks.append(Paragraph(f"The {left_out} shortest stretches are not drawn in the strip.", note=True))
    if plots:
        words = "Drag across any plot to look closer in all of them, double-click to go back."
        blocks.append(Paragraph(words, note=True, on_paper=False))
    used = _channels_used(finding)
    for plot in plots:
        bears_on = used.get(next((name for name in plot.channels if name in used), ""), "")
        printed = plot.panel.id in ALWAYS_PRINTED or bool(bears_on)
        blocks.append(
            Chart(
                id=f"plot-{plot.panel.id}",
                title=plot.panel.title,
                figure=plot.figure,
                label=plot.label,
                size="time",
                unit=plot.panel.unit,
                key=plot.key if len(plot.key) > 1 else (),
                bears_on=bears_on,
                on_paper=printed,
            )
        )
    if any(isinstance(block, Chart) and not block.on_paper for block in blocks):
        blocks.append(
            Paragraph("On paper only the channels that bear on the finding are drawn; the page shows all.", note=True)
        )
    lead = (
        "All channels share one time axis. The strip below each plot repeats the drive states; dotted lines mark when "
        "trouble codes were read."
    )
    return Section("drive", "The drive", lead, tuple(blocks))


def _channels_used(finding: Finding) -> dict[str, str]:
    """Channel -> title of the first suspected fault whose evidence was computed on it."""
    measures = _by_name(finding)
    out: dict[str, str] = {}
    for fault in suspects(finding.ranking):
        for piece in fault.evidence:
            if piece.kind == "measure" and piece.name in measures:
                for channel in measures[piece.name].provenance.channels:
                    out.setdefault(channel, outside(fault.title, 80) or plainly(fault.fault))
    return out


def cycle(record: Record, finding: Finding) -> Section | None:
    """The cycle ring, where the cam was measured against the crank."""
    measures = _by_name(finding)
    measure = measures.get("cam_phase_error_deg")
    if measure is None:
        return None
    single = measures.get("cam_edge_outlier_deg")
    own = single.parts if single is not None else []
    shift, low, high = scalar(measure.value), scalar(measure.low), scalar(measure.high)
    if shift is None or low is None or high is None:
        return None
    drawing = ring.draw(record.profile, shift, low, high, own)
    if drawing is None:
        return None
    seen = ring.INSIDE[bool(own)]
    lead = (
        "One turn of the ring is one working cycle, two turns of the crank, clockwise from top dead centre of "
        f"cylinder 1. Outside stands where the cam's edges belong, with the tolerance; inside, {seen}."
    )
    caption = (
        "Outermost: the crank wheel's teeth. Blue, outside the line: expected cam edges and their tolerance. "
        f"Orange, inside: {seen}, with the 95 % interval of the mean error. "
        "Numbers: the cylinders where they fire."
    )
    return Section("cycle", "Cam against crank", lead, (Drawing(drawing, caption, sheet=True),))


def _by_cylinder(measure: Measure) -> bool:
    return isinstance(measure.value, list) and measure.name.startswith("cylinder_")


def cylinder_chart(finding: Finding, catalogue: Catalogue) -> Section | None:
    """Contribution and compression as bars, where they were measured, and every list in cylinder order as figures."""
    lists = [measure for measure in finding.measures if _by_cylinder(measure)]
    if not lists:
        return None
    marked = {fault.cylinder for fault in suspects(finding.ranking) if fault.cylinder is not None}
    drawings = []
    for measure in lists:
        title = measure_title(measure.name, catalogue)
        drawing = cylinders.draw(measure, title, 0.0 if measure.name == COMPRESSION else None, marked=marked)
        if drawing is not None:
            beyond = " One without an end goes on beyond the drawing." if cylinders.beyond(measure) else ""
            drawings.append(Drawing(drawing, f"{title}, {unit_words(measure.unit)}, with 95 % intervals.{beyond}"))
    names = {measure.name for measure in lists}
    lead = " ".join(words for name, words in CYLINDER_WORDS if name in names)
    blocks: list[Block] = [Pair(tuple(drawings))] if drawings else []
    if marked:
        dark = ", ".join(str(cylinder) for cylinder in sorted(marked))
        blocks.append(Paragraph(f"Dark, with a frame round the name: in question, cylinder {dark}.", note=True))
    blocks += [_cylinder_table(part, marked, catalogue) for part in _abreast(lists)]
    apart = tuple(_set_apart(finding, lists, catalogue))
    if apart:
        why = "The evidence sets a cylinder against the median of the others, which one bad cylinder does not shift:"
        blocks += [Paragraph(why), Bullets(apart)]
    return Section("cylinders", "Cylinders side by side", lead, tuple(blocks))


def _set_apart(finding: Finding, lists: list[Measure], catalogue: Catalogue) -> Iterator[str]:
    """What the table gives for a cylinder and what the evidence does, which sets it against the others."""
    told: set[tuple[str, int]] = set()
    of = {measure.name: measure for measure in lists}
    for fault in suspects(finding.ranking):
        for piece in fault.evidence:
            cylinder = fault.cylinder
            if cylinder is None or piece.name not in of or not isinstance(piece.observed, str):
                continue
            if (piece.name, cylinder) not in told and cylinder <= len(_listed(of[piece.name].value)):
                told.add((piece.name, cylinder))
                info = catalogue.get(piece.name)
                own = Quantity(
                    _listed(of[piece.name].value)[cylinder - 1], of[piece.name].unit, info.decimals if info else 1
                )
                title = measure_title(piece.name, catalogue)
                yield (
                    f"{title} of cylinder {cylinder}: {own} in the table, {outside(piece.observed)} from the median of "
                    "the others."
                )


def _abreast(lists: list[Measure]) -> list[list[Measure]]:
    """The lists in tables of about equal width that a page holds."""
    tables = -(-len(lists) // MOST_ABREAST)
    each = -(-len(lists) // tables)
    return [lists[start : start + each] for start in range(0, len(lists), each)]


def _cylinder_table(lists: list[Measure], marked: Collection[int], catalogue: Catalogue) -> Table:
    head = ["Cylinder"]
    columns: list[list[Cell]] = []
    for measure in lists:
        info = catalogue.get(measure.name)
        decimals = info.decimals if info else 1
        head += [_short_title(measure_title(measure.name, catalogue)), "95 % interval"]
        columns.append([Quantity(value, measure.unit, decimals) for value in _listed(measure.value)])
        pairs = zip(_listed(measure.low), _listed(measure.high), strict=False)
        columns.append([Interval(low, high, measure.unit, decimals) for low, high in pairs])
    count = max(len(column) for column in columns)
    rows = tuple(
        (
            f"{k + 1}, in question" if k + 1 in marked else str(k + 1),
            *(column[k] if k < len(column) else "" for column in columns),
        )
        for k in range(count)
    )
    caption = "Measures by cylinder: " + ", ".join(head[1::2]).lower()
    return Table(caption, tuple(head), rows, frozenset(range(1, len(head))))


def _short_title(title: str) -> str:
    """A measure's title without the word that every column of the table would repeat."""
    short = title.removeprefix("Cylinder ")
    return short[:1].upper() + short[1:]


def _listed(value: float | list[float]) -> list[float]:
    return value if isinstance(value, list) else [value]


def measures_table(record: Record, finding: Finding, catalogue: Catalogue) -> Section:
    """Every measure that is not by cylinder, with interval, count and limit, by group."""
    groups: dict[str, list[Measure]] = {}
    for measure in finding.measures:
        if not _by_cylinder(measure):
            info = catalogue.get(measure.name)
            groups.setdefault(info.group if info else "other", []).append(measure)
    rows: list[tuple[Cell, ...]] = []
    marks: list[str] = []
    for group, members in groups.items():
        rows.append((plainly(group),))
        marks.append("")
        for measure in members:
            for row, mark in _rows(measure, record, catalogue):
                rows.append(row)
                marks.append(mark)
    if not rows:
        return Section("measures", "Measures", "", (Paragraph("Nothing could be measured on this record."),))
    lead = (
        "The interval is where the true value lies with 95 % confidence, chance and systematic error together. "
        "Limits come from the engine profile; “not decided” means that the interval reaches across the limit."
    )
    head = ("Measure", "Value", "95 % interval", "Count", "Limit", "Against the limit")
    blocks: list[Block] = [Table("Measures", head, tuple(rows), frozenset({1, 2, 3, 4}), tuple(marks))]
    notes: dict[str, list[str]] = {}
    for measure in finding.measures:
        for note in measure.notes:
            notes.setdefault(outside(note), []).append(measure_title(measure.name, catalogue))
    if notes:
        blocks += [
            Heading("Notes"),
            Bullets(tuple(f"{'; '.join(titles)}: {note}" for note, titles in notes.items())),
        ]
    return Section("measures", "Measures", lead, tuple(blocks))


def _rows(measure: Measure, record: Record, catalogue: Catalogue) -> Iterator[tuple[tuple[Cell, ...], str]]:
    """One row a value, with what the limit says of it."""
    info = catalogue.get(measure.name)
    decimals = info.decimals if info else 2
    title = measure_title(measure.name, catalogue)
    limit = LIMITS.get(measure.name)
    # limits of another engine's profile judge nothing
    own = not any(remark.kind == OTHER_ENGINE for remark in record.remarks)
    bound = value_of(record.profile, limit) if limit and own else None
    values, lows, highs = _listed(measure.value), _listed(measure.low), _listed(measure.high)
    for k, (value, low, high) in enumerate(zip(values, lows, highs, strict=False)):
        limit_cell: Cell = ""
        mark = ""
        if limit is not None and bound is not None:
            limit_cell = Quantity(bound, measure.unit, decimals, _LIMIT_WORDS[limit.kind])
            mark = judged(limit, bound, low, high)
        cells: tuple[Cell, ...] = (
            title if len(values) == 1 else f"{title}, {k + 1}",
            Quantity(value, measure.unit, decimals, after=info.side(low, high) if info else ""),
            Interval(low, high, measure.unit, decimals), str(measure.n), limit_cell, _VERDICTS.get(mark, ""),
        )  # fmt: skip
        yield cells, mark
