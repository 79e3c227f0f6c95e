"""What the first plan of a series promised: carried from plan to plan, else read from the first itself."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any

import msgspec

from planner.errors import InputError
from planner.model.first_plan import FirstPlan
from planner.units import parse_money, to_minor


def read_first(path: Path) -> FirstPlan | None:
    """The promise of the first plan; ``None`` where a later plan does not carry it.

    What was written by hand and cannot be used is left out: nothing of it is gone on from.
    """
    try:
        told = msgspec.json.decode(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(told, dict):
        return None
    carried = _inside(told, "ledger").get("first")
    if isinstance(carried, dict):
        return _carried(carried, str(told.get("currency", "")))
    return _own(told) if told.get("replan") is None else None


def _carried(told: dict[str, Any], currency: str) -> FirstPlan | None:
    start, finish = _moment(told.get("start")), _moment(told.get("finish"))
    if start is None or finish is None:
        return None
    spools = told.get("spools")
    rows = spools if isinstance(spools, list) else []
    return FirstPlan(
        start,
        finish,
        mass_g=_number(told.get("mass_g")),
        low_g=_number(told.get("low_g")),
        high_g=_number(told.get("high_g")),
        printed_g=_number(told.get("printed_g")),
        station_mm=_number(told.get("station_mm")),
        print_hours=_number(told.get("print_hours")),
        cost_minor=_minor(told.get("cost"), currency),
        beds=int(_number(told.get("beds")) or 0),
        spools={str(row["spool"]): _number(row.get("grams")) or 0.0 for row in _named(rows)},
    )


def _own(told: dict[str, Any]) -> FirstPlan | None:
    """What a plan that goes on from none says of itself."""
    schedule, mass = _inside(told, "schedule"), _inside(told, "mass")
    start, finish = _moment(told.get("start")), _moment(schedule.get("finish"))
    if start is None or finish is None:
        return None
    hours = schedule.get("print_hours")
    return FirstPlan(
        start,
        finish,
        mass_g=_number(mass.get("total_g")),
        low_g=_number(mass.get("low_g")),
        high_g=_number(mass.get("high_g")),
        printed_g=_number(mass.get("printed_g")),
        station_mm=_number(_inside(told, "balance").get("station_mm")),
        print_hours=sum(_number(one) or 0.0 for one in hours.values()) if isinstance(hours, dict) else None,
        cost_minor=_minor(_inside(told, "cost").get("total"), str(told.get("currency", ""))),
        beds=len(told["batches"]) if isinstance(told.get("batches"), list) else 0,
        spools={
            str(row["spool"]): sum(_number(row.get(key)) or 0.0 for key in ("grams_used", "grams_purged"))
            for row in _named(told.get("spools"))
        },
    )


def _inside(told: dict[str, Any], key: str) -> dict[str, Any]:
    found = told.get(key)
    return found if isinstance(found, dict) else {}


def _named(rows: object) -> list[dict[str, Any]]:
    return [row for row in rows if isinstance(row, dict) and "spool" in row] if isinstance(rows, list) else []


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None


def _moment(value: object) -> datetime | None:
    with suppress(ValueError):
        found = datetime.fromisoformat(value) if isinstance(value, str) else None
        return found if found is not None and found.tzinfo is not None else None
    return None


def _minor(value: object, currency: str) -> int | None:
    with suppress(InputError):
        return to_minor(parse_money(f"{value} {currency}")[0], currency) if isinstance(value, str) else None
    return None
