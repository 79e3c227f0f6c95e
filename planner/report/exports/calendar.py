"""The visits as a calendar file (RFC 5545)."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from planner.model.plan import Plan
from planner.model.schedule import Visit
from planner.report.absent import away_at
from planner.report.exports.plan_json import plan_hash
from planner.report.plain import clean
from planner.report.words import count, local
from planner.version import __version__

LONGEST_SUMMARY = 60  # characters that calendars show in a day


def schedule_ics(plan: Plan, identification: str | None = None) -> bytes:
    """One event for each visit and one for the finish, of several airframes also for each, all in UTC.

    An event is known by the first plan of its series and its time: imported twice it stays one, and a plan
    that goes on from another brings its events up to date and cancels the visits that are gone. The time
    stamp is the plan's start: the same plan gives the same bytes.

    Parameters
    ----------
    identification : the plan's hash where it is known already
    """
    import icalendar

    made = plan.replan
    mark = (made.series if made else "") or (identification or plan_hash(plan))[:16]
    calendar = icalendar.Calendar()
    calendar.add("prodid", f"-//planner//airframe-print-planner {__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    used: Counter[str] = Counter()

    def event(key: str, at: datetime, minutes: int, what: str, text: str, status: str = "CONFIRMED") -> None:
        used[key] += 1
        again = f"-{used[key]}" if used[key] > 1 else ""
        entry = icalendar.Event()
        entry.add("uid", f"{mark}-{key}{again}@airframe-print-planner")
        entry.add("dtstamp", _utc(plan.start, plan))
        entry.add("sequence", made.generation if made else 0)
        entry.add("status", status)
        entry.add("dtstart", _utc(at, plan))
        entry.add("dtend", _utc(at, plan) + timedelta(minutes=max(minutes, 1)))
        entry.add("summary", clean(what))
        entry.add("description", clean(text))
        calendar.add_component(entry)

    for visit in plan.schedule.visits:
        tasks = "\n".join(f"- {task}" for task in visit.tasks)
        words = "\n".join([f"{plan.airframe.name}: {visit.minutes} min", tasks, *away_at(visit.at, plan)])
        event(_key(visit.at, plan), visit.at, visit.minutes, short_summary(visit), words)
    for at in made.visits_gone if made else ():
        event(_key(at, plan), at, 1, "no visit", f"{plan.airframe.name}: planned otherwise", "CANCELLED")
    what = "the last bed is printed" if plan.schedule.runs or plan.past else "nothing to print"
    event("finish", plan.schedule.finish, 1, f"{plan.airframe.name}: {what}", what)
    for one in plan.airframes:
        if one.finish is not None:
            late = f", due {one.airframe.due:%Y-%m-%d}" if one.late else ""
            words = f"{one.airframe.name}: its last piece is printed{late}"
            event(f"finish-{_short(one.airframe.name)}", one.finish, 1, words[:LONGEST_SUMMARY], words)
    return bytes(calendar.to_ical())


def _short(name: str) -> str:
    """A name as part of a key: what is no plain letter or digit is a dash."""
    return re.sub("[^A-Za-z0-9]+", "-", name)


def _key(at: datetime, plan: Plan) -> str:
    return f"visit-{_utc(at, plan):%Y%m%dT%H%MZ}"


def short_summary(visit: Visit) -> str:
    """What the visit is for, short enough for a calendar: beds by name, counted where they are many."""
    clear = _named(visit.tasks, r"clear (.+) from .+")
    change = _named(visit.tasks, r"(?:during .+: )?take (.+) off .+")
    start = _named(visit.tasks, r"start (.+) on .+")
    dry, out = (
        _named(visit.tasks, r"put (.+) into dryer .+"),
        _named(visit.tasks, r"take (.+) out of dryer .+"),
    )
    words = [f"clear {', '.join(clear)}"] if clear else []
    words += [f"change {count(len(change), 'spool')}"] if change else []
    words += [f"start {', '.join(start)}"] if start else []
    words += [f"dry {count(len(dry), 'spool')}"] if dry else []
    words += [f"take {count(len(out), 'spool')} out of the dryer"] if out else []
    told = "; ".join(words) or "; ".join(visit.tasks) or "visit"
    if len(told) > LONGEST_SUMMARY:
        counts = (("clear", clear, "bed"), ("change", change, "spool"), ("start", start, "bed"))
        counted = [f"{verb} {count(len(names), one)}" for verb, names, one in counts if names]
        told = ", ".join([*counted, *(["dryer"] if dry or out else [])])
    return told[:LONGEST_SUMMARY] if told else "visit"


def _named(tasks: Sequence[str], pattern: str) -> list[str]:
    return [found[1] for task in tasks if (found := re.fullmatch(pattern, task))]


def _utc(moment: datetime, plan: Plan) -> datetime:
    return local(moment, plan).astimezone(UTC).replace(microsecond=0)
