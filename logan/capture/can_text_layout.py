"""The fixed form of a CAN text line before its identifier, so that whole columns of lines can be compared with it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.capture.hexwords import constant, low_bytes
from logan.native.kernels import LONGEST_LAYOUT, Layouts


class Digits(Struct, frozen=True):
    """A run of digits inside one word of the prefix: which word, where, and what its last digit is worth in ns."""

    word: int
    shift: np.uint64
    mask: np.uint64
    worth_ns: np.int64


class Layout(Struct, frozen=True):
    """The fixed form of everything before the identifier: ``(dd.dddddd) name ``.

    Parameters
    ----------
    channel : name of the bus
    template : (k,) uint64, its words, ``0`` where a digit stands
    form : its bytes, "0" where a digit stands
    whole, fraction : digits of seconds and of their parts
    fixed : (k,) uint64, FF in each byte that must equal the template, F0 in each digit
    digit : (k,) uint64, 06 in each digit, which lifts 10..15 over the nibble
    runs : the digits in pieces
    """

    channel: bytes
    form: bytes
    whole: int
    fraction: int
    template: tuple[np.uint64, ...]
    fixed: tuple[np.uint64, ...]
    digit: tuple[np.uint64, ...]
    runs: tuple[Digits, ...]

    @property
    def size(self) -> int:
        """Bytes before the identifier."""
        return len(self.form)

    @property
    def is_digit(self) -> list[bool]:
        """Whether each of them is a digit of the time."""
        point = 1 + self.whole
        return [1 <= k <= point + self.fraction and k != point for k in range(self.size)]


def learn(line: bytes) -> Layout | None:
    """The layout of a line that holds a frame, None where its form is too rare to be worth one."""
    stamp, _, rest = line.partition(b") ")
    channel, space, _ = rest.partition(b" ")
    whole, point, fraction = stamp[1:].partition(b".")
    if not (
        stamp[:1] == b"(" and point and space and whole.isdigit() and fraction.isdigit() and channel.strip() == channel
    ) or not (channel and len(whole) <= 10 and len(fraction) <= 9 and len(channel) <= 32):
        return None
    form = b"(" + b"0" * len(whole) + b"." + b"0" * len(fraction) + b") " + channel + b" "
    is_digit = [1 <= k < len(stamp) and k != len(whole) + 1 for k in range(len(form))]
    padding = -len(form) % 8
    template, fixed, digit, runs = [], [], [], []
    for word in range(0, len(form) + padding, 8):
        inside = range(word, min(word + 8, len(form)))
        template.append(constant(int.from_bytes(form[word : word + 8], "little")))
        fixed.append(constant(sum((0xF0 if is_digit[k] else 0xFF) << 8 * (k - word) for k in inside)))
        digit.append(constant(sum(0x06 << 8 * (k - word) for k in inside if is_digit[k])))
        for low, high, exponent in ((1, len(whole) + 1, 9), (len(whole) + 2, len(stamp), 9 - len(fraction))):
            first, last = max(low, word), min(high, word + 8) - 1
            if first <= last:
                mask = sum(0x0F << 8 * (k - word) for k in range(first, last + 1))
                worth = 10 ** (exponent + high - 1 - last)
                runs.append(Digits(word // 8, np.uint64(8 * (word + 7 - last)), constant(mask), np.int64(worth)))
    return Layout(channel, form, len(whole), len(fraction), tuple(template), tuple(fixed), tuple(digit), tuple(runs))


def tables(layouts: Sequence[Layout], bus: Callable[[bytes], int | None]) -> Layouts:
    """Layouts as the compiled loop wants them; those without a bus are left out."""
    kept = [layout for layout in layouts if bus(layout.channel) is not None]
    form = np.zeros((len(kept), 2, LONGEST_LAYOUT), np.uint8)
    form[:, 1] = 255
    for row, one in zip(form, kept, strict=True):
        row[:, : one.size] = np.frombuffer(one.form, np.uint8), np.where(one.is_digit, 9, 0)

    def column(values: Sequence[int | None]) -> NDArray[np.int64]:
        return np.array(values, np.int64)

    return Layouts(
        size=column([one.size for one in kept]),
        bus=column([bus(one.channel) for one in kept]),
        whole=column([one.whole for one in kept]),
        fraction=column([one.fraction for one in kept]),
        worth=column([10 ** (9 - one.fraction) for one in kept]),
        seconds=low_bytes(column([one.whole for one in kept])[:, None] - column([0, 8])),
        form=np.ascontiguousarray(form.reshape(-1, 2, 2, LONGEST_LAYOUT // 2).swapaxes(1, 2)),
    )
