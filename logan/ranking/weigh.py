"""Evidence as columns: what each piece weighs for every hypothesis, and how pieces of one symptom count together."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from logan.knowledge.faults import Calibration, Catalogue, Family
from logan.knowledge.texts import Word
from logan.model.measure import Measure
from logan.model.vehicle import TroubleCode, Vehicle
from logan.ranking.hypotheses import Field, Suspect, place
from logan.ranking.reading import Reading, by_cylinder, reading
from logan.ranking.signs import CAP, Good, Sign, capped, weights

Array = NDArray[np.float64]

SAME_SYMPTOM: Final = 0.25
"""What a further piece of one symptom still counts beside the strongest."""
WORK_CAP: Final = 1.3
"""Most that recent work may move a prior (log10)."""
COMPLAINT_CAP: Final = 0.5
"""Most that one word of complaint may weigh (log10)."""
COMPLAINTS_CAP: Final = 1.0
"""Most that all words of complaint may weigh together (log10)."""
NOT_STORED: Final = 0.5
"""How far codes that are not stored count: they may have been asked for before the fault was seen often enough."""
NOT_READY: Final = 0.1
"""The same where readiness says that no monitor has finished since codes were cleared."""
CODE_SERVICES: Final = ("03", "07", "0A", "19", "DM1", "DM2")
"""Services whose use means that codes were asked for."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of evidence.

    Parameters
    ----------
    kind, name, group : as in ``model.finding.Evidence``
    weight : (n + 1,) log10 likelihood ratio against "no fault" for each suspect, then for "something else"
    observed, family : for codes, the status ("not stored" where codes were read) and the family
    readings : for measures, the reading by cylinder; under 0 where it is one for the whole engine
    """

    kind: Literal["measure", "dtc", "work", "complaint"]
    name: str
    group: str
    weight: Array
    readings: Mapping[int, Reading]
    observed: str = ""
    family: str = ""


def from_measures(
    measures: Sequence[Measure], field: Field, good: dict[str, Good], share_unknown: float, sharpness: float
) -> list[Piece]:
    """One piece a measure that can be judged; ``sharpness`` is what their weights will be multiplied by."""
    out = []
    measured = {m.name for m in measures if m.name in good and (isinstance(m.value, list) or reading(m) is not None)}
    for measure in measures:
        usual = good.get(measure.name)
        if usual is None or usual.stands_in_for in measured:
            continue
        shown = [suspect.signs.get(measure.name) for suspect in field.suspects]
        if isinstance(measure.value, list):
            readings = by_cylinder(measure)
            weighed = _list(readings, field, usual, shown, share_unknown, sharpness)
            if weighed is not None:
                out.append(Piece("measure", measure.name, usual.group, weighed, readings))
            continue
        single = reading(measure)
        if single is not None:
            weighed = weights(single, usual, shown, share_unknown, CAP, sharpness)
            out.append(Piece("measure", measure.name, usual.group, weighed, {0: single}))
    return out


def _list(
    readings: dict[int, Reading],
    field: Field,
    good: Good,
    shown: list[Sign | None],
    share_unknown: float,
    sharpness: float,
) -> Array | None:
    """A list by cylinder: each suspect is weighed by its own cylinder; n readings may weigh log10(n) more than one."""
    if len(readings) < 2:
        return None
    cap = CAP + math.log10(len(readings))
    out = np.zeros(len(field.suspects) + 1)
    unknown = []
    for cylinder, one in readings.items():
        mine = [k for k, suspect in enumerate(field.suspects) if suspect.cylinder == cylinder]
        weighed = weights(one, good, [shown[k] for k in mine], share_unknown, cap, sharpness)
        out[mine] = weighed[:-1]
        unknown.append(weighed[-1])
    # something else may sit in any one of the cylinders
    out[-1] = math.log10(float(np.mean(np.power(10.0, unknown))))
    return capped(out, cap)


def from_codes(vehicle: Vehicle, field: Field, catalogue: Catalogue) -> list[Piece]:
    """One piece a family of codes: stored in some status, or not stored although codes were asked for.

    A fault shares its prior among the cylinders, as codes without a fault are shared among them. So a code that names
    one restores its share, once, whatever the sharpness.
    """
    out = []
    sharpness = max(catalogue.no_fault.calibration.code_sharpness, 1.0)
    cylinders = Counter(suspect.fault.id for suspect in field.suspects)
    refused = {f"{refusal.service:02X}" for refusal in vehicle.refusals}
    asked = bool(vehicle.codes) or any(s in vehicle.services and s not in refused for s in CODE_SERVICES)
    rates = [{code.family: code.rate for code in suspect.fault.codes} for suspect in field.suspects]
    unknown = catalogue.no_fault.something_else.code_rate
    absent = _absent_counts(vehicle)
    for family in catalogue.families.values():
        stored = _stored(family, vehicle.codes, catalogue.no_fault.status)
        weight, share = np.zeros(len(field.suspects) + 1), np.zeros(len(field.suspects) + 1)
        if stored:
            code, named, factor = stored
            for k, suspect in enumerate(field.suspects):
                rate = rates[k].get(family.id)
                if rate is not None:
                    if not named or suspect.cylinder is None:
                        weight[k] = factor * math.log10(rate / family.rate)
                    elif suspect.cylinder in named:
                        weight[k] = factor * math.log10(rate / family.rate)
                        share[k] = factor * math.log10(cylinders[suspect.fault.id] / len(named)) / sharpness
            weight[-1] = factor * math.log10(max(unknown / family.rate, 1.0))
            weight = capped(weight, CAP) + share
            out.append(Piece("dtc", code.code, family.group, weight, {}, code.status, family.id))
        elif asked:
            for k in range(len(field.suspects)):
                rate = rates[k].get(family.id)
                if rate is not None:
                    weight[k] = absent * math.log10((1.0 - rate) / (1.0 - family.rate))
            out.append(Piece("dtc", family.title, family.group, weight, {}, "not stored", family.id))
    return out


def _absent_counts(vehicle: Vehicle) -> float:
    """How far codes that are not stored count: less, the more monitors have not finished since codes were cleared."""
    states = [state for name, state in vehicle.readiness.items() if not name.endswith("_this_drive_cycle")]
    done = [state == "complete" for state in states if state != "not supported"]
    return NOT_READY + (NOT_STORED - NOT_READY) * (sum(done) / len(done) if done else 1.0)


def _stored(
    family: Family, codes: Sequence[TroubleCode], status: dict[str, float]
) -> tuple[TroubleCode, set[int], float] | None:
    """The stored code of a family that counts most, how far it counts, and all cylinders that codes name as surely."""
    places = [(code, status.get(code.status, min(status.values())), place(code.code, family)) for code in codes]
    most = max((factor for _, factor, k in places if k is not None), default=None)
    if most is None:
        return None
    best = [(code, k + 1) for code, factor, k in places if k is not None and factor == most]
    return best[0][0], {cylinder for _, cylinder in best} if family.by_cylinder else set(), most


def from_work(words: Sequence[str], suspects: Sequence[Suspect]) -> list[Piece]:
    """What was fitted just before moves the priors, within a cap over all words together."""
    return _from_words(
        "work", words, [[suspect.fault.work.get(word, 1.0) for suspect in suspects] for word in words], WORK_CAP
    )


def from_complaints(words: Sequence[str], suspects: Sequence[Suspect], known: dict[str, Word]) -> list[Piece]:
    """What the driver complains of, weak evidence: how much more often the fault brings it than none does."""
    ratios = []
    for word in words:
        usual = known[word].rate or 1.0
        ratio = [suspect.fault.complaints.get(word, usual) / usual for suspect in suspects]
        ratios.append(np.clip(ratio, 10.0**-COMPLAINT_CAP, 10.0**COMPLAINT_CAP).tolist())
    return _from_words("complaint", words, ratios, COMPLAINTS_CAP)


def _from_words(
    kind: Literal["work", "complaint"], words: Sequence[str], ratios: list[list[float]], cap: float
) -> list[Piece]:
    if not words:
        return []
    weight = np.log10(np.array(ratios))
    total = np.abs(weight.sum(axis=0))
    weight = weight * np.where(total > cap, cap / np.maximum(total, cap), 1.0)
    return [Piece(kind, word, kind, np.append(row, 0.0), {}, word) for word, row in zip(words, weight, strict=True)]


def together(pieces: Sequence[Piece]) -> list[Piece]:
    """Pieces as they count: what speaks against a hypothesis most in a group counts whole, the rest of it in part.

    Each piece speaks against every hypothesis by how far it falls behind the best explanation of that piece, "no
    fault" being one of them. So a fault cannot hide one contradiction behind another reading of the same symptom, and
    a further normal reading never lifts a fault.
    """
    groups: dict[str, list[int]] = {}
    for k, piece in enumerate(pieces):
        if piece.kind in ("measure", "dtc"):
            groups.setdefault(piece.group, []).append(k)
    out = list(pieces)
    for members in groups.values():
        if len(members) > 1:
            ratio = np.array([[0.0, *pieces[k].weight] for k in members])
            against = discounted(ratio - ratio.max(axis=1, keepdims=True))
            for row, k in enumerate(members):
                out[k] = replace(pieces[k], weight=against[row, 1:] - against[row, 0])
    return out


def sharpened(pieces: Sequence[Piece], calibration: Calibration) -> list[Piece]:
    """Measures with their weights as simulated drives ask for, and codes, which may be older than what was repaired."""
    factor = {"measure": calibration.sharpness, "dtc": calibration.code_sharpness}
    return [replace(piece, weight=factor.get(piece.kind, 1.0) * piece.weight) for piece in pieces]


def discounted(against: Array) -> Array:
    """Rows of one symptom, (m, n), not positive: in each column the lowest whole, the others in part."""
    counts = np.full(against.shape, SAME_SYMPTOM)
    counts[np.argmin(against, axis=0), np.arange(against.shape[1])] = 1.0
    out: Array = against * counts
    return out


def posterior(
    prior: Array, no_fault: float, something_else: float, pieces: Sequence[Piece], hidden: float
) -> tuple[Array, float, float]:
    """Probabilities of each hypothesis (n,), of "no fault" and of "something else"; they add to 1.

    ``hidden`` is the share of unknown faults that show in nothing at all: normal readings do not rule those out.
    """
    total = np.sum([piece.weight for piece in pieces], axis=0) if pieces else np.zeros(len(prior) + 1)
    log_odds = np.log(prior) + math.log(10.0) * total[:-1]
    shown = math.log(1.0 - hidden) + math.log(10.0) * float(total[-1])
    other = math.log(something_else) + float(np.logaddexp(shown, math.log(hidden)))
    every = np.array([*log_odds.tolist(), math.log(no_fault), other])
    share = np.exp(every - every.max())
    share /= share.sum()
    return share[:-2], float(share[-2]), float(share[-1])
