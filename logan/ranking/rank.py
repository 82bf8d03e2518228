"""Measures, codes and circumstances of a record in, ranked faults out (docs/conventions.md)."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.errors import UsageError
from logan.knowledge import faults as fault_files
from logan.knowledge import measures as measure_files
from logan.knowledge import plan as plan_files
from logan.knowledge import texts
from logan.knowledge.faults import Catalogue, Fault
from logan.knowledge.folders import Folders
from logan.knowledge.limits import key_words
from logan.knowledge.measures import MeasureInfo
from logan.knowledge.plan import PlanData
from logan.knowledge.texts import Caution, Word
from logan.model.capture import NO_ENGINE, NO_ENGINE_SEEN, NOT_NAMED, OTHER_ENGINE
from logan.model.finding import SPEAKS, Evidence, RankedFault, Ranking, TwoFaults, Verdict
from logan.model.measure import Measure, Missing
from logan.model.profile import EngineProfile
from logan.model.record import NO_PROFILE, Record
from logan.ranking import undecided, unexplained, words
from logan.ranking.distribution import Normal
from logan.ranking.extra import extra_recording
from logan.ranking.hypotheses import Suspect, field
from logan.ranking.next_checks import checks, minutes_to_find
from logan.ranking.once import once
from logan.ranking.pairs import cylinders_of, pairs, shared, together_of, with_pairs
from logan.ranking.power import SMALL, power
from logan.ranking.signs import Good, good_engine
from logan.ranking.verdict import SUPPORTED, Shown, speaks, verdict, weighs
from logan.ranking.weigh import (
    Piece,
    from_codes,
    from_complaints,
    from_measures,
    from_work,
    posterior,
    sharpened,
    together,
)

Array = NDArray[np.float64]

SEEN: Final = 0.5
"""Power under which a fault counts as one that the record could not have shown."""
WORTH_A_CHECK: Final = 0.02
"""Probability from which a fault's checks are worth their time."""
TORN: Final = 0.1
"""Probability from which the second fault is named as not told apart from the first."""
ALSO: Final = 0.01
"""The same for a second fault that all readings and codes speak for as well."""
UNEXPLAINED: Final = 0.3
"""Share of "something else" from which the report says so (science of diagnosis: over 0.3 makes a headline)."""
PERHAPS_NONE: Final = 0.05
"""Probability of "no fault" from which it is not said that something is off."""
ELECTRIC: Final = "The vehicle says that it runs on its battery alone: it has no engine to judge."
NONE_SEEN: Final = (
    "No engine shows in this record, so none is judged. "
    "If the vehicle has one, record what its own control module says."
)
NOT_SHOWN: Final = "What was recorded could not have shown the faults in question; record what is listed as missing."
OTHERS_NOT_SHOWN: Final = (
    "What was recorded could not have shown the other faults in question; record what is listed as missing."
)
UNNAMED: Final = (
    "The engine was not named, and without its profile a crank, cam or pump recording cannot be judged: "
    "name it with --engine."
)
NAME_FIRST: Final = "Name the engine (--engine) and judge this recording again; where that does not do: "
CONTRADICTED: Final = "The record is not of the engine that the profile describes: nothing is judged by its limits."
NO_FAULT: Final = "no fault"
SOMETHING_ELSE: Final = "something else"


@dataclass(frozen=True, slots=True)
class Knowledge:
    """The data files that ranking uses."""

    catalogue: Catalogue
    measures: dict[str, MeasureInfo]
    cautions: dict[str, Caution]
    work: dict[str, Word]
    complaints: dict[str, Word]
    plan: PlanData


def knowledge(folders: Folders = ()) -> Knowledge:
    """All data files of ranking, those of knowledge folders over the built-in ones.

    Raises
    ------
    KnowledgeError : one of them is wrong
    """
    return Knowledge(
        fault_files.load(folders=folders),
        measure_files.load(folders),
        texts.cautions(folders),
        texts.work(folders),
        texts.complaints(folders),
        plan_files.load(folders),
    )


def check_words(work: Sequence[str], complaints: Sequence[str], known: Knowledge | None = None) -> None:
    """Refuse words of recent work and complaint that are not known.

    Raises
    ------
    UsageError : a word is not known; names the known ones
    """
    for option, given, table in (
        ("--recent-work", work, known.work if known else texts.work()),
        ("--complaint", complaints, known.complaints if known else texts.complaints()),
    ):
        for word in given:
            if word not in table:
                raise UsageError(f"{option}: {word} is no known word", do=f"use {', '.join(table)}")


