"""How an airframe is planned from the page: start, effort, seed, time zone; kept beside its records."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from planner.api import PlanRequest, computer_zone, default_workers, now_here, start_time, zone_name
from planner.errors import RecordError
from planner.model.effort import NORMAL, effort_named
from planner.web.workspace import RESULTS, read_record, write_record

SETTINGS = "settings.json"
DEFAULTS: dict[str, Any] = {"start": None, "effort": NORMAL.name, "seed": 1, "zone": None}


def settings_of(folder: Path) -> dict[str, Any]:
    """The settings of an airframe; what is not written has its default."""
    kept = read_record(folder, SETTINGS) or {}
    return {key: kept.get(key, value) for key, value in DEFAULTS.items()}


def keep_settings(folder: Path, given: dict[str, Any]) -> None:
    """Check and keep settings.

    Raises
    ------
    RecordError
        for a value that cannot be used
    """
    from planner.model.attendance import Attendance

    made = {**settings_of(folder), **{key: given[key] for key in DEFAULTS if key in given}}
    made["start"] = made["start"] or None
    if made["start"] is not None:
        start_time(str(made["start"]), Attendance(), now_here())
    effort_named(str(made["effort"]))
    if not isinstance(made["seed"], int) or isinstance(made["seed"], bool) or not 0 <= made["seed"] < 2**31:
        raise RecordError(f"{made['seed']!r} must be a whole number from 0 to {2**31 - 1}.", where="seed")
    if made["zone"] is not None and zone_name(made["zone"]) is None:
        raise RecordError(f"{made['zone']!r} is not in the time zone database.", where="zone")
    write_record(folder, SETTINGS, made)


def zone_for(folder: Path) -> str | None:
    """The zone of hours for which the workshop names none: that of the browser, else of this computer."""
    return zone_name(settings_of(folder)["zone"]) or computer_zone()


def request_for(folder: Path, settings: dict[str, Any], cache: str | None) -> PlanRequest:
    """What the command line would be asked for."""
    return PlanRequest(
        sources=(folder,),
        out=folder / RESULTS,
        start=settings["start"],
        effort=settings["effort"],
        seed=settings["seed"],
        workers=default_workers(),
        cache_folder=Path(cache) if cache else None,
        zone=zone_name(settings.get("zone")) or computer_zone(),
        anew=settings.get("anew") is True,
    )
