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
from numba import cfunc, njit, types
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
def put_word(typing, b, at, x):
    """Eight bytes to any place, the lowest first."""

    def code(context, builder, sig, args):
        place = builder.gep(args[0], [args[1]], inbounds=True)
        builder.store(args[2], builder.bitcast(place, I64.as_pointer())).align = 1
        return context.get_dummy_value()

    return types.none(b, types.int64, types.uint64), code


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
def within32(typing, b, at, table, row):
    """Whether each of 32 bytes, less the one in its place in the first table row, is at most that of the second."""

    def code(context, builder, sig, args):
        kind = ir.VectorType(I8, 32)
        place = builder.add(args[3], ir.Constant(I64, 32))
        less = builder.sub(_at(builder, args[:2], kind), _at(builder, [args[2], args[3]], kind))
        good = builder.icmp_unsigned("<=", less, _at(builder, [args[2], place], kind))
        return builder.icmp_signed("==", builder.bitcast(good, I32), ir.Constant(I32, -1))

    return types.boolean(b, types.int64, table, types.int64), code


@intrinsic
def bits_set(typing, x):
    """How many bits are set."""

    def code(context, builder, sig, args):
        return builder.ctpop(args[0])

    return types.uint64(types.uint64), code


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


@intrinsic
def lesser(typing, x, y):
    """The lesser one of two numbers, of which none is NaN: said so, a loop of it can take many at a time."""

    def code(context, builder, sig, args):
        hints = ("nnan", "nsz")
        return builder.select(builder.fcmp_ordered("<", args[0], args[1], flags=hints), args[0], args[1], flags=hints)

    return types.float64(types.float64, types.float64), code


def line_ends(b, size, ends):
    """Places of the line feeds in b[:size], ascending; b must be readable 64 bytes beyond. Returns their number.

    ends has room for two more than there can be: nearly always one or two are found at a time.
    """
    n = 0
    at = 0
    while at < size:
        found = line_feeds(b, at)
        if at + 64 > size:
            found &= (U(1) << U(size - at)) - U(1)
        count = np.int64(bits_set(found))
        ends[n] = at + np.int64(lowest_bit(found | U(1 << 63)))
        found &= found - U(1)
        ends[n + 1] = at + np.int64(lowest_bit(found | U(1 << 63)))
        found &= found - U(1)
        k = n + 2
        while found != U(0):
            ends[k] = at + np.int64(lowest_bit(found))
            k += 1
            found &= found - U(1)
        n += count
        at += 64
    return n


@njit(inline="always")
def decimal(w):
    """Value of eight bytes 0..9, the first one most significant."""
    x = w * U(10) + (w >> U(8))
    x = (x & U(0x000000FF000000FF)) * U(0x000F424000000064) + ((x >> U(16)) & U(0x000000FF000000FF)) * U(
        0x0000271000000001
    )
    return x >> U(32)


