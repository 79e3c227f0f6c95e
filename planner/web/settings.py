"""How an airframe is planned from the page: start, effort, seed, time zone; kept beside its records."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from planner.api import PlanRequest, computer_zone, default_workers, now_here, start_time, zone_name
from planner.errors import RecordError
from planner.model.effort import NORMAL, effort_named
from planner.model.risk import RiskAsked
from planner.web.words import say
from planner.web.workspace import RESULTS, read_record, write_record

SETTINGS = "settings.json"
DEFAULTS: dict[str, Any] = {
    "start": None,
    "effort": NORMAL.name,
    "seed": 1,
    "zone": None,
    "worlds": None,
    "missed": None,
}


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
    risk_asked(made)
    if made["zone"] is not None and zone_name(made["zone"]) is None:
        raise RecordError(f"{made['zone']!r} is not in the time zone database.", where="zone")
    write_record(folder, SETTINGS, made)


def risk_asked(settings: dict[str, Any]) -> RiskAsked | None:
    """In how many worlds the plan shall be lived through; ``None`` where it shall not be.

    Raises
    ------
    RecordError
        for numbers that cannot be used, and for visits that are missed in no world
    """
    worlds, missed = settings.get("worlds"), settings.get("missed")
    for key, value in (("worlds", worlds), ("missed", missed)):
        whole = key == "worlds"
        if value is not None and (
            isinstance(value, bool) or not isinstance(value, int if whole else int | float)
        ):
            kind = "a whole number" if whole else "a number"
            raise RecordError(f"{str(value)[:40]!r} must be {kind}.", where=say(f"risk_{key}"))
    if worlds is None and missed:
        raise RecordError(
            say("risk_no_worlds"), where=say("risk_missed"), next_step=say("risk_no_worlds_next")
        )
    return None if worlds is None else RiskAsked(worlds, float(missed or 0.0))


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
        risk=risk_asked(settings),
    )
