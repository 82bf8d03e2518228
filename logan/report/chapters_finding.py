"""Chapters about what was found: the verdict, the ranked faults, what to check, what the record cannot show."""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

from logan.model.capture import BEWARE, HIGH_VOLTAGE, NO_ENGINE, NO_ENGINE_SEEN
from logan.model.finding import SUSPECT, Evidence, Finding, NextCheck, RankedFault, Ranking, best_first
from logan.model.record import Record
from logan.report import balance
from logan.report.chapters_back import codes_once
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
from logan.report.text import Catalogue, Quantity, in_words, measure_title, outside, percent, plainly, times, utc

FAINT = 0.005
NAMED = 0.01
MOST_SUSPECTS = 4
MOST_CHECKS = 6
MOST_CODES = 8
ALWAYS = (
    "This report is made from recordings alone. It does not replace the service manual of the engine, local rules or "
    "licensed practice; where they differ from it, they hold."
)
_TAGS = {
    "fault_supported": "A fault is supported",
    "no_fault_supported": "No fault is supported",
    "insufficient_evidence": "Not enough was recorded",
}


def suspects(ranking: Ranking) -> list[RankedFault]:
    """The faults that get a balance of their own: from 5 % on, where something that was read speaks for them.

    What is likely before anything is measured makes no suspect.
    """
    likely = [fault for fault in ranking.faults if fault.probability >= SUSPECT and _weights(fault, "for")]
    return likely[:MOST_SUSPECTS] or (ranking.faults[:1] if ranking.verdict == "fault_supported" else [])


def no_engine(record: Record) -> bool:
    """Whether there is no engine to judge: no fault is in question, and no measure is missed."""
    return any(remark.kind in (NO_ENGINE, NO_ENGINE_SEEN) for remark in record.remarks)


def in_part(ranking: Ranking) -> list[RankedFault]:
    """Faults for which something speaks, a code say, though the record's measures could not have shown them."""
    return [
        fault
        for fault in ranking.faults
        if fault.fault in ranking.blind and fault.probability >= NAMED and _weights(fault, "for")
    ]


def weighed(ranking: Ranking) -> bool:
    """Whether any measure or code bears on any fault; without, the shares are those before anything was measured."""
    return bool(ranking.unexplained) or any(_weights(fault, "for", "against") for fault in ranking.faults)


def _weights(fault: RankedFault, *sides: str) -> bool:
    return any(piece.kind in ("measure", "dtc") and balance.side(piece.weight) in sides for piece in fault.evidence)


def fault_title(fault: RankedFault) -> str:
    """Title with the cylinder, as it stands in lists."""
    title = outside(fault.title, 120) or plainly(fault.fault)
    return title if fault.cylinder is None else f"{title}: cylinder {fault.cylinder}"


def sentence(ranking: Ranking) -> str:
    """The verdict and what it rests on, in the ranking's own words where it has them."""
    if ranking.sentence:
        return outside(ranking.sentence, 900) + _both(ranking)
    first = ranking.faults[0] if ranking.faults else None
    if ranking.verdict == "fault_supported" and first is not None:
        return f"Most likely: {fault_title(first)} ({percent(first.probability)})."
    if ranking.verdict == "no_fault_supported":
        return "Nothing in this record speaks for any of the faults that it could have shown."
    return "What was recorded could not have shown the faults in question; see what to record next."


def _both(ranking: Ranking) -> str:
    """Of two faults at once, what speaks most for each."""
    if ranking.together is None:
        return ""
    lines = []
    for fault in ranking.faults:
        if fault.fault in ranking.together.faults and fault.evidence:
            best = max(fault.evidence, key=lambda piece: piece.weight)
            if balance.side(best.weight) == "for":
                lines.append(f" For “{fault_title(fault)}”: {outside(best.text)}.")
    return "".join(lines)


def at_once(ranking: Ranking) -> list[RankedFault]:
    """The two faults that are there together, where that is likelier than not; empty else."""
    both = ranking.together.faults if ranking.together is not None else []
    return [fault for fault in ranking.faults if fault.fault in both]


