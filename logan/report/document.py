"""The report as data: typed sections and blocks, which the template turns into a page and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

from markupsafe import Markup

from logan.report.balance import Weighing
from logan.report.figures import Figure, KeyEntry
from logan.report.text import Interval, Quantity

Cell = str | Quantity | Interval


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Plain words."""

    kind: ClassVar[str] = "paragraph"
    text: str
    note: bool = False
    on_paper: bool = True


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of plain words; ``warning`` for cautions, ``numbered`` where other places refer to its lines."""

    kind: ClassVar[str] = "bullets"
    items: tuple[str, ...]
    warning: bool = False
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Terms and what they are."""

    kind: ClassVar[str] = "facts"
    items: tuple[tuple[str, Cell], ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table: the first column names the row, ``figures`` are the columns of numbers, ``marks`` the class of each row.

    A row of one cell is the heading of those below it.
    """

    kind: ClassVar[str] = "table"
    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    figures: frozenset[int] = frozenset()
    marks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading inside a section."""

    kind: ClassVar[str] = "heading"
    text: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """An SVG drawing that this program made, with its caption; ``unit`` is that of its numbers, where they have one."""

    kind: ClassVar[str] = "drawing"
    svg: Markup
    caption: str
    sheet: bool = False
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Pair:
    """Drawings side by side where there is room."""

    kind: ClassVar[str] = "pair"
    drawings: tuple[Drawing, ...]


@dataclass(frozen=True, slots=True)
class Legend:
    """Colours of the ribbon: class, words, seconds."""

    kind: ClassVar[str] = "legend"
    items: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart that the page draws when it comes into view; ``key`` names what is drawn;
    ``on_paper`` tells whether it is printed too.
    """

    kind: ClassVar[str] = "chart"
    id: str
    title: str
    figure: Figure
    label: str
    size: Literal["time", "plane"]
    unit: str = ""
    key: tuple[KeyEntry, ...] = ()
    bears_on: str = ""
    on_paper: bool = True


@dataclass(frozen=True, slots=True)
class FaultCard:
    """One suspected fault with its evidence balance."""

    kind: ClassVar[str] = "fault"
    rank: int
    title: str
    probability: str
    remark: str
    rows: tuple[Weighing, ...]
    scale: Markup
    not_seen: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckCard:
    """One next check with its cost and what each outcome would mean.

    ``see`` names its cautions' numbers in the list of all; on paper it stands in place of them.
    """

    kind: ClassVar[str] = "check"
    rank: int
    text: str
    about: str
    minutes: str
    tools: tuple[str, ...]
    outcomes: tuple[str, ...]
    cautions: tuple[str, ...]
    see: str = ""


Block = (
    Paragraph | Bullets | Facts | Table | Heading | Drawing | Pair | Legend | Chart | FaultCard | CheckCard
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Section:
    """A chapter of the report; ``id`` is the anchor, ``lead`` its first sentence."""

    id: str
    title: str
    lead: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Summary:
    """What stands first: the verdict in one sentence, what it rests on, and how the probability is shared.

    Without ``shares`` no probability is shown: nothing was measured that bears on it. ``note`` stands under them.
    """

    verdict: str
    tag: str
    sentence: str
    shares: Markup
    key: tuple[tuple[str, str, str], ...]
    facts: tuple[tuple[str, Cell], ...]
    note: str = ""

    @property
    def headline(self) -> str:
        """The first sentence."""
        first, _, rest = self.sentence.partition(". ")
        return f"{first}." if rest else first

    @property
    def detail(self) -> str:
        """All further sentences."""
        return self.sentence.partition(". ")[2]


@dataclass(frozen=True, slots=True)
class Document:
    """The whole page; ``strip`` is the drive ribbon as shapes, the same for every time plot.

    Without a summary the title and the ``lead`` stand first.
    """

    title: str
    version: str
    summary: Summary | None
    sections: tuple[Section, ...]
    strip: tuple[Figure, ...]
    brand: str = "Road-test report"
    lead: str = ""
    made_from: str = "from recordings alone"

    def charts(self) -> tuple[Chart, ...]:
        """Every chart, in order."""
        return tuple(block for section in self.sections for block in section.blocks if isinstance(block, Chart))
