"""What sheets are made of: headings, words, figures, tables; each knows how tall it will be on paper.

Heights are estimates on the safe side, in mm of paper; they decide where a sheet ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import ClassVar

from markupsafe import Markup

from planner.report.layout.drawing import lines_of, text_width

WIDTH = 170.0  # room inside the frame
NARROW = 86.0  # room on the screen of a phone, at 96 dots an inch
TYPE = 2.9  # size of the lettering in tables and lists
LINE = 3.9  # of one line of it
ROW_PAD = 1.35
SMALL_TYPE, SMALL_LINE, SMALL_PAD = 2.5, 3.3, 1.05  # of what stands beside a drawing
_SIGN = 4.2  # a box to tick, with the room beside it


@dataclass(frozen=True, slots=True)
class Drawn:
    """A drawing inside a cell."""

    svg: Markup
    height_mm: float


Cell = str | Markup | Drawn


def made_here(svg: str) -> Markup:
    """Markup that this room made of escaped parts; no text from a file may pass here."""
    return Markup(svg)  # noqa: S704 - the one place where it is vouched for


@dataclass(frozen=True, slots=True)
class Column:
    """Head, width and side of a column."""

    head: str
    width_mm: float
    align: str = "left"


@dataclass(frozen=True, slots=True)
class Row:
    """Cells of a row; ``tone`` is empty, ``group``, ``total``, ``act`` or ``quiet``."""

    cells: tuple[Cell, ...]
    tone: str = ""


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading inside a sheet; it never stands alone at its foot."""

    words: str
    kind: ClassVar[str] = "heading"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        return 9.2


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph; ``tone`` is empty, ``quiet`` or ``act``."""

    words: str | Markup
    tone: str = ""
    kind: ClassVar[str] = "words"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        return LINE * len(lines_of(_plain(self.words), TYPE, width - 4.0)) + 2.0


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing over the width of the sheet; ``narrow`` is drawn anew for the screen of a phone."""

    svg: Markup
    height_mm: float
    narrow: Markup | None = None
    kind: ClassVar[str] = "figure"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        return self.height_mm + 3.0


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels with their values, side by side."""

    pairs: tuple[tuple[str, str | Markup], ...]
    small: bool = False
    kind: ClassVar[str] = "facts"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        told = "    ".join(f"{label}xx{_plain(value)}xx" for label, value in self.pairs)
        size, line = (SMALL_TYPE, SMALL_LINE + 0.7) if self.small else (TYPE, LINE + 1.2)
        return line * len(lines_of(told, size, width - 12.0)) + 2.0


@dataclass(frozen=True, slots=True)
class Points:
    """A list; ``mark`` is ``dash``, ``box`` (to tick) or ``act`` (wants action)."""

    items: tuple[str | Markup, ...]
    mark: str = "dash"
    small: bool = False
    kind: ClassVar[str] = "points"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        return sum(self.heights(width)) + 1.5

    def heights(self, width: float = WIDTH) -> list[float]:
        """Height of each item."""
        size, line = (SMALL_TYPE, SMALL_LINE) if self.small else (TYPE, LINE)
        return [line * len(lines_of(_plain(item), size, width - 7.0)) + 0.8 for item in self.items]

    def cut(self, first: int) -> tuple[Points, Points]:
        """The list up to and from an item."""
        return replace(self, items=self.items[:first]), replace(self, items=self.items[first:])


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under heads; where it breaks over sheets the heads are repeated."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    small: bool = False
    kind: ClassVar[str] = "table"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        return self.head_height() + sum(self.heights()) + 2.0

    @property
    def wide_mm(self) -> float:
        """Width of all columns."""
        return sum(column.width_mm for column in self.columns)

    def head_height(self) -> float:
        """Height of the row of heads."""
        return max(2.9 * len(lines_of(c.head, 2.3, c.width_mm - 2.5)) for c in self.columns) + 2.2

    def heights(self, width: float = WIDTH) -> list[float]:
        """Height of each row."""
        return [self._row(row) for row in self.rows]

    def _row(self, row: Row) -> float:
        if row.tone == "group":
            return LINE * len(lines_of(_plain(row.cells[0]), TYPE, WIDTH - 8.0, bold=True)) + ROW_PAD + 2.0
        bold = row.tone == "total"
        size, line, pad = (SMALL_TYPE, SMALL_LINE, SMALL_PAD) if self.small else (TYPE, LINE, ROW_PAD)
        return (
            max(
                cell.height_mm + 0.6
                if isinstance(cell, Drawn)
                else line * _line_count(cell, column.width_mm - 2.5, bold, size)
                for cell, column in zip(row.cells, self.columns, strict=True)
            )
            + pad
        )

    def cut(self, first: int) -> tuple[Table, Table]:
        """The table up to and from a row; a group row is not left behind at the foot."""
        while first > 1 and self.rows[first - 1].tone == "group":
            first -= 1
        return replace(self, rows=self.rows[:first]), replace(self, rows=self.rows[first:])


@dataclass(frozen=True, slots=True)
class AnswerRow:
    """A question of the first sheet: its label, the answer large, what qualifies it, and a drawing."""

    label: str
    short: str
    more: tuple[str, ...]
    figure: Figure | None
    act: bool
    kind: ClassVar[str] = "answer"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        large = 5.9 * len(lines_of(self.short, 4.7, width - 34.0))
        small = 3.9 * len(lines_of("; ".join(self.more), TYPE, width - 34.0)) if self.more else 0.0
        return large + small + 4.0 + (self.figure.height_mm + 1.0 if self.figure else 0.0)


@dataclass(frozen=True, slots=True)
class Columns:
    """Two columns of blocks side by side."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    kind: ClassVar[str] = "columns"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        half = width / 2 - 4.0
        return max(sum(block.height(half) for block in side) for side in (self.left, self.right))


