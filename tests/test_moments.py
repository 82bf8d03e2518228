"""A record played on a page: each moment shows what the channels said then; served to this machine alone."""

from __future__ import annotations

import http.client
import threading
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from typer.testing import CliRunner

from logan.cli.commands import application
from logan.model.channel import Channel, ChannelSet
from logan.model.profile import EngineProfile
from logan.report import moments
from logan.training.page import Server

T = np.arange(0.0, 100.0, 0.1)


def recorded(*channels: Channel, cylinders: int | None = None) -> SimpleNamespace:
    found = ChannelSet({one.name: one for one in channels})
    return SimpleNamespace(channels=found, profile=EngineProfile(cylinders=cylinders))


def tape() -> moments.Tape:
    channels = (
        Channel("engine_speed", "rpm", 1000.0 + T, 800.0 + 10.0 * T),
        Channel("gear <b>", "", 1000.0 + T[::50], np.repeat([0.0, 1.0], 10), labels={0: "neutral", 1: "first"}),
        Channel("coolant_temperature", "degC", np.array([1010.0, 1020.0]), np.array([np.nan, 80.0])),
        Channel("never", "", np.array([1000.0]), np.array([np.nan])),
    )
    return moments.tape(recorded(*channels))


def values(whole: moments.Tape, t_s: float) -> list[str]:
    rows = moments.fragment(whole, t_s).split("<strong>")[1:]
    return [row.split("</strong>")[0] for row in rows]


def test_each_moment_shows_the_last_values_and_silence() -> None:
    whole = tape()
    assert len(whole.tracks) == 3
    assert whole.end_s == pytest.approx(99.9)
    assert values(whole, 0.0) == ["800", "neutral", "–"]
    assert values(whole, 40.05)[0] == "1200"
    assert values(whole, 60.0)[1] == "first"
    assert values(whole, 22.0)[2] == "80.0", "said 2 s ago"
    assert values(whole, 40.0)[2] == "–", "silent for 20 s"
    assert values(whole, whole.end_s)[0] == "1799"


def test_channels_bear_the_trades_names_and_cylinders_that_are_not_fitted_are_left_out() -> None:
    """A frame has room for eight cylinders: what fills the others (-250 %) is no value."""
    channels = [Channel(name, "%", T, T) for name in ("timing_actuator_duty", "TimingDuty", "Cylinder6", "Cylinder7")]
    titles = [track.about.title for track in moments.tape(recorded(*channels, cylinders=6)).tracks]
    assert titles == ["Timing actuator duty", "Timing duty", "Cylinder 6"]
    assert len(moments.tape(recorded(*channels)).tracks) == 4


def test_what_is_kept_is_what_is_played(tmp_path: Path) -> None:
    path = tmp_path / "replay.npz"
    path.write_bytes(moments.packed(tape()))
    for t_s in (0.0, 33.3, 99.9):
        assert moments.fragment(moments.unpacked(path), t_s) == moments.fragment(tape(), t_s)


def test_the_trace_holds_thirty_seconds_over_the_whole_range() -> None:
    trace = moments.fragment(tape(), 60.0).split('points="')[1].split('"')[0]
    points = np.array([[float(part) for part in point.split(",")] for point in trace.split()])
    assert len(points) <= moments.POINTS + 2
    assert points[-1][0] == pytest.approx(moments.WIDTH)
    assert points[0][0] == pytest.approx(0.0, abs=2.0)
    assert (np.diff(points[:, 1]) <= 0.0).all(), "the value rises"
    assert points[-1][1] == pytest.approx(2.0 + (moments.HEIGHT - 4.0) * (1.0 - 600.0 / 999.0), abs=0.1)


@pytest.mark.parametrize(
    ("asked", "t_s"), [("", 0.0), ("x", 0.0), ("nan", 0.0), ("-5", 0.0), ("12.5", 12.5), ("1e9", 99.9), ("inf", 0.0)]
)
def test_any_moment_that_is_asked_for_is_within(asked: str, t_s: float) -> None:
    assert moments.within(tape(), asked) == pytest.approx(t_s)


@pytest.fixture
def server() -> Iterator[Server]:
    with Server(tape(), "drive <script>.log") as running:
        thread = threading.Thread(target=running.serve_forever, kwargs={"poll_interval": 0.05})
        thread.start()
        yield running
        running.shutdown()
        thread.join()


def asked(server: Server, path: str, method: str = "GET", **headers: str) -> tuple[int, str, dict[str, str]]:
    link = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=10)
    link.request(method, path, headers=headers)
    answer = link.getresponse()
    out = answer.status, answer.read().decode(), {name.lower(): value for name, value in answer.getheaders()}
    link.close()
    return out


def test_the_page_is_served_here_alone_and_takes_nothing(server: Server) -> None:
    assert server.server_address[0] == "127.0.0.1"
    status, page, headers = asked(server, "/?t=60")
    assert status == 200
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "drive &lt;script&gt;.log" in page
    assert "Gear &lt;b&gt;" in page
    assert "60.0 of 99.9 s" in page, "without script a moment can be asked for"
    assert asked(server, "/at?t=60")[1] == moments.fragment(tape(), 60.0)
    for path in ("/replay.js", "/look.css"):
        assert asked(server, path)[0] == 200
    assert asked(server, "/favicon.ico")[0] == 204, "else each browser calls it an error"
    for path in ("/../../etc/passwd", "/at/x", "/at.html"):
        assert asked(server, path)[0] == 404
    assert asked(server, "/", host="elsewhere.example")[0] == 400
    status, _, headers = asked(server, "/", method="<b>")
    assert status == 501
    assert "default-src 'none'" in headers["content-security-policy"]
    assert headers["content-type"].startswith("text/plain")
    assert "Python" not in headers["server"]


def test_the_page_takes_no_options_of_a_bus() -> None:
    for options in (["--speed", "2"], ["--loops", "0"], ["--answer"], ["--bench"], ["--channel", "x"]):
        told = CliRunner().invoke(application(), ["replay", "nothing.log", "--to", "page", *options])
        assert told.exit_code != 0
        assert "of its own" in str(told.exception) + told.output


def test_a_profile_is_for_the_page_alone() -> None:
    refused = CliRunner().invoke(application(), ["replay", "any.log", "--engine", "training_rail_four"])
    assert "give it with --to page" in str(refused.exception) + refused.output
