"""A sound plan made by hand, not by the search, so that each rule of the check can be broken by itself.

One person, there 06:00-08:00 and 18:00-23:00. Monday 18:00, the plan begins:

- tall prints bed 0 since 12:00, 600 minutes; spool A is empty after 40 of 50 g: at 20:00 B goes on
- one: 18:00 start bed 1 (300 min); Tuesday 06:00 clear it, change to foaming PLA, start bed 2 at 06:25
- two: 18:05 put TPU on, start bed 3 at 18:20 (100 min); cold at 20:20: clear it, start bed 4 at 20:35
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from planner.model.attendance import Attendance
from planner.model.batch import Batch
from planner.model.filament import Spool
from planner.model.printer import Printer
from planner.model.schedule import Draw, Run, Schedule, SpoolUse, Visit
from planner.model.workshop import Workshop
from planner.scheduling.verify import verify_schedule
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

PLA, FOAM, TPU = "PLA", "foaming PLA", "TPU"


def at(clock: str, day: int = 0) -> datetime:
    """A moment of Monday, or so many days later."""
    hour, minute = map(int, clock.split(":"))
    return MONDAY.replace(hour=hour, minute=minute) + timedelta(days=day)


def run(bed: str, printer: str, start: datetime, minutes: float, *draws: Draw, **more: object) -> Run:
    """A run of that bed; it purges 1 g unless said otherwise."""
    own = {"attended_start": True, "purge_g": 1.0, **more}
    end = start + timedelta(minutes=minutes)
    return Run(f"run of {bed}", bed, printer, start, end, draws=draws, **own)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Case:
    """All that the check looks at."""

    runs: tuple[Run, ...]
    uses: tuple[SpoolUse, ...]
    batches: tuple[Batch, ...]
    visits: tuple[Visit, ...]
    shop: Workshop
    finish: datetime
    interventions: int
    on_bed: tuple[tuple[str, str], ...] = ()
    start: datetime = MONDAY

    def schedule(self) -> Schedule:
        """As the check takes it."""
        hours = (self.finish - self.start).total_seconds() / 3600.0
        return Schedule(self.runs, self.visits, self.finish, hours, {}, None, None, self.interventions, 1)

    def faults(self) -> tuple[str, ...]:
        """What the check finds."""
        given = (self.uses, self.batches, self.shop, self.start, dict(self.on_bed))
        return verify_schedule(self.schedule(), *given)


SOUND = Case(
    runs=(
        run(
            "bed 0",
            "tall",
            at("12:00"),
            600,
            Draw("A", 40.0, before_g=20.0),
            Draw("B", 10.0),
            mark="running",
        ),
        run("bed 1", "one", at("18:05"), 300, Draw("C", 50.0)),
        run("bed 3", "two", at("18:20"), 100, Draw("new 2", 50.0)),
        run("bed 4", "two", at("20:35"), 60, Draw("new 2", 50.0)),
        run("bed 2", "one", at("06:25", 1), 200, Draw("new 1", 50.0), purge_g=9.0, changed_from=PLA),
    ),
    uses=(
        SpoolUse("A", PLA, False, 25.0, 20.0, 0.0, 5.0, None),
        SpoolUse("B", PLA, False, 400.0, 10.0, 0.0, 390.0, None),
        SpoolUse("C", PLA, False, 400.0, 50.0, 1.0, 349.0, None),
        SpoolUse("new 1", FOAM, True, 500.0, 50.0, 9.0, 441.0, None),
        SpoolUse("new 2", TPU, True, 1000.0, 100.0, 2.0, 898.0, None),
    ),
    batches=(
        make_batch("bed 0", 600.0, "tall"),
        make_batch("bed 1", 300.0),
        make_batch("bed 2", 200.0, filament=FOAM),
        make_batch("bed 3", 100.0, filament=TPU),
        make_batch("bed 4", 60.0, filament=TPU),
    ),
    visits=(
        Visit(at("18:00"), 20, ("start bed 1", "start bed 3")),
        Visit(at("20:00"), 10, ("put spool B on tall",)),
        Visit(at("20:20"), 15, ("clear bed 3", "start bed 4")),
        Visit(at("22:00"), 20, ("clear bed 0", "clear bed 4")),
        Visit(at("06:00", 1), 25, ("clear bed 1", "start bed 2")),
        Visit(at("18:00", 1), 10, ("clear bed 2",)),
    ),
    shop=make_workshop(
        evenings_and_mornings(),
        Printer("one", "desk", loaded=PLA, cool_down_minutes=15.0),
        Printer("two", "desk", cool_down_minutes=20.0),
        Printer("tall", "tall", loaded=PLA),
        spools=(Spool("A", PLA, 25.0), Spool("B", PLA, 400.0), Spool("C", PLA, 400.0)),
    ),
    finish=at("09:45", 1),
    interventions=6,
)

Break = Callable[[Case], Case]


def runs(bed: str, **changes: object) -> Break:
    """The run of one bed otherwise; the finish follows."""

    def broken(case: Case) -> Case:
        new = tuple(replace(r, **changes) if r.batch == bed else r for r in case.runs)  # type: ignore[arg-type]
        return replace(case, runs=new, finish=max(r.end for r in new))

    return broken


def later(bed: str, minutes: float) -> Break:
    """One run later; its visit does not follow."""

    def broken(case: Case) -> Case:
        own = next(r for r in case.runs if r.batch == bed)
        shift = timedelta(minutes=minutes)
        return runs(bed, start=own.start + shift, end=own.end + shift)(case)

    return broken


def spool(name: str, **changes: object) -> Break:
    """What is told of one spool otherwise."""
    return lambda case: replace(
        case,
        uses=tuple(replace(u, **changes) if u.spool == name else u for u in case.uses),  # type: ignore[arg-type]
    )


def batch(name: str, **changes: object) -> Break:
    """One bed otherwise."""
    return lambda case: replace(
        case,
        batches=tuple(replace(b, **changes) if b.name == name else b for b in case.batches),  # type: ignore[arg-type]
    )


def visits(*new: Visit) -> Break:
    """Other visits, rightly counted."""
    return lambda case: replace(case, visits=new, interventions=len(new))


def shop(**changes: object) -> Break:
    """Another workshop."""
    return lambda case: replace(case, shop=replace(case.shop, **changes))  # type: ignore[arg-type]


def printer(name: str, **changes: object) -> Break:
    """One printer otherwise."""
    return lambda case: shop(
        printers=tuple(replace(p, **changes) if p.name == name else p for p in case.shop.printers)  # type: ignore[arg-type]
    )(case)


def filament(name: str, **changes: object) -> Break:
    """One filament otherwise."""
    return lambda case: shop(
        filaments=tuple(replace(f, **changes) if f.name == name else f for f in case.shop.filaments)  # type: ignore[arg-type]
    )(case)


def at_hand(name: str, since: object) -> Break:
    """A spool that comes later."""
    return lambda case: shop(
        spools=tuple(replace(s, at_hand_from=since) if s.name == name else s for s in case.shop.spools)  # type: ignore[arg-type]
    )(case)


def hours(**changes: object) -> Break:
    """Other hours, or other persons."""
    return lambda case: shop(attendance=Attendance(**{"zone": "UTC", **changes}))(case)  # type: ignore[arg-type]


def all_of(*steps: Break) -> Break:
    """One after the other."""

    def broken(case: Case) -> Case:
        for step in steps:
            case = step(case)
        return case

    return broken
