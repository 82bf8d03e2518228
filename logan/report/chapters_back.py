"""Chapters of what the vehicle said and what lies behind: codes, data quality, engine, how it was worked out."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from logan.model.capture import STAND_IN, Remark
from logan.model.channel import NOT_AVAILABLE
from logan.model.frames import Payloads
from logan.model.profile import EngineProfile
from logan.model.record import Record
from logan.model.vehicle import TroubleCode
from logan.report.document import Block, Bullets, Cell, Facts, Heading, Paragraph, Section, Table
from logan.report.text import Interval, Quantity, channel_words, decimals_needed, outside, plainly, utc

_METHOD = (
    "Every value keeps its place in time. A polled value was true somewhere between its request and its answer; that "
    "width enters the intervals.",
    "Measures are taken only in the drive states that suit them, and each carries a 95 % interval that joins chance "
    "and systematic error.",
    "Timing error is split into a part that is the same everywhere (a part seated wrongly), a part that grows with "
    "speed (a delay), a part that grows with load (shortage), a drift, and a difference between rising and falling "
    "commands (sticking).",
    "Each fault predicts what the measures should be. The ratio of how well it predicts them, against an engine "
    "without that fault, is the weight of the evidence; pieces that share one cause are joined, not counted twice.",
    "How much a measure weighs was scaled once on simulated drives with known faults (sharpness, in the no-fault data "
    "file), so that probabilities come true as often as they say; on real engines that is not yet shown. A code is "
    "scaled less: it may be older than the repair.",
    "Two further answers always stay in the race: nothing is wrong, and something that the catalogue does not know.",
)
_CALLED = {
    "idle.target_rpm": ("target", " rpm"),
    "idle.std_limit_rpm": ("scatter of idle speed at most", " rpm"),
    "idle.warm_coolant_degc": ("warm from a coolant temperature of", " degC"),
    "limits.supply_pressure_min_kpa_gauge": ("fuel supply pressure at least", " kPa gauge"),
    "limits.rail_error_percent": ("rail pressure within ±", " %"),
    "limits.system_voltage_min": ("voltage with the engine running at least", " V"),
    "limits.thermostat_open_degc": ("thermostat opens at", " degC"),
    "limits.boost_error_kpa": ("boost pressure within ±", " kPa"),
}
"""Limits of a profile as a workshop says them, and their units."""
_WITH_USUAL = ("idle", "limits")
_OF_A_RAIL = ("limits.rail_error_percent",)
_WITHOUT_RAIL = ("rotary_pump", "port")
AS_GIVEN = "As the control modules gave them while the record ran."
_ENDINGS = {
    "_deg": " deg", "_degc": " degC", "_rpm": " rpm", "_percent": " %", "_kpa_gauge": " kPa gauge", "_kpa": " kPa",
}  # fmt: skip
_SOURCES = (
    "Diagnostic services, parameters and their scaling: SAE J1979 (ISO 15031-5).",
    "Trouble codes: SAE J2012 (ISO 15031-6); on heavy vehicles SAE J1939-73.",
    "Transport: ISO 15765-2, SAE J1939-21, ISO 14230-2, ISO 9141-2.",
    "Uncertainty: JCGM 100 (guide to the expression of uncertainty in measurement).",
)


def codes(record: Record) -> Section | None:
    """The trouble codes, where any is stored."""
    found = codes_once(record.vehicle.codes)
    if not found:
        return None
    rows = tuple((code, status, outside(title, 160), ecu) for code, status, title, ecu in found)
    table = Table("Trouble codes", ("Code", "Status", "Meaning", "From"), rows)
    return Section("codes", "Trouble codes", AS_GIVEN, (table,))


def vehicle(record: Record) -> Section | None:
    """Identity, stored values, readiness and on-board tests, as the control modules gave them."""
    said = record.vehicle
    blocks: list[Block] = []
    facts: list[tuple[str, Cell]] = []
    if said.vin:
        facts.append(("Vehicle identification number", outside(said.vin, 40)))
    if said.mil is not None:
        facts.append(("Malfunction lamp", "commanded on" if said.mil else "off"))
    if said.ecus:
        names = [
            f"{outside(e, 30)} ({outside(said.ecu_names[e], 60)})" if e in said.ecu_names else outside(e, 30)
            for e in said.ecus
        ]
        above = any(isinstance(capture.content, Payloads) for capture in record.captures)
        facts.append(("Control modules", ", ".join(names) + (f" ({STAND_IN})" if above else "")))
    if said.calibration_ids:
        facts.append(("Calibrations", ", ".join(outside(c, 60) for c in said.calibration_ids)))
    if said.cvns:
        facts.append(("Calibration checksums", ", ".join(outside(c, 30) for c in said.cvns)))
    facts += [(plainly(name), str(count)) for name, count in said.counters.items()]
    if facts:
        blocks.append(Facts(tuple(facts)))
    if said.services and not said.codes:
        blocks.append(Paragraph("No trouble code is in the record."))
    for frame in said.freeze_frames:
        title = f"Stored values, frame {frame.number}" + (f" of {outside(frame.code, 20)}" if frame.code else "")
        values = tuple((plainly(name), Quantity(value, unit, 1)) for name, (value, unit) in frame.values.items())
        blocks += [Heading(title), Table(title, ("Value", "Stored"), values, frozenset({1}))]
    if said.readiness:
        states: dict[str, list[str]] = {}
        for name, state in said.readiness.items():
            states.setdefault(plainly(state), []).append(plainly(name, capital=False))
        monitors = tuple((state, ", ".join(names)) for state, names in states.items())
        blocks += [Heading("Readiness of the on-board monitors"), Table("Readiness", ("State", "Monitors"), monitors)]
    if said.monitor_tests:
        tests: list[tuple[Cell, ...]] = []
        for t in said.monitor_tests:
            decimals = decimals_needed(t.value, t.low, t.high)
            shown = Quantity(t.value, t.unit, decimals), Interval(t.low, t.high, t.unit, decimals)
            tests.append((outside(t.name, 100), *shown, "passed" if t.passed else "failed"))
        head = ("Test", "Value", "Limits", "Result")
        blocks += [Heading("On-board tests"), Table("On-board test results", head, tuple(tests), frozenset({1, 2}))]
    if said.refusals:
        refused = tuple(
            f"{outside(r.ecu, 30)} refused service {r.service:02X}: {outside(r.meaning, 120)} ({r.count} times)"
            for r in said.refusals
        )
        blocks += [Heading("Refused requests"), Bullets(refused)]
    if not blocks:
        return None
    return Section("vehicle", "The vehicle", AS_GIVEN, tuple(blocks))


def codes_once(codes: Sequence[TroubleCode]) -> list[tuple[str, str, str, str]]:
    """Each code of each control module once: code, every status that was read, title, module."""
    found: dict[tuple[str, str], list[TroubleCode]] = {}
    for one in codes:
        found.setdefault((one.code, one.ecu), []).append(one)
    return [
        (
            outside(code, 20),
            ", ".join(dict.fromkeys(outside(one.status, 20) for one in same)),
            same[0].title,
            outside(ecu, 30),
        )
        for (code, ecu), same in found.items()
    ]


def quality(record: Record) -> Section:
    """Files with their hashes, then everything that was wrong or unusual in them."""
    rows = tuple(
        (
            outside(c.name, 120), outside(c.format, 60), str(c.frames), str(c.rejected),
            "–" if c.duration_s is None else f"{c.duration_s:.1f} s",
            utc(c.start, "%Y-%m-%d %H:%M:%S"),
        )
        for c in record.captures
    )  # fmt: skip
    head = ("File", "Format", "Records", "Rejected", "Length", "Start, UTC")
    hashes = tuple((outside(c.name, 120), outside(c.sha256, 64)) for c in record.captures)
    blocks: list[Block] = [
        Table("Files", head, rows, frozenset({2, 3, 4})),
        Heading("Fingerprints"),
        Table("Fingerprints of the files", ("File", "SHA-256 of its bytes"), hashes),
    ]
    if record.remarks:
        notes = tuple((_remark_text(r), str(r.count), _places(r), outside(r.file, 120)) for r in record.remarks)
        columns = ("Remark", "How often", "Where", "File")
        blocks += [Heading("Remarks"), Table("Remarks on the data", columns, notes, frozenset({1}))]
    else:
        blocks.append(Paragraph("Nothing to remark: every record was read and in order."))
    aside = tuple(
        (channel_words(channel.name), outside(reason), str(count), str(len(channel)))
        for channel in record.channels
        for reason, count in channel.invalid.items()
        if reason != NOT_AVAILABLE
    )
    if aside:
        columns = ("Channel", "Why", "Values", "Of")
        blocks += [Heading("Values set aside"), Table("Values set aside", columns, aside, frozenset({2, 3}))]
    blocks += _not_available(record)
    lead = "Damaged records are counted and located, and the rest is used."
    return Section("quality", "Data quality", lead, tuple(blocks))


def _not_available(record: Record) -> list[Block]:
    """By channel, how often its sender had no value to give: no damage, but it may be why a measure is missing."""
    rows = tuple(
        (channel_words(channel.name), str(channel.invalid[NOT_AVAILABLE]), str(len(channel)))
        for channel in record.channels
        if NOT_AVAILABLE in channel.invalid
    )
    if not rows:
        return []
    words = "The control module itself said that it had no value to give (SAE J1939-71: all ones). That is no damage."
    columns = ("Channel", "Values", "Of")
    table = Table("Values that were not available", columns, rows, frozenset({1, 2}))
    return [Heading("Not available"), Paragraph(words), table]


def _remark_text(remark: Remark) -> str:
    return outside(remark.text) or plainly(remark.kind)


def _places(remark: Remark) -> str:
    more = "; …" if remark.count > len(remark.places) > 0 else ""
    return "; ".join(outside(place, 60) for place in remark.places) + more


def engine(record: Record) -> Section:
    """The profile in use and what was assumed."""
    facts: list[tuple[str, Cell]] = [("Source", outside(record.profile_source) or "not stated")]
    facts += _profile_facts(record.profile)
    blocks: list[Block] = [Facts(tuple(facts))]
    if record.assumed:
        blocks += [Heading("Assumed"), Bullets(tuple(outside(text) for text in record.assumed))]
    if record.knowledge:
        blocks += [Heading("Knowledge of your own"), Bullets(tuple(outside(text) for text in record.knowledge))]
    return Section(
        "engine", "Engine profile", "What the engine is taken to be; limits and angles come from here.", tuple(blocks)
    )


def _profile_facts(profile: EngineProfile) -> list[tuple[str, Cell]]:
    """Every key that the profile sets, its name as words; limits that are the usual ones stand by themselves."""
    facts: list[tuple[str, Cell]] = []
    usual = msgspec.to_builtins(EngineProfile())
    left: list[str] = []
    for key, value in msgspec.to_builtins(profile).items():
        if isinstance(value, dict):
            if key != "channels":
                own: list[str] = []
                for inner, v in value.items():
                    place = f"{key}.{inner}"
                    if v not in (None, []) and not (place in _OF_A_RAIL and profile.injection in _WITHOUT_RAIL):
                        is_usual = key in _WITH_USUAL and v == usual[key][inner]
                        (left if is_usual else own).append(_with_unit(place, v))
                if own:
                    facts.append((plainly(key), outside("; ".join(own))))
        elif value not in (None, []):
            facts.append((plainly(key), outside(_plain(value))))
    return [*facts, ("Usual limits, which it keeps or does not set", outside("; ".join(left)))] if left else facts


def _with_unit(key: str, value: object) -> str:
    """``crank_wheel.first_edge_deg``, 84 as ``first edge 84 deg``, which the page writes as a quantity."""
    if key in _CALLED:
        words, unit = _CALLED[key]
        return f"{words} {_plain(value)}{unit}"
    key = key.rpartition(".")[2]
    for ending, unit in _ENDINGS.items():
        if key.endswith(ending):
            return f"{key.removesuffix(ending).replace('_', ' ')} {_plain(value)}{unit}"
    return f"{key.replace('_', ' ')} {_plain(value)}"


def _plain(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(_plain(item) for item in value)
    return f"{value:g}" if isinstance(value, float) else str(value).replace("_", " ")


SIGN_OFF = f"Agrees / disagrees, because {'_' * 40} Name {'_' * 24} Date {'_' * 12}"
"""For whoever judges a finding on paper; one line, so that it fits the last sheet."""


def method() -> Section:
    """How the answer came about, in short, with the published sources."""
    blocks: tuple[Block, ...] = (
        Bullets(_METHOD), Heading("Published sources"), Bullets(_SOURCES), Heading("Sign-off"), Paragraph(SIGN_OFF),
    )  # fmt: skip
    return Section("method", "How this was worked out", "", blocks)
