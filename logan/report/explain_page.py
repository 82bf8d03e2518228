"""One fault explained as a page in the report's look."""

from __future__ import annotations

from logan import __version__
from logan.model.explanation import Explanation, Neighbour
from logan.report import explain_views, html_page
from logan.report.document import Block, Bullets, Cell, CheckCard, Document, Heading, Paragraph, Section, Table
from logan.report.explain_text import ALONE, PRACTICE, unfit_words, work_words
from logan.report.text import Catalogue, outside


def build(explanation: Explanation, catalogue: Catalogue) -> Document:
    """The page as data."""
    sections = (_signals(explanation, catalogue), _apart(explanation), _checks(explanation), _background(explanation))
    unfit = f" {outside(unfit_words(explanation))}".rstrip()
    return Document(
        title=outside(explanation.title),
        version=__version__,
        summary=None,
        sections=tuple(section for section in sections if section is not None),
        strip=(),
        brand="A fault explained",
        lead=f"{outside(explanation.meaning)}{unfit}",
        made_from="from its data files and its own simulator; nothing here was measured on an engine",
    )


def render(explanation: Explanation, catalogue: Catalogue) -> str:
    """The whole page as text."""
    return html_page.page(build(explanation, catalogue))


def _signals(explanation: Explanation, catalogue: Catalogue) -> Section | None:
    if not explanation.signs:
        return None
    head = ("Measure", "With this fault", "Good engine", "Shows in", "Source")
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            f"{outside(sign.title)}{' (main sign)' if sign.main else ''}", outside(sign.fault), outside(sign.good),
            f"{100 * sign.share:.0f} %", outside(sign.source),
        )
        for sign in explanation.signs
    )  # fmt: skip
    pictures = explain_views.blocks(explanation, catalogue)
    if pictures:
        words = f"The pictures are simulated, not measured: {outside(explanation.drawn_on)}, the same drive twice."
    else:
        words = "There is no picture: no training engine of the simulator shows this fault."
    blocks: list[Block] = [Paragraph(words, note=True), *pictures, Table("What it does to the measures", head, rows)]
    return Section("signals", "What it does to the signals", f"On {outside(explanation.engine)}.", tuple(blocks))


def _apart(explanation: Explanation) -> Section | None:
    blocks: list[Block] = [Paragraph(outside(explanation.told_apart))]
    for neighbour in explanation.neighbours:
        blocks += [Heading(f"From: {outside(neighbour.title)}"), _differences(neighbour)]
    if explanation.unfit:
        return None
    lead = "Computed from what each fault is expected to give; the measure that parts them best stands first."
    return Section("apart", "How it is told from what looks alike", lead, tuple(blocks))


def _differences(neighbour: Neighbour) -> Block:
    if not neighbour.differences:
        return Paragraph(ALONE)
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (outside(d.title), outside(d.here), outside(d.there), f"{100 * d.overlap:.0f} %") for d in neighbour.differences
    )
    head = ("Measure", "With this fault", "With the other", "Readings that fit both")
    return Table(f"This fault against: {outside(neighbour.title)}", head, rows, frozenset({3}))


def _checks(explanation: Explanation) -> Section:
    cards = tuple(
        CheckCard(
            rank=k,
            text=outside(check.text),
            about=outside(explanation.title),
            minutes=f"about {check.minutes:.0f} min",
            tools=tuple(outside(tool) for tool in check.tools),
            outcomes=tuple(
                f"{words}: {outside(text)}" for words, text in zip(("If so", "If not"), check.outcomes, strict=True)
            ),
            cautions=tuple(outside(text) for text in check.cautions),
        )
        for k, check in enumerate(explanation.checks, 1)
    )
    lead = "In the trade's order: look and listen, plug and harness, measure, take apart last."
    return Section("checks", "What to check", lead, cards)


def _background(explanation: Explanation) -> Section:
    blocks: list[Block] = []
    if explanation.practice:
        blocks += [Heading(PRACTICE), Bullets(tuple(outside(fact) for fact in explanation.practice))]
    work = work_words(explanation)
    if work:
        blocks += [Heading("Recent work that raises it"), Bullets(tuple(outside(line) for line in work))]
    blocks += [Heading("Sources and judgements"), Bullets(tuple(outside(line) for line in explanation.sources))]
    return Section("background", "Where this comes from", "", tuple(blocks))
