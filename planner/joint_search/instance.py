"""The pieces of a task as the joint search sees them: whole numbers, arrays, one row a piece."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.estimate.time.bed import bed_piece, bed_table
from planner.geometry.planar.outline_offset import area, grown
from planner.joint_search.beds import BedMaker
from planner.joint_search.composition import ComposeTask
from planner.joint_search.joint import GoalData, Table
from planner.joint_search.limits import Limit, longest_minutes, most_pieces
from planner.joint_search.measures import NIGHT_SINCE, NIGHT_UNTIL
from planner.joint_search.pieces import Family, bed_kinds
from planner.joint_search.price_arrays import minutes_of, price_arrays
from planner.joint_search.sections import pairs_of, section_of, section_weights
from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind, Item
from planner.scheduling.problem.calendar import at_minute, minute_of, windows, zone_of
from planner.scheduling.problem.problem import Tables, compile_tables
from planner.scheduling.visits import VISIT_GAP_MINUTES

COARSE_MM = 0.5  # tolerance of a grown outline whose area alone counts


@dataclass(frozen=True, slots=True)
class Instance:
    """Numbered pieces, kinds and families, and the arrays made of them."""

    items: tuple[Item, ...]
    family: tuple[int, ...]  # of each item
    families: tuple[Family, ...]
    kinds: tuple[BedKind, ...]
    printers: tuple[Printer, ...]
    table: Table
    goal_data: GoalData


def instance_of(maker: BedMaker, days: int) -> Instance:
    """All pieces that some bed takes, with a calendar of so many days."""
    task = maker.task
    takers: dict[str, frozenset[str]] = {}
    families: list[Family] = []
    items: list[Item] = []
    family: list[int] = []
    for one, members in maker.families.items():
        found = {item.piece: maker.kinds_of(item, one) for item in members}
        if any(found.values()):
            family += [len(families) for item in members if found[item.piece]]
            items += [item for item in members if found[item.piece]]
            takers |= found
            families.append(one)
    kinds = bed_kinds({kind: [printer] for kind, printer in maker.printers.items()})
    tables = _tables(task, families, maker, days)
    table = _table(maker, items, family, families, kinds, takers, tables)
    goal_data = _goal_data(task, items, families, days)
    printers = task.workshop.printers
    return Instance(tuple(items), tuple(family), tuple(families), kinds, printers, table, goal_data)


def _tables(task: ComposeTask, families: Sequence[Family], maker: BedMaker, days: int) -> Tables:
    """One row for every family, of which only the filament counts."""
    rows = [
        Batch(
            str(n),
            maker.kinds_for(f.filament, f.fit)[0],
            f.filament,
            f.layer_height_mm,
            (),
            1.0,
            0.0,
            1.0,
            0.0,
            fit=f.fit,
        )
        for n, f in enumerate(families)
    ]
    spans = windows(task.workshop.attendance, task.start, days)
    return compile_tables(rows, task.workshop, spans, days * 24 * 60, {}, {}, task.start)


def _table(
    maker: BedMaker,
    items: Sequence[Item],
    family: Sequence[int],
    families: Sequence[Family],
    kinds: Sequence[BedKind],
    takers: Mapping[str, frozenset[str]],
    tables: Tables,
) -> Table:
    task, workshop = maker.task, maker.task.workshop
    printers = [maker.printers[kind.printer_kind] for kind in kinds]
    filaments = [workshop.filament(one.filament) for one in families]
    parts = [maker.part_of[item.piece] for item in items]
    laid_out = [
        bed_table(
            [bed_piece(task.deposits[p.name], p.recipe, printer.kind, workshop.clearance_mm) for p in parts],
            printer,
            filaments[0],
        )
        for printer in printers
    ]
    numbers: dict[str, int] = {}
    return Table(
        seconds=np.stack([one.seconds for one in laid_out]),
        starts=laid_out[0].starts,
        reach=laid_out[0].reach_mm,
        change=np.stack([one.change_s for one in laid_out]),
        least=np.stack([one.least_s for one in laid_out]),
        travel=np.array([[bed_table((), p, f).travel for f in filaments] for p in printers]),
        heat_up=np.array([printer.heat_up_minutes for printer in printers]),
        share=_shares(items, kinds, workshop.clearance_mm),
        barred=np.array(
            [
                [
                    not (
                        p.kind in takers[item.piece]
                        and workshop.can_run(p, filaments[row], families[row].fit)
                    )
                    for item, row in zip(items, family, strict=True)
                ]
                for p in workshop.printers
            ],
            dtype=np.int32,
        ),
        capacity=np.full(len(kinds), task.effort.bed_share),
        kind_of=np.array(
            [[k.printer_kind for k in kinds].index(p.kind) for p in workshop.printers], dtype=np.int32
        ),
        family=np.array(family, dtype=np.int32),
        shape_class=np.array([numbers.setdefault(item.key, len(numbers)) for item in items], dtype=np.int32),
        ticks_per_minute=1.0,
        tables=tables,
        most=_by_kind(most_pieces, families, kinds, workshop),
        longest=_by_kind(longest_minutes, families, kinds, workshop),
    )


def _by_kind(
    limit: Callable[[Workshop, str, Filament], Limit],
    families: Sequence[Family],
    kinds: Sequence[BedKind],
    workshop: Workshop,
) -> NDArray[np.int32]:
    """A limit of each kind and family as a whole number."""
    rows = [
        [limit(workshop, kind.printer_kind, workshop.filament(one.filament)).value for one in families]
        for kind in kinds
    ]
    return np.floor(np.minimum(rows, np.iinfo(np.int32).max) + 1e-6).astype(np.int32)


def _shares(items: Sequence[Item], kinds: Sequence[BedKind], clearance_mm: float) -> NDArray[np.float64]:
    """Area of each outline grown by half the clearance, over that of a bed grown as much."""
    grown_mm2: dict[str, float] = {}
    for item in items:
        if item.key not in grown_mm2:
            rings = [np.asarray(ring, dtype=np.float64) for ring in (item.outline, *item.holes)]
            grown_mm2[item.key] = area(grown(rings[0], rings[1:], clearance_mm / 2.0, COARSE_MM))
    beds = [(math.sqrt(free_region(kind.bed).area_mm2) + clearance_mm) ** 2 for kind in kinds]
    return np.array([[grown_mm2[item.key] / bed for item in items] for bed in beds])


def _goal_data(task: ComposeTask, items: Sequence[Item], families: Sequence[Family], days: int) -> GoalData:
    weights = section_weights(task)
    sections = list(weights)
    piece_of = {piece.name: piece for piece in task.pieces}
    number = {item.piece: n for n, item in enumerate(items)}
    pairs = [(number[a], number[b]) for a, b in pairs_of(task) if a in number and b in number]
    due = {name: minute_of(task.start, moment) for name, moment in task.due.items()}
    return GoalData(
        night=_nights(task, days),
        section=np.array(
            [sections.index(section_of(piece_of[i.piece], task)) for i in items], dtype=np.int32
        ),
        weight=np.array([weights[name] for name in sections]),
        due=np.array([math.floor(max(0.0, due[s])) if s in due else -1 for s in sections], dtype=np.int32),
        pairs=np.array(pairs, dtype=np.int32).reshape(len(pairs), 2),
        failure_per_hour=task.workshop.failure_per_hour,
        gap=VISIT_GAP_MINUTES,
        together=task.workshop.pairs_together,
        **price_arrays(task, [family.filament for family in families], days),
    )


def _nights(task: ComposeTask, days: int) -> NDArray[np.uint8]:
    """Of each minute after the start, whether it is night on the clock of the workshop."""
    zone = zone_of(task.workshop.attendance, task.start)
    length = minutes_of(days)
    quarters = range(0, length, 15)  # clocks change by quarters of an hour
    moments: list[datetime] = [at_minute(task.start, minute, zone) for minute in quarters]
    began = np.array([moment.hour * 60 + moment.minute for moment in moments])
    clock = ((began[:, None] + np.arange(15)) % (24 * 60)).ravel()[:length]
    night = (clock >= NIGHT_SINCE.hour * 60) | (clock < NIGHT_UNTIL.hour * 60)
    return night.astype(np.uint8)