def can_text(
    b, used, ends, n, layouts, size, bus, whole, fraction, worth, seconds, form, hexadecimal, latest_ns,
    kept, t_ns, can_id, flags, out_bus, length, data, left,
):  # fmt: skip
    """Lines of the usual forms into rows; the others' numbers into left. Returns how many those are.

    -1 where the ends of the lines do not ascend within the used bytes.

    Layout k is size[k] bytes long, with whole[k] digits of seconds, which seconds cuts out of two words, and
    fraction[k] of their parts, the last of which is worth worth[k] ns. form holds 128 bytes a layout: what stands
    there and how much more it may be, for the first 32 bytes and for the next. b must be readable 128 bytes beyond
    those that are used.
    """
    n_left = 0
    last = 0
    begin = 0
    seen_high = U(0)
    seen_low = U(0)
    seen_layout = -1
    seen_ns = 0
    digits = U(0x0F0F0F0F0F0F0F0F)
    for row in range(n):
        end = ends[row]
        p = begin
        if end < p or end >= used:
            return -1
        begin = end + 1
        if end > p and b[end - 1] == 13:
            end -= 1
        k = last
        good = False
        for _ in range(layouts):
            good = within32(b, p, form, 128 * k) and (size[k] <= 32 or within32(b, p + 32, form, 128 * k + 64))
            if good:
                break
            k = k + 1 if k + 1 < layouts else 0
        if good:
            last = k
            point = p + 1 + whole[k]
            high = word(b, p + 1) & seconds[2 * k]
            low = word(b, p + 9) & seconds[2 * k + 1]
            if high != seen_high or low != seen_low or k != seen_layout:
                t = U(0)
                for j in range(whole[k]):
                    t = t * U(10) + U(b[p + 1 + j] & 15)
                seen_ns = np.int64(t) * 1_000_000_000
                seen_high = high
                seen_low = low
                seen_layout = k
            parts = U(0)
            if fraction[k] > 0:
                width = fraction[k] if fraction[k] < 8 else 8
                parts = decimal((word(b, point + 1) & digits) << U(64 - 8 * width))
                if fraction[k] > 8:
                    parts = parts * U(10) + U(b[point + 9] & 15)
            t = seen_ns + np.int64(parts) * worth[k]
            q = p + size[k]
            kind = 0
            if b[q + 3] == 35:
                a = hexadecimal[b[q]]
                c = hexadecimal[b[q + 1]]
                d = hexadecimal[b[q + 2]]
                good = (a | c | d) < 16 and a < 8
                number = U(a) << U(8) | U(c) << U(4) | U(d)
                q += 4
            else:
                count, spelt = hex16(b, q)
                number = swapped(spelt) >> U(32)
                good = count == U(8) and b[q + 8] == 35 and number <= U(0x3FFFFFFF)
                q += 9
                kind = 1
                if number >= U(0x20000000):
                    kind = 8
                    number -= U(0x20000000)
            if good and t <= latest_ns:
                count, spelt = hex16(b, q)
                stop = q + np.int64(count)
                if stop != end:
                    good = stop == end - 2 and b[stop] == 32
                    if good:
                        mark = b[stop + 1] & 0xDF
                        good = mark == 82 or mark == 84
                        if mark == 84:
                            kind |= 16
                good = good and count & U(1) == U(0)
                if good:
                    if count < U(16):
                        spelt &= (U(1) << (count << U(2))) - U(1)
                    kept[row] = 1
                    t_ns[row] = t
                    can_id[row] = np.uint32(number)
                    flags[row] = kind
                    out_bus[row] = bus[k]
                    length[row] = np.uint8(count >> U(1))
                    data[row] = spelt
            else:
                good = False
        if not good:
            left[n_left] = row
            n_left += 1
    return n_left


def kinds(can_id, flags, bus, length, t_ns, n, table, mask, keys, most, known, span, counts, slot):
    """Number each row by what it has beside its time and data, in order of first appearance, and count each.

    table holds mask + 1 numbers, at first zeros, of which at most a quarter are ever used; keys those that are known.
    span holds the time before and the longest step so far, and gets the last time and the longest step.
    Returns how many are known now, -1 where there would be more than most or times do not ascend.
    """
    before = span[0]
    longest = span[1]
    for row in range(n):
        t = t_ns[row]
        if t < before:
            return -1
        longest = t - before if t - before > longest else longest
        before = t
        k = U(can_id[row]) | U(flags[row]) << U(32) | U(bus[row]) << U(40) | U(length[row]) << U(48)
        at = np.int64((k * U(0x9E3779B97F4A7C15)) >> U(40)) & mask
        s = np.int64(table[at]) - 1
        while s >= 0 and keys[s] != k:
            at = (at + 1) & mask
            s = np.int64(table[at]) - 1
        if s < 0:
            if known == most:
                return -1
            s = known
            keys[s] = k
            known += 1
            table[at] = np.uint16(known)
        counts[s] += 1
        slot[row] = np.uint16(s)
    span[0] = before
    span[1] = longest
    return known


@njit(inline="always")
def physical(w, down, up, big, signed, scale, offset):
    """Value of a signal in eight bytes: ``down`` bits stand below it, ``up`` is what its length lacks of 64."""
    if big != 0:
        w = swapped(w)
    w = (w >> down) << up
    x = np.float64(np.int64(w) >> up) if signed != 0 else np.float64(w >> up)
    x = x * scale
    if offset != 0.0:
        x = x + offset
    return x


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
            for i in range(done, stop):
                out[base + i] = physical(data[i], down, up, big[s], signed[s], scale[s], offset[s])
        done = stop
    return count