def parted(ranking: Ranking) -> tuple[list[tuple[str, float]], float]:
    """What is named with its probability, and that of all other faults: two at once are one part, not one or other."""
    both, named = at_once(ranking), suspects(ranking)
    parts = [(fault_title(fault), fault.probability) for fault in named if fault not in both]
    if ranking.together is not None and both:
        words = " and ".join(fault_title(fault) for fault in both)
        parts.insert(0, (f"both at once: {words}", ranking.together.probability))
    rest = sum(fault.probability for fault in ranking.faults) - sum(share for _, share in parts)
    return parts, max(0.0, rest)


def rest_words(ranking: Ranking) -> str:
    """What is called the rest of ``parted``."""
    if at_once(ranking):
        return "one of the two alone, and all other known faults"
    return "all other known faults" if suspects(ranking) else "all known faults"


def unchanged(ranking: Ranking) -> str:
    """Said under shares of which hardly anything was measured: they read like a finding, and are none."""
    if suspects(ranking) or ranking.verdict != "insufficient_evidence" or not weighed(ranking):
        return ""
    return "These shares rest in the main on what is usual before anything is measured."


def summary(record: Record, finding: Finding) -> Summary:
    """The verdict, the shares and the facts of the test."""
    ranking = finding.ranking
    named, rest = parted(ranking)
    parts = [(words, share, f"share{k + 1}") for k, (words, share) in enumerate(named)]
    parts += [
        (rest_words(ranking), rest, "share-rest"),
        ("something that is not in the catalogue", ranking.something_else, "share-else"),
        ("no fault", ranking.no_fault, "share-none"),
    ]
    parts = [part for part in parts if part[1] > 0]
    return Summary(
        verdict=ranking.verdict,
        tag=_tag(record, ranking),
        sentence=sentence(ranking),
        shares=balance.shares(parts) if weighed(ranking) else Markup(),
        key=tuple((kind, words, percent(share)) for words, share, kind in parts),
        facts=tuple(_facts(record)),
        note=unchanged(ranking),
    )


def _tag(record: Record, ranking: Ranking) -> str:
    if no_engine(record):
        return "No engine to judge"
    if ranking.verdict == "insufficient_evidence" and any(_weights(fault, "for") for fault in ranking.faults):
        return "Not decided"
    return _TAGS[ranking.verdict]


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
        once = dict.fromkeys(f"{code} ({status})" for code, status, _, _ in codes_once(record.vehicle.codes))
        more = f" and {len(once) - MOST_CODES} more" if len(once) > MOST_CODES else ""
        facts.append(("Trouble codes", ", ".join(list(once)[:MOST_CODES]) + more))
    facts += [("Beware", f"{outside(r.text, 900)}.") for r in record.remarks if r.kind in BEWARE]
    return facts


def faults(finding: Finding, catalogue: Catalogue) -> Section:
    """The suspected faults with their balances, then all the others in one table."""
    ranking = finding.ranking
    if not weighed(ranking):
        names = "; ".join(fault_title(fault) for fault in ranking.faults)
        words = "Nothing that was read speaks for or against any of them, so no probability is given: "
        return Section("faults", "Faults in question", "", (Paragraph(f"{words}{names}."),))
    shown = suspects(ranking)
    half_width = balance.scale(shown)
    blocks: list[Block] = [_card(k + 1, f, half_width, finding, catalogue) for k, f in enumerate(shown)]
    if ranking.unexplained:
        odd = tuple(f"{times(piece.weight)}: {outside(piece.text)}" for piece in ranking.unexplained)
        blocks += [Heading("What speaks for something that is not in the catalogue"), Bullets(odd)]
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
        "× 10 makes it ten times likelier than before the piece was known. Pieces that share one cause count together. "
        + sharpened(ranking)
    )
    title = "Likely faults" if shown else "Faults weighed"
    return Section("faults", title, lead.rstrip() if shown else "", tuple(blocks))


def sharpened(ranking: Ranking) -> str:
    """Why a factor is larger than the shares of cases beside it give, told at one shown; nothing where it is not.

    Both numbers stand in it: the plain factor, which says how many times likelier the reading is, and what counts.
    """
    told = suspects(ranking) or ranking.faults
    pieces = [piece for fault in told for piece in fault.evidence if balance.side(piece.weight) != "neutral"]
    largest = max((piece.weight for piece in pieces if piece.kind == "measure"), key=abs, default=0.0)
    codes = ""
    if ranking.code_sharpness != 1.0 and any(piece.kind == "dtc" for piece in pieces):
        codes = f"A code counts to the power of {ranking.code_sharpness:g}: it may be older than a repair."
    if ranking.sharpness == 1.0 or not largest:
        return codes
    much = "likelier" if largest > 0 else "less likely"
    return (
        "On simulated drives the plain factors of measures left the true fault less likely than it came out; "
        f"so each counts, and is shown, to the power of {ranking.sharpness:g}: {times(largest)} here is "
        f"{times(largest / ranking.sharpness)} by itself, a reading so many times {much} with it than without."
        + f" {codes}".rstrip()
    )


