"""Which buses of a capture speak SAE J1939: identifiers of 29 bits are used by others too, who mean something else.

A bus is taken for one of J1939 where at least half of its 29-bit identifiers have the form that J1939 gives them. Those
that say nothing do not vote: identifiers with the extended data page (SAE J1939-21 reserves half of them and leaves the
rest to ISO 15765-3), and those of diagnosis.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.grouping import among, distinct, group, identifiers
from logan.model.capture import PLACES_KEPT, Remark
from logan.model.frames import ERROR, EXTENDED, REMOTE, Frames

# PDU formats (SAE J1939-21, 5.2 and 5.4; ISO 11783-7; from memory)
_BROADCAST: Final = 0xF0
_DIAGNOSIS: Final = (
    0xDA, 0xDB, 0x9E, 0xA0, 0xA1, 0xA2, 0xA3, 0xA4, 0xC1, 0xC2, 0xC3, 0xD4, 0xD6, 0xD7, 0xD8, 0xD9, 0xDF, 0xE3,
)  # fmt: skip
"""ISO 15765-3, then messages of SAE J1939-73 to one receiver (can-j1939 lists them): too rare to speak for a bus."""
_TO_ONE = (0xCB, 0xD3, 0xE6, 0xE7, 0xE8, 0xE9, 0xEA, 0xEB, 0xEC, 0xEE, 0xEF)
"""Process data, calibrations, virtual terminal, acknowledgement, request, transport, address claim, proprietary A."""
_CONTROL: Final = (0x00, 0x01, 0x04)
_CONTROL_PRIORITY: Final = 3
"""Commands to engine, gearbox and brakes: formats so low that they count only with the priority of a command."""
_NOBODY: Final = 0xFF
_PROPRIETARY_A: Final = 0xEF00
_PROPRIETARY_B: Final = 0xFF00
_SHOWN: Final = 12
_MOST_NODES: Final = 30
"""Control units on one segment (SAE J1939-11, from memory): many more senders of one message each are no J1939."""


def speaking(frames: Frames) -> NDArray[np.bool_]:
    """Whether each bus speaks SAE J1939, (len(frames.buses),)."""
    out = np.zeros(len(frames.buses), bool)
    groups = identifiers(frames)
    is_long = groups.keys >> np.uint32(31) == 1
    if not is_long.any():
        return out
    if len(out) == 1 and not frames.flags_met & (ERROR | REMOTE):
        out[0] = _is_j1939(groups.keys[is_long] & np.uint32(0x1FFFFFFF))
        return out
    some, _ = groups.pick(frames, is_long)
    is_candidate = some.flags & (EXTENDED | ERROR | REMOTE) == EXTENDED
    for bus in range(len(out)):
        here = is_candidate if len(out) == 1 else is_candidate & (some.bus == bus)
        out[bus] = _is_j1939(group(some.can_id[here]).keys)
    return out


def set_aside(frames: Frames, speaks: NDArray[np.bool_], groups: Sequence[int], file: str) -> list[Remark]:
    """Says how many frames would be known parameter groups if their bus spoke J1939.

    Parameters
    ----------
    speaks : (buses,) what ``speaking`` says
    groups : the known parameter group numbers
    file : name of the capture file
    """
    if speaks.all() or not groups or not frames.flags_met & EXTENDED:
        return []
    by_id = identifiers(frames)
    is_group = among(pgn_of_each(by_id.keys), np.array(groups, np.uint32))
    some, _ = by_id.pick(frames, is_group & (by_id.keys >> np.uint32(31) == 1))
    rows = np.flatnonzero((some.flags & (EXTENDED | ERROR | REMOTE) == EXTENDED) & ~speaks[some.bus])
    if not len(rows):
        return []
    places = tuple(f"t = {some.t_s[row]:.3f} s, id {some.can_id[row]:X}" for row in rows[:PLACES_KEPT])
    text = "identifiers that could be parameter groups of SAE J1939, on a bus that does not speak it: not decoded so"
    return [Remark("not_j1939", text, len(rows), places, file)]


def of_the_maker(
    frames: Frames, speaks: NDArray[np.bool_], groups: Sequence[int], identifiers_known: Sequence[int], file: str
) -> list[Remark]:
    """Says how many frames are of groups that every maker fills as he likes (SAE J1939-21, proprietary A, A2 and B).

    Parameters
    ----------
    speaks : (buses,) what ``speaking`` says
    groups, identifiers_known : parameter group numbers, and identifiers, that a signal data base describes
    file : name of the capture file
    """
    if not speaks.any():
        return []
    by_id = identifiers(frames)
    pgn = pgn_of_each(by_id.keys)
    page = pgn & np.uint32(0xFFFF)
    is_own = (pgn >> 17 == 0) & ((page == _PROPRIETARY_A) | (page >= _PROPRIETARY_B)) & (by_id.keys >> 31 == 1)
    is_own &= ~among(pgn, np.array(groups, np.uint32))
    is_own &= ~among(by_id.keys & np.uint32(0x1FFFFFFF), np.array(identifiers_known, np.uint32))
    if not is_own.any():
        return []
    count = np.bincount(by_id.number, by_id.counts, len(by_id.keys)).astype(np.int64)
    if not speaks.all():
        some, key = by_id.pick(frames, is_own)
        count = np.bincount(key[speaks[some.bus]], minlength=len(by_id.keys))
    numbers = [(f"{one:05X}", int(count[is_own & (pgn == one)].sum())) for one in distinct(pgn[is_own]).tolist()]
    told = [f"{name} x {n}" for name, n in numbers if n]
    if not told:
        return []
    shown = ", ".join(told[:_SHOWN]) + (" ..." if len(told) > _SHOWN else "")
    text = f"frames of groups whose content each maker chooses, not decoded without the maker's data base: {shown}"
    return [Remark("groups_of_maker", text, sum(n for _, n in numbers), file=file)]


def pgn_of_each(can_id: NDArray[np.uint32]) -> NDArray[np.uint32]:
    """Parameter group number in each of some 29-bit identifiers, (n,); as ``dbc.pgn_of``."""
    pgn = can_id >> np.uint32(8) & np.uint32(0x3FFFF)
    is_to_one = pgn & np.uint32(0xFF00) < _BROADCAST << 8
    return np.where(is_to_one, pgn & np.uint32(0x3FF00), pgn)


def _is_j1939(identifiers: NDArray[Any]) -> bool:
    """Whether the distinct identifiers of a bus are of SAE J1939."""
    form = identifiers >> 16 & 0xFF
    votes = (identifiers >> 25 & 1 == 0) & ~np.isin(form, _DIAGNOSIS)
    is_command = np.isin(form, _CONTROL) & (identifiers >> 26 == _CONTROL_PRIORITY)
    sender = identifiers & 0xFF
    fits = votes & ((form >= _BROADCAST) | np.isin(form, _TO_ONE) | is_command) & (sender != _NOBODY)
    count = int(fits.sum())
    n_senders = len(distinct(sender[fits]))
    return count > 0 and 2 * count >= votes.sum() and (n_senders <= _MOST_NODES or count >= 2 * n_senders)