def extents(data, n, count, shift, length, big, signed, scale, offset, lowest, highest, below, found, few, room):
    """The values of ``count`` signals, looked at once, by stretches of 2048, for which ``few`` has room.

    Those of signal s from lowest[s] to highest[s] go, in order, into room[s * n], which has room for n; their number
    into found, how many are less into below; the lowest of all and the highest into lowest and highest.
    """
    for s in range(count):
        least = np.inf
        least_negative = np.inf
        up = U(64 - length[s])
        down = U(shift[s])
        low = lowest[s]
        high = highest[s]
        base = s * n
        n_found = base
        less = 0
        done = 0
        while done < n:
            some = n - done
            if some > 2048:
                some = 2048
            for i in range(some):
                few[i] = physical(data[done + i], down, up, big[s], signed[s], scale[s], offset[s])
            for i in range(some):
                least = lesser(few[i], least)
                least_negative = lesser(-few[i], least_negative)
            for i in range(some):
                v = few[i]
                room[n_found] = v
                n_found += np.int64(v >= low) & np.int64(v <= high)
                less += np.int64(v < low)
            done += some
        lowest[s] = least
        highest[s] = -least_negative
        below[s] = less
        found[s] = n_found - base
    return count


def put_together(slot, n, place, slots, room, t_ns, data, out_t_ns, out_data):
    """Times and data put together by slot, in order within each, in columns with room for so many.

    place[s] is where the rows of slot s begin, and moves on. Returns -1 where a slot or a place is out of range.
    """
    for row in range(n):
        s = np.int64(slot[row])
        if s >= slots:
            return -1
        at = place[s]
        if at < 0 or at >= room:
            return -1
        out_t_ns[at] = t_ns[row]
        out_data[at] = data[row]
        place[s] = at + 1
    return n


def seconds(t_ns, n, origin_ns, out):
    """Times in s after an origin; out may be where the times in ns stand."""
    for i in range(n):
        out[i] = np.float64(t_ns[i] - origin_ns) / 1e9
    return n


def rows_of_slots(slot, n, wanted, slots, rows):
    """Rows whose slot is wanted, ascending; rows has room for all. Returns their number, -1 for a slot out of range."""
    found = 0
    for row in range(n):
        s = np.int64(slot[row])
        if s >= slots:
            return -1
        rows[found] = row
        found += np.int64(wanted[s] != 0)
    return found


def places_of_slots(slot, n, place, slots, count, out_slot, out_place):
    """Slots of the rows whose slot has a place, ascending by row, and the places, which move on in each slot.

    The others' place is -1. Returns how many were found, -1 where there are more than count or a slot is out of range.
    """
    found = 0
    for row in range(n):
        s = np.int64(slot[row])
        if s >= slots:
            return -1
        at = place[s]
        if at >= 0:
            if found == count:
                return -1
            out_slot[found] = np.uint16(s)
            out_place[found] = at
            place[s] = at + 1
            found += 1
    return found


