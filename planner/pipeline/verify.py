"""Every independent check of a finished plan, by code that shares nothing with the search."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import timedelta

import numpy as np

from planner.model.batch import Batch
from planner.model.part import Part, Piece
from planner.model.plan import Plan
from planner.nesting.problem.item import FilledBed, Item, bed_kind
from planner.nesting.verify import verify_beds
from planner.pipeline.verify_asked import asked_faults
from planner.pipeline.verify_balance import weight_faults
from planner.pipeline.verify_beds import bed_faults, loose_faults
from planner.pipeline.verify_bound import bound_faults
from planner.pipeline.verify_build import build_faults
from planner.pipeline.verify_colours import colour_faults
from planner.pipeline.verify_costs import costing_faults
from planner.pipeline.verify_deposits import deposit_faults
from planner.pipeline.verify_goals import goal_faults
from planner.pipeline.verify_lots import lot_faults
from planner.pipeline.verify_minutes import minutes_faults
from planner.pipeline.verify_risk import risk_faults
from planner.pipeline.verify_series import series_faults
from planner.pipeline.verify_several import several_faults
from planner.pipeline.verify_sums import budget_faults, finish_faults
from planner.scheduling.verify import verify_schedule
from planner.scheduling.verify_beyond import beyond_faults
from planner.scheduling.verify_buying import verify_buying
from planner.scheduling.verify_tasks import task_faults
from planner.scheduling.verify_told import told_faults


def faults(plan: Plan) -> tuple[str, ...]:
    """One sentence for everything that does not hold; empty for a sound plan."""
    loose = tuple(loose_faults(plan))
    if loose:
        return (*loose, *_pieces(plan))
    return (
        *_pieces(plan),
        *_beds(plan),
        *_alike(plan),
        *_within_limits(plan),
        *bed_faults(plan, _running(plan)),
        *deposit_faults(plan),
        *minutes_faults(plan, _running(plan)),
        *colour_faults(plan, _running(plan)),
        *lot_faults(plan),
        *verify_schedule(
            plan.schedule,
            plan.spools,
            plan.batches,
            plan.workshop,
            plan.start,
            {past.run.printer: past.batch.name for past in plan.past if past.on_bed},
        ),
        *verify_buying(
            plan.schedule,
            plan.spools,
            plan.batches,
            plan.workshop,
            plan.start,
            goes_on=plan.replan is not None,
        ),
        *beyond_faults(plan.schedule, plan.spools, plan.batches, plan.workshop),
        *task_faults(
            plan.schedule,
            plan.batches,
            plan.workshop,
            plan.start,
            {past.run.printer: past.batch.name for past in plan.past if past.on_bed},
        ),
        *told_faults(plan.schedule, plan.spools, plan.workshop, plan.start),
        *bound_faults(plan),
        *build_faults(plan),
        *goal_faults(plan),
        *_going_on(plan),
        *_weighed_as_printed(plan),
        *_ended(plan),
        *budget_faults(plan.mass, plan.balance, plan.cost),
        *_weights(plan),
        *costing_faults(plan),
        *series_faults(plan),
        *several_faults(plan),
        *risk_faults(plan),
    )


def _weights(plan: Plan) -> tuple[str, ...]:
    """Glue and balance of one airframe; those of several are looked at one by one."""
    if plan.airframe.members:
        return ()
    return (
        *finish_faults(plan.airframe.finish, plan.mass),
        *weight_faults(plan.airframe, plan.mass, plan.balance, plan.option_effects),
    )


def _pieces(plan: Plan) -> Iterator[str]:
    """Every part of the chosen options as often as it says, in both hands where it is mirrored."""
    wanted: Counter[tuple[str, bool]] = Counter()
    for part in plan.airframe.parts:
        if plan.airframe.chosen(part.option):
            wanted[part.name, False] += part.copies
            wanted[part.name, True] += part.copies if part.mirror else 0
    made = Counter((piece.part, piece.mirrored) for piece in plan.pieces)
    for key in sorted(wanted.keys() | made.keys()):
        if wanted[key] != made[key]:
            yield f"{key[0]}{' mirrored' if key[1] else ''}: {wanted[key]} wanted, {made[key]} planned"
    printed = Counter(item.what for item in plan.mass.items if item.kind == "printed")
    if printed != Counter(piece.name for piece in plan.pieces):
        yield "the mass does not count every piece just once"


def _item(plan: Plan, piece: Piece) -> Item:
    """A piece as the bed sees it, from its deposit alone: mirrored across x, lowest corner at the origin."""
    deposit = plan.deposits[piece.part]
    flip = np.array([-1.0 if piece.mirrored else 1.0, 1.0])
    rings = [np.array(ring) * flip for ring in (deposit.footprint_mm, *deposit.inside_holes)]
    rings = [ring[::-1] if piece.mirrored else ring for ring in rings]
    low = rings[0].min(axis=0)
    outer, *holes = [tuple((x, y) for x, y in (ring - low).tolist()) for ring in rings]
    part = next(part for part in plan.parts if part.name == piece.part)
    turns, height = part.turns_deg or None, deposit.extents_mm[2]
    return Item(
        piece.name, outer, tuple(holes), height, turns, piece.section, piece.name, part.nothing_inside
    )


def _beds(plan: Plan) -> tuple[str, ...]:
    away = _in_hand(plan) | {
        p.piece for batch in plan.batches if batch.name in _running(plan) for p in batch.placed
    }
    items = [_item(plan, piece) for piece in plan.pieces if piece.name not in away]
    printers = {printer.kind: printer for printer in plan.workshop.printers}
    beds = [
        FilledBed(
            bed_kind(printers[batch.printer_kind]),
            batch.placed,
            batch.fill,
        )
        for batch in plan.batches
        if batch.name not in _running(plan)
    ]
    return verify_beds(beds, items, plan.workshop.clearance_mm, plan.misfits)


def _alike(plan: Plan) -> Iterator[str]:
    """One filament, layer height and first layer height a bed; grams and height are the pieces' own."""
    part_of = {piece.name: piece.part for piece in plan.pieces}
    parts = {part.name: part for part in plan.parts}
    for batch in plan.batches:
        if batch.name in _running(plan):
            continue  # it lies as it lies, whatever its parts have become since
        made = [parts[part_of[placed.piece]] for placed in batch.placed if placed.piece in part_of]
        kinds = {(p.filament, p.recipe.layer_height_mm, p.recipe.first_height_mm) for p in made}
        yield from asked_faults(batch, made, plan.workshop)
        if len(kinds) != 1 or (batch.filament, batch.layer_height_mm) != next(iter(kinds))[:2]:
            yield f"{batch.name} mixes filaments or layer heights: {sorted(kinds)}"
        grams = sum(plan.deposits[part.name].mass_g for part in made)
        grams *= plan.taught.files[batch.name].share if _by_file(plan, batch.name) and plan.taught else 1.0
        if abs(grams - batch.mass_g) > 1e-6 * max(1.0, grams):
            yield f"{batch.name}: {batch.mass_g} g is told, its pieces weigh {grams} g"
        file = plan.taught.files[batch.name].file if _by_file(plan, batch.name) and plan.taught else ""
        if file != batch.machine_file:
            yield f"{batch.name} goes by {file or 'no machine file'}, {batch.machine_file or 'none'} is told"


