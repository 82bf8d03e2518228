"""Vehicle identification numbers of several control modules: which one counts, and what is said where they differ."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from logan.model.capture import VINS_DIFFER, Remark
from logan.model.vehicle import speaks_for_engine


def chosen(vins: Mapping[str, Sequence[str]]) -> str | None:
    """The number that counts: the first that the engine's control module said, else the first that any said.

    Parameters
    ----------
    vins : control module -> the numbers that it said, in order
    """
    of_engine = [said for ecu, said in vins.items() if speaks_for_engine(ecu)]
    return next((vin for said in (*of_engine, *vins.values()) for vin in said), None)


def together(first: Mapping[str, Sequence[str]], second: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """What two captures say, each number of a module once."""
    return {ecu: list(dict.fromkeys([*first.get(ecu, ()), *second.get(ecu, ())])) for ecu in {**first, **second}}


def differing(vins: Mapping[str, Sequence[str]]) -> Iterator[Remark]:
    """Says which numbers one record holds, and who said each, where there is more than one.

    A control module taken from another vehicle keeps its number (common practice, no source).
    """
    by_vin: dict[str, list[str]] = {}
    for ecu, said in vins.items():
        for vin in said:
            by_vin.setdefault(vin, []).append(ecu)
    if len(by_vin) < 2:
        return
    told = "; ".join(f"{vin} said by {', '.join(ecus)}" for vin, ecus in by_vin.items())
    taken = chosen(vins)
    of_engine = any(speaks_for_engine(ecu) for ecu in by_vin[taken or ""])
    why = "the first that the engine's control module said" if of_engine else "the first that was said"
    text = (
        f"more than one vehicle identification number in one record: {told}; {taken} is taken, {why}: a control module "
        "may come from another vehicle, or two vehicles were recorded into one file"
    )
    yield Remark(VINS_DIFFER, text, len(by_vin))
