"""A session without line times: what needs only the order is measured, for anything else the reason is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from logan.capture import read
from logan.knowledge import measures as catalogue
from logan.pipeline.analyse import analyse

EXCHANGES = 300


def session(folder: Path, stamp: str) -> Path:
    """Warm idle at 850 rpm and 14 V, road speed 0; ``stamp`` is put in front of each line."""
    lines = []
    for k in range(EXCHANGES):
        # 850 rpm = 0D48, 14.000 V = 36B0, 85 degC = 7D (SAE J1979)
        for n, said in enumerate(("410C0D48", "414236B0", "41057D", "410D00")):
            lines += [
                stamp.format(0.4 * k + 0.1 * n) + said[2:4].join(("01", "")),
                stamp.format(0.4 * k + 0.1 * n + 0.05) + said,
            ]
    path = folder / "session.txt"
    path.write_text("\r".join(lines) + "\r")
    return path


@pytest.mark.parametrize("stamp", ["", "{:.3f} "])
def test_levels_are_measured_and_the_rest_has_its_reason(tmp_path: Path, stamp: str) -> None:
    path = session(tmp_path, stamp)
    capture = read(path)
    assert (capture.timed, capture.frames) == (bool(stamp), 8 * EXCHANGES)
    assert (capture.duration_s is None) == (not stamp)
    found = analyse([path]).finding
    values = {measure.name: measure.value for measure in found.measures}
    assert values["running_voltage_v"] == pytest.approx(14.0)
    assert values["idle_speed_mean_rpm"] == pytest.approx(850.0)
    assert ("idle_speed_std_rpm" in values) == bool(stamp)
    why = {missing.measure: missing.why for missing in found.missing}
    assert ("session.txt has a time" in why.get("idle_speed_std_rpm", "")) == (not stamp)
    if not stamp:
        info = catalogue.load()
        assert all(info[name].level for name in values)
        assert "not in the capture" in why["rail_swing_percent"]
