"""Writes dbc_open/j1939.dbc and the small table beside it from the fact table in tests/data/j1939/.

The fact table (``parameters.csv``) puts independent descriptions of SAE J1939-71 side by side: where each suspect
parameter (SPN) stands in its parameter group (PGN), how it is scaled, who says so and who says otherwise. This program
turns it into the two files that logan reads. Run it after a change of the table:
``python tests/tools/make_j1939_dbc.py``.
"""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

HERE = Path(__file__).resolve().parent
FACTS = HERE.parent / "data" / "j1939" / "parameters.csv"
TARGET = HERE.parent.parent / "dbc_open"

PRIORITY = 6
PRIORITY_OF_CONTROL = 3  # torque and speed control (SAE J1939-71, from memory)
TSC1 = 0
NULL_ADDRESS = 0xFE
EXTENDED_MARK = 1 << 31
FRAME_BYTES = 8

HEAD = """VERSION ""

NS_ :
  BA_DEF_
  BA_
  BA_DEF_DEF_
  CM_
  VAL_

BS_:

BU_: Sender Listener
"""
MARKS = """BA_DEF_ "ProtocolType" STRING ;
BA_DEF_ BO_ "VFrameFormat" ENUM "StandardCAN","ExtendedCAN","reserved","J1939PG";
BA_DEF_ SG_ "SPN" INT 0 524287;
BA_DEF_DEF_ "ProtocolType" "J1939";
BA_DEF_DEF_ "VFrameFormat" "J1939PG";
BA_DEF_DEF_ "SPN" 0;
BA_ "ProtocolType" "J1939";"""
COMMENT = (
    "Parameters of SAE J1939-71. Every message is a parameter group: match it by the group number in the identifier,"
    " whatever priority and sender. Sources, disagreements and the parameters left out stand in j1939.csv."
    " Written by tests/tools/make_j1939_dbc.py from the table in tests/data/j1939."
)


def number(text: str) -> str:
    value = float(text or 0)
    return str(int(value)) if value.is_integer() else repr(value)


def quoted(text: str) -> str:
    return '"' + text.replace('"', "'") + '"'


def why_not(row: dict[str, str]) -> str:
    """Why a parameter is left out of the DBC, empty where it stands in it."""
    if not row["start_bit_lsb0"]:
        return "no source gives its place"
    if row["disagreement"].startswith("only source"):
        return "a single source, and its bits are another parameter's in the others"
    return ""


def labels(note: str) -> list[tuple[int, str]]:
    """Meaning of raw values where the table spells it out; error and "not available" are common to all parameters."""
    found = re.findall(r"\b([01]{2}) = ([^,;]+)", note)
    return [(int(bits, 2), text.strip()) for bits, text in found if text not in ("error", "not available")]


def make() -> tuple[str, str]:
    """Text of the DBC and of the table beside it."""
    with FACTS.open(encoding="utf-8", newline="") as file:
        facts = list(csv.DictReader(file))
    dbc, attributes, comments, values = [HEAD], [MARKS], [f"CM_ {quoted(COMMENT)};"], []
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(["pgn", "acronym", "spn", "signal", "left_out", "source", "disagreement", "note"])
    n_bytes: dict[int, int] = {}
    for row in facts:
        if not why_not(row):
            end = (int(row["start_bit_lsb0"]) + int(row["length"]) + 7) // 8
            n_bytes[int(row["pgn"])] = max(end, n_bytes.get(int(row["pgn"]), FRAME_BYTES))
    begun = set()
    for row in facts:
        pgn, name, left_out = int(row["pgn"]), row["signal"], why_not(row)
        writer.writerow(
            [pgn, row["acronym"], row["spn"], name, left_out, row["source"], row["disagreement"], row["note"]]
        )
        if left_out:
            continue
        priority = PRIORITY_OF_CONTROL if pgn == TSC1 else PRIORITY
        frame = EXTENDED_MARK | priority << 26 | pgn << 8 | NULL_ADDRESS
        if pgn not in begun:
            begun.add(pgn)
            acronym = re.sub(r"\W", "_", row["acronym"]) or f"PGN_{pgn}"
            dbc.append(f"\nBO_ {frame} {acronym}: {n_bytes[pgn]} Sender")
            title = f"PGN {pgn}: {row['pgn_name']}" if row["pgn_name"] else f"PGN {pgn}"
            comments.append(f"CM_ BO_ {frame} {quoted(title)};")
        dbc.append(
            f" SG_ {name} : {row['start_bit_lsb0']}|{row['length']}@1{'-' if row['signed'] == '1' else '+'}"
            f" ({number(row['scale'])},{number(row['offset'])}) [{number(row['min'])}|{number(row['max'])}]"
            f" {quoted(row['unit'])} Listener"
        )
        attributes.append(f'BA_ "SPN" SG_ {frame} {name} {row["spn"]};')
        note = "from memory" if row["source"].startswith("memory") else ""
        if note := "; ".join(part for part in (note, row["note"]) if part):
            comments.append(f"CM_ SG_ {frame} {name} {quoted(note)};")
        if meanings := labels(row["note"]):
            values.append(f"VAL_ {frame} {name} {' '.join(f'{v} {quoted(t)}' for v, t in meanings)} ;")
    return "\n".join([*dbc, "", *comments, "", *attributes, *values, ""]), table.getvalue()


def main() -> None:
    dbc, table = make()
    (TARGET / "j1939.dbc").write_text(dbc, encoding="utf-8", newline="\n")
    (TARGET / "j1939.csv").write_text(table, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
