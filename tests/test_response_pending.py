"""Answers that a module puts off with 7F xx 78: which request they have, and when their values were true.

ISO 14229-2 and ISO 15765-4: after each 7F xx 78 the module has P2* = 5 s anew (from memory; udsoncan's client waits so
long too), and may send the next 7F xx 78 within it.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from j1979_messages import Said, kinds, messages
from udsoncan import Response
from udsoncan.configs import default_client_config

from logan.decode import j1979, uds
from logan.decode.j1979_pairing import P2_STAR_S
from logan.model.capture import Remark
from logan.model.channel import Channel
from logan.pipeline.gather import gather

ASKED, TOLD, OTHER = 0x7E0, 0x7E8, 0x7E9
FORMS = {0x01: ("0105", "41057B"), 0x22: ("22F405", "62F4057B")}


def chain(service: int, after_s: float, step_s: float = 2.0, who: int = TOLD, of: int | None = None) -> list[Said]:
    """A request at 10 s, 7F xx 78 from 50 ms on, the answer (83 degC) so long after the request."""
    request, answer = FORMS[service]
    said: list[Said] = [(10.0, ASKED, bytes.fromhex(request))]
    k = 0
    while 0.05 + k * step_s < after_s:
        said.append((10.05 + k * step_s, who, bytes((0x7F, service if of is None else of, 0x78))))
        k += 1
    return [*said, (10.0 + after_s, TOLD, bytes.fromhex(answer))]


def decode(service: int, said: list[Said]) -> tuple[Channel, dict[str, int]]:
    remarks: list[Remark] = []
    found: list[Channel] = []
    for one in (j1979.decode, uds.decode):
        channels, _, notes = one(messages(said))
        found += channels
        remarks += notes
    (channel,) = found
    assert channel.value.tolist() == [83.0] * len(channel.value)
    return channel, kinds(remarks)


def test_the_time_that_udsoncan_waits_and_its_code() -> None:
    assert default_client_config["p2_star_timeout"] == P2_STAR_S
    assert Response.Code.RequestCorrectlyReceived_ResponsePending == 0x78


@pytest.mark.parametrize("service", FORMS)
@pytest.mark.parametrize(("after_s", "last_s", "count"), [(1.0, 0.05, 1), (5.5, 4.05, 3), (12.0, 10.05, 6)])
def test_a_value_was_measured_after_the_last_request_for_more_time(
    service: int, after_s: float, last_s: float, count: int
) -> None:
    channel, said = decode(service, chain(service, after_s))
    assert channel.t_s == pytest.approx([10.0 + (last_s + after_s) / 2])
    assert channel.half_width_s == pytest.approx((after_s - last_s) / 2)
    assert said == {"response_pending": count}


@pytest.mark.parametrize("service", FORMS)
@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"after_s": 12.0, "step_s": 5.5}, "more than P2* between two of them"),
        ({"after_s": 12.0, "step_s": 50.0}, "more than P2* before the answer"),
        ({"after_s": 12.0, "who": OTHER}, "another module asked for time"),
        ({"after_s": 12.0, "of": 0x31}, "for another service"),
    ],
)
def test_a_chain_that_broke_or_is_of_others_is_none(service: int, said: dict[str, float], why: str) -> None:
    of_chain = chain(service, **said)  # type: ignore[arg-type]
    channel, found = decode(service, of_chain)
    assert found["answers_without_requests"] == 1, why
    assert channel.t_s == pytest.approx([22.0])


def test_values_before_and_behind_are_placed_as_ever() -> None:
    plain: list[Said] = []
    for k in (*range(8), *range(30, 38)):
        plain += [(k, 0x7DF, b"\x01\x05"), (k + 0.02, TOLD, b"\x41\x05\x7b"), (k + 0.04, OTHER, b"\x41\x05\x7b")]
    said = sorted([*plain, *chain(0x01, 5.5)], key=lambda one: one[0])
    found, vehicle, remarks = j1979.decode(messages(said))
    engine, other = found
    expected = sorted([*(k + 0.01 for k in (*range(8), *range(30, 38))), 14.775])
    assert engine.t_s == pytest.approx(expected)
    assert engine.half_width_s == pytest.approx(0.01)
    assert other.t_s == pytest.approx([k + 0.02 for k in (*range(8), *range(30, 38))])
    assert (remarks, vehicle.refusals) == ([], [])


@pytest.mark.parametrize(("service", "answer"), [("01", "41057B"), ("03", "43010123"), ("09", "49060117 91BC82")])
def test_whatever_the_service_it_is_counted_once(tmp_path: Path, service: str, answer: str) -> None:
    """Services of SAE J1979 and no other; as in the record of a session."""
    request = {"01": "0105", "03": "03", "09": "0906"}[service]
    (tmp_path / "session").write_text(f"1.0 >{request}\n1.1 7F {service} 78\n3.1 7F {service} 78\n4.0 {answer}\n")
    found = gather([tmp_path / "session"])
    assert {remark.kind: remark.count for remark in found.remarks} == {"response_pending": 2}
    assert found.vehicle.refusals == []


TIMES = st.lists(st.floats(0.01, 6.0), min_size=1, max_size=6)


@given(TIMES, st.sampled_from(sorted(FORMS)))
def test_every_gap_within_the_time_makes_a_pair_and_no_other(gaps_s: list[float], service: int) -> None:
    request, answer = FORMS[service]
    t_s = 10.0
    said: list[Said] = [(t_s, ASKED, bytes.fromhex(request))]
    for gap_s in gaps_s[:-1]:
        t_s += gap_s
        said.append((t_s, TOLD, bytes((0x7F, service, 0x78))))
    said.append((t_s + gaps_s[-1], TOLD, bytes.fromhex(answer)))
    channel, found = decode(service, said)
    in_time = all(b - a <= P2_STAR_S for (a, *_), (b, *_) in pairwise(said))
    answered_plainly = sum(gaps_s) <= P2_STAR_S
    assert ("answers_without_requests" not in found) == (in_time or answered_plainly)
    if in_time:
        assert channel.t_s == pytest.approx([t_s + gaps_s[-1] / 2])
