"""Where the facts of an airframe of the workspace are kept, and of which plan they tell."""

from __future__ import annotations

from pathlib import Path

from planner.api.ledger_place import WORKSHOP_FILE, LedgerPlace
from planner.web.settings import zone_for
from planner.web.workspace import RESULTS


def place_for(folder: Path) -> LedgerPlace:
    """The ledger that came with the airframe, else the one beside the workshop file that holds for it.

    An airframe that shares the workshop of the workspace shares its ledger: the spools are the same.
    """
    own = folder / WORKSHOP_FILE
    workshop = own if own.is_file() else folder.parent / WORKSHOP_FILE
    return LedgerPlace(
        folder=folder,
        plan=folder / RESULTS,
        workshop_file=workshop if workshop.is_file() else None,
        zone=zone_for(folder),
    )
