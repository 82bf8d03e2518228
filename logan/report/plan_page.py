"""A plan as a page in the report's look, with the road-test card on a sheet of its own."""

from __future__ import annotations

from logan import __version__
from logan.model.plan import Plan
from logan.report import html_page
from logan.report.document import Block, Bullets, Cell, Document, Heading, Paragraph, Section, Table
from logan.report.plan_text import ALARMS, clock, every, size, smallest, speeds
from logan.report.text import outside

TEAM = (
    "The driver drives and looks at the road; the second person works the recorder and reads this card aloud. "
    "Legal speed, planned route. Either one may stop the drive at any time, for any reason."
)


def build(plan: Plan) -> Document:
    """The page as data."""
    one = len(plan.faults) == 1
    return Document(
        title="What to record",
        version=__version__,
        summary=None,
        sections=(_cautions(plan), _signals(plan), _hookups(plan), _card(plan), _sizes(plan), _errors(plan)),
        strip=(),
        brand="A recording planned",
        lead=f"For {outside(plan.engine)}: {len(plan.faults)} fault{'' if one else 's'}.",
        made_from="from its data files; nothing here was measured on an engine",
    )


def _signals(plan: Plan) -> Section:
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (s.channel, "essential" if s.essential else "helps", f"{outside(s.where)}{every(s)}") for s in plan.signals
    )
    rate = f"{outside(plan.interface)}, {plan.requests_per_second:g} requests a second."
    blocks: tuple[Block, ...] = (
        Table("Signals", ("Channel", "Need", "Where"), rows),
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
    return Section("cautions", "Cautions", "Service manual, local rules and licensed practice go first.", (texts,))


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
