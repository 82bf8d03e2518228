"""Small fleets for tests: short simulated logs on disk, and rows made up without any log."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path

import msgspec

from logan import simulate
from logan.knowledge import measures, profiles
from logan.model.fleet import FleetFault, FleetLog
from logan.model.measure import Measure

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "sample_logs"
ENGINE = "training_rotary_six"
PROFILE = msgspec.json.encode(profiles.load(ENGINE)[0]).decode()
DAY_S = 86_400.0
SHORT_S = 4.0


def write_logs(folder: Path, short: int, samples: tuple[str, ...] = (), bad: int = 1) -> None:
    """So many logs of a few seconds in folders of ten, some canned ones with their sensor files, and damaged ones."""
    for k in range(short):
        place = folder / f"vehicle_{k // 10:02d}"
        place.mkdir(parents=True, exist_ok=True)
        bus = simulate.Bus(slower=4.0, background=False, start_unix_s=1.7e9 + DAY_S * k)
        spec = simulate.make_spec(profile=ENGINE, drive="idle_only", duration_s=SHORT_S, seed=k + 1, bus=bus)
        for path in simulate.write(simulate.run(spec), place, f"{k:03d}"):
            if "truth" in path.name:
                path.unlink()
    canned = folder / "canned"
    canned.mkdir(parents=True, exist_ok=True)
    for name in samples:
        for path in SAMPLES.glob(f"{name}.*"):
            shutil.copy(path, canned)
    for k in range(bad):
        (folder / f"bad_{k}.log").write_text(f"no frames here {k}\n")


def row(vehicle: str, visit: int, values: Mapping[str, tuple[float, float]], fault: str = "") -> FleetLog:
    """A row with measures as value and half width of the 95 % interval."""
    catalogue = measures.load()
    return FleetLog(
        log=f"{vehicle}/{visit:03d}",
        key=f"{vehicle}{visit}",
        content=[f"{vehicle}{visit}"],
        vehicle=vehicle,
        vehicle_from="folder",
        start=1.7e9 + 10 * DAY_S * visit,
        engine="Training diesel",
        engine_source=ENGINE,
        profile=PROFILE,
        measures=[
            Measure(name=name, value=value, unit=catalogue[name].unit, low=value - half, high=value + half, n=50)
            for name, (value, half) in values.items()
        ],
        verdict="fault_supported" if fault else "no_fault_supported",
        sentence="A fault is likely." if fault else "Nothing was found.",
        faults=[FleetFault(fault=fault, title=fault.replace("_", " "), probability=0.9)] if fault else [],
    )
