"""The command ``planner record``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.exits import printable, say, told
from planner.cli.numbers import number, whole
from planner.cli.places import At, Folder, LedgerFile, PlanFolder, place_of, shown


def record(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="WHAT...",
            help='"bed 3" began|done|failed|cleared; changed PRINTER; weighed PIECE G ...; lost PIECE;'
            " dried SPOOL; wet SPOOL; undo; list",
        ),
    ],
    at: At = None,
    good: Annotated[
        list[str] | None,
        typer.Option("--good", metavar="PIECE", help="A piece of a failed bed that can be used."),
    ] = None,
    layer: Annotated[
        int | None,
        typer.Option("--layer", metavar="N", parser=whole(1, 1_000_000), help="Layer at which it failed."),
    ] = None,
    height: Annotated[
        float | None,
        typer.Option("--height", metavar="MM", parser=number(0.0, 5000.0), help="Height at which it failed."),
    ] = None,
    resolution: Annotated[
        float,
        typer.Option("--resolution", metavar="G", parser=number(0.0), help="Smallest step of the scale."),
    ] = 0.1,
    supports_on: Annotated[
        bool, typer.Option("--supports-on", help="Weighed before the supports were broken off.")
    ] = False,
    table: Annotated[
        Path | None, typer.Option("--from", metavar="FILE", help="Weighed pieces of a CSV file: piece,grams.")
    ] = None,
    as_csv: Annotated[bool, typer.Option("--csv", help="With list: as CSV.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="With list: as JSON.")] = False,
    plan: PlanFolder = Path("out"),
    folder: Folder = Path(),
    ledger: LedgerFile = None,
) -> None:
    """Write down what happened: beds begun, done, failed, cleared, pieces weighed or lost."""
    with told():
        from planner.api.clock import now_here
        from planner.api.recording import Told, record, recorded

        place = place_of(folder, ledger, plan)
        if [word.casefold() for word in words] == ["list"]:
            text = recorded(place, "csv" if as_csv else "json" if as_json else "text")
            say(text if as_csv or as_json else printable(text), end="")
            return
        said = Told(tuple(words), at, tuple(good or ()), layer, height, resolution, supports_on, table)
        shown(record(place, said, now_here()).lines)
