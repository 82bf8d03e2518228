"""The ranking in short: verdict first, no control character from outside."""

from __future__ import annotations

import msgspec
import report_sample

from logan.report import terminal
from logan.report.text import percent, times


def test_verdict_first_then_ranked_faults() -> None:
    lines = terminal.text(report_sample.record(), report_sample.finding()).splitlines()
    assert lines[0].startswith("The injection pump's drive key is most probably fitted backwards")
    assert "87 %  Pump drive key fitted backwards" in lines[2]
    assert "× 407" in lines[3] or "× 410" in lines[3]
    assert any(line.startswith("Check next: Repeat the drive") for line in lines)  # tells most for its time
    assert any("could not have shown 2 of the known faults" in line for line in lines)
    assert max(len(line) for line in lines) < 200


def test_what_could_not_be_seen_is_named_whatever_the_number() -> None:
    finding = report_sample.finding()
    for count in (1, terminal.MOST_UNSEEN, terminal.MOST_UNSEEN + 5):
        blind = {f"made_up_{k}": "not measured" for k in range(count)}
        ranking = msgspec.structs.replace(finding.ranking, blind=blind)
        said = terminal.text(report_sample.record(), msgspec.structs.replace(finding, ranking=ranking))
        assert said.count("Made up") == min(count, terminal.MOST_UNSEEN)
        assert ("and 5 more" in said) == (count > terminal.MOST_UNSEEN)
    titled = {fault.fault: "not measured" for fault in finding.ranking.faults}
    ranking = msgspec.structs.replace(finding.ranking, blind=titled)
    said = " ".join(terminal.text(report_sample.record(), msgspec.structs.replace(finding, ranking=ranking)).split())
    assert all(fault.title in said for fault in finding.ranking.faults)


def test_colour_only_where_asked() -> None:
    record, finding = report_sample.record(), report_sample.finding()
    assert "\x1b" not in terminal.text(record, finding)
    assert "\x1b[1m" in terminal.text(record, finding, colour=True)


def test_escape_sequences_from_outside_do_not_reach_the_terminal() -> None:
    finding = report_sample.finding()
    fault = msgspec.structs.replace(finding.ranking.faults[0], title="\x1b]0;owned\x07\x1b[2J key")
    ranking = msgspec.structs.replace(finding.ranking, faults=[fault], sentence="a\x1b[31m\rb")
    text = terminal.text(report_sample.record(), msgspec.structs.replace(finding, ranking=ranking))
    assert all(c.isprintable() or c == "\n" for c in text)


def test_no_certainty_is_claimed() -> None:
    assert percent(0.9999) == "over 99 %"
    assert percent(0.0001) == "under 1 %"
    assert percent(0.874) == "87 %"


def test_factor_of_a_weight() -> None:
    assert times(1.0) == "× 10"
    assert times(-1.0) == "÷ 10"
    assert times(0.30103) == "× 2.0"


def test_without_evidence_no_fault_and_no_share_is_shown() -> None:
    finding = report_sample.finding()
    faults = [msgspec.structs.replace(fault, evidence=[]) for fault in finding.ranking.faults]
    ranking = msgspec.structs.replace(finding.ranking, verdict="insufficient_evidence", faults=faults, sentence="")
    text = terminal.text(report_sample.record(), msgspec.structs.replace(finding, ranking=ranking))
    assert faults[0].title not in text
    assert "no probability is given" in text
    assert "█" not in text
