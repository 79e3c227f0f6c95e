"""Whether a plan goes on rightly from an earlier one; it shares no code with what made it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from planner.model.learned import Taught
from planner.model.plan import Plan
from planner.model.printed import PrintedPiece
from planner.model.replan import EarlierPlan, Marks, PastRun
from planner.pipeline.replan.verify_past import density_ratio, past_faults, ready_still

HALF_A_HUNDREDTH_G = 0.0051


def since_faults(plan: Plan, earlier: EarlierPlan, marks: Marks) -> tuple[str, ...]:
    """One sentence for everything that does not hold between the two plans and the marks."""
    return (
        *_series(plan, earlier),
        *_fates(plan, earlier, marks),
        *_running(plan, earlier, marks),
        *_pieces(plan, earlier, marks),
        *_stays(plan, earlier),
        *_remembered(plan, earlier),
        *_moves(plan, earlier),
        *_shelf(plan, earlier),
        *_served(plan, marks),
        *past_faults(plan, earlier, marks),
    )


def _series(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """From which plan it goes on, and that what was over then is over as it was."""
    made = plan.replan
    if made is None:
        return
    if made.since != earlier.identification:
        yield "the plan is told to go on from another plan"
    if made.earlier_finish.timestamp() != earlier.finish.timestamp():
        yield f"the earlier plan is told to end at {made.earlier_finish}, it ended at {earlier.finish}"
    if (made.series, made.generation) != (earlier.series, earlier.generation + 1):
        yield f"the plan is told as number {made.generation} of its series, it is {earlier.generation + 1}"
    last = _last_number(plan, earlier)
    if made.last_bed != last:
        yield f"bed {last} was the last one, told is {made.last_bed}"
    for was, now in zip(earlier.past, plan.past, strict=False):
        if (was.outcome, *_slot(was)) != (now.outcome, *_slot(now)):
            yield f"{was.batch.name} is over, and what is told of it changed"


def _last_number(plan: Plan, earlier: EarlierPlan) -> int:
    """The highest number that a bed of the series ever had."""
    names = [bed.name for bed in (*earlier.batches, *(one.batch for one in earlier.past), *plan.batches)]
    ends = [name[len(name.rstrip("0123456789")) :] for name in names]
    return max(earlier.last_bed, *(int(end) for end in ends if end), 0)


def _slot(past: PastRun) -> tuple[str, str, str, float, float]:
    run = past.run
    return past.batch.name, run.name, run.printer, run.start.timestamp(), run.end.timestamp()


def _fates(plan: Plan, earlier: EarlierPlan, marks: Marks) -> Iterator[str]:
    """Every marked bed is what its mark says; every bed is over, runs, is planned, or was dropped."""
    over = {past.batch.name: past.outcome for past in plan.past}
    runs = {run.batch: run.mark for run in plan.schedule.runs}
    dropped = (
        {change.batch for change in plan.replan.changes if change.kind == "dropped"} if plan.replan else set()
    )
    for name in marks.done:
        if over.get(name) != "done":
            yield f"{name} is done, but not in the plan"
    for name in marks.failed:
        if over.get(name) != "failed":
            yield f"{name} failed, but not in the plan"
    for name in marks.running:
        if runs.get(name) != "running":
            yield f"{name} is running, but not in the plan"
    for run in earlier.runs:
        places = (run.batch in over) + (run.batch in runs) + (run.batch in dropped)
        if places != 1:
            yield f"{run.batch} of the earlier plan is in {places} places of the new one"


def _served(plan: Plan, marks: Marks) -> Iterator[str]:
    """What was cleared and changed is not to be done again."""
    tasks = [task for visit in plan.schedule.visits for task in visit.tasks]
    for bed in marks.cleared:
        if any(task.startswith(f"clear {bed} from ") for task in tasks):
            yield f"{bed} was cleared, and is to be cleared again"
    loaded = {printer.name: printer.loaded for printer in plan.workshop.printers}
    ready = {one.printer: one.filament for one in plan.replan.changed} if plan.replan else {}
    for printer in marks.changed:
        if ready.get(printer) is None or loaded.get(printer) != ready[printer]:
            yield f"{printer} was changed, and the plan does not know it"


def _running(plan: Plan, earlier: EarlierPlan, marks: Marks) -> Iterator[str]:
    """What runs keeps its bed, printer, first spool and grams, and its end where that is to come or told."""
    was = {run.batch: run for run in earlier.runs}
    beds = {batch.name: batch for batch in earlier.batches}
    now = {batch.name: batch for batch in plan.batches}
    for run in plan.schedule.runs:
        if run.mark != "running":
            continue
        old = was[run.batch]
        ratio = density_ratio(plan, earlier, beds[run.batch].filament)
        grams = sum(draw.grams for draw in run.draws) + run.short_g
        before = (sum(draw.grams for draw in old.draws) + old.short_g) * ratio
        same = abs(grams - before) <= HALF_A_HUNDREDTH_G * (1 + len(run.draws))
        same = same and [d.spool for d in run.draws][:1] == [d.spool for d in old.draws][:1]
        if run.printer != old.printer or not same or beds[run.batch].placed != now[run.batch].placed:
            yield f"{run.batch} runs, and its bed, printer or spool was changed"
        bed, made = now[run.batch], beds[run.batch]
        kept = (bed.printer_kind, bed.filament, bed.repeats) == (
            made.printer_kind,
            made.filament,
            made.repeats,
        )
        kept = kept and bed.fit == made.fit and abs(bed.fill - made.fill) <= 0.0051
        kept = kept and (bed.digest, bed.machine_file) == (made.digest, made.machine_file)
        kept = kept and run.attended_start == old.attended_start and run.changed_from == old.changed_from
        close = abs(bed.minutes - made.minutes) <= 0.006 and abs(bed.height_mm - made.height_mm) <= 0.001
        if not (kept and close and abs(bed.layer_height_mm - made.layer_height_mm) <= 0.0001):
            yield f"{run.batch} runs, and what is told of its bed changed"
        ends = marks.at.get(run.batch, old.end)
        if run.batch not in marks.at and old.end <= plan.start:
            ends = run.end  # late, and nobody says until when: it must not end before the plan begins
            if run.end <= plan.start:
                yield f"{run.batch} runs, and is taken to end at once"
        if old.start <= plan.start and (run.start, run.end) != (old.start, ends):
            yield f"{run.batch} runs, and its times were changed"


def _pieces(plan: Plan, earlier: EarlierPlan, marks: Marks) -> Iterator[str]:
    """What failed is printed again, what is there is not, and nothing is forgotten."""
    wanted = {piece.name for piece in plan.pieces}
    coming: dict[str, int] = defaultdict(int)
    for batch in plan.batches:
        for placed in batch.placed:
            coming[placed.piece] += 1
    there: set[str] = set()
    for past in plan.past:
        for placed in past.batch.placed:
            left = past.outcome == "done" or placed.piece in past.good
            if left and placed.piece not in past.scrapped:
                there.add(placed.piece)
    nowhere = {misfit.piece for misfit in plan.misfits}
    for name in {*marks.again, *earlier.again}:
        if name in there:
            yield f"{name} is to be printed again, and counts as there"
    for name in sorted(wanted):
        if coming[name] + (name in there) + (name in nowhere) != 1:
            yield f"{name} is there or printed {coming[name] + (name in there)} times"


def _stays(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """A bed that keeps its name has its pieces where they were, as they were made, for as long as before."""
    beds = {batch.name: batch for batch in earlier.batches}
    part_of = {piece.name: piece.part for piece in plan.pieces}
    running = {run.batch for run in plan.schedule.runs if run.mark == "running"}
    for batch in plan.batches:
        old = beds.get(batch.name)
        if old is None or batch.name in running:
            continue
        lies = [(p.piece, p.x_mm, p.y_mm, p.turn_deg) for p in batch.placed]
        lay = [(p.piece, p.x_mm, p.y_mm, p.turn_deg) for p in old.placed]
        by_file = plan.taught is not None and batch.name in plan.taught.files  # verify_minutes looks at those
        minutes = 0.0 if by_file else abs(batch.minutes - old.minutes)
        same = (batch.filament, batch.digest, batch.repeats) == (old.filament, old.digest, old.repeats)
        if lies != lay or minutes > 0.006 or not same:
            yield f"{batch.name} keeps its name and is another bed"
        for placed in batch.placed:
            was = earlier.parts.get(earlier.part_of.get(placed.piece, ""))
            if (
                was is not None
                and was.make is not None
                and was.make.differs(plan.makes[part_of[placed.piece]])
            ):
                yield f"{batch.name} keeps its name, and {placed.piece} is made otherwise"


def _remembered(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """What was printed keeps its make, and its grams but for a density that is known better."""
    now = {one.piece: one for one in plan.printed}
    for name, was in earlier.printed.items():
        is_ = now.get(name)
        if is_ is None or is_.batch != was.batch:
            continue
        grams = density_ratio(plan, earlier, was.filament) * was.flying_g
        if plan.taught is not None:
            grams = _as_taught(plan, earlier, was)
        if is_.make != was.make or abs(is_.flying_g - grams) > 0.001:
            yield f"{name} is printed, and what is remembered of it changed"


def _as_taught(plan: Plan, earlier: EarlierPlan, was: PrintedPiece) -> float:
    """By the scale; else by the tables and what is learned of its filament and recipe."""
    taught = plan.taught or Taught()
    if was.piece in taught.weighed:
        return taught.weighed[was.piece].grams
    factor = earlier.taught.factors.get(earlier.part_of.get(was.piece, ""), 1.0)
    tables = earlier.taught.predicted.get(was.piece, was.flying_g / factor)
    lesson = taught.lessons.get((was.filament, was.recipe))
    return tables * (factor if lesson is None else lesson.factor)


def _moves(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """The number of beds that moved, counted anew."""
    was = {run.batch: (run.printer, run.start) for run in earlier.runs}
    moved = sum(
        run.batch in was and (run.printer, run.start) != was[run.batch]
        for run in plan.schedule.runs
        if not run.mark
    )
    if plan.replan is None or moved != plan.replan.moved:
        yield f"{moved} beds moved, which is not what the plan tells"


def _shelf(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """Of a spool that nobody weighed, what was drawn since is gone."""
    known = {past.run.name for past in earlier.past}
    drawn: dict[str, float] = defaultdict(float)
    for past in plan.past[len(earlier.past) :]:
        for n, draw in enumerate(past.run.draws):
            purge = past.run.purge_g if n == 0 and not draw.before_g else 0.0
            drawn[draw.spool] += draw.grams - draw.before_g + purge
    if len(known) > len(plan.past):
        yield "runs that were over are forgotten"
    before = {use.spool: use for use in earlier.spools}
    told = plan.replan.told_g if plan.replan else {}
    known_changes = {(one.printer, one.filament) for one in ready_still(plan, earlier)}
    for one in plan.replan.changed if plan.replan else ():
        if (one.printer, one.filament) not in known_changes:
            drawn[one.spool] += one.purged_g
    for spool in plan.workshop.spools:
        use = before.get(spool.name)
        weighed = spool.name in told and abs(told[spool.name] - earlier.told_g.get(spool.name, -1.0)) > 0.005
        if weighed and abs(spool.grams_left - told[spool.name]) > HALF_A_HUNDREDTH_G:
            yield f"spool {spool.name} weighs {told[spool.name]} g, and is taken for {spool.grams_left} g"
        if use is None or weighed:
            continue
        if abs(density_ratio(plan, earlier, spool.filament) - 1.0) > 1e-6:
            continue  # draws of before are corrected for its density
        left = max(0.0, use.grams_before - drawn[spool.name])
        if abs(left - spool.grams_left) > HALF_A_HUNDREDTH_G:
            yield f"spool {spool.name} holds {spool.grams_left} g, but {left:.2f} g are left"
