"""What is away while a plan lasts, as a reader is told of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from planner.model.away import Away, joined
from planner.model.plan import Plan
from planner.report.words import short_time, zone_of

SOON = timedelta(days=1)  # before it goes, a visit is told of it
What = Literal["printer", "filament", "spool"]


@dataclass(frozen=True, slots=True)
class Absent:
    """A thing and the span in which it is away; ``until`` is ``None`` where nobody knows."""

    what: What
    name: str
    since: datetime
    until: datetime | None
    why: str
    told: str  # the span in words

    def words(self) -> str:
        """A sentence."""
        why = f" ({self.why})" if self.why else ""
        return f"{self.what.capitalize()} {self.name} is away {self.told}{why}."


def absent(plan: Plan) -> tuple[Absent, ...]:
    """Printers, filaments and spools that are away between the start of a plan and its finish."""
    shop = plan.workshop
    rows: list[tuple[What, str, tuple[Away, ...]]] = [("printer", p.name, p.away) for p in shop.printers]
    rows += [("filament", one.name, one.away) for one in shop.filaments]
    rows += [("spool", one.name, one.away) for one in shop.spools]
    zone = ZoneInfo(zone_of(plan))
    found = []
    for what, name, away in rows:
        for one in joined(away, (), zone):
            since, until = one.span(zone)
            if _utc(since) < _utc(plan.schedule.finish) and (until is None or _utc(until) > _utc(plan.start)):
                back = "told" if until is None else short_time(until, plan)
                begun = _utc(since) <= _utc(plan.start)
                told = f"until {back}" if begun else f"from {short_time(since, plan)} until {back}"
                found.append(Absent(what, name, since, until, one.why, told))
    return tuple(found)


def away_at(moment: datetime, plan: Plan) -> list[str]:
    """What is away at a moment, or within a day of it, a sentence each."""
    return [
        one.words()
        for one in absent(plan)
        if _utc(one.since) < _utc(moment) + SOON and (one.until is None or _utc(one.until) > _utc(moment))
    ]


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)
