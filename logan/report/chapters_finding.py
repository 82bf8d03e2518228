"""Chapters about what was found: the verdict, the ranked faults, what to check, what the record cannot show."""

from __future__ import annotations

from logan.model.finding import Evidence, Finding, NextCheck, RankedFault, Ranking
from logan.model.record import Record
from logan.report import balance
from logan.report.document import (
    Block,
    Bullets,
    Cell,
    CheckCard,
    FaultCard,
    Heading,
    Paragraph,
    Section,
    Summary,
    Table,
)
from logan.report.text import MINUS, Catalogue, Quantity, measure_title, outside, percent, plainly, times, utc

SUSPECT = 0.05
FAINT = 0.005
MOST_SUSPECTS = 4
MOST_CHECKS = 8
_TAGS = {
    "fault_supported": "A fault is supported",
    "no_fault_supported": "No fault is supported",
    "insufficient_evidence": "Not enough was recorded",
}


def suspects(ranking: Ranking) -> list[RankedFault]:
    """The faults that get a balance of their own: the supported one, and others from 5 % on."""
    named = [fault for fault in ranking.faults[:MOST_SUSPECTS] if fault.probability >= SUSPECT]
    return named or (ranking.faults[:1] if ranking.verdict == "fault_supported" else [])


def fault_title(fault: RankedFault) -> str:
    """Title with the cylinder, as it stands in lists."""
    title = outside(fault.title, 120) or plainly(fault.fault)
    return title if fault.cylinder is None else f"{title}: cylinder {fault.cylinder}"


def sentence(ranking: Ranking) -> str:
    """The verdict in one sentence, the ranking's own where it has one."""
    if ranking.sentence:
        return outside(ranking.sentence, 600)
    first = ranking.faults[0] if ranking.faults else None
    if ranking.verdict == "fault_supported" and first is not None:
        return f"Most likely: {fault_title(first)} ({percent(first.probability)})."
    if ranking.verdict == "no_fault_supported":
        return "Nothing in this record speaks for any of the faults that it could have shown."
    return "What was recorded could not have shown the faults in question; see what to record next."


def summary(record: Record, finding: Finding) -> Summary:
    """The verdict, the shares and the facts of the test."""
    ranking = finding.ranking
    named = suspects(ranking)
    rest = max(0.0, sum(f.probability for f in ranking.faults) - sum(f.probability for f in named))
    parts = [(fault_title(f), f.probability, f"share{k + 1}") for k, f in enumerate(named)]
    parts += [
        ("all other known faults" if named else "all known faults", rest, "share-rest"),
        ("something that is not in the catalogue", ranking.something_else, "share-else"),
        ("no fault", ranking.no_fault, "share-none"),
    ]
    parts = [part for part in parts if part[1] > 0]
    return Summary(
        verdict=ranking.verdict,
        tag=_TAGS[ranking.verdict],
        sentence=sentence(ranking),
        shares=balance.shares(parts),
        key=tuple((kind, words, percent(share)) for words, share, kind in parts),
        facts=tuple(_facts(record)),
    )


def _facts(record: Record) -> list[tuple[str, Cell]]:
    facts: list[tuple[str, Cell]] = [("Engine", outside(record.profile.name, 120))]
    starts = [c.start for c in record.captures if c.start is not None]
    if starts:
        facts.append(("Recorded", utc(min(starts), "%Y-%m-%d %H:%M UTC")))
    lengths = [c.duration_s for c in record.captures if c.duration_s is not None]
    if lengths:
        facts.append(("Length", f"{max(lengths):.0f} s" if max(lengths) < 600 else f"{max(lengths) / 60:.0f} min"))
    facts.append(("Files", ", ".join(outside(c.name, 60) for c in record.captures)))
    facts.append(("Fitted just before", ", ".join(plainly(w).lower() for w in record.work) or "not stated"))
    if record.complaints:
        facts.append(("Complaint", ", ".join(plainly(w).lower() for w in record.complaints)))
    if record.vehicle.codes:
        facts.append(("Trouble codes", ", ".join(outside(c.code, 12) for c in record.vehicle.codes[:8])))
    return facts


def faults(finding: Finding, catalogue: Catalogue) -> Section:
    """The suspected faults with their balances, then all the others in one table."""
    ranking = finding.ranking
    shown = suspects(ranking)
    half_width = balance.scale(shown)
    blocks: list[Block] = [_card(k + 1, f, half_width, finding, catalogue) for k, f in enumerate(shown)]
    others = ranking.faults[len(shown) :]
    rows = tuple(
        (fault_title(f), percent(f.probability), _strongest(f, ranking)) for f in others if f.probability >= FAINT
    )
    if others:
        blocks.append(Heading("Weighed and less likely" if shown else "Weighed, none of them likely"))
    if rows:
        head = ("Fault", "Probability", "What weighs most")
        blocks.append(Table("The other known faults", head, rows, frozenset({1})))
    faint = [fault_title(f) for f in others if f.probability < FAINT]
    if faint:
        blocks.append(Paragraph(f"Under {100 * FAINT:g} % each: {'; '.join(faint)}.", note=True))
    lead = (
        "Each row is one piece of evidence. A bar to the right makes the fault likelier, one to the left less likely; "
        "× 10 means ten times likelier than before this piece was known. Pieces that share one cause count together."
    )
    title = "Likely faults" if shown else "Faults weighed"
    return Section("faults", title, lead if shown else "", tuple(blocks))


