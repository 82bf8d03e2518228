"""The hot loops of logan/native, written once for numba and kept as LLVM text that needs no numba.

    pip install numba && python tests/tools/make_kernels.py

Writes logan/native/kernels.ll. Every loop has a twin in numpy that says the same beside its
caller, and tests/test_native.py holds them together. Pointers carry no length: logan/native/kernels.py checks sizes.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import llvmlite.binding as llvm
import numpy as np
from llvmlite import ir
from numba import cfunc, types
from numba.extending import intrinsic

TARGET = Path(__file__).parents[2] / "logan" / "native" / "kernels.ll"

U = np.uint64
I1, I8, I16, I32, I64 = (ir.IntType(n) for n in (1, 8, 16, 32, 64))


def _at(builder: Any, args: Any, kind: Any) -> Any:
    place = builder.gep(args[0], [args[1]], inbounds=True)
    loaded = builder.load(builder.bitcast(place, kind.as_pointer()))
    loaded.align = 1
    return loaded


def _bytes(count: int, value: int) -> Any:
    return ir.Constant(ir.VectorType(I8, count), [value] * count)


@intrinsic
def word(typing, b, at):
    """Eight bytes from any place, the first one lowest."""

    def code(context, builder, sig, args):
        return _at(builder, args, I64)

    return types.uint64(b, types.int64), code


@intrinsic
def line_feeds(typing, b, at):
    """One bit for each of 64 bytes: whether it is a line feed."""

    def code(context, builder, sig, args):
        found = builder.icmp_unsigned("==", _at(builder, args, ir.VectorType(I8, 64)), _bytes(64, 10))
        return builder.bitcast(found, I64)

    return types.uint64(b, types.int64), code


@intrinsic
def hex16(typing, b, at):
    """How many of 16 characters, from the first on, are hex digits; and the eight bytes that they spell."""

    def code(context, builder, sig, args):
        text = _at(builder, args, ir.VectorType(I8, 16))
        digit = builder.sub(text, _bytes(16, 48))
        is_digit = builder.icmp_unsigned("<", digit, _bytes(16, 10))
        letter = builder.sub(builder.or_(text, _bytes(16, 32)), _bytes(16, 97))
        is_letter = builder.icmp_unsigned("<", letter, _bytes(16, 6))
        small = builder.select(is_letter, builder.add(letter, _bytes(16, 10)), _bytes(16, 0))
        nibble = builder.select(is_digit, digit, small)
        good = builder.zext(builder.bitcast(builder.or_(is_digit, is_letter), I16), I32)
        count = builder.cttz(builder.or_(builder.not_(good), ir.Constant(I32, 1 << 16)), ir.Constant(I1, 1))
        pick = ir.VectorType(I32, 8)
        high = builder.shuffle_vector(nibble, nibble, ir.Constant(pick, list(range(0, 16, 2))))
        low = builder.shuffle_vector(nibble, nibble, ir.Constant(pick, list(range(1, 16, 2))))
        packed = builder.or_(builder.shl(high, _bytes(8, 4)), low)
        return context.make_tuple(builder, sig.return_type, [builder.zext(count, I64), builder.bitcast(packed, I64)])

    return types.UniTuple(types.uint64, 2)(b, types.int64), code


@intrinsic
def lowest_bit(typing, x):
    """Place of the lowest bit that is set."""

    def code(context, builder, sig, args):
        return builder.cttz(args[0], ir.Constant(I1, 1))

    return types.uint64(types.uint64), code


@intrinsic
def swapped(typing, x):
    """The eight bytes of a word in the other order."""

    def code(context, builder, sig, args):
        return builder.bswap(args[0])

    return types.uint64(types.uint64), code


def line_ends(b, size, ends):
    """Places of the line feeds in b[:size], ascending; b must be readable 64 bytes beyond. Returns their number."""
    n = 0
    at = 0
    while at < size:
        found = line_feeds(b, at)
        if at + 64 > size:
            found &= (U(1) << U(size - at)) - U(1)
        while found != U(0):
            ends[n] = at + np.int64(lowest_bit(found))
            n += 1
            found &= found - U(1)
        at += 64
    return n


def can_text(
    b, ends, n, layouts, size, words, bus, runs, template, fixed, digit, run_word, run_shift, run_mask, run_worth,
    latest_ns, kept, t_ns, can_id, flags, out_bus, length, data, left,
):  # fmt: skip
    """Lines of the usual forms into rows; the others' numbers into left. Returns how many those are.

    Layout k has words[k] words and runs[k] runs of digits, in tables eight wide. b must be readable 128 bytes beyond
    the last line.
    """
    n_left = 0
    last = 0
    begin = 0
    nibbles = U(0xF0F0F0F0F0F0F0F0)
    seen = U(0)
    seen_ns = 0
    seen_layout = -1
    for row in range(n):
        end = ends[row]
        p = begin
        begin = end + 1
        if end > p and b[end - 1] == 13:
            end -= 1
        found = -1
        for turn in range(layouts):
            k = last + turn
            if k >= layouts:
                k -= layouts
            odd = U(0)
            for j in range(words[k]):
                w = word(b, p + 8 * j) ^ template[8 * k + j]
                f = fixed[8 * k + j]
                odd |= w & f
                odd |= (w + digit[8 * k + j]) & (f & nibbles)
            if odd == U(0):
                found = k
                break
        good = found >= 0
        if good:
            k = found
            last = k
            t = 0
            first = 0
            w = word(b, p) ^ template[8 * k]
            if k == seen_layout and w == seen:  # most lines are of the second of the line before
                t = seen_ns
                while first < runs[k] and run_word[8 * k + first] == 0:
                    first += 1
            for r in range(first, runs[k]):
                j = run_word[8 * k + r]
                x = ((word(b, p + 8 * j) ^ template[8 * k + j]) & run_mask[8 * k + r]) << run_shift[8 * k + r]
                x = x * U(10) + (x >> U(8))
                x = (x & U(0x000000FF000000FF)) * U(0x000F424000000064) + ((x >> U(16)) & U(0x000000FF000000FF)) * U(
                    0x0000271000000001
                )
                t += np.int64(x >> U(32)) * run_worth[8 * k + r]
                if j == 0:
                    seen_ns = t
                    seen = w
                    seen_layout = k
            q = p + size[k]
            form = 0
            limit = U(0x7FF)
            if b[q + 3] == 35:
                count, spelt = hex16(b, q)
                number = swapped(spelt) >> U(52)
                good = count == U(3)
                q += 4
            else:
                count, spelt = hex16(b, q)
                number = swapped(spelt) >> U(32)
                good = count == U(8) and b[q + 8] == 35
                q += 9
                form = 1
                limit = U(0x3FFFFFFF)
            good = good and number <= limit and t <= latest_ns
            if good:
                if number >= U(0x20000000):
                    form = 8
                    number -= U(0x20000000)
                count, spelt = hex16(b, q)
                stop = q + np.int64(count)
                if stop != end:
                    mark = b[end - 1] & 0xDF
                    good = stop == end - 2 and b[end - 2] == 32 and (mark == 82 or mark == 84)
                    if mark == 84:
                        form |= 16
                good = good and count & U(1) == U(0)
                if good:
                    if count < U(16):
                        spelt &= (U(1) << (count << U(2))) - U(1)
                    kept[row] = 1
                    t_ns[row] = t
                    can_id[row] = np.uint32(number)
                    flags[row] = form
                    out_bus[row] = bus[k]
                    length[row] = np.uint8(count >> U(1))
                    data[row] = spelt
        if not good:
            left[n_left] = row
            n_left += 1
    return n_left


def slots(can_id, flags, n, table, mask, most, keys, counts, slot):
    """Number each row by its identifier, bit 31 set on those of 29 bits, in order of first appearance.

    table holds 2 * (mask + 1) zeros, of which at most half are ever used. Returns the number of different keys, -1
    where there are more than most.
    """
    found = 0
    for row in range(n):
        k = can_id[row] | (np.uint32(flags[row] & 1) << np.uint32(31))
        at = np.int64((U(k) * U(0x9E3779B97F4A7C15)) >> U(40)) & mask
        while table[2 * at + 1] != np.uint32(0) and table[2 * at] != k:
            at = (at + 1) & mask
        s = np.int64(table[2 * at + 1]) - 1
        if s < 0:
            if found == most:
                return -1
            table[2 * at] = k
            table[2 * at + 1] = np.uint32(found + 1)
            keys[found] = k
            counts[found] = 0
            s = found
            found += 1
        counts[s] += 1
        slot[row] = np.uint16(s)
    return found


def rows_by_slot(slot, n, place, slots, rows):
    """Rows put together by slot, in order within each; place[s] is where the rows of slot s begin, and moves on.

    Returns -1 where a slot or a place is out of range.
    """
    for row in range(n):
        s = np.int64(slot[row])
        if s >= slots:
            return -1
        at = place[s]
        if at < 0 or at >= n:
            return -1
        rows[at] = row
        place[s] = at + 1
    return n


def signals(data, n, count, shift, length, big, signed, scale, offset, out):
    """Physical values of ``count`` signals within eight bytes, out[signal * n + row]."""
    done = 0
    while done < n:  # by stretches that stay in the cache
        stop = done + 2048
        if stop > n:
            stop = n
        for s in range(count):
            up = U(64 - length[s])
            down = U(shift[s])
            base = s * n
            a = scale[s]
            c = offset[s]
            for i in range(done, stop):
                w = data[i]
                if big[s] != 0:
                    w = swapped(w)
                w = (w >> down) << up
                x = np.float64(np.int64(w) >> up) if signed[s] != 0 else np.float64(w >> up)
                x = x * a
                if c != 0.0:
                    x = x + c
                out[base + i] = x
        done = stop
    return count


P = {name: types.CPointer(getattr(types, name)) for name in ("uint8", "uint16", "uint32", "uint64", "int64", "float64")}
N = types.int64
KERNELS: dict[str, tuple[Callable[..., Any], list[Any]]] = {
    "line_ends": (line_ends, [P["uint8"], N, P["int64"]]),
    "can_text": (
        can_text,
        [P["uint8"], P["int64"], N, N, *[P["int64"]] * 4, *[P["uint64"]] * 3, P["int64"], *[P["uint64"]] * 2,
         P["int64"], N, P["uint8"], P["int64"], P["uint32"], *[P["uint8"]] * 3, P["uint64"], P["int64"]],
    ),
    "slots": (slots, [P["uint32"], P["uint8"], N, P["uint32"], N, N, P["uint32"], P["int64"], P["uint16"]]),
    "rows_by_slot": (rows_by_slot, [P["uint16"], N, P["int64"], N, P["int64"]]),
    "signals": (signals, [P["uint64"], N, N, *[P["int64"]] * 4, *[P["float64"]] * 3]),
}  # fmt: skip


def text_of(name: str, function: Callable[..., Any], arguments: list[Any]) -> str:
    """LLVM text of one kernel under its own name."""
    made = cfunc(N(*arguments), error_model="numpy")(function)
    text = made.inspect_llvm().replace(made.native_name, name)
    text = re.sub(r'@"?' + name + r'"?\(', f"@{name}(", text)
    inner = re.search(r"^define .*@(_ZN[\w$.]+)\(", text, re.MULTILINE)
    if inner:
        text = text.replace(inner.group(1), f"inside_{name}")
    text = re.sub(r"_ZN08NumbaEnv[\w$.]+", f"env_{name}", text)
    foreign = [f for f in re.findall(r"^declare .*?@([\w.]+)\(", text, re.MULTILINE) if not f.startswith("llvm.")]
    assert not foreign, f"{name} calls {foreign}"
    return text


def main() -> None:
    """Write all kernels as one module, freed of what nobody calls and of the machine that wrote it."""
    module = None
    for name, (function, arguments) in KERNELS.items():
        part = llvm.parse_assembly(text_of(name, function, arguments))
        if module is None:
            module = part
        else:
            module.link_in(part)
    for function in module.functions:
        if not function.is_declaration and function.name not in KERNELS:
            function.linkage = "internal"
    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    machine = llvm.Target.from_triple("x86_64-unknown-linux-gnu").create_target_machine(opt=1)
    builder = llvm.create_pass_builder(machine, llvm.create_pipeline_tuning_options(speed_level=1))
    builder.getModulePassManager().run(module, builder)
    text = re.sub(r"^(target (triple|datalayout)|source_filename) = .*\n", "", str(module), flags=re.MULTILINE)
    text = re.sub(r"^(; ModuleID|@env_).*\n", "", text, flags=re.MULTILINE)
    text = re.sub(r"captures\(none\) |nocreateundeforpoison ", "", text)  # hints that LLVM before 22 does not know
    TARGET.write_text(text, "utf-8")
    print(f"{TARGET}: {len(text)} bytes, LLVM {'.'.join(map(str, llvm.llvm_version_info))}")


if __name__ == "__main__":
    main()
