"""Options of all commands that use the ledger, and how their answers are shown."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.exits import printable, say

if TYPE_CHECKING:
    from planner.api.ledger_place import LedgerPlace

LedgerFile = Annotated[
    Path | None,
    typer.Option("--ledger", metavar="FILE", help="The ledger; else ledger.sqlite beside workshop.toml."),
]
Folder = Annotated[
    Path,
    typer.Option("--in", metavar="FOLDER", help="Folder of the airframe or the workshop; else this one."),
]
PlanFolder = Annotated[
    Path, typer.Option("--plan", metavar="DIR", help="Results folder of the plan that is meant.")
]
At = Annotated[
    str | None,
    typer.Option("--at", metavar="TIME", help="When it was: 23:10, or 2026-12-01T23:10; else now."),
]


def place_of(folder: Path, ledger: Path | None, plan: Path) -> LedgerPlace:
    """Where facts go."""
    from planner.api import computer_zone
    from planner.api.ledger_place import LedgerPlace

    say_left(plan)
    return LedgerPlace(ledger, folder, plan, zone=computer_zone())


def say_left(*outs: Path | None) -> None:
    """Clear what a program left that was ended while it replaced results, and tell what came back."""
    from planner.api.left import brought_back

    for out in outs:
        if out is not None and (told := brought_back(out)):
            say(printable(fill(told, 80, break_on_hyphens=False)), to_errors=True)


def shown(lines: Iterable[str]) -> None:
    """Print sentences in 80 columns."""
    for line in lines:
        say(printable(fill(line, 80, subsequent_indent="  ", break_on_hyphens=False)))
