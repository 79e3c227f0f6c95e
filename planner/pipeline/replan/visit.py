"""What of a visit is over: beds cleared, filaments changed, by marks or because it went as planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from planner.errors import RecordError
from planner.model.filament import Spool
from planner.model.replan import Changed, EarlierPlan, Marks
from planner.model.schedule import Run
from planner.model.workshop import Workshop
from planner.pipeline.replan.outcomes import Outcomes


@dataclass(frozen=True, slots=True)
class Halfway:
    """Beds that are cleared, printers with another filament on, and which are being served until when.

    ``begun`` are printers on which a bed has begun since the earlier plan: what that told to be on them was
    printed with.
    """

    cleared: frozenset[str] = frozenset()
    changed: tuple[Changed, ...] = ()
    until: Mapping[str, datetime] = field(default_factory=dict)
    begun: frozenset[str] = frozenset()

    def now(self, became: Outcomes) -> Outcomes:
        """The same outcomes with cleared beds empty."""
        past = tuple(replace(p, on_bed=p.on_bed and p.batch.name not in self.cleared) for p in became.past)
        return replace(became, past=past, newly=past[len(past) - len(became.newly) :])

    def shelf(
        self, spools: tuple[Spool, ...], weighed: frozenset[str], before: EarlierPlan
    ) -> tuple[Spool, ...]:
        """Spools less what the changes have purged from them; a weighed one has lost it already.

        A new spool that is on a printer was bought by then: it is on the shelf.
        """
        here = {spool.name for spool in spools}
        opened = {one.spool for one in self.changed} - here
        spools += tuple(
            Spool(use.spool, use.filament, round(use.grams_before, 2), use.price_minor)
            for use in before.spools
            if use.bought and use.spool in opened
        )
        known = {(one.printer, one.filament) for one in before.changed if one.printer not in self.begun}
        gone: dict[str, float] = {}
        for one in self.changed:
            if (one.printer, one.filament) not in known and one.spool not in weighed:
                gone[one.spool] = gone.get(one.spool, 0.0) + one.purged_g
        return tuple(
            replace(s, grams_left=round(max(0.0, s.grams_left - gone.get(s.name, 0.0)), 2)) for s in spools
        )


def halfway(
    earlier: EarlierPlan, marks: Marks, became: Outcomes, workshop: Workshop, now: datetime
) -> Halfway:
    """How far the visit of the moment is.

    A filament that was changed for an earlier plan and has not been printed with since is still on. With
    ``as_planned`` the steps of a visit go one after another as the plan timed them: those that are over are
    done, and the one under way is done when it ends.

    Raises
    ------
    RecordError
        for a cleared bed that lies on no printer, a changed printer on which nothing is to be started
    """
    lying = {past.run.printer: past.batch.name for past in became.past if past.on_bed}
    following = following_runs(became)
    filaments = {batch.name: batch.filament for batch in earlier.batches}
    cleared = {_lying(bed, lying, earlier) for bed in marks.cleared}
    begun = {run.printer for run in became.running} | {past.run.printer for past in became.newly}
    changed = {one.printer: one for one in earlier.changed if one.printer not in begun}
    for printer in marks.changed:
        run = _to_start(printer, following, workshop)
        changed.setdefault(printer, _changed(run, filaments[run.batch], workshop))
    until: dict[str, datetime] = {}
    if marks.as_planned:
        cleared |= _cleared_visits(earlier, lying, now)
        loaded = {printer.name: printer.loaded for printer in workshop.printers}
        machines = {printer.name: printer for printer in workshop.printers}
        fits = {batch.name: batch.fit for batch in earlier.batches}
        for printer, run in following.items():
            if printer not in loaded:
                continue
            lies, other = printer in lying, loaded[printer] != filaments[run.batch]
            other = other and printer not in changed
            at = run.start - timedelta(minutes=workshop.start_minutes)
            at -= timedelta(minutes=workshop.change_minutes if other else 0)
            asked = machines[printer].fit_for(fits[run.batch]) or machines[printer].fitted
            at -= timedelta(minutes=machines[printer].refit_minutes(machines[printer].fitted, asked))
            clears = at - timedelta(minutes=workshop.clear_minutes if lies else 0)
            if lies and clears < now:
                cleared.add(lying[printer])
                until[printer] = at
            if other and at < now:
                changed[printer] = _changed(run, filaments[run.batch], workshop)
                until[printer] = at + timedelta(minutes=workshop.change_minutes)
    going = {printer: moment for printer, moment in until.items() if moment > now}
    made = tuple(changed[name] for name in sorted(changed))
    return Halfway(frozenset(cleared), made, going, frozenset(begun))


def starts(workshop: Workshop) -> dict[str, int]:
    """Minutes that a start takes on each printer that is there."""
    return dict.fromkeys((printer.name for printer in workshop.printers), workshop.start_minutes)


def with_changed(workshop: Workshop, halfway: Halfway, spools: tuple[Spool, ...]) -> Workshop:
    """The workshop with these spools, and the filaments that are on its printers now, each from its spool."""
    on = {one.printer: one for one in halfway.changed}
    here = {spool.name for spool in spools}
    printers = tuple(
        replace(p, loaded=one.filament, mounted=one.spool if one.spool in here else "")
        if (one := on.get(p.name)) is not None
        else p
        for p in workshop.printers
    )
    return replace(workshop, printers=printers, spools=spools)


def following_runs(became: Outcomes) -> dict[str, Run]:
    """The open run that comes next on each printer on which nothing runs."""
    busy = {run.printer for run in became.running}
    found: dict[str, Run] = {}
    for run in sorted(became.open, key=lambda run: run.start):
        if run.printer not in busy:
            found.setdefault(run.printer, run)
    return found


def _changed(run: Run, filament: str, workshop: Workshop) -> Changed:
    spool = run.draws[0].spool if run.draws else ""
    return Changed(run.printer, filament, spool, workshop.change_purge_g if run.changed_from else 0.0)


def _cleared_visits(earlier: EarlierPlan, lying: Mapping[str, str], now: datetime) -> set[str]:
    """Beds whose clearing belonged to a visit that is over."""
    told = {
        task
        for visit in earlier.handled
        if visit.at + timedelta(minutes=visit.minutes) <= now
        for task in visit.tasks
    }
    return {bed for printer, bed in lying.items() if f"clear {bed} from {printer}" in told}


def _lying(bed: str, lying: Mapping[str, str], earlier: EarlierPlan) -> str:
    if bed not in lying.values():
        known = ", ".join(sorted(lying.values())) or "none"
        raise RecordError(
            f"{bed!r} lies on no printer in {earlier.source}, so it cannot have been cleared.",
            where="--cleared",
            next_step=f"Mark it done or failed as well, or name one that lies there: {known}.",
        )
    return bed


def _to_start(printer: str, following: Mapping[str, Run], workshop: Workshop) -> Run:
    names = {one.name for one in workshop.printers}
    if printer not in following or printer not in names:
        known = ", ".join(sorted(set(following) & names)) or "none"
        raise RecordError(
            f"no bed is to be started next on {printer!r}.",
            where="--changed",
            next_step=f"Printers with a bed to start: {known}.",
        )
    return following[printer]
