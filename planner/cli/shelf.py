"""The commands ``planner spool`` and ``planner away``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.exits import printable, say, told
from planner.cli.numbers import number
from planner.cli.places import At, Folder, LedgerFile, place_of, shown

VERBS = ("add", "list", "weigh", "retire")


def spool(
    words: Annotated[
        list[str],
        typer.Argument(metavar="WHAT...", help="add NAME FILAMENT G; weigh NAME G; retire NAME; list"),
    ],
    tare: Annotated[
        float,
        typer.Option(
            "--tare", metavar="G", parser=number(0.0), help="The empty reel, where the grams are of both."
        ),
    ] = 0.0,
    price: Annotated[
        str, typer.Option("--price", metavar="MONEY", help='Of the spool, as "24.90 EUR".')
    ] = "",
    lot: Annotated[str, typer.Option("--lot", metavar="TEXT", help="Lot of the maker, for the record.")] = "",
    colour: Annotated[
        str, typer.Option("--colour", metavar="WORD", help="Colour, as sections of airframes ask for it.")
    ] = "",
    since: Annotated[
        str, typer.Option("--from", metavar="DAY", help="At hand from that day on, as 2026-12-03.")
    ] = "",
    at: At = None,
    as_json: Annotated[bool, typer.Option("--json", help="With list: as JSON, with every line.")] = False,
    folder: Folder = Path(),
    ledger: LedgerFile = None,
) -> None:
    """Keep the account of a spool: add, list, weigh, retire."""
    with told():
        from planner.api import shelving
        from planner.api.clock import now_here
        from planner.errors import InputError
        from planner.ledger.names import nearest

        place, now = place_of(folder, ledger, Path("out")), now_here()
        verb, *rest = [nearest(words[0], VERBS, "verb", "planner spool"), *words[1:]]
        if verb == "list":
            say(printable(shelving.shelf_told(place, now, as_json=as_json)), end="")
            return
        wanted = {"add": 3, "weigh": 2, "retire": 1}[verb]
        if len(rest) != wanted:
            form = {"add": "NAME FILAMENT GRAMS", "weigh": "NAME GRAMS", "retire": "NAME"}[verb]
            raise InputError(
                f"{len(rest)} words are given, {wanted} are needed.",
                where=f"planner spool {verb}",
                next_step=f"Write it like: planner spool {verb} {form}",
            )
        filament, grams = (rest[1], rest[2]) if verb == "add" else ("", rest[1] if verb == "weigh" else "")
        said = shelving.SpoolTold(rest[0], filament, grams, tare, price, lot, since, colour, at)
        done = {
            "add": shelving.spool_added,
            "weigh": shelving.spool_weighed,
            "retire": shelving.spool_retired,
        }
        shown(done[verb](place, said, now).lines)


def away(
    name: Annotated[str, typer.Argument(metavar="NAME", help="A printer, a filament or a spool.")],
    until: Annotated[
        str | None,
        typer.Option("--until", metavar="TIME", help="When it is back, as 2026-12-08; else until told."),
    ] = None,
    since: Annotated[str | None, typer.Option("--from", metavar="TIME", help="From when; else now.")] = None,
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="Why, for the record.")] = "",
    folder: Folder = Path(),
    ledger: LedgerFile = None,
) -> None:
    """Say that a printer, a filament or a spool is not to be had for a while."""
    with told():
        from planner.api.clock import now_here
        from planner.api.shelving import away

        now = now_here()
        shown(away(place_of(folder, ledger, Path("out")), name, since, until, why, now).lines)
