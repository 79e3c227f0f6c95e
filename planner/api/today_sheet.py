"""What a person beside the printers sees and taps: the next visit, beds as drawn, pieces, spools, facts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from planner.api.ledger_place import LedgerPlace
from planner.api.today import Today, as_written, today_of

if TYPE_CHECKING:
    from planner.model.batch import Batch

Outline = tuple[tuple[float, float], ...]
SMALLEST_MM = 1.0


@dataclass(frozen=True, slots=True)
class Lying:
    """A piece where it lies, with its number in the picture."""

    piece: str
    number: int
    outline_mm: Outline


@dataclass(frozen=True, slots=True)
class BedPicture:
    """A bed from above: shape, size and what lies on it; where no size is told, that of the pieces."""

    shape: str
    width_mm: float
    depth_mm: float
    pieces: tuple[Lying, ...]


@dataclass(frozen=True, slots=True)
class SpoolNow:
    """A spool on the shelf; ``accounted``: the ledger keeps its account."""

    name: str
    filament: str
    grams: float
    accounted: bool


@dataclass(frozen=True, slots=True)
class TodaySheet:
    """Today, and what is told from there. ``pictures`` are those of beds that may have failed.

    ``later`` are beds that nobody spoke of yet and that the plan does not run now; ``series`` names the plans
    whose beds these are.
    """

    today: Today
    series: str
    pictures: Mapping[str, BedPicture]
    later: tuple[str, ...]
    spools: tuple[SpoolNow, ...]


def today_sheet(place: LedgerPlace, now: datetime) -> TodaySheet:
    """By the plan and the facts since; nothing is planned anew.

    Raises
    ------
    RecordError
        where there is no plan, or plan, ledger or workshop cannot be read
    """
    plan = place.earlier()
    raw = as_written(place)
    found = today_of(place, plan, raw, now)
    here = [bed.bed for bed in found.beds]
    later = tuple(run.batch for run in plan.runs if run.batch not in (*here, *found.over))
    beds = {str(one["batch"]): one.get("bed") or {} for one in raw["batches"]}
    pictures = {
        batch.name: _picture(batch, beds.get(batch.name, {}))
        for batch in plan.batches
        if batch.name in (*here, *later)
    }
    return TodaySheet(found, plan.series, pictures, later, tuple(_spools(place, now)))


def _picture(batch: Batch, bed: Mapping[str, Any]) -> BedPicture:
    pieces = tuple(
        Lying(placed.piece, n, tuple((float(x), float(y)) for x, y in placed.outline_mm))
        for n, placed in enumerate(batch.placed, 1)
    )
    points = [point for piece in pieces for point in piece.outline_mm]
    wide, deep = (max(values) + SMALLEST_MM for values in zip(*points, strict=True))
    return BedPicture(
        str(bed.get("shape", "rectangle")),
        float(bed.get("width_mm") or wide),
        float(bed.get("depth_mm") or deep),
        pieces,
    )


def _spools(place: LedgerPlace, now: datetime) -> Iterator[SpoolNow]:
    """Every spool with an account that is not used up, then those that only the workshop file tells."""
    from planner.ledger.accounts import KINDS, accounts_of
    from planner.ledger.reading import Reader

    accounts = {}
    if place.file.is_file():
        with Reader(place.file) as ledger:
            accounts = accounts_of(ledger.facts(kinds=KINDS), now)
    for name, one in accounts.items():
        if not one.retired:
            yield SpoolNow(name, one.filament, one.grams, accounted=True)
    for spool in place.shop().spools:
        if spool.name not in accounts:
            yield SpoolNow(spool.name, spool.filament, spool.grams_left, accounted=False)