def _card(rank: int, fault: RankedFault, half_width: float, finding: Finding, catalogue: Catalogue) -> FaultCard:
    pieces = sorted(fault.evidence, key=lambda piece: -abs(piece.weight))
    weighing = [piece for piece in pieces if balance.side(piece.weight) != "neutral"]
    neutral = [piece for piece in pieces if balance.side(piece.weight) == "neutral"]
    notes = {one.name: tuple(in_words(note) for note in one.notes) for one in finding.measures}
    why = finding.ranking.blind.get(fault.fault)
    not_all = (
        "Its measures could not have shown it in this record." if weighing else "This record could not have shown it."
    )
    not_seen = [f"{not_all}{'' if neutral else f' {in_words(why)}'}"] if why else []
    not_seen += [in_words(piece.text) for piece in neutral]
    return FaultCard(
        rank=rank,
        title=fault_title(fault),
        probability=percent(_probability(fault, finding.ranking)),
        remark=_remark(fault, finding.ranking),
        rows=tuple(_weighing(piece, half_width, catalogue, notes) for piece in weighing),
        scale=balance.head(half_width),
        not_seen=tuple(dict.fromkeys(not_seen)),
    )


def _probability(fault: RankedFault, ranking: Ranking) -> float:
    """A fault's, or that of the two of which it is one."""
    if ranking.together is not None and fault in at_once(ranking):
        return ranking.together.probability
    return fault.probability


def _remark(fault: RankedFault, ranking: Ranking) -> str:
    words = []
    both = at_once(ranking)
    if fault in both:
        others = "; ".join(fault_title(other) for other in both if other is not fault)
        words.append(f"At once with “{others}”: above stands the probability of both.")
    if fault.power is not None:
        words.append(
            f"Chance that the measures of this record would show this fault, were it there: {percent(fault.power)}."
        )
    if fault.power_small is not None:
        words.append(f"Were it small, among the smallest fifth of its usual sizes: {percent(fault.power_small)}.")
    return " ".join(words)


def _weighing(
    piece: Evidence, half_width: float, catalogue: Catalogue, notes: Mapping[str, tuple[str, ...]]
) -> balance.Weighing:
    return balance.Weighing(
        text=outside(piece.text) or measure_title(piece.name, catalogue),
        notes=notes.get(piece.name, ()) if piece.kind == "measure" else (),
        observed=_seen(piece.observed, piece, catalogue),
        expected=outside(piece.expected or "", 120),
        factor=times(piece.weight),
        side=balance.side(piece.weight),
        bar=balance.bar(piece.weight, half_width),
    )


def _seen(value: str | float | None, piece: Evidence, catalogue: Catalogue) -> str | Quantity:
    if value is None:
        return ""
    if isinstance(value, str):
        return "" if value == piece.name else outside(value, 120)
    info = catalogue.get(piece.name)
    return Quantity(value, info.unit, info.decimals) if info else Quantity(value, "", 3)


def _strongest(fault: RankedFault, ranking: Ranking) -> str:
    if fault.fault in ranking.blind and not _weights(fault, "for"):
        return f"This record could not have shown it. {in_words(ranking.blind[fault.fault])}"
    if not fault.evidence:
        return "no evidence either way"
    piece = max(fault.evidence, key=lambda p: abs(p.weight))
    if balance.side(piece.weight) == "neutral":
        return "no evidence either way"
    return f"{times(piece.weight)}: {outside(piece.text)}"


def ordered_checks(ranking: Ranking) -> list[tuple[NextCheck, str]]:
    """The suspects' checks, each once with its faults: the first's best, then best value for its time; risky last."""
    first = next((fault.next_checks for fault in suspects(ranking) if fault.next_checks), [])
    found: dict[str, tuple[NextCheck, list[str]]] = {}
    for fault in suspects(ranking):
        for check in fault.next_checks:
            found.setdefault(check.text, (check, []))[1].append(fault_title(fault))
    ordered = list(found.values())
    if all(check.gain_bits_per_minute is not None for check, _ in ordered):
        ordered.sort(key=lambda item: best_first(item[0], first))
    return [(check, "; ".join(dict.fromkeys(titles))) for check, titles in ordered]


