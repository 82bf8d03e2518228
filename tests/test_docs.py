"""The documents say what the program does."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import typer

from logan.cli.commands import application

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]


def test_reference_is_what_the_program_says() -> None:
    made = subprocess.run(
        [sys.executable, "-c", "import make_reference as m; print(m.reference(), end='')"],
        cwd=ROOT / "tests" / "tools", capture_output=True, text=True, check=True, encoding="utf-8",
        env={"PYTHONPATH": str(ROOT), "PYTHONUTF8": "1", "PATH": ""},
    ).stdout  # fmt: skip
    told = (ROOT / "docs" / "reference.md").read_text("utf-8")
    assert told == made, "docs/reference.md is stale: python tests/tools/make_reference.py"


def test_the_reference_names_options_as_the_command_line_takes_them() -> None:
    """The command line's own library says what each option is called and whether it takes a value."""
    told = (ROOT / "docs" / "reference.md").read_text("utf-8")
    chapters = dict(re.findall(r"^### `logan ([^`]+)`\n(.*?)(?=^##)", told, re.M | re.S))
    top: Any = typer.main.get_command(application())
    groups = {name: one for name, one in top.commands.items() if hasattr(one, "commands")}
    plain = {name: one for name, one in top.commands.items() if name not in groups}
    inner = {f"{name} {sub}": one for name, group in groups.items() for sub, one in group.commands.items()}
    assert {**plain, **inner}.keys() == chapters.keys()
    for words, command in {**plain, **inner}.items():
        rows = re.findall(r"^\| `([^`]+)` \| (.*) \|$", chapters[words], re.M)
        assert all(said for _, said in rows), f"logan {words}: an argument without a word on it"
        wanted = set()
        for one in command.params:
            if one.param_type_name == "argument":
                wanted.add(one.metavar)
            else:
                off = "".join(f"/{name}" for name in one.secondary_opts)
                wanted.add(one.opts[0] + off + ("" if one.is_flag else f" {one.metavar}"))
        assert {name for name, _ in rows} == wanted, f"logan {words}"


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)[^)]*\)", page.read_text("utf-8")):
        if "://" not in target:
            assert (page.parent / target).exists(), f"{page.name} links to {target}"


def test_every_command_has_a_line_in_the_readme() -> None:
    readme = (ROOT / "README.md").read_text("utf-8")
    help_text = subprocess.run(
        [sys.executable, "-m", "logan", "--help"], capture_output=True, text=True, check=True, cwd=ROOT
    ).stdout
    commands = re.findall(r"^  ([a-z]+)  ", help_text.split("Commands:")[1], re.MULTILINE)
    assert commands
    for command in commands:
        assert f"`logan {command} " in readme


@pytest.mark.skipif(os.name != "posix", reason="the loop is written for a POSIX shell")
def test_the_loop_that_makes_a_fleet_makes_one(tmp_path: Path) -> None:
    """As it stands on the page, but for where the program lies and the workers, which a test can do without."""
    pytest.importorskip("distributed", reason="pip install '.[fleet]'")
    (loop,) = re.findall(r"```sh\n(.*?)```", (ROOT / "docs" / "fleet.md").read_text("utf-8"), re.DOTALL)
    program = "import sys; from logan.cli import main; sys.exit(main())"
    loop = loop.replace(".venv/bin/logan", f"'{sys.executable}' -c '{program}'")
    assert "fleet run trial" in loop
    loop = loop.replace("fleet run trial", "fleet run --in-process trial")
    subprocess.run(
        ["sh", "-e", "-c", loop],
        cwd=tmp_path,
        check=True,
        capture_output=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    )
    found = json.loads((tmp_path / "trial_result" / "fleet.json").read_text("utf-8"))
    assert {one["vehicle"]: (one["logs"], one["fault"]) for one in found["vehicles"]} == {
        "00TRNC4X0M0000101": (3, ""), "00TRNC4X0M0000102": (3, ""), "00TRNC4X0M0000103": (3, "charging_voltage_low"),
    }  # fmt: skip
    assert not any("overlap" in remark or "folder" in remark for remark in found["remarks"])
