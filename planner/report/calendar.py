"""The visits as a calendar file (RFC 5545)."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from planner import __version__
from planner.model.plan import Plan
from planner.model.schedule import Visit
from planner.report.plain import clean
from planner.report.plan_json import plan_hash
from planner.report.words import count, local

LONGEST_SUMMARY = 60  # characters that calendars show in a day


def schedule_ics(plan: Plan, identification: str | None = None) -> bytes:
    """One event for each visit and one for the finish, all in UTC.

    The identifiers come from the plan and the place in it, the time stamp is the plan's start: the
    same plan gives the same bytes, and an event that is imported twice stays one.

    Parameters
    ----------
    identification : the plan's hash where it is known already
    """
    import icalendar

    mark = (identification or plan_hash(plan))[:16]
    calendar = icalendar.Calendar()
    calendar.add("prodid", f"-//planner//airframe-print-planner {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")

    def event(key: str, at: datetime, minutes: int, what: str, text: str) -> None:
        made = icalendar.Event()
        made.add("uid", f"{mark}-{key}@airframe-print-planner")
        made.add("dtstamp", _utc(plan.start, plan))
        made.add("dtstart", _utc(at, plan))
        made.add("dtend", _utc(at, plan) + timedelta(minutes=max(minutes, 1)))
        made.add("summary", clean(what))
        made.add("description", clean(text))
        calendar.add_component(made)

    for number, visit in enumerate(plan.schedule.visits):
        event(
            f"visit-{number + 1}",
            visit.at,
            visit.minutes,
            short_summary(visit),
            f"{plan.airframe.name}\n" + "\n".join(f"- {task}" for task in visit.tasks),
        )
    what = "the last bed is printed" if plan.schedule.runs else "nothing to print"
    event("finish", plan.schedule.finish, 1, f"{plan.airframe.name}: {what}", what)
    return bytes(calendar.to_ical())


def short_summary(visit: Visit) -> str:
    """What the visit is for, short enough for a calendar: beds by name, counted where they are many."""
    clear = _named(visit.tasks, r"clear (.+) from .+")
    change = _named(visit.tasks, r"(?:during .+: )?take (.+) off .+")
    start = _named(visit.tasks, r"start (.+) on .+")
    words = [f"clear {', '.join(clear)}"] if clear else []
    words += [f"change {count(len(change), 'spool')}"] if change else []
    words += [f"start {', '.join(start)}"] if start else []
    told = "; ".join(words) or "; ".join(visit.tasks) or "visit"
    if len(told) > LONGEST_SUMMARY:
        counts = (("clear", clear, "bed"), ("change", change, "spool"), ("start", start, "bed"))
        told = ", ".join(f"{verb} {count(len(names), one)}" for verb, names, one in counts if names)
    return told[:LONGEST_SUMMARY] if told else "visit"


def _named(tasks: Sequence[str], pattern: str) -> list[str]:
    return [found[1] for task in tasks if (found := re.fullmatch(pattern, task))]


def _utc(moment: datetime, plan: Plan) -> datetime:
    return local(moment, plan).astimezone(UTC).replace(microsecond=0)
