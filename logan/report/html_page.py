"""The report as one HTML file that needs nothing else: no network, no other file."""

from __future__ import annotations

import base64
import gzip
import hashlib
import math
import sys
from functools import cache
from pathlib import Path

import jinja2
import msgspec
from jinja2.bccache import Bucket
from markupsafe import Markup

from logan import __version__
from logan import cache as kept
from logan.knowledge import measures
from logan.model.finding import Finding
from logan.model.record import Record
from logan.report import chapters_back, chapters_finding, chapters_record, palette, ribbon
from logan.report.document import Document
from logan.report.text import UNIT_WORDS, Catalogue, outside, parts, plain_number, printable, unit_words
from logan.units import DISPLAY_US

HERE = Path(__file__).parent
BUNDLE = HERE / "assets" / "plotly-basic-4.1.1.min.js.gz"


def build(record: Record, finding: Finding, catalogue: Catalogue) -> Document:
    """The report as data, chapters without content left out."""
    engine = not chapters_finding.no_engine(record)
    blind = chapters_finding.blind_spots(finding, catalogue) if engine else None
    undecided = finding.ranking.verdict == "insufficient_evidence"
    nothing_found = undecided and not chapters_finding.suspects(finding.ranking)
    sections = (
        blind if nothing_found else None,
        chapters_finding.faults(finding, catalogue) if finding.ranking.faults and engine else None,
        chapters_finding.cautions(record, finding),
        chapters_finding.checks(finding),
        chapters_back.codes(record),
        blind if undecided and not nothing_found else None,
        chapters_record.timing(record, finding),
        chapters_record.drive(record, finding),
        chapters_record.cycle(record, finding),
        chapters_record.cylinder_chart(finding, catalogue),
        None if undecided else blind,
        chapters_record.measures_table(record, finding, catalogue),
        chapters_back.vehicle(record),
        chapters_back.quality(record),
        chapters_back.engine(record),
        chapters_back.method(),
    )
    first = outside(record.captures[0].name, 80) if record.captures else "no file"
    return Document(
        title=f"Road-test report: {first}",
        version=__version__,
        summary=chapters_finding.summary(record, finding),
        sections=tuple(section for section in sections if section is not None),
        strip=tuple(ribbon.shapes(record)),
    )


def render(record: Record, finding: Finding, catalogue: Catalogue | None = None) -> str:
    """The whole page as text; ``catalogue`` are the words of the measures where they are not the built-in ones."""
    return page(build(record, finding, measures.load() if catalogue is None else catalogue))


def page(document: Document) -> str:
    """A document as a page."""
    style = _asset("report.css").replace("/*palette*/", palette.css())
    script = _asset("report.js")
    packed, plotter_hash = _bundle()
    policy = (
        f"default-src 'none'; script-src '{_hash(script)}' '{plotter_hash}'; style-src 'unsafe-inline'; "
        "img-src data: blob:; base-uri 'none'; form-action 'none'"
    )
    return _template().render(
        document=document,
        policy=policy,
        style=Markup(style),  # our own file
        script=Markup(script),  # our own file
        bundle=Markup(packed),  # base64 of our own file
        data=_json_in_html(_page_data(document)),
    )


def _page_data(document: Document) -> dict[str, object]:
    """What the page's script needs: figures, the ribbon of the time plots, dark tones, display units."""
    return {
        "figures": {chart.id: chart.figure for chart in document.charts()},
        "strip": document.strip,
        "dark": palette.to_dark(),
        "us": {unit: list(conversion) for unit, conversion in DISPLAY_US.items()},
        "words": UNIT_WORDS,
    }


def _json_in_html(data: object) -> Markup:
    """JSON that stays JSON inside a script element: no ``<``, ``>``, ``&`` and no line separators of JavaScript."""
    text = msgspec.json.encode(data, enc_hook=plain_number).decode("utf-8")
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return Markup(text)  # escaped just above


def _exact(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else repr(float(value))


def _safe_characters(value: object) -> object:
    """What the template writes, without characters that could act: the last gate, which nothing gets round."""
    return value if isinstance(value, Markup) else printable(value)


class _Compiled(jinja2.BytecodeCache):
    """Compiled templates in the user's cache folder: to compile them takes longer than to fill them."""

    def load_bytecode(self, bucket: Bucket) -> None:
        """Take the code of an earlier start."""
        code = kept.kept_code(self._path(bucket))
        if code is not None:
            bucket.bytecode_from_string(code)

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep the code for the next start."""
        kept.store_code(self._path(bucket), bucket.bytecode_to_string())

    @staticmethod
    def _path(bucket: Bucket) -> Path:
        # what is compiled depends on the environment's options too, and those stand in this file
        made_of = f"{bucket.checksum} {kept.version_of('jinja2')} {sys.version}".encode() + Path(__file__).read_bytes()
        return kept.folder() / f"template-{hashlib.sha256(made_of).hexdigest()[:32]}.bin"


@cache
def _template() -> jinja2.Template:
    environment = jinja2.Environment(
        bytecode_cache=_Compiled(),
        loader=jinja2.FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_safe_characters,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["exact"] = _exact
    environment.filters["words"] = unit_words
    environment.filters["parts"] = parts
    return environment.get_template("report.html.j2")


@cache
def _asset(name: str) -> str:
    return (HERE / "assets" / name).read_text("utf-8")


@cache
def _bundle() -> tuple[str, str]:
    """The chart library, gzip in base64, and the hash of its source that the page's policy allows to run."""
    packed = BUNDLE.read_bytes()
    return base64.b64encode(packed).decode("ascii"), _hash(gzip.decompress(packed).decode("utf-8"))


def _hash(script: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")
