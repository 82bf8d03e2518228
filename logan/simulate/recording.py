"""A crank / cam (/ pump) recording of a stretch of the run: edges, voltages, and the files that hold them."""

from __future__ import annotations

import io
import wave
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.simulate import wheels
from logan.simulate.crank import Motion
from logan.simulate.cycle import Array
from logan.simulate.signals import Signals
from logan.simulate.spec import Sensors
from logan.simulate.torsion import GRID_S, Twist
from logan.simulate.wheels import Wheel

_NEIGHBOURS: Final = 4
_COIL_V_S: Final = 0.045  # V for each rad/s: 3.8 V at 800 rpm
_TOOTH_WIDTH: Final = 0.30  # of a pitch, half width of the flux bump at half height
_LOW_V, _HIGH_V = 0.1, 4.9
_WAV_FULL_SCALE_V: Final = 20.0
_VCD_STEP_S: Final = 1e-7
HEADING: Final = 3
"""Lines before the values of a CSV file."""


@dataclass(frozen=True, slots=True)
class Recording:
    """What a recorder on the sensors' wires stored.

    Parameters
    ----------
    start_s, end_s : stretch of the run; times in the files count from ``start_s``
    sensors : name -> wheel with its edges, times of the run
    twist : of the end of the crank that carries the wheel
    lost_share : of the edges, which the recorder did not store
    """

    start_s: float
    end_s: float
    sensors: dict[str, Wheel]
    motion: Motion
    twist: Twist
    pitch_deg: float
    coil: bool
    spec: Sensors
    engine_name: str
    seed: int
    lost_share: float

    @property
    def twist_p2p_deg(self) -> float:
        """How far the end of the crank with the wheel swings about the rigid crank, from peak to peak."""
        return float(np.ptp(self.twist.at(np.arange(self.start_s, self.end_s, GRID_S))))

    def edges(self) -> dict[str, tuple[Array, Array]]:
        """Rising and falling edges by sensor, s after the start of the recording."""
        return {
            name: (rising - self.start_s, falling - self.start_s)
            for name, (rising, falling) in ((name, wheel.flanks()) for name, wheel in self.sensors.items())
        }

    def volts(self) -> tuple[Array, dict[str, Array]]:
        """Sample times from 0, (n,) s, and voltages by sensor, (n,) V."""
        time = np.arange(0.0, self.end_s - self.start_s, 1 / self.spec.sample_rate_hz)
        rng = np.random.default_rng([self.seed, 77])
        out: dict[str, Array] = {}
        for name, (rising, falling) in self.edges().items():
            clean = self._coil(time) if name == "crank" and self.coil else _square(time, rising, falling)
            out[name] = clean + self.spec.noise_v * rng.standard_normal(len(time))
        return time, out

    def _coil(self, time: Array) -> Array:
        """Voltage of a coil sensor, the change of flux: a Lorentzian bump a tooth, falling through 0 at its top."""
        wheel = self.sensors["crank"]
        tooth = wheel.active_deg
        if not len(tooth):
            return np.zeros(len(time))
        now = time + self.start_s
        angle = self.motion.angle_at(now) + self.twist.at(now)
        speed = np.gradient(np.radians(angle), now)
        width = _TOOTH_WIDTH * self.pitch_deg
        near = np.searchsorted(tooth, angle)
        slope = np.zeros(len(time))
        for k in range(-_NEIGHBOURS, _NEIGHBOURS):
            u = (angle - tooth[np.clip(near + k, 0, len(tooth) - 1)]) / width
            inside = (near + k >= 0) & (near + k < len(tooth))
            slope += np.where(inside, -2 * u / (1 + u**2) ** 2, 0.0)
        sign = np.where(now >= wheel.turned_s, -1.0, 1.0) * (1.0 if wheel.active_is_falling else -1.0)
        return np.asarray(_COIL_V_S * speed * slope * sign)

    def files(self) -> dict[str, bytes]:
        """File name ending -> content, for each form asked for."""
        makers = {
            "edges_csv": ("edges.csv", self._edges_csv), "waveform_csv": ("waveform.csv", self._waveform_csv),
            "wav": ("wav", self._wav), "vcd": ("vcd", self._vcd),
        }  # fmt: skip
        return {makers[form][0]: makers[form][1]() for form in self.spec.forms}

    def _merged(self) -> tuple[Array, list[str], NDArray[np.bool_]]:
        """Times, sensor and flank of all edges that the recorder stored, in order of time."""
        parts = [
            (t, name, up) for name, both in self.edges().items() for up, t in zip((True, False), both, strict=True)
        ]
        time = np.concatenate([t for t, _, _ in parts])
        label = [name for t, name, _ in parts for _ in range(len(t))]
        rising = np.concatenate([np.full(len(t), up) for t, _, up in parts])
        inside = (time >= 0) & (time < self.end_s - self.start_s)
        order = np.argsort(time, kind="stable")
        order = order[inside[order]]
        if self.lost_share:
            order = order[np.random.default_rng([self.seed, 66]).random(len(order)) >= self.lost_share]
        return time[order], [label[k] for k in order], rising[order]

    def _edges_csv(self) -> bytes:
        time, label, rising = self._merged()
        lines = [f"# engine: {self.engine_name}", "# made_by: simulator", "time_s,channel,edge"]
        lines += [
            f"{t:.6f},{name},{'rising' if up else 'falling'}"
            for t, name, up in zip(time.tolist(), label, rising.tolist(), strict=True)
        ]
        return ("\n".join(lines) + "\n").encode()

    def _waveform_csv(self) -> bytes:
        time, volts = self.volts()
        text = io.StringIO()
        text.write(f"# engine: {self.engine_name}\n# made_by: simulator\n")
        text.write(",".join(["time_s", *(f"{name}_v" for name in volts)]) + "\n")
        columns = np.column_stack([time, *volts.values()])
        np.savetxt(text, columns, fmt=["%.6f"] + ["%.3f"] * len(volts), delimiter=",")
        return text.getvalue().encode()

    def _wav(self) -> bytes:
        _, volts = self.volts()
        share = np.clip(np.column_stack(list(volts.values())) / _WAV_FULL_SCALE_V, -1, 1)
        buffer = io.BytesIO()
        with wave.open(buffer, "wb") as out:
            out.setnchannels(len(volts))
            out.setsampwidth(2)
            out.setframerate(round(self.spec.sample_rate_hz))
            out.writeframes(np.round(share * 32767).astype("<i2").tobytes())
        return buffer.getvalue()

    def _vcd(self) -> bytes:
        """Value change dump (IEEE 1364-2005, clause 18)."""
        time, label, rising = self._merged()
        marks = {name: chr(33 + k) for k, name in enumerate(self.sensors)}
        lines = ["$comment simulator $end", "$timescale 100 ns $end", "$scope module sensors $end"]
        lines += [f"$var wire 1 {mark} {name} $end" for name, mark in marks.items()]
        lines += ["$upscope $end", "$enddefinitions $end", "#0"]
        for name, mark in marks.items():
            first = next((up for n, up in zip(label, rising.tolist(), strict=True) if n == name), True)
            lines.append(f"{0 if first else 1}{mark}")
        ticks = np.round(time / _VCD_STEP_S).astype(np.int64).tolist()
        last = 0
        for tick, name, up in zip(ticks, label, rising.tolist(), strict=True):
            if tick != last:
                lines.append(f"#{tick}")
                last = tick
            lines.append(f"{int(up)}{marks[name]}")
        return ("\n".join(lines) + "\n").encode()


