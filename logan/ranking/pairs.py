"""Two faults at once: hypotheses for records whose readings no single fault explains.

A pair predicts in each measure what either of its faults predicts. Its prior is small, so it counts only where each of
the two explains what the other cannot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.model.finding import TwoFaults
from logan.ranking.hypotheses import Field
from logan.ranking.weigh import Piece

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

SUPPORTED: Final = 0.5
"""Probability from which two faults at once are reported."""
LEAST: Final = 1e-4
"""Less probable pairs are not added up."""
TIE: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Pairs:
    """Pairs of suspects, as columns.

    Parameters
    ----------
    first, second : (p,) rows of the suspects
    apart : (p,) whether the two sit in different cylinders, so that a list by cylinder shows both
    prior : (p,) before anything is known
    """

    first: Rows
    second: Rows
    apart: NDArray[np.bool_]
    prior: Array


def pairs(field: Field, share: float) -> Pairs:
    """Every pair of two faults, or of two cylinders with one; ``share`` of the faulty engines have a second fault."""
    n = len(field.suspects)
    first, second = np.triu_indices(n, 1)
    names = np.array([suspect.fault.id for suspect in field.suspects])
    cylinder = np.array([suspect.cylinder or 0 for suspect in field.suspects])
    apart = (cylinder[first] != cylinder[second]) & (cylinder[first] > 0) & (cylinder[second] > 0)
    differ = (names[first] != names[second]) | apart
    first, second, apart = first[differ], second[differ], apart[differ]
    prior = np.array([suspect.prior for suspect in field.suspects])
    total = prior.sum()
    joint = 2.0 * prior[first] * prior[second] / total if total else np.zeros(len(first))
    return Pairs(first, second, apart, share * joint)


def with_pairs(piece: Piece, two: Pairs) -> Piece:
    """A piece of evidence whose weight has a column for each pair between the suspects and "something else".

    Where one fault only shows in a reading, the pair predicts that; where both do, the one that explains it better.
    Faults of different cylinders each have a reading of their own, and what is absent counts for both.
    """
    a, b = piece.weight[two.first], piece.weight[two.second]
    both = np.maximum(a, b)
    added = a + b
    if piece.kind == "measure":
        joint = np.where((a == 0.0) | (b == 0.0), added, both)
        if 0 not in piece.readings:
            joint = np.where(two.apart, added, joint)
    elif piece.kind == "work" or piece.observed == "not stored":
        joint = added
    else:
        joint = both
    return replace(piece, weight=np.concatenate([piece.weight[:-1], joint, piece.weight[-1:]]))


def together_of(every: Array, field: Field, two: Pairs) -> TwoFaults | None:
    """The likeliest two faults at once, where that is the likeliest reading of the record."""
    chance: dict[tuple[str, str], float] = {}
    joint = every[len(field.suspects) :]
    for k in np.flatnonzero(joint > LEAST).tolist():
        names = field.suspects[two.first[k]].fault.id, field.suspects[two.second[k]].fault.id
        pair = min(names), max(names)
        if pair[0] == pair[1]:
            continue  # one fault of the catalogue, in two cylinders
        chance[pair] = chance.get(pair, 0.0) + float(joint[k])
    best = max(chance, key=lambda pair: chance[pair], default=None)
    if best is None or chance[best] < SUPPORTED:
        return None
    return TwoFaults(faults=list(best), probability=chance[best])


def cylinders_of(fault: str, every: Array, field: Field, two: Pairs) -> tuple[int, int] | None:
    """The two suspects, by number, of one fault in two cylinders, where that is likelier than all else."""
    of = np.array([suspect.fault.id == fault for suspect in field.suspects])
    joint = np.where(of[two.first] & of[two.second], every[len(field.suspects) :], 0.0)
    k = int(np.argmax(joint)) if len(joint) else 0
    if not len(joint) or joint[k] < SUPPORTED:
        return None
    first, second = sorted((two.first[k], two.second[k]), key=lambda row: field.suspects[row].cylinder or 0)
    return int(first), int(second)


def shared(after: Array, suspects: int, two: Pairs, evidence: Sequence[Piece], told: Sequence[Piece] = ()) -> Array:
    """Probabilities of the suspects, (suspects,), each pair's given to its two faults two to one.

    The probabilities that are shown add up to 1, so a pair cannot count whole for both; the fault with more evidence
    of its own is named first: what speaks for it counts, not how many readings are as on a good engine.
    Where that is the same for both, what was ``told`` (recent work, complaints) decides.
    """
    own = [np.maximum(piece.weight[:suspects], 0.0) for piece in evidence]
    own += [TIE * np.maximum(piece.weight[:suspects], 0.0) for piece in told]
    alone = np.sum(own, axis=0) if own else np.zeros(suspects)
    lead = alone[two.first] >= alone[two.second]
    out = after[:suspects].copy()
    joint = after[suspects:]
    np.add.at(out, two.first, joint * np.where(lead, 2.0, 1.0) / 3.0)
    np.add.at(out, two.second, joint * np.where(lead, 1.0, 2.0) / 3.0)
    return out
