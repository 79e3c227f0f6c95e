"""Machine files held against the beds of a plan."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from planner.api.ledger_place import LedgerPlace
from planner.api.planned_beds import batches_in_order, machine_for, planned_bed
from planner.errors import RecordError

if TYPE_CHECKING:
    from planner.model.replan import EarlierPlan
    from planner.model.workshop import Workshop
    from planner.readback.judged import Judged
    from planner.readback.layers import LayerFile
    from planner.readback.match import BedShapes
    from planner.readback.planned import Planned
    from planner.readback.reading import Unit

UNITS = ("mm", "inch")


@dataclass(frozen=True, slots=True)
class ReadBed:
    """One machine file; ``said`` is what there is to say of it, ``None`` where it is like no bed.

    ``heights_mm`` are those of its layers, rising.
    """

    path: Path
    lines: int
    said: Judged | None
    planned: Planned | None
    heights_mm: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadBack:
    """All files that were read, what is wrong with them together, and the beds that none of them prints."""

    beds: tuple[ReadBed, ...]
    faults: tuple[str, ...]
    unread: tuple[str, ...]

    @property
    def clean(self) -> bool:
        """Whether no file has a fault, and each prints a bed."""
        return not self.faults and all(one.said is not None and not one.said.faults for one in self.beds)


@dataclass(frozen=True, slots=True)
class Beds:
    """A plan whose beds machine files are held against, one file after the other.

    ``taken`` are beds that other files print; of beds that are alike another one is meant then.
    """

    plan: EarlierPlan
    shop: Workshop
    shapes: BedShapes
    unit: Unit
    taken: list[str] = field(default_factory=list)

    @classmethod
    def of(cls, place: LedgerPlace, units: str = "") -> Beds:
        """Those of the plan of a place; ``units`` is that of files that tell none.

        Raises
        ------
        RecordError
            where there is no plan
        """
        from planner.readback.match import BedShapes

        unit = _unit(units)
        plan, shop = place.earlier(), place.shop()
        beds = {printer.kind: printer.bed for printer in shop.printers}
        return cls(plan, shop, BedShapes(batches_in_order(plan), beds), unit)

    def read(
        self, path: Path, told: Callable[[int], None] | None = None, layers: LayerFile | None = None
    ) -> ReadBed:
        """Read a file and hold it against its bed.

        Parameters
        ----------
        told : hears how many bytes were read
        layers : takes every bead, layer by layer

        Raises
        ------
        RecordError
            where it cannot be read; naming file, line and word
        """
        from planner.readback.figures import layer_heights
        from planner.readback.judged import judged
        from planner.readback.match import matched
        from planner.readback.reading import read_moves

        first = machine_for(self.shop)
        moves = read_moves(path, first, self.unit, told=told, layers=layers)
        heights = tuple(float(height) for height in layer_heights(moves))
        match = matched(moves, self.shapes, self.taken)
        if match is None:
            return ReadBed(path, moves.lines, None, None, heights)
        self.taken.append(match.bed)
        planned = planned_bed(self.plan, self.shop, match.bed)
        own = machine_for(self.shop, planned.printer.name)
        if own != first:
            moves = read_moves(path, own, self.unit, told=told)
        return ReadBed(path, moves.lines, judged(moves, match, planned), planned, heights)

    def together(self, pairs: Sequence[tuple[str, str]]) -> tuple[list[str], list[str]]:
        """What is wrong with files together, and the open beds that none of them prints; by file its bed."""
        from planner.readback.judged import alike_beds

        printed = {bed for _, bed in pairs}
        unread = [run.batch for run in self.plan.runs if run.batch not in printed]
        return alike_beds(pairs), unread


def read_back(place: LedgerPlace, files: Sequence[Path], units: str = "") -> ReadBack:
    """Read machine files and hold each against the bed that it prints.

    Parameters
    ----------
    units : of files that tell none: ``mm`` or ``inch``

    Raises
    ------
    RecordError
        where there is no plan, or a file cannot be read; naming file, line and word
    """
    _unit(units)
    if not files:
        raise RecordError(
            "no machine file is named.", where="planner readback", next_step="Name one or more."
        )
    beds = Beds.of(place, units)
    found = [beds.read(path) for path in files]
    faults, unread = beds.together(
        [(one.path.name, one.said.match.bed) for one in found if one.said is not None]
    )
    return ReadBack(tuple(found), tuple(faults), tuple(unread))


def _unit(units: str) -> Unit:
    if units == "mm":
        return "mm"
    if units == "inch":
        return "inch"
    if units:
        raise RecordError(f"{units!r} is no unit.", where="--units", next_step="Say mm or inch.")
    return ""