def _square(time: Array, rising: Array, falling: Array) -> Array:
    """Level of a square-wave sensor, (n,) V."""
    edge = np.concatenate([rising, falling])
    if not len(edge):
        return np.full(len(time), _LOW_V)
    level = np.concatenate([np.ones(len(rising)), np.zeros(len(falling))])
    order = np.argsort(edge, kind="stable")
    at = np.searchsorted(edge[order], time, side="right") - 1
    before = 1 - level[order][0]
    return np.asarray(_LOW_V + (_HIGH_V - _LOW_V) * np.where(at >= 0, level[order][np.clip(at, 0, None)], before))


def record(spec: Sensors, signals: Signals, seed: int, lost_share: float = 0.0) -> Recording:
    """Record the sensors over the stretch that was asked for, by a recorder that misses a share of the edges."""
    run, profile = signals.run, signals.profile
    end, motion = min(spec.start_s + spec.seconds, run.end_s), run.motion
    span = motion.span(spec.start_s, end) if len(motion.angle_deg) else (0.0, 0.0)  # nothing passes the sensors
    rng = np.random.default_rng([seed, 55])
    wheel = profile.crank_wheel
    twist = run.shaft.twist(motion, wheel.mounted if wheel else "flywheel", spec.start_s, end)
    front = run.shaft.twist(motion, "front", spec.start_s, end)  # cam and pump are driven from there
    found = {"crank": wheels.crank(signals, twist, span, rng)}
    found["cam"] = wheels.cam(signals, front, span, rng)
    pump = wheels.pump(signals, front, span, rng) if spec.pump else None
    if pump is not None:
        found["pump"] = pump
    pitch = 360.0 / wheel.teeth if wheel and wheel.teeth else 6.0
    return Recording(
        spec.start_s, end, found, motion, twist, pitch, signals.engine.crank_sensor == "vr", spec, profile.name, seed,
        lost_share,
    )  # fmt: skip