def _within_limits(plan: Plan) -> Iterator[str]:
    """Hours, pieces, pieces alone, hands together and sections apart, of every bed that had not begun."""
    workshop = plan.workshop
    pieces = {piece.name: piece for piece in plan.pieces}
    parts = {part.name: part for part in plan.parts}
    open_beds = [batch for batch in plan.batches if batch.name not in _running(plan)]
    for batch in open_beds:
        filament = next(f for f in workshop.filaments if f.name == batch.filament)
        printers = [p for p in workshop.printers if p.kind == batch.printer_kind]
        asked = [workshop.longest_run_h, filament.longest_run_h, *(p.longest_run_h for p in printers)]
        hours = [h for h in asked if h is not None]
        if hours and not _by_file(plan, batch.name) and batch.minutes > 60.0 * min(hours) + 1e-6:
            yield f"{batch.name} lasts {batch.minutes / 60.0:.2f} h, longest_run_h = {min(hours):g}"
        counts = [filament.most_pieces, *(p.most_pieces for p in printers)]
        many = [most for most in counts if most is not None]
        if many and len(batch.placed) > min(many):
            yield f"{batch.name} holds {len(batch.placed)} pieces, most_pieces = {min(many)}"
        here = [pieces[placed.piece] for placed in batch.placed if placed.piece in pieces]
        if len(here) > 1 and any(parts[piece.part].alone for piece in here):
            yield f"{batch.name} holds a piece that lies alone, and {len(here) - 1} more"
        sections = {piece.section or parts[piece.part].section for piece in here}
        if not workshop.mix_sections and len(sections) > 1:
            yield f"{batch.name} mixes sections: {', '.join(sorted(sections))}"
    if workshop.pairs_together:
        yield from _parted(open_beds, pieces, parts)


def _parted(beds: list[Batch], pieces: Mapping[str, Piece], parts: Mapping[str, Part]) -> Iterator[str]:
    """As many left hands as right ones lie on every bed, as far as there are both."""
    sides: dict[str, Counter[tuple[str, str]]] = {}
    for batch in beds:
        for placed in batch.placed:
            piece = pieces.get(placed.piece)
            if piece is not None and piece.hand in ("left", "right"):
                part = parts[piece.part]
                one = part.mirror or part.stack is None
                stack = part.stack
                place = part.name if one or stack is None else f"{stack.order} of {stack.name}"
                sides.setdefault(place, Counter())[batch.name, piece.hand] += 1
    for place, count in sides.items():
        whole = [sum(n for (_, hand), n in count.items() if hand == side) for side in ("left", "right")]
        together = sum(min(count[bed.name, "left"], count[bed.name, "right"]) for bed in beds)
        if together < min(whole):
            yield f"{min(whole) - together} of {min(whole)} pairs of {place} are parted"


