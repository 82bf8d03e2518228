"""Bit extraction against cantools on random layouts (reference library: cantools, the field's DBC reader)."""

from __future__ import annotations

import math

import cantools.database
import numpy as np
import pytest
from cantools.database.conversion import BaseConversion
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.decode import extract
from logan.decode.plan import SignalPlan


@st.composite
def laid_out(draw: st.DrawFn) -> tuple[SignalPlan, np.ndarray]:
    width = draw(st.sampled_from([1, 2, 3, 5, 8, 12, 64]))
    is_float = draw(st.booleans()) and width >= 2
    length = draw(st.sampled_from([16, 32, 64])) if is_float else draw(st.integers(1, 64))
    length = min(length, 8 * width) if not is_float else max(k for k in (16, 32, 64) if k <= min(length, 8 * width))
    first = draw(st.integers(0, 8 * width - length))
    big_endian = draw(st.booleans())
    scale, offset = draw(st.sampled_from([(1, 0), (0.25, 0), (0.1, -40), (2, 7), (-0.5, 100.5)]))
    signal = SignalPlan(
        name="S", start_bit=first ^ 7 if big_endian else first, length=length, big_endian=big_endian,
        signed=not is_float and draw(st.booleans()), is_float=is_float, scale=scale, offset=offset,
    )  # fmt: skip
    rows = draw(st.lists(st.binary(min_size=width, max_size=width), min_size=1, max_size=4))
    return signal, np.frombuffer(b"".join(rows), np.uint8).reshape(len(rows), width)


def as_cantools(signal: SignalPlan, width: int) -> cantools.database.Message:
    inner = cantools.database.Signal(
        signal.name, signal.start_bit, signal.length,
        byte_order="big_endian" if signal.big_endian else "little_endian", is_signed=signal.signed,
        conversion=BaseConversion.factory(scale=signal.scale, offset=signal.offset, is_float=signal.is_float),
    )  # fmt: skip
    return cantools.database.Message(1, "M", width, [inner])


@settings(max_examples=400, deadline=None)
@given(laid_out())
def test_same_as_cantools(case: tuple[SignalPlan, np.ndarray]) -> None:
    signal, data = case
    message = as_cantools(signal, data.shape[1])
    raw = extract.raw(data, signal)
    physical = extract.physical(data, signal)
    for k, row in enumerate(data):
        exact = message.decode(row.tobytes(), decode_choices=False, scaling=False)["S"]
        if isinstance(exact, float) and math.isnan(exact):
            assert math.isnan(raw[k])
            continue
        assert raw[k].item() == exact
        scaled = float(message.decode(row.tobytes(), decode_choices=False)["S"])
        assert physical[k] == pytest.approx(scaled, rel=1e-15, abs=0)


def test_short_payloads_are_nan() -> None:
    signal = SignalPlan(name="S", start_bit=8, length=12)
    data = np.full((3, 8), 0xFF, np.uint8)
    got = extract.physical(data, signal, np.array([2, 3, 8]))
    assert math.isnan(got[0])
    assert got[1:].tolist() == [4095.0, 4095.0]
    assert np.isnan(extract.physical(data[:, :2], signal)).all()


def test_no_rows() -> None:
    signal = SignalPlan(name="S", start_bit=7, length=20, big_endian=True, signed=True)
    assert extract.physical(np.empty((0, 8), np.uint8), signal).shape == (0,)