def _card(rank: int, fault: RankedFault, half_width: float, finding: Finding, catalogue: Catalogue) -> FaultCard:
    pieces = sorted(fault.evidence, key=lambda piece: -abs(piece.weight))
    weighing = [piece for piece in pieces if balance.side(piece.weight) != "neutral"]
    neutral = [piece for piece in pieces if balance.side(piece.weight) == "neutral"]
    why = finding.ranking.blind.get(fault.fault)
    not_seen = [outside(why)] if why else []
    not_seen += [outside(piece.text) for piece in neutral]
    return FaultCard(
        rank=rank,
        title=fault_title(fault),
        probability=percent(fault.probability),
        remark=_remark(fault),
        rows=tuple(_weighing(piece, half_width, catalogue) for piece in weighing),
        scale=balance.head(half_width),
        not_seen=tuple(dict.fromkeys(not_seen)),
    )


def _remark(fault: RankedFault) -> str:
    if fault.power is None:
        return ""
    return f"If this fault were present, this record would have shown it in {100 * fault.power:.0f} of 100 cases."


def _weighing(piece: Evidence, half_width: float, catalogue: Catalogue) -> balance.Weighing:
    return balance.Weighing(
        text=outside(piece.text) or measure_title(piece.name, catalogue),
        observed=_seen(piece.observed, piece, catalogue),
        expected=_seen(piece.expected, piece, catalogue),
        factor=times(piece.weight),
        side=balance.side(piece.weight),
        bar=balance.bar(piece.weight, half_width),
    )


def _seen(value: str | float | None, piece: Evidence, catalogue: Catalogue) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return "" if value == piece.name else outside(value, 120)
    info = catalogue.get(piece.name)
    return str(Quantity(value, info.unit, info.decimals) if info else Quantity(value, "", 3))


def _strongest(fault: RankedFault, ranking: Ranking) -> str:
    if fault.fault in ranking.blind:
        return "could not be seen here: " + outside(ranking.blind[fault.fault])
    if not fault.evidence:
        return "no evidence either way"
    piece = max(fault.evidence, key=lambda p: abs(p.weight))
    if balance.side(piece.weight) == "neutral":
        return "no evidence either way"
    return f"{times(piece.weight).replace('-', MINUS)}: {outside(piece.text)}"


def ordered_checks(ranking: Ranking) -> list[tuple[NextCheck, str]]:
    """The suspects' checks, each once with its faults: best value for its time first, risky work last."""
    found: dict[str, tuple[NextCheck, list[str]]] = {}
    for fault in suspects(ranking):
        for check in fault.next_checks:
            found.setdefault(check.text, (check, []))[1].append(fault_title(fault))
    ordered = list(found.values())
    if all(check.gain_bits_per_minute is not None for check, _ in ordered):
        ordered.sort(key=lambda item: (item[0].risky, -(item[0].gain_bits_per_minute or 0.0)))
    return [(check, "; ".join(dict.fromkeys(titles))) for check, titles in ordered]


def checks(finding: Finding) -> Section | None:
    """What to do next."""
    ordered = ordered_checks(finding.ranking)
    if not ordered:
        return None
    cards = tuple(
        CheckCard(
            rank=k + 1,
            text=outside(check.text),
            about=about,
            minutes=f"about {check.minutes:.0f} min",
            tools=tuple(outside(tool, 80) for tool in check.tools),
            outcomes=tuple(outside(text) for text in check.outcomes),
            cautions=tuple(outside(text) for text in check.cautions),
        )
        for k, (check, about) in enumerate(ordered[:MOST_CHECKS])
    )
    lead = "In this order: what tells most for the least time comes first."
    return Section("checks", "What to check next", lead, cards)


def cautions(finding: Finding) -> Section:
    """Safety: what the suspected faults ask for, once each, after what always holds."""
    named = suspects(finding.ranking)
    texts = [text for fault in named for text in fault.cautions]
    always = (
        "This report is made from recordings alone. It does not replace the service manual of the engine, local rules "
        "or licensed practice; where they differ from it, they hold.",
    )
    return Section(
        "cautions",
        "Before anyone touches the engine",
        "",
        (Bullets((*always, *dict.fromkeys(outside(text) for text in texts)), warning=True),),
    )


def blind_spots(finding: Finding, catalogue: Catalogue) -> Section:
    """Faults that this record could not have shown, measures that it does not hold, and the recording that would."""
    titles = {fault.fault: fault_title(fault) for fault in finding.ranking.faults}
    blocks: list[Block] = []
    if finding.ranking.blind:
        rows = tuple((titles.get(i, plainly(i)), outside(why)) for i, why in sorted(finding.ranking.blind.items()))
        blocks += [
            Heading("Faults that it could not have shown"),
            Table("Faults that this record could not have shown", ("Fault", "Why not"), rows),
        ]
    if finding.missing:
        groups: dict[tuple[str, str], list[str]] = {}
        for absent in finding.missing:
            groups.setdefault((absent.capture_hint, absent.why), []).append(measure_title(absent.measure, catalogue))
        lines = tuple((", ".join(names), outside(why), outside(hint)) for (hint, why), names in groups.items())
        blocks += [
            Heading("Measures that it does not hold"),
            Table("What could not be measured", ("Measure", "Why", "Record this to have it"), lines),
        ]
    if not blocks:
        blocks.append(Paragraph("Every known fault could have been seen in this record, and every measure was made."))
    lead = "Silence here is no all-clear: none of the following was tested by this drive."
    return Section("blind", "What this record cannot show", lead if blocks[0].kind == "heading" else "", tuple(blocks))
