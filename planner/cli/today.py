"""The command ``planner today``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.exits import printable, say, told
from planner.cli.places import At, LedgerFile, PlanFolder, place_of


def today(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Folder of the airframe or the workshop; else this one.")
    ] = Path(),
    plan: PlanFolder = Path("out"),
    at: At = None,
    ledger: LedgerFile = None,
) -> None:
    """Tell the next visit: what to clear, put on, start, weigh, glue, and what runs until when."""
    with told():
        from planner.api.clock import now_here
        from planner.api.ledger_place import moment
        from planner.api.today import today, today_text

        place, now = place_of(folder, ledger, plan), now_here()
        when = moment(at, place.shop().attendance, now) if at else now
        say(printable(today_text(today(place, when))))
