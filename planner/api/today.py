"""The next visit: what to clear, put on, start, weigh and glue, and what runs until when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from planner.api.away_soon import away_soon
from planner.api.ledger_place import LedgerPlace
from planner.api.visit_steps import Step, open_steps

if TYPE_CHECKING:
    from planner.ledger.fact import Fact
    from planner.ledger.standing import Standing
    from planner.model.replan import EarlierPlan
    from planner.model.schedule import Run

MOST_NAMED = 12
MOST_FACTS = 6


@dataclass(frozen=True, slots=True)
class BedNow:
    """A bed of the plan that is not over by the facts.

    ``ends`` is when it will end or should have ended; ``told``: a fact says that it was begun.
    """

    bed: str
    printer: str
    ends: datetime
    told: bool
    late: bool

    def __str__(self) -> str:
        """As a sentence."""
        how = " (late)" if self.late else "" if self.told else " (by the plan)"
        return f"{self.bed} on {self.printer} until {self.ends:%a %H:%M}{how}"


@dataclass(frozen=True, slots=True)
class Today:
    """What to do and what goes on; every field is sentences, empty where there is nothing.

    ``visit`` is when the next one begins, ``None`` where the plan has no more. ``beds`` are those that run,
    by a fact or by the plan alone, and those that should be over; ``steps`` are the tasks with the words that
    tell them; ``last`` the newest facts, the last one first; ``there`` every piece that is printed, ``over``
    beds of the plan that are done or failed. ``away`` is what is not to be had now, or in the next days.
    """

    airframe: str
    visit: datetime | None
    minutes: int
    running: tuple[str, ...]
    tasks: tuple[str, ...]
    unmarked: tuple[str, ...]
    weigh: tuple[str, ...]
    glue: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    beds: tuple[BedNow, ...] = ()
    steps: tuple[Step, ...] = ()
    last: tuple[Fact, ...] = ()
    there: tuple[str, ...] = ()
    over: tuple[str, ...] = ()
    away: tuple[str, ...] = ()


def today(place: LedgerPlace, now: datetime) -> Today:
    """By the plan and the facts since; nothing is planned anew.

    Raises
    ------
    RecordError
        where there is no plan, or plan or ledger cannot be read
    """
    plan = place.earlier()
    return today_of(place, plan, as_written(place), now)


def today_of(place: LedgerPlace, plan: EarlierPlan, raw: Mapping[str, Any], now: datetime) -> Today:
    """The same of a plan that was read, and is at hand as written."""
    from planner.report.text.short_cautions import short_cautions

    now = now.astimezone(plan.start.tzinfo)
    standing, weighed, last = _facts(place, plan)
    there = _printed(plan, standing)
    beds = _beds_now(plan, standing, now)
    unmarked = [run for run in plan.runs if run.end <= now and _kind(standing, run) == "began"]
    visit = next((one for one in plan.handled if one.at + timedelta(minutes=one.minutes) > now), None)
    steps = open_steps(visit.tasks, plan, standing, now) if visit is not None else ()
    cautions = raw.get("cautions") or ()
    return Today(
        plan.airframe,
        visit.at if visit is not None else None,
        visit.minutes if visit is not None else 0,
        tuple(str(bed) for bed in beds if bed.told or not bed.late),
        tuple(step.text for step in steps),
        tuple(f"{run.batch} on {run.printer}, planned until {run.end:%a %H:%M}" for run in unmarked),
        tuple(piece for piece in there if piece not in weighed),
        tuple(_joints(raw, set(there))),
        short_cautions(str(line) for line in cautions),
        tuple(beds),
        steps,
        tuple(last),
        tuple(there),
        tuple(bed for bed, fact in standing.fates.items() if fact.kind != "began"),
        away_soon(place, now),
    )


def _facts(place: LedgerPlace, plan: EarlierPlan) -> tuple[Standing, set[str], Sequence[Fact]]:
    """What is told since the plan, the pieces that were ever weighed, the newest facts."""
    from planner.ledger.standing import standing_of, standing_since

    if not place.file.is_file():
        return standing_of(()), set(), ()
    from planner.ledger.reading import Reader

    with Reader(place.file) as ledger:
        standing = standing_since(ledger, plan)
        weighed = ledger.names("weighed", plan.airframe)
        last = ledger.newest(plan.airframe, MOST_FACTS)
    return standing, {piece for lot in weighed for piece in lot.split(" + ")}, last


def _printed(plan: EarlierPlan, standing: Standing) -> list[str]:
    """Pieces that are there: of the plan, and of beds that are over since; without those that are lost."""
    there = [piece for past in plan.past for piece in past.delivered]
    for fact in standing.fates.values():
        on_bed = [str(one["piece"]) for one in fact.data.get("pieces", ())]
        there += on_bed if fact.kind == "done" else fact.data.get("good", ()) if fact.kind == "failed" else ()
    return [piece for piece in dict.fromkeys(there) if piece not in standing.lost]


def _kind(standing: Standing, run: Run) -> str:
    """What became of a bed; one that nobody spoke of counts as begun."""
    fact = standing.fates.get(run.batch)
    return fact.kind if fact is not None else "began"


def _beds_now(plan: EarlierPlan, standing: Standing, now: datetime) -> list[BedNow]:
    found = []
    for run in plan.runs:
        if _kind(standing, run) != "began":
            continue
        fact = standing.fates.get(run.batch)
        told = fact is not None or run.mark == "running"
        if not told and now < run.start:
            continue
        as_planned = fact is None or run.start <= fact.at <= run.end
        ends = run.end if as_planned or fact is None else fact.at + (run.end - run.start)
        ends = ends.astimezone(now.tzinfo)
        found.append(BedNow(run.batch, run.printer, ends, told, ends <= now))
    return found


def as_written(place: LedgerPlace) -> Mapping[str, Any]:
    """The plan as written, for what a plan that goes on does not read back."""
    import msgspec

    record: Mapping[str, Any] = msgspec.json.decode(place.plan_file.read_bytes())
    return record


def _joints(record: Mapping[str, Any], there: set[str]) -> list[str]:
    """Joints of the plan whose pieces are both there."""
    order = record.get("build_order") or {}
    pairs = {
        tuple(pair) for kit in order.get("kits", ()) for pair in kit.get("joints", ()) if set(pair) <= there
    }
    return [" to ".join(pair) for pair in sorted(pairs)]


def today_text(found: Today) -> str:
    """At most 80 columns; what there is none of is left out."""
    from textwrap import fill

    rows = [found.airframe]
    when = (
        f"{found.visit:%a %Y-%m-%d %H:%M}, {found.minutes} min" if found.visit else "none is left in the plan"
    )
    for label, told in (
        ("Runs", found.running),
        ("Say", tuple(f"what became of {one}?" for one in found.unmarked)),
        ("Next visit", (when, *found.tasks)),
        ("Away", found.away),
        ("Weigh", (_some(found.weigh),) if found.weigh else ()),
        ("Glue", (_some(found.glue),) if found.glue else ()),
        ("Mind", (" ".join(found.cautions),) if found.cautions else ()),
    ):
        for n, text in enumerate(told):
            head = f"{label if n == 0 else '':<12}"
            rows.append(
                fill(text, 80, initial_indent=head, subsequent_indent=" " * 12, break_on_hyphens=False)
            )
    return "\n".join(rows)


def _some(names: tuple[str, ...]) -> str:
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more