@dataclass(frozen=True, slots=True)
class Opening:
    """The head of a chapter that begins on the sheet of another: its name and the question it answers."""

    words: str
    question: str
    kind: ClassVar[str] = "opening"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        return 6.2 * len(lines_of(self.words, 5.4, width - 70.0)) + 11.0


@dataclass(frozen=True, slots=True)
class BedPart:
    """A bed on a part of a sheet: its name, facts, the drawing at the left, its pieces beside it.

    ``legend`` stands beside the drawing, where that takes less of the sheet than below it.
    """

    words: str
    shows: str
    facts: Facts
    figure: Figure
    wide_mm: float
    table: Table
    notes: Points | None
    legend: Figure | None = None
    kind: ClassVar[str] = "bed"

    def height(self, width: float = WIDTH) -> float:
        """Height on paper."""
        drawn = max(self.figure.height_mm + 1.0, self.beside_mm(width))
        return 9.0 + self.facts.height(width) + drawn + 2.0

    def beside_mm(self, width: float = WIDTH) -> float:
        """Height of what stands beside the drawing."""
        beside = self.table.height()
        if self.notes is not None:
            beside += self.notes.height(width - self.wide_mm - 4.0)
        if self.legend is not None:
            beside += self.legend.height_mm + 1.0
        return beside


Block = Heading | Words | Figure | Facts | Points | Table | AnswerRow | Columns | Opening | BedPart


def fine(blocks: Sequence[Block]) -> list[Block]:
    """The blocks with their tables in the small type, for long ones that are looked up."""
    return [replace(block, small=True) if isinstance(block, Table) else block for block in blocks]


@lru_cache(maxsize=16384, typed=True)  # a table is measured anew for every sheet on which it may stand
def _line_count(cell: str | Markup, width: float, bold: bool = False, size: float = TYPE) -> int:
    """Lines that a cell needs; ``<br>`` in markup begins a new one."""
    told = [made_here(part) for part in cell.split("<br>")] if isinstance(cell, Markup) else [cell]
    lines = sum(
        len(lines_of(_plain(part), size, width - _SIGN * part.count("<i "), bold or "<b>" in part))
        for part in told
    )
    # A word wider than its column is broken by the browser at places of its own.
    return lines + any(text_width(word, size) > width for word in _plain(cell).split())


def _plain(cell: Cell) -> str:
    if isinstance(cell, Drawn):
        return ""
    return cell.striptags() if isinstance(cell, Markup) else cell
