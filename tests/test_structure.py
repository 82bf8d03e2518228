"""The house plan, held: layers import downwards only, stages do not know each other, nothing is imported in hiding."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "logan"

LAYERS: dict[str, int] = {
    "errors": 0, "units": 0, "interrupt": 0, "cache": 0, "parallel": 0,
    "model": 1, "native": 1,
    "knowledge": 2, "dsp": 2,
    "capture": 3, "transport": 3, "decode": 3, "channels": 3, "drive": 3, "measures": 3, "ranking": 3, "report": 3,
    "comparison": 3, "planning": 3, "store": 3, "simulate": 3,
    "pipeline": 4,
    "workshop": 5, "training": 5, "fleet": 5,
    "cli": 6, "__main__": 7, "__init__": 7,
}  # fmt: skip
WITNESS_MAY_USE = {"model", "knowledge", "units", "errors", "simulate"}
LAZY_ROOMS = {"cli", "__init__"}
LONGEST_MODULE = 450


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def room(path: Path) -> str:
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imports(tree: ast.AST) -> list[tuple[str, int]]:
    found: list[tuple[str, int]] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"relative import in line {node.lineno}: write the whole name"
            module = node.module or ""
            found += [(f"{module}.{alias.name}" if module == "logan" else module, node.lineno) for alias in node.names]
    return found


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_layers(path: Path) -> None:
    here = room(path)
    assert here in LAYERS, f"{here} has no floor in the house plan"
    for name, line in imports(ast.parse(path.read_text("utf-8"))):
        parts = name.split(".")
        if parts[0] != "logan" or len(parts) == 1 or parts[1] == "__version__":
            continue
        there = parts[1]
        assert there in LAYERS, f"{path}:{line}: {there} has no floor in the house plan"
        if there == here:
            continue
        assert LAYERS[there] < LAYERS[here], f"{path}:{line}: {here} may not import {there}"
        if here == "simulate":
            assert there in WITNESS_MAY_USE, f"{path}:{line}: the simulator is a witness and may not use {there}"


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_no_hidden_imports(path: Path) -> None:
    if room(path) in LAZY_ROOMS:
        return
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            for inner in ast.walk(node):
                assert not isinstance(inner, ast.Import | ast.ImportFrom), (
                    f"{path}:{inner.lineno}: import inside a function"
                )


def test_no_import_cycles() -> None:
    names = {
        ".".join(("logan", *p.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__"): p
        for p in modules()
    }
    edges: dict[str, set[str]] = {}
    for name, path in names.items():
        tree = ast.parse(path.read_text("utf-8"))
        used = set()
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("logan"):
                for alias in node.names:
                    full = f"{node.module}.{alias.name}"
                    used.add(full if full in names else node.module)
            elif isinstance(node, ast.Import):
                used |= {alias.name for alias in node.names if alias.name in names}
        edges[name] = used - {name}
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join((*trail, name))
        if name in done:
            return
        for other in sorted(edges.get(name, ())):
            visit(other, (*trail, name))
        done.add(name)

    for name in names:
        visit(name, ())


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_modules_stay_small(path: Path) -> None:
    lines = len(path.read_text("utf-8").splitlines())
    assert lines <= LONGEST_MODULE, f"{path} has {lines} lines: it usually holds two rooms"
