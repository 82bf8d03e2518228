"""A plan as a page in the report's look, with the road-test card."""

from __future__ import annotations

from logan import __version__
from logan.model.plan import Plan
from logan.report import html_page
from logan.report.document import Bullets, Cell, Document, Paragraph, Section, Table
from logan.report.plan_text import every, size
from logan.report.text import outside


def build(plan: Plan) -> Document:
    """The page as data."""
    signals: tuple[tuple[Cell, ...], ...] = tuple(
        (s.channel, "essential" if s.essential else "helps", f"{outside(s.where)}{every(s)}") for s in plan.signals
    )
    steps: tuple[tuple[Cell, ...], ...] = tuple(
        (str(k), outside(s.title), f"{s.seconds:.0f} s", outside(s.watch), outside(s.stop))
        for k, s in enumerate(plan.steps, 1)
    )
    errors: tuple[tuple[Cell, ...], ...] = tuple((outside(e.title), size(e), e.method) for e in plan.smallest)
    taps = (Bullets(tuple(outside(t, 2000) for t in plan.hookups)),) if plan.hookups else (Paragraph("None needed."),)
    rate = f"{outside(plan.interface)}, {plan.requests_per_second:g} requests a second"
    shown = "Error detected in 80 % of cases or more at 5 % false alarms; the noise of readings is assumed."
    team = "The driver drives; a second person works the recorder. Legal speed, planned route."
    return Document(
        title="What to record",
        version=__version__,
        summary=None,
        sections=(
            Section("signals", "Signals", rate, (Table("Signals", ("Channel", "Need", "Where"), signals),)),
            Section("hookups", "Sensors to tap", "", taps),
            Section("notes", "Mind", "", (Bullets(tuple(outside(n, 500) for n in plan.notes)),)),
            Section(
                "smallest", "What it would show", shown,
                (Table("Smallest error", ("Measure", "Size", "How"), errors),),
            ),
            Section(
                "card", "Road-test card", team,
                (Table("Steps", ("Step", "Do", "Time", "Watch", "Stop"), steps),),
            ),
            Section(
                "cautions", "Cautions", "Service manual, local rules and licensed practice go first.",
                (Bullets(tuple(outside(c, 2000) for c in plan.cautions)),),
            ),
        ),
        strip=(),
        brand="A recording planned",
        lead=f"For {outside(plan.engine)}: {len(plan.faults)} fault{'s' if len(plan.faults) != 1 else ''}.",
        made_from="from its data files; nothing here was measured on an engine",
    )  # fmt: skip


def render(plan: Plan) -> str:
    """The whole page as text."""
    return html_page.page(build(plan))
