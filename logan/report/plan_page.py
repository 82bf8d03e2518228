"""A plan as a page in the report's look, with the road-test card on a sheet of its own."""

from __future__ import annotations

from logan import __version__
from logan.model.plan import Plan
from logan.report import html_page
from logan.report.document import Block, Bullets, Cell, Document, Heading, Paragraph, Section, Table
from logan.report.plan_text import ALARMS, clock, often, size, smallest, speeds
from logan.report.text import outside

TEAM = (
    "The driver drives and looks at the road; the second person works the recorder and reads this card aloud. "
    "Legal speed, planned route. Either one may stop the drive at any time, for any reason."
)
MOST_NAMED = 4
"""Faults up to which the head of the page names them."""


def build(plan: Plan) -> Document:
    """The page as data."""
    titles = [outside(one.title) for one in plan.sizes]
    return Document(
        title="What to record",
        version=__version__,
        summary=None,
        sections=(_cautions(plan), _signals(plan), _hookups(plan), _card(plan), _sizes(plan), _errors(plan)),
        strip=(),
        brand="A recording planned",
        lead=f"So that a record of {outside(plan.engine)} can show: {_listed(titles, len(plan.faults))}.",
        made_from="from its data files; nothing here was measured on an engine",
    )


def _listed(titles: list[str], count: int) -> str:
    """The faults by name; how many, where they are too many for a sentence."""
    if count > MOST_NAMED or len(titles) != count:
        return f"{count} faults, listed below with the smallest size of each"
    return "; ".join(titles)


def _signals(plan: Plan) -> Section:
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (outside(s.title), "essential" if s.essential else "helps", outside(s.where), often(s)) for s in plan.signals
    )
    marks = tuple("" if s.seen else "beyond" for s in plan.signals)
    rate = f"{outside(plan.interface)}, {plan.requests_per_second:g} requests a second."
    rate = f"{rate[0].upper()}{rate[1:]}"
    blocks: tuple[Block, ...] = (
        Table("Signals", ("Signal", "Need", "Where it comes from", "How often"), rows, marks=marks),
        Heading("Mind"),
        Bullets(tuple(outside(note, 500) for note in plan.notes)),
    )
    return Section("signals", "Signals", rate, blocks)


def _hookups(plan: Plan) -> Section:
    taps: Block = Paragraph("None needed.")
    if plan.hookups:
        taps = Bullets(tuple(outside(tap, 2000) for tap in plan.hookups))
    return Section("hookups", "Sensors to tap", "", (taps,))


def _card(plan: Plan) -> Section:
    start, rows = 0.0, []
    for k, step in enumerate(plan.steps, 1):
        rows.append(
            (f"{k}", f"{clock(start)} to {clock(start + step.seconds)}", speeds(step), outside(step.title),
             f"{outside(step.second)}; watch: {outside(step.watch)}", outside(step.stop))
        )  # fmt: skip
        start += step.seconds
    head = ("Step", "Time, min:s", "Engine speed", "Driver", "Second person", "Stop when")
    everywhere = Bullets(
        (
            "Stop at once, in a safe place: fuel smell or leak, smoke, warning lamp or buzzer, strange noise, "
            "overheating, low oil pressure, traffic that asks for attention.",
            "Times run without the pauses between the steps; the order of steps may change where the road asks for it.",
        ),
        warning=True,
    )
    blocks = (Table("Road-test card", head, tuple(rows)), everywhere)
    return Section("card", "Road-test card", TEAM, blocks)


def _cautions(plan: Plan) -> Section:
    texts = Bullets(tuple(outside(caution, 2000) for caution in plan.cautions), warning=True)
    return Section(
        "cautions", "Cautions", "The service manual, local rules and licensed practice come first.", (texts,)
    )


def _sizes(plan: Plan) -> Section:
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (outside(s.title), outside(smallest(s)), "–" if s.share is None else f"{100 * s.share:.0f} %")
        for s in plan.sizes
    )
    head = ("Fault", "Smallest size", "Usual sizes shown")
    return Section("sizes", "Faults that it would show", ALARMS, (Table("Smallest size", head, rows),))


def _errors(plan: Plan) -> Section:
    rows: tuple[tuple[Cell, ...], ...] = tuple((outside(e.title), size(e), outside(e.method)) for e in plan.smallest)
    return Section(
        "smallest", "Smallest error of each measure",
        "How each number was worked out, and where the assumed noise comes from, stands beside it.",
        (Table("Smallest error", ("Measure", "Size", "How"), rows),),
    )  # fmt: skip


def render(plan: Plan) -> str:
    """The whole page as text."""
    return html_page.page(build(plan))
