"""The next visit: what to clear, put on, start, weigh and glue, and what runs until when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from planner.api.ledger_place import LedgerPlace

if TYPE_CHECKING:
    from planner.ledger.standing import Standing
    from planner.model.replan import EarlierPlan
    from planner.model.schedule import Run

MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class Today:
    """What to do and what goes on; every field is sentences, empty where there is nothing.

    ``visit`` is when the next one begins, ``None`` where the plan has no more.
    """

    airframe: str
    visit: datetime | None
    minutes: int
    running: tuple[str, ...]
    tasks: tuple[str, ...]
    unmarked: tuple[str, ...]
    weigh: tuple[str, ...]
    glue: tuple[str, ...]


def today(place: LedgerPlace, now: datetime) -> Today:
    """By the plan and the facts since; nothing is planned anew.

    Raises
    ------
    RecordError
        where there is no plan, or plan or ledger cannot be read
    """
    plan = place.earlier()
    now = now.astimezone(plan.start.tzinfo)
    standing, weighed = _facts(place, plan)
    there = _printed(plan, standing)
    fates = {bed: fact.kind for bed, fact in standing.fates.items()}
    begun = {bed for bed, kind in fates.items() if kind == "began"}
    begun |= {run.batch for run in plan.runs if run.mark == "running" and run.batch not in fates}
    lines = [_running(run, standing, now) for run in plan.runs if run.batch in begun]
    over = [run for run in plan.runs if run.end <= now and fates.get(run.batch, "began") == "began"]
    visit = next((one for one in plan.handled if one.at + timedelta(minutes=one.minutes) > now), None)
    tasks = tuple(task for task in visit.tasks if not _done(task, standing)) if visit is not None else ()
    return Today(
        plan.airframe,
        visit.at if visit is not None else None,
        visit.minutes if visit is not None else 0,
        tuple(lines),
        tasks,
        tuple(f"{run.batch} on {run.printer}, planned until {run.end:%a %H:%M}" for run in over),
        tuple(piece for piece in there if piece not in weighed),
        tuple(_joints(place, set(there))),
    )


def _facts(place: LedgerPlace, plan: EarlierPlan) -> tuple[Standing, set[str]]:
    """What is told since the plan, and the pieces that were ever weighed; nothing without a ledger."""
    from planner.ledger.standing import standing_of, standing_since

    if not place.file.is_file():
        return standing_of(()), set()
    from planner.ledger.store import Ledger

    with Ledger(place.file) as ledger:
        standing = standing_since(ledger, plan)
        weighed = ledger.names("weighed", plan.airframe)
    return standing, {piece for lot in weighed for piece in lot.split(" + ")}


def _printed(plan: EarlierPlan, standing: Standing) -> list[str]:
    """Pieces that are there: of the plan, and of beds that are over since; without those that are lost."""
    there = [piece for past in plan.past for piece in past.delivered]
    for fact in standing.fates.values():
        on_bed = [str(one["piece"]) for one in fact.data.get("pieces", ())]
        there += on_bed if fact.kind == "done" else fact.data.get("good", ()) if fact.kind == "failed" else ()
    return [piece for piece in dict.fromkeys(there) if piece not in standing.lost]


def _running(run: Run, standing: Standing, now: datetime) -> str:
    fact = standing.fates.get(run.batch)
    ends = run.end if fact is None or run.start <= fact.at <= run.end else fact.at + (run.end - run.start)
    ends = ends.astimezone(now.tzinfo)
    late = " (late)" if ends <= now else ""
    return f"{run.batch} on {run.printer} until {ends:%a %H:%M}{late}"


def _done(task: str, standing: Standing) -> bool:
    """Whether a fact tells that a step of a visit is over."""
    words = {f"clear {bed} from " for bed in standing.cleared}
    words |= {f"start {bed} on " for bed in standing.fates} | {
        f"watch the first layers of {bed} " for bed in standing.fates
    }
    return any(task.startswith(word) for word in words)


def _joints(place: LedgerPlace, there: set[str]) -> list[str]:
    """Joints of the plan whose pieces are both there."""
    import msgspec

    record: Mapping[str, Any] = msgspec.json.decode(place.plan_file.read_bytes())
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
        ("Weigh", (_some(found.weigh),) if found.weigh else ()),
        ("Glue", (_some(found.glue),) if found.glue else ()),
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
