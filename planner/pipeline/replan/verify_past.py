"""What is over and what is printed, against the earlier plan; shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from planner.model.batch import Batch
from planner.model.plan import Plan
from planner.model.printed import PrintedPiece
from planner.model.replan import Changed, EarlierPlan, Marks, PastRun, Slot
from planner.model.schedule import Draw, Run

HALF_A_HUNDREDTH_G = 0.0051
SAME_G = 0.001


def past_faults(plan: Plan, earlier: EarlierPlan, marks: Marks) -> tuple[str, ...]:
    """One sentence for each bed that is over, each piece that is printed and each slot told otherwise."""
    return (
        *_beds(plan, earlier, marks),
        *_lying(plan, earlier, marks),
        *_printed(plan, earlier),
        *_slots(plan, earlier),
        *_visits(plan, earlier),
        *_changed(plan, earlier),
    )


def density_ratio(plan: Plan, earlier: EarlierPlan, name: str) -> float:
    """Density of now over density of then of a filament that is printed as it was."""
    filament = next((f for f in plan.workshop.filaments if f.name == name), None)
    was = earlier.filaments.get(name)
    if filament is None or was is None or (filament.foaming and filament.nozzle_c != was.nozzle_c):
        return 1.0
    return filament.deposited_g_per_cm3 / was.deposited_g_per_cm3


def _beds(plan: Plan, earlier: EarlierPlan, marks: Marks) -> Iterator[str]:
    """Bed and run are those of the earlier plan; grams follow a density that is known better."""
    beds = {batch.name: batch for batch in earlier.batches}
    runs = {run.batch: run for run in earlier.runs}
    before = len(earlier.past)
    for n, now in enumerate(plan.past):
        name = now.batch.name
        bed = earlier.past[n].batch if n < before else beds.get(name)
        run = earlier.past[n].run if n < before else runs.get(name)
        if bed is None or run is None:
            yield f"{name} is over, and the earlier plan does not know it"
            continue
        ratio = density_ratio(plan, earlier, bed.filament)
        if not _same_bed(now.batch, bed, ratio):
            yield f"{name} is over, and what is told of its bed changed"
        drawn = run.draws if n < before else _drawn(run, now, plan.start, marks, ratio)
        if not _same_run(now.run, run, f"past {n + 1}", drawn, ratio if n < before else 1.0):
            yield f"{name} is over, and what is told of its run changed"
        good = earlier.past[n].good if n < before else _good(now, marks)
        scrapped = earlier.past[n].scrapped if n < before else ()
        again = {*marks.again, *earlier.again, *scrapped}
        if now.good != good or not set(scrapped) <= set(now.scrapped) <= again:
            yield f"{name} is over, and other pieces of it are told to be good than are"


def _same_bed(now: Batch, was: Batch, ratio: float) -> bool:
    close = abs(now.mass_g - was.mass_g * ratio) <= SAME_G
    return close and replace(now, mass_g=was.mass_g) == was


def _drawn(run: Run, now: PastRun, start: datetime, marks: Marks, ratio: float) -> tuple[Draw, ...]:
    """What a run that is over has taken: all of it, or one that failed what it can have taken until then."""
    ended = marks.at.get(run.batch, start)
    length = run.end.timestamp() - run.start.timestamp()
    share = 1.0
    if now.outcome == "failed" and length > 0.0:
        share = min(1.0, max(0.0, (ended.timestamp() - run.start.timestamp()) / length))
    left = share * (sum(draw.grams for draw in run.draws) + run.short_g) * ratio
    found = []
    for draw in run.draws:
        grams = min(left, draw.grams * ratio)
        found.append(Draw(draw.spool, grams, min(draw.before_g * ratio, grams)))
        left = max(0.0, left - draw.grams * ratio)
    return tuple(found)


def _same_run(now: Run, was: Run, name: str, drawn: tuple[Draw, ...], ratio: float) -> bool:
    kept = (now.name, now.printer, now.mark, now.short_g, now.dry_at) == (name, was.printer, "", 0.0, None)
    kept = kept and (now.attended_start, now.changed_from) == (was.attended_start, was.changed_from)
    kept = kept and now.purge_g in (0.0, was.purge_g) and len(now.draws) == len(drawn)
    slack = HALF_A_HUNDREDTH_G * (2 + len(drawn))
    return kept and all(
        mine.spool == its.spool
        and abs(mine.grams - its.grams * ratio) <= slack
        and abs(mine.before_g - its.before_g * ratio) <= slack
        for mine, its in zip(now.draws, drawn, strict=True)
    )


def _good(now: PastRun, marks: Marks) -> tuple[str, ...]:
    """Pieces of a failed bed that are marked as good, in the order in which they lie."""
    if now.outcome != "failed":
        return ()
    return tuple(placed.piece for placed in now.batch.placed if placed.piece in marks.good)


def _lying(plan: Plan, earlier: EarlierPlan, marks: Marks) -> Iterator[str]:
    """A bed lies where it was printed until another is begun there, or somebody clears it."""
    last: dict[str, PastRun] = {}
    for one in sorted(plan.past, key=lambda one: one.run.end.timestamp()):
        last[one.run.printer] = one
    busy = {run.printer for run in plan.schedule.runs if run.mark == "running"}
    told = {task for visit in earlier.handled for task in visit.tasks}
    for n, one in enumerate(plan.past):
        name, printer = one.batch.name, one.run.printer
        stays = last[printer] is one and printer not in busy and name not in marks.cleared
        stays = stays and (n >= len(earlier.past) or earlier.past[n].on_bed)
        unsure = marks.as_planned and f"clear {name} from {printer}" in told
        if one.on_bed and not stays:
            yield f"{name} is told to lie on {printer}, and does not"
        elif stays and not one.on_bed and not unsure:
            yield f"{name} lies on {printer}, and is told to be gone"


def _printed(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """A piece that was printed since is made as the earlier plan had planned it; one of before as it was."""
    for now in plan.printed:
        was = earlier.printed.get(now.piece)
        if was is None or was.batch != now.batch:
            was = _planned(earlier, now)
        if was is None:
            continue
        grams = was.mass_g * density_ratio(plan, earlier, was.filament)
        same = (now.make, now.filament, now.recipe) == (was.make, was.filament, was.recipe)
        if not same or abs(now.mass_g - grams) > SAME_G or now.place not in (None, was.place):
            yield f"{now.piece} is printed, and told otherwise than it was planned"


def _planned(earlier: EarlierPlan, now: PrintedPiece) -> PrintedPiece | None:
    part = earlier.parts.get(earlier.part_of.get(now.piece, ""))
    if part is None:
        return None
    _, place = earlier.weights.get(now.piece, (0.0, None))
    return replace(
        now, make=part.make, mass_g=part.mass_g, filament=part.filament, recipe=part.recipe, place=place
    )


def _slots(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """Where and when a bed was to run is what the earlier plan says."""
    was = {run.batch: (run.printer, run.start.timestamp(), run.end.timestamp()) for run in earlier.runs}
    for change in plan.replan.changes if plan.replan else ():
        if change.was is not None and _told(change.was) != was.get(change.batch):
            yield f"{change.batch} did not run where the changes say that it was to"


def _told(slot: Slot) -> tuple[str, float, float]:
    return slot.printer, slot.start.timestamp(), slot.end.timestamp()


def _visits(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """Visits to which nobody need come are those of the earlier plan that were to come and come no more."""
    if plan.replan is None:
        return
    kept = {visit.at.timestamp() for visit in plan.schedule.visits}
    coming = [at.timestamp() for at in earlier.visits if at.timestamp() >= plan.start.timestamp()]
    gone = [at for at in coming if at not in kept]
    if [at.timestamp() for at in plan.replan.visits_gone] != gone:
        yield "other visits of the earlier plan are told to be gone than are"


def ready_still(plan: Plan, earlier: EarlierPlan) -> tuple[Changed, ...]:
    """What an earlier plan told to be ready and no bed has begun with since."""
    old = {past.batch.name for past in earlier.past}
    used = {past.run.printer for past in plan.past if past.batch.name not in old}
    used |= {run.printer for run in plan.schedule.runs if run.mark == "running"}
    return tuple(one for one in earlier.changed if one.printer not in used)


def _changed(plan: Plan, earlier: EarlierPlan) -> Iterator[str]:
    """A printer that was made ready is so for its next bed, from the spool and with the purge of that.

    What an earlier plan told to be ready stays so until a bed has begun there.
    """
    begun = {past.batch.name for past in plan.past}
    begun |= {run.batch for run in plan.schedule.runs if run.mark == "running"}
    filaments = {batch.name: batch.filament for batch in earlier.batches}
    ready = {}
    for run in sorted(earlier.runs, key=lambda run: run.start.timestamp(), reverse=True):
        if run.batch not in begun:
            purge = plan.workshop.change_purge_g if run.changed_from else 0.0
            spool = run.draws[0].spool if run.draws else ""
            ready[run.printer] = Changed(run.printer, filaments[run.batch], spool, purge)
    ready |= {one.printer: one for one in ready_still(plan, earlier)}
    for now in plan.replan.changed if plan.replan else ():
        if ready.get(now.printer) != now:
            yield f"{now.printer} is told to be ready for another bed than its next"