def isotp(
    data, length, offset, stream, n, streams, most, known, first, missing, full, number, filled, held, held_bytes,
    out_first, out_last, out_start, out_size, blob, blob_bytes,
):  # fmt: skip
    """Messages of ISO 15765-2 of frames of eight bytes, in order of their completion; returns how many.

    -1 where any frame is not what its place in its stream asks for, and where there are more than ``streams`` of them.

    A stream's first frame, bytes still to come, bytes of each frame to come, number of the next one and bytes so far
    stand in the row of its number in ``known``, of which ``most`` are in use at first; its bytes in a row of ``held``.
    out_first and out_last are frames, out_start and out_size bytes of blob, which must have eight more.
    """
    found = 0
    used = 0
    s = 0
    for row in range(n):
        of = stream[row]
        if s >= most or known[s] != of:
            s = 0
            while s < most and known[s] != of:
                s += 1
            if s == most:
                if most == streams:
                    return -1
                known[s] = of
                missing[s] = 0
                most += 1
        there = np.int64(length[row]) - np.int64(offset[row]) - 1
        if there < 0 or there > 7 or offset[row] > 1:
            return -1
        w = data[row] >> (U(8) * U(offset[row]))
        low = np.int64(w & U(15))
        kind = np.int64((w >> U(4)) & U(15))
        w = w >> U(8)
        if kind == 0:
            if low == 0 or low > there or missing[s] > 0 or used + 8 > blob_bytes:
                return -1
            put_word(blob, used, w)
            out_first[found] = row
            out_last[found] = row
            out_start[found] = used
            out_size[found] = low
            used += low
            found += 1
        elif kind == 1:
            size = low << 8 | np.int64(w & U(255))
            if length[row] < 8 or size <= there or missing[s] > 0:
                return -1
            put_word(held, s * held_bytes, w >> U(8))
            first[s] = row
            filled[s] = there - 1
            missing[s] = size - filled[s]
            full[s] = there
            number[s] = 1
        elif kind == 2:
            take = full[s] if full[s] < missing[s] else missing[s]
            if missing[s] <= 0 or low != number[s] or there < take or filled[s] + 8 > held_bytes:
                return -1
            put_word(held, s * held_bytes + filled[s], w)
            filled[s] += take
            missing[s] -= take
            number[s] = (low + 1) & 15
            if missing[s] == 0:
                if used + filled[s] + 8 > blob_bytes:
                    return -1
                at = 0
                while at < filled[s]:
                    put_word(blob, used + at, word(held, s * held_bytes + at))
                    at += 8
                out_first[found] = first[s]
                out_last[found] = row
                out_start[found] = used
                out_size[found] = filled[s]
                used += filled[s]
                found += 1
        elif kind != 3 or low > 1 or there < 2:
            return -1
    for s in range(most):
        if missing[s] > 0:
            return -1
    return found


def between(x, n, ends, below, room):
    """Those of x[:n] from ends[0] to ends[1], in order, into room, which has room for n; how many are less into below.

    Returns how many were found.
    """
    low = ends[0]
    high = ends[1]
    found = 0
    less = 0
    for i in range(n):
        v = x[i]
        room[found] = v
        found += np.int64(v >= low) & np.int64(v <= high)
        less += np.int64(v < low)
    below[0] = less
    return found


P = {name: types.CPointer(getattr(types, name)) for name in ("uint8", "uint16", "uint32", "uint64", "int64", "float64")}
N = types.int64
KERNELS: dict[str, tuple[Callable[..., Any], list[Any]]] = {
    "line_ends": (line_ends, [P["uint8"], N, P["int64"]]),
    "can_text": (
        can_text,
        [P["uint8"], N, P["int64"], N, N, *[P["int64"]] * 5, P["uint64"], *[P["uint8"]] * 2, N,
         P["uint8"], P["int64"], P["uint32"], *[P["uint8"]] * 3, P["uint64"], P["int64"]],
    ),
    "kinds": (
        kinds,
        [P["uint32"], *[P["uint8"]] * 3, P["int64"], N, P["uint16"], N, P["uint64"], N, N, *[P["int64"]] * 2,
         P["uint16"]],
    ),
    "put_together": (
        put_together, [P["uint16"], N, P["int64"], N, N, P["int64"], P["uint64"], P["int64"], P["uint64"]],
    ),
    "seconds": (seconds, [P["int64"], N, N, P["float64"]]),
    "rows_of_slots": (rows_of_slots, [P["uint16"], N, P["uint8"], N, P["int64"]]),
    "places_of_slots": (
        places_of_slots, [P["uint16"], N, P["int64"], N, N, P["uint16"], P["int64"]],
    ),
    "isotp": (
        isotp,
        [P["uint64"], *[P["uint8"]] * 2, P["int64"], N, N, N, *[P["int64"]] * 6, P["uint8"], N, *[P["int64"]] * 4,
         P["uint8"], N],
    ),
    "signals": (signals, [P["uint64"], N, N, *[P["int64"]] * 4, *[P["float64"]] * 3]),
    "extents": (
        extents,
        [P["uint64"], N, N, *[P["int64"]] * 4, *[P["float64"]] * 4, *[P["int64"]] * 2, *[P["float64"]] * 2],
    ),
    "between": (between, [P["float64"], N, P["float64"], P["int64"], P["float64"]]),
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
    text = re.sub(r" ?captures\(none\)|nocreateundeforpoison ", "", text)  # hints that LLVM before 22 does not know
    TARGET.write_text(text, "utf-8")
    print(f"{TARGET}: {len(text)} bytes, LLVM {'.'.join(map(str, llvm.llvm_version_info))}")


if __name__ == "__main__":
    main()