def rank(
    record: Record, measures: Sequence[Measure], missing: Sequence[Missing], known: Knowledge | None = None
) -> Ranking:
    """Rank every fault that fits the engine.

    Each piece of evidence multiplies the odds of a fault, or of two at once, against "no fault" by its likelihood
    ratio; see ``signs`` for measures, ``weigh`` for codes, recent work and complaints, ``pairs`` for two faults.

    Parameters
    ----------
    record : the engine, its codes, recent work and complaints
    measures, missing : what was measured, and what was not with the reason
    known : data files, read anew where it is None

    Raises
    ------
    KnowledgeError : a data file is wrong
    UsageError : a word of recent work or complaint is not known
    """
    known = knowledge() if known is None else known
    check_words(record.work, record.complaints, known)
    why = {absent.measure: absent.why for absent in missing}
    contradicted = next((remark.text for remark in record.remarks if remark.kind == OTHER_ENGINE), "")
    profile = record.profile
    if contradicted:
        # limits and angles of another engine judge nothing: what is left are the codes, the work and the complaints,
        # and whatever fault any engine can have
        profile = EngineProfile(name=profile.name)
        why |= {measure.name: "the engine profile is of another engine" for measure in measures}
        measures = []
    kinds = {remark.kind for remark in record.remarks}
    no_engine = ELECTRIC if NO_ENGINE in kinds else NONE_SEEN if NO_ENGINE_SEEN in kinds else ""
    good = good_engine(known.catalogue, profile)
    counted, again = once(measures, good, known.measures)
    why |= again
    hypotheses = field(known.catalogue, profile, measures, record.vehicle.codes)
    if no_engine:
        return _without_engine(no_engine, hypotheses.no_fault, hypotheses.something_else)
    unknown, calibration = known.catalogue.no_fault.something_else, known.catalogue.no_fault.calibration
    two = pairs(hypotheses, calibration.second_fault)
    prior = np.append([suspect.prior for suspect in hypotheses.suspects], two.prior)
    work = [word for word in dict.fromkeys(record.work) if word != "none"]
    told = [
        *from_work(work, hypotheses.suspects),
        *from_complaints(list(dict.fromkeys(record.complaints)), hypotheses.suspects, known.complaints),
    ]
    found = [
        *from_measures(counted, hypotheses, good, unknown.measure_share, calibration.sharpness),
        *from_codes(record.vehicle, hypotheses, known.catalogue),
    ]
    told = [with_pairs(piece, two) for piece in told]
    found = sharpened(together([with_pairs(piece, two) for piece in found]), calibration)
    pieces = [*found, *told]
    others = hypotheses.no_fault, hypotheses.something_else
    before, _, _ = posterior(prior, *others, told, unknown.hidden)
    every, no_fault, something_else = posterior(prior, *others, pieces, unknown.hidden)
    after = shared(every, len(hypotheses.suspects), two, found, told)

    members: dict[str, list[int]] = {}
    for k, suspect in enumerate(hypotheses.suspects):
        members.setdefault(suspect.fault.id, []).append(k)
    chance = {fault: float(after[rows].sum()) for fault, rows in members.items()}
    hypothesis = {**chance, NO_FAULT: no_fault, SOMETHING_ELSE: something_else}
    ranked: list[RankedFault] = []
    blind: dict[str, str] = {}
    hints: dict[str, str] = {}
    shown: list[Shown] = []
    for fault, rows in members.items():
        k = rows[int(np.argmax(after[rows]))]
        suspect = hypotheses.suspects[k]
        strength, small = (power(suspect, float(before[k]), pieces, good, calibration.sharpness, part)
                           for part in (1.0, SMALL))  # fmt: skip
        evidence = _evidence(k, suspect, pieces, good, known, why)
        shown.append(Shown(suspect, float(before[rows].sum()), strength))
        if strength < SEEN and not (chance[fault] >= SUPPORTED and speaks(evidence)):
            blind[fault] = _why_blind(suspect, pieces, known.measures, why)
            hints[fault] = extra_recording(suspect, known.plan)
            if hints[fault] and any(why.get(name, "").endswith(NO_PROFILE) for name in _main_signs(suspect)):
                hints[fault] = f"{NAME_FIRST}{hints[fault]}"
        entry = known.catalogue.faults[fault]
        ranked.append(
            RankedFault(
                fault=fault,
                title=entry.title,
                probability=chance[fault],
                cylinder=_cylinder(suspect, after[rows] / max(chance[fault], 1e-300), evidence),
                evidence=evidence,
                next_checks=checks(
                    entry, hypothesis, known.cautions, {one.name for one in measures}, bool(record.sensors)
                ),
                cautions=_cautions(entry, known.cautions),
                power=round(strength, 3),
                power_small=None if _one_size(suspect) else round(small, 3),
            )
        )
    ranked.sort(key=lambda one: -one.probability)
    said = verdict(ranked, shown, work, pieces, hypotheses.suspects, good, no_fault)
    joint = together_of(every, hypotheses, two)
    both = cylinders_of(ranked[0].fault, every, hypotheses, two) if ranked else None
    also = ""
    told_of = {piece.name for one in ranked[:3] if weighs(one) > 0.0 for piece in one.evidence}
    open_ones = undecided.sentences(measures, profile, known.measures, told_of) if said != "fault_supported" else []
    if both is not None:
        first, second = (hypotheses.suspects[k].cylinder for k in both)
        also = f" Two cylinders at once: {first} and {second}."
        less = min(both, key=lambda k: float(after[k]))
        why_it = _evidence(less, hypotheses.suspects[less], pieces, good, known, why)[0]
        if why_it.weight > SPEAKS and why_it.name != ranked[0].evidence[0].name:  # else the list by cylinder says so
            also += f" For cylinder {hypotheses.suspects[less].cylinder}: {why_it.text}."
    apart = known.catalogue.faults[ranked[0].fault].told_apart if ranked else ""
    odd = unexplained.speaking(found, good, known.catalogue.families, known.measures)
    odd = odd if something_else >= UNEXPLAINED else []
    return Ranking(
        verdict=said,
        faults=ranked,
        not_explained=no_fault + something_else,
        no_fault=no_fault,
        something_else=something_else,
        unexplained=odd,
        blind=blind,
        together=joint,
        hints={fault: step for fault, step in hints.items() if step},
        minutes_to_find=minutes_to_find(
            [known.catalogue.faults[one.fault] for one in ranked if one.probability >= WORTH_A_CHECK],
            hypothesis,
            known.cautions,
            {one.name for one in measures},
            bool(record.sensors),
        ),
        sharpness=calibration.sharpness,
        code_sharpness=calibration.code_sharpness,
        sentence=_top(bool(contradicted), said)
        or _with_open(_sentence(said, ranked, joint, no_fault, odd, apart) + also, open_ones, kinds),
    )