def _by_file(plan: Plan, bed: str) -> bool:
    """Whether grams and minutes of a bed are those of its machine file."""
    return plan.taught is not None and bed in plan.taught.files


def _running(plan: Plan) -> frozenset[str]:
    """Beds that had begun before the plan was made."""
    return frozenset(run.batch for run in plan.schedule.runs if run.mark == "running")


def _weighed_as_printed(plan: Plan) -> Iterator[str]:
    """A piece that is there, or prints now, weighs what was printed; every other what its part would."""
    there = _in_hand(plan) | {
        p.piece for batch in plan.batches if batch.name in _running(plan) for p in batch.placed
    }
    printed = {one.piece: one for one in plan.printed}
    part_of = {piece.name: piece.part for piece in plan.pieces}
    sections = {piece.name: piece.section for piece in plan.pieces}
    for item in plan.mass.items:
        if item.kind != "printed" or item.what not in part_of:
            continue
        deposit = plan.deposits[part_of[item.what]]
        grams = deposit.mass_g * (1.0 - deposit.support_mm3 / (deposit.volume_mm3 or 1.0))
        if plan.taught is not None:
            shares = [one.share for one in plan.taught.files.values() if item.what in one.pieces]
            grams *= shares[0] if shares else 1.0
            scale = plan.taught.weighed.get(item.what)  # who weighed it has it, whatever is told of its bed
            grams = grams if scale is None else scale.grams
        if item.what in there:
            if item.what not in printed:
                yield f"{item.what} is printed, and nothing is remembered of it"
                continue
            grams = printed[item.what].flying_g
        if item.section != sections[item.what]:
            yield f"{item.what} is weighed with {item.section!r}, it is of {sections[item.what]!r}"
        if abs(grams - item.mass_g) > 1e-6 * max(1.0, grams):
            yield f"{item.what} counts {item.mass_g} g, but is {grams} g"
        if item.what in there and printed[item.what].batch not in _beds_of(plan, item.what):
            yield f"{item.what} is told from {printed[item.what].batch}, which did not print it"
    for name in sorted(printed.keys() - there):
        yield f"{name} is remembered as printed, but no bed has left it"


def _beds_of(plan: Plan, piece: str) -> set[str]:
    """Beds that have left a piece for use, or print it now."""
    left = [past.batch for past in plan.past if piece in past.delivered]
    left += [batch for batch in plan.batches if batch.name in _running(plan)]
    return {batch.name for batch in left if any(placed.piece == piece for placed in batch.placed)}


def _ended(plan: Plan) -> Iterator[str]:
    """Where nothing is left to print, the finish is when the last bed ended."""
    if not plan.schedule.runs and plan.past:
        last = max(past.run.end.timestamp() for past in plan.past)
        if plan.schedule.finish.timestamp() != last:
            yield "the finish is not when the last bed ended"


def _in_hand(plan: Plan) -> frozenset[str]:
    """Pieces that runs of earlier plans have left for use."""
    return frozenset(
        placed.piece
        for past in plan.past
        for placed in past.batch.placed
        if (past.outcome == "done" or placed.piece in past.good) and placed.piece not in past.scrapped
    )


def _going_on(plan: Plan) -> Iterator[str]:
    """Nothing that is there is printed twice, and the moves are as they are told."""
    for batch in plan.batches:
        for placed in batch.placed:
            if placed.piece in _in_hand(plan):
                yield f"{batch.name} prints {placed.piece}, which is there already"
    if plan.replan is None:
        return
    moved = [c for c in plan.replan.changes if c.was and c.now and c.kind in ("stays", "moved")]
    truly = [
        c for c in moved if c.was and c.now and (c.was.printer, c.was.start) != (c.now.printer, c.now.start)
    ]
    if (len(moved), len(truly)) != (plan.replan.open_batches, plan.replan.moved):
        yield f"{plan.replan.moved} beds are told to move, {len(truly)} do"
    slots = {run.batch: (run.printer, run.start, run.end) for run in plan.schedule.runs}
    marks = {run.batch: run.mark for run in plan.schedule.runs}
    over = {past.batch.name: past.outcome for past in plan.past}
    for change in plan.replan.changes:
        open_ = "running" if marks.get(change.batch) else "new" if change.was is None else "stays moved"
        became = open_ if change.batch in marks else over.get(change.batch, "dropped")
        if change.kind not in became.split():
            yield f"{change.batch} is told as {change.kind}, it is {became.replace(' ', ' or ')}"
    for change in plan.replan.changes:
        if change.now and slots.get(change.batch) != (change.now.printer, change.now.start, change.now.end):
            yield f"{change.batch} does not run where the changes say"
    if plan.schedule.runs and plan.replan.best.timestamp() > plan.schedule.finish.timestamp():
        yield f"{plan.replan.best} is told as the best finish, and the plan ends sooner"
    latest = plan.replan.best + timedelta(hours=plan.replan.tolerance_h)
    for run in plan.schedule.runs:
        if run.end > latest and run.mark != "running":
            yield f"{run.name} ends later than the tolerated delay allows"
