"""A06 of the OWASP Top Ten of 2021: no library may be installed so old that a hole known here is open in it.

A list of what was known when it was written, not a look into a service of advisories: the tests use no network. A hole
that became known later is not in it.
"""

from __future__ import annotations

import tomllib
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

import pytest

packaging_requirements = pytest.importorskip("packaging.requirements", reason="pip install '.[test]'")
packaging_version = pytest.importorskip("packaging.version", reason="pip install '.[test]'")

MENDED: Final = (
    ("dask", "2021.10.0", "CVE-2021-42343: workers of a local cluster listen to other machines"),
    ("fastapi", "0.109.1", "CVE-2024-24762: a header of a form keeps the server busy without end"),
    ("h11", "0.16.0", "CVE-2025-43859: wrong ends of chunks let a request be smuggled past a proxy"),
    ("jinja2", "3.1.6", "CVE-2025-27516: a template leaves its sandbox by the filter attr"),
    ("numpy", "1.22.0", "CVE-2021-34141: wrong comparison of strings"),
    ("pyarrow", "14.0.1", "CVE-2023-47248: reading a file runs code that stands in it"),
    ("python-multipart", "0.0.18", "CVE-2024-53981: bytes around the parts of a form, each with a line in the log"),
    ("scipy", "1.10.0", "CVE-2023-25399: memory that is not given back"),
    ("sqlalchemy", "1.3.0", "CVE-2019-7164: a statement through the parameter order_by"),
    ("starlette", "0.49.1", "CVE-2025-62727: a range header takes the square of its length; CVE-2024-47874 and "
     "CVE-2025-54121 are mended in versions before"),
    ("uvicorn", "0.11.7", "CVE-2020-7695: line ends in an answer's head"),
)  # fmt: skip
"""Library, first version with the mend, what was mended; numbers and versions from memory."""


def lowest() -> dict[str, str]:
    """The lowest version of each library that the project allows to be installed."""
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))["project"]
    groups = [project["dependencies"], *project["optional-dependencies"].values()]
    out: dict[str, str] = {}
    for text in (one for group in groups for one in group):
        requirement = packaging_requirements.Requirement(text)
        bounds = [part.version for part in requirement.specifier if part.operator == ">="]
        if bounds:
            name = requirement.name.lower()
            out[name] = min(bounds[0], out.get(name, bounds[0]), key=packaging_version.Version)
    return out


@pytest.mark.parametrize(("library", "mended", "what"), MENDED)
def test_no_version_with_a_known_hole_is_allowed(library: str, mended: str, what: str) -> None:
    allowed = lowest()
    assert library in allowed, f"pyproject.toml says no lowest version of {library}"
    assert packaging_version.Version(allowed[library]) >= packaging_version.Version(mended), what


@pytest.mark.parametrize(("library", "mended", "what"), MENDED)
def test_what_is_installed_here_is_mended(library: str, mended: str, what: str) -> None:
    try:
        installed = version(library)
    except PackageNotFoundError:
        pytest.skip("pip install '.[test]'")
    assert packaging_version.Version(installed) >= packaging_version.Version(mended), what


def test_every_library_of_the_server_has_a_lowest_version() -> None:
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text("utf-8"))["project"]
    for text in (*project["dependencies"], *project["optional-dependencies"]["workshop"]):
        requirement = packaging_requirements.Requirement(text)
        assert any(part.operator == ">=" for part in requirement.specifier), text
