"""The ranking in short for a person at a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from logan.model.capture import BEWARE, NOT_UNDERSTOOD, NOTHING_DECODABLE, SENSOR_ALONE
from logan.model.finding import Evidence, Finding, Ranking
from logan.model.record import NO_PROFILE, Record
from logan.model.sensor import sensors_of
from logan.report.balance import side
from logan.report.chapters_finding import (
    at_once,
    fault_title,
    in_part,
    no_engine,
    ordered_checks,
    parted,
    rest_words,
    sentence,
    sharpened,
    suspects,
    unchanged,
    weighed,
)
from logan.report.text import outside, percent, plainly, times, told

BAR = 20
MOST_LINES = 4
LONGEST_REMARK = 900
MOST_UNSEEN = 12
CRANK_HEALTH = "crank_dropouts_per_1000rev"
WIDTH = 120
_BOLD, _DIM, _PLAIN = "\x1b[1m", "\x1b[2m", "\x1b[0m"


def text(record: Record, finding: Finding, colour: bool = False) -> str:
    """Verdict, suspects with their strongest evidence, what is missing; no control character but our own."""
    ranking = finding.ranking

    def styled(words: str, style: str) -> str:
        return f"{style}{words}{_PLAIN}" if colour else words

    first, _, rest = told(sentence(ranking)).partition(". ")
    lines = [styled(f"{first}." if rest else first, _BOLD), *([rest] if rest else []), ""]
    for remark in record.remarks:
        if remark.kind in (NOTHING_DECODABLE, *BEWARE):
            lines += [f"{outside(remark.text[0].upper())}{outside(remark.text[1:], LONGEST_REMARK)}.", ""]
    both, (named, rest_share) = at_once(ranking), parted(ranking)
    if both:
        lines.append(_row("both at once:", named[0][1]))
        for fault in both:
            lines.append(f"{'':{BAR}} {'':>10}  {styled(fault_title(fault), _BOLD)}")
            lines += [styled(line, _DIM) for line in _evidence(fault.evidence)]
    for fault in suspects(ranking):
        if fault not in both:
            lines.append(_row(styled(fault_title(fault), _BOLD), fault.probability))
            lines += [styled(line, _DIM) for line in _evidence(fault.evidence)]
    shares = (
        (rest_words(ranking), rest_share),
        ("no fault", ranking.no_fault),
        ("something not in the catalogue", ranking.something_else),
    )
    if weighed(ranking):
        lines += [_row(words, share) for words, share in shares]
        odd = [piece for piece in ranking.unexplained if piece.text not in ranking.sentence]
        lines += [styled(line, _DIM) for line in _evidence(odd)]
        lines += [unchanged(ranking)] if unchanged(ranking) else []
        lines += [sharpened(ranking)] if suspects(ranking) and sharpened(ranking) else []
    elif not no_engine(record):
        lines.append("Nothing that was read bears on any known fault, so no probability is given.")
    for check, _ in ordered_checks(ranking)[:1]:
        lines += ["", f"Check next: {told(outside(check.text))} (about {check.minutes:.0f} min)"]
    partly = [fault_title(fault) for fault in in_part(ranking)]
    unseen = _unseen(ranking)
    if partly:
        lines += ["", "The measures that show these faults were not made, or too roughly; the report says how to:"]
        lines += _listed(partly)
    if unseen:
        other = "other " if partly else ""
        told_of = f"This record could not have shown {len(unseen)} of the {other}known faults; the report says how to:"
        lines += ["", told_of, *_listed(unseen)]
    if finding.missing and not no_engine(record):
        lines.append(f"Measures that could not be made: {len(finding.missing)}.")
        lines += _wheel_not_found(record, finding)
    lines += _data(record)
    return "\n".join(lines)


def _wheel_not_found(record: Record, finding: Finding) -> list[str]:
    """Why a crank recording gave nothing: of all reasons the one that the person who made it can mend."""
    if "crank" not in sensors_of(record.sensors) or any("crank" in one.provenance.channels for one in finding.measures):
        return []
    why = next((absent.why for absent in finding.missing if absent.measure == CRANK_HEALTH), "")
    return [f"The crank recording could not be used: {outside(why)}."] if why and why != NO_PROFILE else []


def _data(record: Record) -> list[str]:
    """What the data give cause for: what was lost, columns and sensors not used, and how many kinds of remarks."""
    lost = sum(capture.rejected for capture in record.captures)
    records = sum(capture.frames for capture in record.captures)
    out = [f"Records that could not be read: {lost}, beside {records} that were."] if lost else []
    several = len(record.captures) > 1
    for remark in record.remarks:
        if remark.kind in (NOT_UNDERSTOOD, SENSOR_ALONE):
            told_of = f"{remark.file}: {remark.text}" if several else f"{remark.text[0].upper()}{remark.text[1:]}"
            out.append(f"{outside(told_of, LONGEST_REMARK)}.")
    kinds = len({remark.kind for remark in record.remarks})
    if kinds:
        out.append(f"Remarks on the data: {kinds} kind{'s' * (kinds > 1)}; the report lists them with their places.")
    return out


def _unseen(ranking: Ranking) -> list[str]:
    """The faults that the record could not have shown and that nothing speaks for, the likelier first."""
    partly = {fault.fault for fault in in_part(ranking)}
    titles = {fault.fault: fault_title(fault) for fault in ranking.faults if fault.fault in ranking.blind}
    titles |= {fault: plainly(fault) for fault in ranking.blind if fault not in titles}
    return [title for fault, title in titles.items() if fault not in partly]


def _listed(names: list[str]) -> list[str]:
    more = [f"and {len(names) - MOST_UNSEEN} more"] if len(names) > MOST_UNSEEN else []
    return textwrap.wrap("; ".join([*names[:MOST_UNSEEN], *more]), WIDTH, initial_indent="  ", subsequent_indent="  ")


def _row(words: str, share: float) -> str:
    return f"{_bar(share)} {percent(share):>10}  {words}"


def _bar(share: float) -> str:
    filled = round(BAR * share)
    return "█" * filled + "·" * (BAR - filled)


def _evidence(evidence: Sequence[Evidence]) -> list[str]:
    pieces = sorted(evidence, key=lambda piece: -abs(piece.weight))
    weighing = [piece for piece in pieces if side(piece.weight) != "neutral"][:MOST_LINES]
    return [f"{'':{BAR}} {times(piece.weight):>10}  {told(outside(piece.text, 260))}" for piece in weighing]
