"""What is away now or soon, by the workshop file and by the ledger."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from planner.api.ledger_place import LedgerPlace
from planner.model.away import Away, joined

DAYS_AHEAD = timedelta(days=7)


def away_soon(place: LedgerPlace, now: datetime) -> tuple[str, ...]:
    """A sentence for every printer, filament and spool that is away now, or goes within a week."""
    from planner.scheduling.problem.calendar import zone_of

    shop = place.shop()
    zone = zone_of(shop.attendance, now)
    away = {("printer", one.name): one.away for one in shop.printers}
    away |= {("filament", one.name): one.away for one in shop.filaments}
    away |= {("spool", one.name): one.away for one in shop.spools}
    for key, told in _by_ledger(place).items():
        away[key] = joined(away.get(key, ()), told, zone)
    found = []
    for (what, name), spans in away.items():
        for one in spans:
            since, until = one.span(zone)
            if _utc(since) > _utc(now) + DAYS_AHEAD or (until is not None and _utc(until) <= _utc(now)):
                continue
            back = "told" if until is None else f"{until.astimezone(zone):%a %Y-%m-%d %H:%M}"
            goes = "" if _utc(since) <= _utc(now) else f" from {since.astimezone(zone):%a %Y-%m-%d %H:%M}"
            why = f" ({one.why})" if one.why else ""
            found.append(f"{what} {name}{goes} until {back}{why}")
    return tuple(found)


def _by_ledger(place: LedgerPlace) -> dict[tuple[str, str], list[Away]]:
    from planner.ledger.fact import AWAY
    from planner.ledger.reading import Reader
    from planner.ledger.standing import absences_of

    told: dict[tuple[str, str], list[Away]] = {}
    if place.file.is_file():
        with Reader(place.file) as ledger:
            for one in absences_of(ledger.facts(kinds=(AWAY,))):
                told.setdefault((one.what, one.name), []).append(Away(one.since, one.until, one.why))
    return told


def _utc(moment: datetime) -> datetime:
    return moment.astimezone(UTC)
