"""Pieces as the arrange stage and the clock see them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from planner.geometry.planar.flat import mirror, shifted
from planner.joint_search.composition import ComposeTask
from planner.model.batch import Batch, print_order
from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.fit import ANY, Fit
from planner.model.part import Piece
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.nesting.improve.local_improvement import polished
from planner.nesting.problem.item import BedKind, Item, bed_kind
from planner.nesting.problem.problem import NestingProblem


@dataclass(frozen=True, slots=True)
class Family:
    """What may share a bed: one filament, one layer height, one first layer height.

    ``fit`` is the nozzle and the plate that they ask for.
    ``apart`` names the section or the airframe where these are not mixed, or a piece that lies alone; else it
    is empty.
    """

    filament: str
    layer_height_mm: float
    first_height_mm: float
    apart: str = ""
    fit: Fit = ANY


def families(task: ComposeTask) -> dict[Family, list[Item]]:
    """Items of every family, in the order of the pieces."""
    found: dict[Family, list[Item]] = {}
    for piece in task.pieces:
        part, deposit = task.parts[piece.part], task.deposits[piece.part]
        apart = apart_of(piece, task)
        apart = f"piece {piece.name}" if part.alone else apart
        fit = task.workshop.filament(part.filament).asks(part.recipe)
        family = Family(part.filament, part.recipe.layer_height_mm, part.recipe.first_height_mm, apart, fit)
        item = item_of(piece.name, deposit, mirrored=piece.mirrored)
        item = replace(
            item,
            turns=part.turns_deg or None,
            group=piece.section or part.section,
            key=f"{part.like or piece.part}{' mirrored' if piece.mirrored else ''}",
            nothing_inside=part.nothing_inside,
        )
        found.setdefault(family, []).append(item)
    return found


def apart_of(piece: Piece, task: ComposeTask) -> str:
    """The section, or the airframe, with which alone a piece may share its bed; empty where with any."""
    if not task.workshop.mix_sections:
        return f"section {piece.section or task.parts[piece.part].section}"
    if piece.airframe and (not task.workshop.mix_airframes or piece.airframe in task.unmixed):
        return f"airframe {piece.airframe}"
    return ""


def item_of(piece: str, deposit: Deposit, *, mirrored: bool = False) -> Item:
    """The shadow of a piece, its lowest corner at the origin; of its other hand where it is mirrored."""
    low = deposit.footprint_low_mm
    outline, holes = shifted(deposit.footprint_mm, low), [shifted(h, low) for h in deposit.inside_holes]
    if mirrored:
        width = max(x for x, _ in outline)
        outline, holes = mirror(outline, width), [mirror(hole, width) for hole in holes]
    return Item(piece, outline, tuple(holes), deposit.extents_mm[2], None, "", piece)


def tidied(batches: Sequence[Batch], task: ComposeTask) -> list[Batch]:
    """The same pieces on the same beds, laid as a builder wants them; in their order where it matters."""
    items = {item.piece: item for group in families(task).values() for item in group}
    kinds = {printer.kind: bed_kind(printer) for printer in task.workshop.printers}
    made = []
    for batch in batches:
        kind = kinds[batch.printer_kind]
        problem = NestingProblem(
            [items[p.piece] for p in batch.placed],
            (kind,),
            task.workshop.clearance_mm,
            seed=task.seed,
            effort=task.effort,
            steps=task.effort.tidy_moves * len(batch.placed),
        )
        placed = polished(batch.placed, problem)
        made.append(replace(batch, placed=print_order(placed) if kind.head else placed))
    return made


def kinds_for(workshop: Workshop, filament: Filament, asked: Fit | None = None) -> dict[str, list[Printer]]:
    """Printers that may run a filament, and have what a bed asks for, by kind."""
    found: dict[str, list[Printer]] = {}
    for printer in workshop.printers:
        if workshop.can_run(printer, filament, asked):
            found.setdefault(printer.kind, []).append(printer)
    return found


def bed_kinds(kinds: Mapping[str, Sequence[Printer]]) -> tuple[BedKind, ...]:
    """The beds of these kinds, as many as it takes."""
    return tuple(bed_kind(row[0]) for row in kinds.values())