def _evidence(
    k: int,
    suspect: Suspect,
    pieces: Sequence[Piece],
    good: dict[str, Good],
    known: Knowledge,
    why: dict[str, str],
) -> list[Evidence]:
    """All that speaks for or against one suspect, the heaviest first, then the signs that were not judged."""
    out: list[Evidence] = []
    rates = {code.family: code.rate for code in suspect.fault.codes}
    judged: set[str] = set()
    for piece in pieces:
        weight = float(piece.weight[k])
        if piece.kind == "measure":
            judged.add(piece.name)
            one = words.measured(piece, suspect, weight, good[piece.name], known.measures)
            if one is not None:
                out.append(one)
        elif piece.kind == "dtc":
            if piece.family in rates or abs(weight) >= SPEAKS:
                family = known.catalogue.families[piece.family]
                out.append(words.code(piece, weight, family, rates.get(family.id)))
        elif weight:
            table = known.work if piece.kind == "work" else known.complaints
            out.append(words.circumstance(piece, weight, table[piece.name].title))
    out.sort(key=lambda one: -abs(one.weight))
    unjudged = [name for name in _main_signs(suspect) if name not in judged]
    return out + [words.absent(name, _why_not(name, suspect, why), suspect, known.measures) for name in unjudged]


def _one_size(suspect: Suspect) -> bool:
    """Whether a fault is there or not, but never small: a key that is turned over, two wires that are swapped."""
    main = [sign for sign in suspect.signs.values() if sign.main]
    return bool(main) and all(isinstance(sign.expect, Normal) for sign in main)


def _main_signs(suspect: Suspect) -> list[str]:
    return list(dict.fromkeys(expect.measure for expect in suspect.fault.expect if expect.main))


def _why_not(name: str, suspect: Suspect, why: dict[str, str]) -> str:
    """What the record lacks first: a fuller profile alone would not show the fault either."""
    profile = key_words(suspect.lacking[name]) if name in suspect.lacking else ""
    if why.get(name, "").endswith(NO_PROFILE):
        return why[name]
    if profile and name in why:
        return f"{why[name]}; nor does the engine profile give {profile}"
    return f"the engine profile does not give {profile}" if profile else why.get(name, "it was not measured")


def _why_blind(suspect: Suspect, pieces: Sequence[Piece], info: dict[str, MeasureInfo], why: dict[str, str]) -> str:
    judged = {piece.name for piece in pieces if piece.kind == "measure"}
    reasons = []
    for name in _main_signs(suspect):
        if name in suspect.lacking or name not in judged:
            reasons.append(f"{words.title(name, info)}: {_why_not(name, suspect, why)}")
        else:
            reasons.append(f"{words.title(name, info)}: measured, but its interval is too wide for the usual sizes")
    return "; ".join(reasons)


