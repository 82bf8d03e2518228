"""Every page that a command writes is valid HTML (html5lib, strict) and asks for nothing from elsewhere."""

from __future__ import annotations

import re
from pathlib import Path

import html5lib
import pytest
from typer.testing import CliRunner

from logan.cli.commands import application

SAMPLES = Path(__file__).parent.parent / "sample_logs"
SIX = ("--engine", "training_rotary_six")
BEFORE, AFTER = (str(SAMPLES / f"{name}.log.gz") for name in ("fuel_supply_low", "healthy_rotary_six"))


@pytest.mark.parametrize(
    "command",
    [
        ("report", BEFORE, *SIX),
        ("compare", BEFORE, AFTER, *SIX),
        ("plan", "--suspect", "pump_key_reversed", *SIX),
        ("explain", "cam_phase_offset"),
    ],
    ids=lambda command: command[0],
)
def test_valid_and_whole(command: tuple[str, ...], tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    done = CliRunner().invoke(application(), [*command, "--html", str(target)])
    assert done.exit_code == 0, done.output
    page = target.read_text("utf-8")
    html5lib.HTMLParser(strict=True).parse(page)
    without_library = re.sub(r'id="plotter">[^<]*<', "", page)
    assert not re.search(r"(src|href)\s*=\s*[\"'](?!#)", without_library)
