"""Inputs mutated from seeds: the same number always gives the same input."""

from __future__ import annotations

import random
from collections.abc import Sequence

ODD = (
    b"nan", b"NaN", b"inf", b"-inf", b"Infinity", b"1e999", b"-1e308", b"1e-400", b"-1", b"0", b"", b"-", b"--", b"?",
    b"99999999999999999999", b"9223372036854775807", b"-9223372036854775808", b"4294967295", b"4294967296",
    b"2147483648", b"FFFFFFFF", b"1FFFFFFF", b"20000000", b"7FF", b"800", b"0x", b"#", b"##", b"#R", b",", b";", b"\t",
    b"\"", b"'", b"\n", b"\r", b"\r\n", b"\x00", b"\xff", b"\xff\xfe", b"\xef\xbb\xbf", "°".encode(), "Â°".encode(),
    b"%", b"[", b"]", b"(", b")", b"{", b"0000-00-00", b"9999-12-31T23:59:59Z", b"2024-02-30", b"23:59:60", b"+14:00",
    b"-99:99", b"true", b"0o7", b"1_000", b"[[", b"\\u0000",
)  # fmt: skip
"""What numbers, marks and times go wrong with."""
WORDS = (0, 1, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 0xFFFFFFF0)
MOST = 1 << 14


def mutated(seeds: Sequence[bytes], name: str, number: int) -> bytes:
    """One input of a target."""
    chance = random.Random(f"{name} {number}")
    data = bytearray(chance.choice(seeds))
    for _ in range(min(1 + int(chance.expovariate(0.4)), 24)):
        _change(data, seeds, chance)
    return bytes(data[:MOST])


def _change(data: bytearray, seeds: Sequence[bytes], chance: random.Random) -> None:
    """One small or large harm."""
    at = chance.randrange(len(data) + 1)
    end = min(len(data), at + int(chance.expovariate(0.1)) + 1)
    kind = chance.randrange(12)
    if kind == 0 and at < len(data):
        data[at] ^= 1 << chance.randrange(8)
    elif kind == 1 and at < len(data):
        data[at] = chance.randrange(256)
    elif kind == 2:
        data[at:at] = chance.choice(ODD)
    elif kind == 3:
        data[at:end] = chance.choice(ODD)
    elif kind == 4:
        size = chance.choice((1, 2, 4, 8))
        word = chance.choice(WORDS) & (1 << 8 * size) - 1
        data[at : at + size] = word.to_bytes(size, chance.choice(("little", "big")))
    elif kind == 5:
        del data[at:end]
    elif kind == 6:
        data[at:at] = data[at:end] * chance.choice((1, 2, 5, 40))
    elif kind == 7:
        del data[at:]
    elif kind == 8:
        other = chance.choice(seeds)
        begin = chance.randrange(len(other) + 1)
        data[at:end] = other[begin : begin + end - at + chance.randrange(40)]
    elif kind == 9:
        data[at:at] = chance.randbytes(1 + int(chance.expovariate(0.2)))
    elif kind == 10:
        lines = data.split(b"\n")
        one, two = chance.randrange(len(lines)), chance.randrange(len(lines))
        lines[one], lines[two] = lines[two], lines[one]
        data[:] = b"\n".join(lines)
    else:
        fields = data.split(b",")
        if len(fields) > 1:
            fields[chance.randrange(len(fields))] = bytearray(chance.choice(ODD))
            data[:] = b",".join(fields)
