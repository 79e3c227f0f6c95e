"""The command ``planner readback``."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from planner.cli.exits import DONE, DONE_WITH_GAPS, printable, told
from planner.cli.places import Folder, LedgerFile, PlanFolder, place_of, shown


def readback(
    words: Annotated[
        list[Path],
        typer.Argument(
            metavar="[FOLDER] MOVES...",
            help="Folder of the airframe, where it is not this one; then the machine files.",
        ),
    ],
    units: Annotated[
        str, typer.Option("--units", metavar="mm|inch", help="Unit of files that tell none (G20, G21).")
    ] = "",
    take: Annotated[
        bool,
        typer.Option("--take", help="The next plan goes by the figures of the files, kept in the ledger."),
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON.")] = False,
    plan: PlanFolder = Path("out"),
    folder: Folder = Path(),
    ledger: LedgerFile = None,
) -> None:
    """Hold machine files against the beds of the plan: grams, time, layers, pieces, faults."""
    with told():
        from planner.api.clock import now_here
        from planner.api.read_back_json import read_back_json
        from planner.api.read_back_text import read_back_text
        from planner.api.reading_back import read_back

        first = words[0] if words[0].is_dir() else None
        place = place_of(first or folder, ledger, plan)
        found = read_back(place, words[1:] if first is not None else words, units)
        if as_json:
            print(printable(read_back_json(found)), end="")  # noqa: T201
        else:
            shown(read_back_text(found))
        if take:
            from planner.api.taking_back import take as taken

            answer = taken(place, found, now_here())
            if not as_json:
                shown(answer.lines)
        sys.exit(DONE if found.clean else DONE_WITH_GAPS)