def _cylinder(suspect: Suspect, shares: Array, evidence: Sequence[Evidence]) -> int | None:
    """The cylinder that a fault strikes, where the evidence names it: it is likelier than all others together."""
    return suspect.cylinder if speaks(evidence) and float(shares.max(initial=0.0)) > 0.5 else None


def _without_engine(sentence: str, no_fault: float, something_else: float) -> Ranking:
    """Nothing is ranked: every fault of the catalogue is one of an engine."""
    share = something_else / (no_fault + something_else)
    return Ranking(
        verdict="insufficient_evidence",
        faults=[],
        not_explained=1.0,
        no_fault=1.0 - share,
        something_else=share,
        sentence=sentence,
    )


def _top(contradicted: bool, said: Verdict) -> str:
    """What stands before all else that could be said of a record; empty for most."""
    return CONTRADICTED if contradicted and said != "fault_supported" else ""


def _with_open(sentence: str, open_ones: Sequence[str], kinds: Collection[str]) -> str:
    """What is past its limit and not decided stands first where nothing else was found, else last.

    Where nothing was found because the engine was not named, that is what lacks; ``kinds`` are those of the remarks.
    """
    if sentence == NOT_SHOWN and NOT_NAMED in kinds:
        return " ".join([*open_ones, UNNAMED])
    if open_ones and sentence == NOT_SHOWN:
        return " ".join([*open_ones, OTHERS_NOT_SHOWN])
    return " ".join([sentence, *open_ones])


def _sentence(
    said: Verdict,
    ranked: Sequence[RankedFault],
    joint: TwoFaults | None,
    no_fault: float,
    odd: Sequence[Evidence],
    told_apart: str,
) -> str:
    """The verdict in words; ``told_apart`` is how the first fault is told from others, ``odd`` what none explains."""
    named = [f"{_named(one)} ({_share(one.probability)})" for one in ranked[:3] if weighs(one) > 0.0]
    if joint is not None:
        both = " and ".join(_named(one) for one in ranked if one.fault in joint.faults)
        return f"Two faults at once ({_share(joint.probability)}): {both}."
    if said == "fault_supported":
        return f"Most likely: {named[0]}. {ranked[0].evidence[0].text}.{_or(ranked, named, told_apart)}"
    if said == "insufficient_evidence":
        if len(named) > 1 and not _for_names(ranked[0]) & _for_names(ranked[1]):
            return f"Different readings speak for different faults, maybe two at once: {', '.join(named)}."
        if named:
            if no_fault >= PERHAPS_NONE:
                return f"Something may be off, but this record cannot tell: {', '.join(named)}."
            return f"Something is off, but this record cannot tell what: {', '.join(named)}."
        return NOT_SHOWN
    if odd:
        told = unexplained.sentence(odd)
        return f"Something differs from a good engine, but no fault of the catalogue explains it. {told}"
    if named:
        return f"No fault is shown; weak signs speak for {', '.join(named)}. What this record cannot show is listed."
    return "Nothing that was recorded speaks for a fault; what this record cannot show is listed."


def _or(ranked: Sequence[RankedFault], named: Sequence[str], told_apart: str) -> str:
    """Another fault that a supported one may be: it is not much less likely, or all that was read speaks for it too."""
    if len(named) < 2:
        return ""
    if ranked[1].probability >= TORN:
        return f" This record cannot tell it from {named[1]}."
    if ranked[1].probability >= ALSO and _read_for(ranked[0]) <= _read_for(ranked[1]):
        return f" All that speaks for it speaks for {_quoted(ranked[1])} too. {told_apart}"
    return ""


def _for_names(one: RankedFault) -> set[str]:
    return {piece.name for piece in one.evidence if piece.weight > SPEAKS}


def _read_for(one: RankedFault) -> set[str]:
    return _for_names(one) & {piece.name for piece in one.evidence if piece.kind in ("measure", "dtc")}


def _share(probability: float) -> str:
    """A probability in words; nothing is ever sure."""
    return "over 99 %" if probability > 0.995 else f"{100.0 * probability:.0f} %"


def _quoted(one: RankedFault) -> str:
    return f"“{_named(one)}” ({_share(one.probability)})"


def _named(one: RankedFault) -> str:
    return one.title if one.cylinder is None else f"{one.title}: cylinder {one.cylinder}"


def _cautions(fault: Fault, cautions: dict[str, Caution]) -> list[str]:
    ids = dict.fromkeys([*fault.cautions, *(name for check in fault.checks for name in check.cautions)])
    return [cautions[name].text for name in ids]
