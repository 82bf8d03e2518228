"""Replay on virtual buses: the same frames in the same order, times kept, answers like the vehicle's, no real bus."""

from __future__ import annotations

import gc
import threading
import time
from pathlib import Path

import can
import numpy as np
import pytest

from logan.capture import read
from logan.errors import UsageError
from logan.model.frames import EXTENDED, Frames
from logan.training import answers, buses
from logan.training.replay import Replay
from logan.training.session import play
from logan.transport import isotp

LOG = Path(__file__).parent.parent / "sample_logs" / "healthy_rail_four.log.gz"


def frames_of(path: Path, count: int) -> Frames:
    whole = read(path).content
    assert isinstance(whole, Frames)
    names = ("t_s", "can_id", "flags", "bus", "length", "data")
    cut = {name: getattr(whole, name)[:count] for name in names}
    cut["t_s"] = cut["t_s"] - cut["t_s"][0]
    return Frames(**cut)


class Listener(threading.Thread):
    """Takes all messages of a bus until told to end."""

    def __init__(self, bus: can.BusABC) -> None:
        super().__init__(daemon=True)
        self.bus, self.got, self.end = bus, [], False

    def run(self) -> None:
        while not self.end:
            message = self.bus.recv(0.05)
            if message is not None:
                self.got.append(message)


def test_a_listener_gets_the_same_frames_in_the_same_order_on_time() -> None:
    frames = frames_of(LOG, 3000)
    with buses.open_bus("virtual", "replay-1") as out, can.Bus(interface="virtual", channel="replay-1") as bus:
        listener = Listener(bus)
        listener.start()
        begun = time.perf_counter()
        kept = Replay(frames, out.send, speed=4.0).run()
        took_s = time.perf_counter() - begun
        time.sleep(0.2)
        listener.end = True
        listener.join()
    assert kept.sent == 3000
    assert [m.arbitration_id for m in listener.got] == frames.can_id.tolist()
    assert [bytes(m.data) for m in listener.got] == [frames.data[k, : frames.length[k]].tobytes() for k in range(3000)]
    assert [m.is_extended_id for m in listener.got] == ((frames.flags & EXTENDED) != 0).tolist()
    assert took_s == pytest.approx(float(frames.t_s[-1]) / 4.0, abs=0.3)
    assert kept.median_s < 0.01


def test_pause_seek_loop_and_stop() -> None:
    frames = frames_of(LOG, 400)
    sent: list[float] = []
    player = Replay(frames, lambda m: sent.append(m.timestamp), speed=2.0, loops=0)
    thread = threading.Thread(target=player.run)
    player.pause()
    thread.start()
    time.sleep(0.15)
    assert not sent
    player.seek(float(frames.t_s[300]))
    player.resume()
    time.sleep(0.1)
    assert sent[0] == pytest.approx(float(frames.t_s[300]))
    deadline = time.monotonic() + 10.0
    while len(sent) < 450 and time.monotonic() < deadline:
        time.sleep(0.02)
    player.stop()
    thread.join(5.0)
    assert not thread.is_alive()
    assert sent[100] == 0.0, "after the end it begins again"


def test_an_obd_client_reads_what_was_recorded() -> None:
    """Requests by python-can and can-isotp: single parameters, several at once, the identification in many frames."""
    isotp_library = pytest.importorskip("isotp", reason="pip install can-isotp")
    frames = frames_of(LOG, 200_000)
    modules = answers.recorded(isotp.reassemble(frames)[0])
    with buses.open_bus("virtual", "replay-2") as out, can.Bus(interface="virtual", channel="replay-2") as bus:
        station = answers.Answering(out, modules, lambda: float(frames.t_s[-1]) / 2.0)
        station.start()
        module = modules[0]
        modes = isotp_library.AddressingMode
        mode = modes.Normal_29bits if module.extended else modes.Normal_11bits
        own = answers.request_id(module.source, module.extended)
        notifier = can.Notifier(bus, [])
        layer = isotp_library.NotifierBasedCanStack(
            bus, notifier, address=isotp_library.Address(mode, txid=own, rxid=module.source)
        )
        layer.start()
        try:
            for request in (b"\x01\x0c", b"\x01\x05", b"\x01\x0c\x05", b"\x09\x02"):
                layer.send(request)
                got = layer.recv(block=True, timeout=2.0)
                assert got is not None, request
                assert got[:2] == bytes([request[0] | 0x40, request[1]])
                if len(request) == 2:
                    assert bytes(got) == module.at(request, float(frames.t_s[-1]) / 2.0)
            layer.send(b"\x01\x01\x01\x01\x01\x01\xfe")
            layer.send(b"\x22\xab\xcd")
            assert layer.recv(block=True, timeout=0.3) is None or station.unknown >= 0
            deadline = time.monotonic() + 2.0
            while station.unknown == 0 and time.monotonic() < deadline:
                time.sleep(0.01)
            assert station.unknown >= 1
        finally:
            layer.stop()
            notifier.stop()
            station.stop()
    assert station.answered >= 4


def test_real_interfaces_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(buses, "_NET", tmp_path)
    device = tmp_path / "devices" / "pci" / "net" / "can0"
    device.mkdir(parents=True)
    (device / "type").write_text("280\n")
    (tmp_path / "can0").symlink_to(device)
    for name in ("can0", "absent0", "../can0"):
        with pytest.raises(UsageError, match="no virtual interface"):
            buses.open_bus("vcan", name)
    with pytest.raises(UsageError, match="no known target"):
        buses.open_bus("usb", None)


def test_a_bus_that_cannot_be_opened_is_one_clear_line(caplog: pytest.LogCaptureFixture) -> None:
    with pytest.raises(UsageError, match="cannot be opened"):
        buses.open_bus("udp", "127.0.0.1")  # no multicast group
    gc.collect()  # what is half made is taken apart now
    assert not caplog.records


def test_from_file_to_bus_in_plain_words(tmp_path: Path) -> None:
    lines = list(
        play(str(LOG), to="virtual", channel="replay-3", speed=50.0, begin_s=1.0, until_s=4.0, loops=1, answer=False,
             bench=False)
    )  # fmt: skip
    assert lines[-1].startswith("sent ")
    assert "late by" in lines[-1]
    table = tmp_path / "table.csv"
    table.write_text("time_s,engine_speed [rpm]\n0,800\n1,801\n2,802\n")
    with pytest.raises(UsageError, match="no CAN frames"):
        list(
            play(
                str(table),
                to="virtual",
                channel=None,
                speed=1.0,
                begin_s=0,
                until_s=None,
                loops=1,
                answer=False,
                bench=False,
            )
        )
    with pytest.raises(UsageError, match="not above 0"):
        list(
            play(
                str(LOG),
                to="virtual",
                channel=None,
                speed=0.0,
                begin_s=0,
                until_s=None,
                loops=1,
                answer=False,
                bench=False,
            )
        )


def test_times_are_those_of_the_recording() -> None:
    """Half of the frames come within 5 ms of their time even on a busy machine."""
    frames = frames_of(LOG, 1500)
    seen: list[tuple[float, float]] = []
    Replay(frames, lambda m: seen.append((time.perf_counter(), m.timestamp)), speed=1.0).run()
    real = np.array([t for t, _ in seen])
    wanted = np.array([t for _, t in seen])
    late = (real - real[0]) - (wanted - wanted[0])
    assert float(np.median(np.abs(late))) < 0.005
