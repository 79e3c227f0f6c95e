"""The sheets of a plan: one list, from which the report and the local page draw.

A package that is installed beside this one adds a sheet by an entry point of the group
``airframe_print_planner.sheets`` whose value is a ``SheetKind``. It comes after all others: as a chapter of
the report, and under the notes on the page.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from planner.plug_ins import SHEETS, added
from planner.report.layout.blocks import Block, Heading, Words
from planner.report.layout.sheets import Sheet, joined, laid_out
from planner.report.lookup import Lookup
from planner.report.sheets.airframes_sheet import airframes_sheets
from planner.report.sheets.answers_sheet import answers_sheets
from planner.report.sheets.beds_sheet import bed_sheets
from planner.report.sheets.bench_sheet import bed_part_sheets, bench_sheets, run_sheets
from planner.report.sheets.build_sheet import build_sheets
from planner.report.sheets.changes_sheet import change_sheets
from planner.report.sheets.cost_sheet import cost_sheets
from planner.report.sheets.learned_sheet import learned_sheets
from planner.report.sheets.mass_sheet import mass_sheets
from planner.report.sheets.notes_sheet import notes_sheets
from planner.report.sheets.parts_sheet import parts_sheets
from planner.report.sheets.right_sheet import right_sheets
from planner.report.sheets.risk_sheet import risk_sheets
from planner.report.sheets.spools_sheet import spool_sheets
from planner.report.sheets.timetable_sheet import timetable_sheets


@dataclass(frozen=True, slots=True)
class SheetKind:
    """One sheet, or a chapter of them.

    Parameters
    ----------
    key : by which the faces ask for it
    sheets : what it shows of a plan, laid out
    bound : in the report it may begin on the last sheet of the one before
    printed : it is part of the report; the others are for a screen
    """

    key: str
    sheets: Callable[[Lookup], Sequence[Sheet]]
    bound: bool = True
    printed: bool = True


def sheet_of_blocks(
    key: str, name: str, question: str, blocks: Callable[[Lookup], Sequence[Block]]
) -> SheetKind:
    """A sheet from its blocks: its name, the question that it answers, and what it shows."""
    return SheetKind(key, lambda look: laid_out(name, question, "", blocks(look)))


BUILT_IN = (  # in the order of the report
    SheetKind("answers", answers_sheets, bound=False),
    SheetKind("changes", change_sheets, bound=False),
    SheetKind("airframes", airframes_sheets),
    SheetKind("bench", bench_sheets),
    SheetKind("bed parts", bed_part_sheets),
    SheetKind("runs", run_sheets),
    SheetKind("beds", bed_sheets, printed=False),
    SheetKind("timetable", timetable_sheets, printed=False),
    SheetKind("risk", risk_sheets),
    SheetKind("mass", mass_sheets),
    SheetKind("cost", cost_sheets),
    SheetKind("parts", parts_sheets),
    SheetKind("spools", spool_sheets),
    SheetKind("build", build_sheets),
    SheetKind("learned", learned_sheets),
    SheetKind("right", right_sheets),
    SheetKind("notes", notes_sheets),
)
_BY_KEY = {kind.key: kind for kind in BUILT_IN}


def sheets_of(look: Lookup, *keys: str) -> list[Sheet]:
    """The sheets of these keys, one after the other."""
    return [sheet for key in keys for sheet in _BY_KEY[key].sheets(look)]


def printed_sheets(look: Lookup) -> list[Sheet]:
    """All sheets of the report, in their order; chapters share a sheet where there is room."""
    kinds = [kind for kind in BUILT_IN if kind.printed]
    apart = [sheet for kind in kinds if not kind.bound for sheet in kind.sheets(look)]
    bound = [sheet for kind in kinds if kind.bound for sheet in kind.sheets(look)]
    return [*apart, *joined([*bound, *added_sheets(look)])]


def added_sheets(look: Lookup) -> list[Sheet]:
    """The sheets of other packages; one that cannot be made says so in its place, and spoils no other."""
    return [sheet for entry in added(SHEETS) for sheet in _made(entry.name, entry.load, look)]


def added_blocks(look: Lookup) -> list[Block]:
    """The same for a screen: each under its name and its question."""
    blocks: list[Block] = []
    for sheet in added_sheets(look):
        if sheet.first:
            blocks.append(Heading(" - ".join(words for words in (sheet.name, sheet.question) if words)))
        blocks += sheet.blocks
    return blocks


def _made(name: str, load: Callable[[], object], look: Lookup) -> list[Sheet]:
    try:
        kind = load()
        if not isinstance(kind, SheetKind):
            raise TypeError(f"{type(kind).__name__} is no SheetKind")
        sheets = list(kind.sheets(look))
        if not all(isinstance(sheet, Sheet) for sheet in sheets):
            raise TypeError("its sheets are none")
    except Exception as error:  # whatever another package does
        told = f"This sheet of another package could not be made ({type(error).__name__}: {error})."
        return laid_out(name, "", "", [Words(told, "act")])
    return sheets
