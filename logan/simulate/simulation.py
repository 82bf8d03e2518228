"""From a specification to captures with their truth, and onto disk."""

from __future__ import annotations

import gzip
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import msgspec
import numpy as np

from logan.errors import OutputError
from logan.simulate import broadcast, can_log, engine, monitors, obd, parameters, recording, signals, truth
from logan.simulate.recording import Recording
from logan.simulate.signals import Changes, Signals
from logan.simulate.spec import Spec, check, defects_over_time, size_of, within


@dataclass(frozen=True, slots=True)
class Simulation:
    """One simulated road test.

    Parameters
    ----------
    spec : what was asked for
    run : exact values of the whole run (``run.trace``, ``run.motion``, ``run.firings``)
    signals : what the control module's sensors make of them
    codes : trouble codes that were set
    frames : CAN frames as recorded, None without a bus
    recording : crank / cam recording, None without one
    """

    spec: Spec
    run: engine.Run
    signals: Signals
    codes: list[monitors.SetCode]
    frames: can_log.Frames | None
    recording: Recording | None

    def log(self) -> bytes:
        """The CAN text log, with the damage asked for."""
        if self.frames is None or self.spec.bus is None:
            return b""
        text = can_log.text(self.frames, self.spec.bus.start_unix_s, self.spec.bus.channel)
        return self._damaged(text, 9)

    def captures(self) -> dict[str, bytes]:
        """File name ending -> content of the log and of the sensor recordings, with the damage asked for."""
        out = {} if self.frames is None else {"log": self.log()}
        if self.recording is not None:
            for ending, content in self.recording.files().items():
                out[ending] = self._damaged(content, 10, recording.HEADING) if ending.endswith("csv") else content
        return out

    def _damaged(self, content: bytes, stream: int, heading: int = 0) -> bytes:
        damage, rng = self.spec.damage, np.random.default_rng([self.spec.seed, stream])
        return can_log.damage(content, damage.cut_lines, damage.garbled_lines, rng, heading)

    def truth(self) -> dict[str, Any]:
        """Everything that is true of this run, as JSON types."""
        spec = self.spec
        kinds = parameters.faults()
        faults = [
            {
                "fault": f.fault,
                "size": size_of(f),
                "unit": kinds[f.fault].unit,
                "cylinder": (f.cylinder or 1) if kinds[f.fault].cylinder else None,
                "onset_s": f.onset_s,
            }
            for f in spec.faults
        ]
        values = truth.measures(self.signals, self.recording)
        return {
            "schema": 1,
            "profile": spec.profile,
            "faults": faults,
            "measures": {name: _rounded(value) for name, value in values.items()},
            "also": {
                "cylinder_own_work_percent": _rounded(truth.own_work_percent(self.signals)),
                "crank_twist_p2p_deg": _rounded(self.recording.twist_p2p_deg) if self.recording else None,
            },
            "approximate": {name: text for name, text in truth.APPROXIMATE.items() if name in values},
            "codes": [
                {
                    "code": c.printed,
                    "pending_s": _rounded(c.pending_s),
                    "confirmed_s": None if np.isinf(c.confirmed_s) else _rounded(c.confirmed_s),
                }
                for c in self.codes
            ],
            "vin": obd.vin_of(parameters.engine(spec.profile), spec.bus),
            "duration_s": _rounded(self.run.end_s),
            "spec": msgspec.to_builtins(spec),
        }


def _rounded(value: truth.Value) -> truth.Value:
    if isinstance(value, list):
        return [round(v, 4) for v in value]
    return round(value, 5)


def run(spec: Spec) -> Simulation:
    """Simulate one road test; the same specification gives the same bytes.

    Raises
    ------
    UsageError : the specification cannot be simulated
    """
    check(spec)
    seed = spec.seed
    profile, physical = parameters.profile(spec.profile), parameters.engine(spec.profile)
    driven = engine.drive(spec, np.random.default_rng([seed, 1]))
    within(spec, driven.end_s)
    module = signals.build(
        driven, profile, physical, Changes(defects_over_time(spec)), np.random.default_rng([seed, 2])
    )
    codes = monitors.watch(module)
    frames = None
    if spec.bus is not None:
        parts: list[can_log.Frames] = []
        if spec.bus.broadcast:
            parts += broadcast.build(module, spec.bus, np.random.default_rng([seed, 3]))
        if spec.bus.obd:
            parts += obd.build(module, codes, spec.bus, np.random.default_rng([seed, 4]))
        if spec.bus.background:
            parts += broadcast.background(driven.end_s, spec.bus, np.random.default_rng([seed, 5]))
        frames = can_log.merge(parts)
        if spec.damage.lost_share:
            kept = np.random.default_rng([seed, 6]).random(len(frames)) >= spec.damage.lost_share
            frames = frames.take(kept)
        frames = can_log.interrupted(frames, driven.end_s, spec.damage, np.random.default_rng([seed, 7]))
    recorded = recording.record(spec.sensors, module, seed, spec.damage.lost_edges_share) if spec.sensors else None
    return Simulation(spec, driven, module, codes, frames, recorded)


def write(
    simulation: Simulation, folder: str | Path, stem: str, *, compress: bool = False, overwrite: bool = True
) -> list[Path]:
    """Write log, sensor files and truth; give their paths.

    Files: ``<stem>.log``, ``<stem>.edges.csv`` / ``.waveform.csv`` / ``.wav`` / ``.vcd``, ``<stem>.truth.json``; with
    ``compress`` log and sensor text files are gzip files whose bytes depend on their content alone.

    Raises
    ------
    OutputError : a file cannot be written, or is there already and may not be overwritten; nothing stays half-written
    """
    contents = simulation.captures()
    if compress:
        contents = {
            ending if ending == "wav" else f"{ending}.gz": data if ending == "wav" else gzip.compress(data, 9, mtime=0)
            for ending, data in contents.items()
        }
    kept = 1 - simulation.spec.damage.cut_share
    contents = {ending: data[: round(kept * len(data))] for ending, data in contents.items()}
    contents["truth.json"] = msgspec.json.format(msgspec.json.encode(simulation.truth()), indent=1) + b"\n"
    outputs = {Path(folder) / f"{stem}.{ending}": data for ending, data in contents.items()}
    for path in outputs:
        if path.exists() and not overwrite:
            raise OutputError("is there already", file=str(path), do="name another --stem or --out, or add --overwrite")
    try:
        _place(outputs)
    except OSError as error:
        reason, file = error.strerror or str(error), str(error.filename or folder)
        raise OutputError(reason, file=file, do="choose a folder that can be written") from error
    return list(outputs)


def _place(outputs: dict[Path, bytes]) -> None:
    """Write all under temporary names, then put them in place."""
    waiting = {path.with_name(path.name + ".part"): path for path in outputs}
    try:
        for part, path in waiting.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            part.write_bytes(outputs[path])
        for part, path in waiting.items():
            part.replace(path)
    finally:
        for part in waiting:
            with suppress(OSError):
                part.unlink(missing_ok=True)