def checks(finding: Finding) -> Section | None:
    """What to do next."""
    ordered = ordered_checks(finding.ranking)
    if not ordered:
        return None
    number = {text: k for k, text in enumerate(caution_texts(finding), 1)}
    cards = tuple(
        CheckCard(
            rank=k + 1,
            text=outside(check.text),
            about=about,
            minutes=f"about {check.minutes:.0f} min",
            tools=tuple(outside(tool, 80) for tool in check.tools),
            outcomes=tuple(outside(text) for text in check.outcomes),
            cautions=tuple(outside(text) for text in check.cautions),
            see=_see(sorted({number[outside(text)] for text in check.cautions})),
        )
        for k, (check, about) in enumerate(ordered[:MOST_CHECKS])
    )
    lead = "In this order: "
    lead += "the best check of the likeliest fault, then " if len(suspects(finding.ranking)) > 1 else ""
    lead += "what tells most for the least time"
    if any(check.risky for check, _ in ordered):
        lead += "; work on fuel under pressure or on the timing waits until all else is done"
    lead += "."
    if finding.ranking.minutes_to_find is not None:
        minutes = finding.ranking.minutes_to_find
        lead += f" If it is one of these faults, the checks find it in about {minutes:.0f} minutes on average."
    return Section("checks", "What to check next", lead, cards)


def _see(numbers: list[int]) -> str:
    return f"Cautions {', '.join(map(str, numbers))} above." if numbers else ""


def caution_texts(finding: Finding) -> list[str]:
    """What always holds, then what the suspected faults and their checks ask for, once each."""
    texts = [ALWAYS]
    for fault in suspects(finding.ranking):
        texts += fault.cautions
    for check, _ in ordered_checks(finding.ranking)[:MOST_CHECKS]:
        texts += check.cautions
    return list(dict.fromkeys(outside(text) for text in texts))


def cautions(record: Record, finding: Finding) -> Section:
    """Safety, numbered, so that a printed check can refer to it."""
    lines = caution_texts(finding)
    lines += [f"{outside(remark.text, 900)}." for remark in record.remarks if remark.kind == HIGH_VOLTAGE]
    return Section(
        "cautions",
        "Before anyone touches the engine",
        "",
        (Bullets(tuple(lines), warning=True, numbered=True),),
    )


def blind_spots(finding: Finding, catalogue: Catalogue) -> Section:
    """Faults that this record could not have shown, measures that it does not hold, and the recording that would."""
    titles = {fault.fault: fault_title(fault) for fault in finding.ranking.faults}
    blocks: list[Block] = []
    partly = {fault.fault for fault in in_part(finding.ranking)}
    for faults_in, title, heading in (
        (partly, "Faults that it could have shown in part only", "Faults that this record could have shown in part"),
        (
            finding.ranking.blind.keys() - partly,
            "Faults that it could not have shown",
            "Faults that this record could not have shown",
        ),
    ):
        rows = tuple(
            (titles.get(i, plainly(i)), in_words(why), in_words(finding.ranking.hints.get(i, "")))
            for i, why in sorted(finding.ranking.blind.items())
            if i in faults_in
        )
        if rows:
            why_not = "Its measures" if faults_in is partly else "Why not"
            head = ("Fault", why_not, "Shortest recording that would")
            blocks += [Heading(title), Table(heading, head, rows)]
    if finding.missing:
        groups: dict[tuple[str, str], list[str]] = {}
        for absent in finding.missing:
            groups.setdefault((absent.capture_hint, absent.why), []).append(measure_title(absent.measure, catalogue))
        lines = tuple((", ".join(names), in_words(why), in_words(hint)) for (hint, why), names in groups.items())
        blocks += [
            Heading("Measures that it does not hold"),
            Table("What could not be measured", ("Measure", "Why", "Record this to have it"), lines),
        ]
    if not blocks:
        blocks.append(Paragraph("Every known fault could have been seen in this record, and every measure was made."))
    lead = "Silence here is no all-clear: none of the following was tested by this drive."
    return Section("blind", "What this record cannot show", lead if blocks[0].kind == "heading" else "", tuple(blocks))
