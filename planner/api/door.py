"""The functions for Python: what the commands do, from a program or a notebook, with values for answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict, Unpack

from planner.api.clock import computer_zone, now_here
from planner.api.faces import Check, EarlierPlan, Plan, Tradeoff, faced
from planner.api.looking import check_folder, unpacked
from planner.api.own import Own
from planner.api.own_places import default_cache, place_for_compiled_code
from planner.api.planning import plan_folder, reckon
from planner.api.request import PlanRequest, default_workers
from planner.api.since import SinceRequest, plan_path
from planner.api.tradeoffs import TradeoffRequest, tradeoff_folder, tradeoff_studied
from planner.errors import InputError
from planner.model.airframe import Airframe
from planner.model.effort import NORMAL
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.risk import RiskAsked
from planner.model.workshop import Workshop

if TYPE_CHECKING:
    from planner.pipeline.job import Progress, Stop

Source = str | Path | Sequence[str | Path]
_OF_PLANS = frozenset({"copies", "missed", "prefer", "risk", "since", "verify", "stop"})
_OF_SEARCHES = frozenset({"options", "start", "effort", "seed"})


class Asked(TypedDict, total=False):
    """What ``plan``, ``check`` and ``tradeoff`` may be asked for; what is left out is as for the commands.

    ``check`` takes nothing that is asked of a search; ``tradeoff`` no ``copies``, ``missed``, ``prefer``,
    ``risk``, ``since``, ``verify`` and ``stop``.

    airframe, workshop : the record, by path or as a value, in place of the one in or beside the folder
    printers : names, as ``"desktop 220:2"``, or values of your own
    filaments : names or values of your own; the first is that of every part which names none
    spools : the whole shelf
    options : choices of the kit's options
    prefer : goals that count first
    start : of the plan, as ``"2026-12-01T18:00"`` or aware; now, when it is left out
    effort : ``"quick"``, ``"normal"`` or ``"thorough"``
    seed : same inputs, start, effort and seed: same plan
    unit : of meshes that declare none
    copies : of every airframe, as many
    risk : worlds in which the plan is lived through, what fails and what is late
    missed : with ``risk``, the chance that a visit is missed
    since : the earlier plan to go on from, with the marks of its beds
    verify : check the plan by code that shares nothing with the search; one that is written always is
    cache : folder of kept estimates; True for that of the user, False for none
    workers : processors to use
    progress : called with the stage, what is done and how much there is
    stop : asked between two steps of the search; true ends it with the best until then
    """

    airframe: str | Path | Airframe
    workshop: str | Path | Workshop
    printers: str | Printer | Sequence[str | Printer]
    filaments: str | Filament | Sequence[str | Filament]
    spools: Sequence[Spool]
    options: Mapping[str, str]
    prefer: Sequence[str]
    start: str | datetime
    effort: str
    seed: int
    unit: str
    copies: int
    risk: int
    missed: float
    since: str | Path | SinceRequest
    verify: bool
    cache: bool | str | Path
    workers: int
    progress: Progress
    stop: Stop


def plan(source: Source | PlanRequest, *, out: str | Path | None = None, **asked: Unpack[Asked]) -> Plan:
    """Plan the print jobs of a folder of meshes.

    Parameters
    ----------
    source : a folder, a mesh file, or several; several folders are several airframes. Or a ``Request``, which
        is written to its own ``out``
    out : results folder; nothing is written when it is left out
    asked : see ``Asked``

    Raises
    ------
    planner.errors.InputError
        when a file, a record or the place for the results cannot be used
    planner.errors.Infeasible
        when no plan is possible

    Examples
    --------
    >>> import planner
    >>> made = planner.plan("kit", printers="desktop 180:2", filaments="PETG", start="2026-12-01T18:00",
    ...                     effort="quick")
    >>> [part.filament for part in made.parts], len(made.workshop.printers)
    (['PETG', 'PETG'], 2)

    A filament of your own, from your own scales:

    >>> from dataclasses import replace
    >>> mine = replace(planner.filaments()["PLA"], name="mine", solid_g_per_cm3=1.2, deposited_g_per_cm3=1.2)
    >>> lighter = planner.plan("kit", filaments=mine, start="2026-12-01T18:00", effort="quick")
    >>> lighter.parts[0].filament
    'mine'
    """
    now = now_here()
    progress, stop = asked.pop("progress", None), asked.pop("stop", None)
    if isinstance(source, PlanRequest):
        if asked or out is not None:
            raise InputError(
                "a Request says everything itself; nothing may be asked beside it.",
                where=", ".join([*asked, *(["out"] if out is not None else [])]),
                next_step="Use dataclasses.replace to change it.",
            )
        return faced(Plan, plan_folder(source, now, progress, stop), written=source.out)
    request = request_of(source, asked)
    if out is None:
        return faced(Plan, reckon(request, now, progress, stop))
    request = replace(request, out=Path(out))
    return faced(Plan, plan_folder(request, now, progress, stop), written=request.out)


def check(source: Source, **asked: Unpack[Asked]) -> Check:
    """Look at the meshes only: health, size, unit, fit, printable wall.

    Parameters
    ----------
    source : a folder, a mesh file, or several
    asked : see ``Asked``

    Examples
    --------
    >>> import planner
    >>> print(planner.check("kit").summary())
    2 usable meshes, 0 set aside
    ...
    """
    _refuse(asked, _OF_PLANS | _OF_SEARCHES, "check")
    progress = asked.pop("progress", None)
    return faced(Check, check_folder(request_of(source, asked), now_here(), progress))


def tradeoff(
    source: Source,
    *,
    mass_at_most_g: float | None = None,
    finish_by: str | None = None,
    cost_at_most: str | None = None,
    balance_inside: bool = False,
    out: str | Path | None = None,
    **asked: Unpack[Asked],
) -> Tradeoff:
    """What to print otherwise to reach a mass, a date, a cost or the balance window.

    Parameters
    ----------
    mass_at_most_g : flying mass, g
    finish_by : end of the last run, as ``"2026-12-04T20:00"``
    cost_at_most : all of it, as ``"460 EUR"``
    out : results folder; nothing is written when it is left out
    asked : see ``Asked``

    Examples
    --------
    >>> import planner
    >>> found = planner.tradeoff("kit", mass_at_most_g=1.0, start="2026-12-01T18:00", effort="quick")
    >>> bool(found.refusal), found.after is None
    (True, True)
    """
    _refuse(asked, _OF_PLANS, "tradeoff")
    wanted = TradeoffRequest(mass_at_most_g, finish_by, cost_at_most, balance_inside)
    progress, now = asked.pop("progress", None), now_here()
    request = request_of(source, asked)
    if out is None:
        found = tradeoff_studied(request, wanted, now, progress)
    else:
        found = tradeoff_folder(replace(request, out=Path(out)), wanted, now, progress)
    return replace(
        faced(Tradeoff, found, written=None if out is None else Path(out)),
        before=faced(Plan, found.before),
        after=None if found.after is None else faced(Plan, found.after),
    )


def read_plan(path: str | Path) -> EarlierPlan:
    """Read a ``plan.json`` back, or the results folder that holds it.

    Raises
    ------
    planner.errors.RecordError
        naming the file and the field that cannot be used

    Examples
    --------
    >>> import planner
    >>> made = planner.plan("kit", start="2026-12-01T18:00", effort="quick", out="out")
    >>> earlier = planner.read_plan("out")
    >>> earlier.airframe, len(earlier.runs)
    ('kit', 1)
    """
    import json

    from planner.io.results.plan_file import read_plan as read

    file = plan_path(Path(path))
    earlier = read(file)
    return faced(EarlierPlan, earlier, record=json.loads(file.read_text(encoding="utf-8")))


def request_of(source: Source, asked: Asked) -> PlanRequest:
    """What is asked for, as one value; for the functions of the front door only."""
    place_for_compiled_code()
    sources = (source,) if isinstance(source, str | Path) else tuple(source)
    if not sources:
        raise InputError("there is no folder to plan.", next_step="Name a folder of meshes, or mesh files.")
    airframe, workshop = asked.get("airframe"), asked.get("workshop")
    machines, kinds = _many(asked.get("printers")), _many(asked.get("filaments"))
    shelf, cache, since = asked.get("spools"), asked.get("cache", True), asked.get("since")
    begin = asked.get("start")
    _refuse(asked, set(asked) - set(Asked.__annotations__), "")
    return PlanRequest(
        sources=tuple(unpacked(Path(one), again=True) for one in sources),
        airframe_file=Path(airframe) if isinstance(airframe, str | Path) else None,
        workshop_file=Path(workshop) if isinstance(workshop, str | Path) else None,
        printers=tuple(one if isinstance(one, str) else one.name for one in machines),
        filament=next((one if isinstance(one, str) else one.name for one in kinds), None),
        options=dict(asked.get("options", {})),
        start=begin.isoformat() if isinstance(begin, datetime) else begin,
        effort=asked.get("effort", NORMAL.name),
        seed=asked.get("seed", 1),
        workers=asked.get("workers") or default_workers(),
        cache_folder=(default_cache() if cache is True else None) if isinstance(cache, bool) else Path(cache),
        unit=asked.get("unit"),
        verify=asked.get("verify", False),
        since=None if since is None else _since(since),
        prefer=tuple(asked.get("prefer", ())),
        zone=computer_zone(),
        copies=asked.get("copies", 1),
        risk=_risk(asked.get("risk"), asked.get("missed", 0.0)),
        own=Own(
            airframe if isinstance(airframe, Airframe) else None,
            workshop if isinstance(workshop, Workshop) else None,
            tuple(one for one in machines if isinstance(one, Printer)),
            tuple(one for one in kinds if isinstance(one, Filament)),
            None if shelf is None else tuple(shelf),
        ),
    )


def _risk(worlds: int | None, missed: float) -> RiskAsked | None:
    if worlds is None and missed > 0.0:
        raise InputError(
            "missed visits count in simulated worlds only.", where="missed", next_step="Add risk."
        )
    return None if worlds is None else RiskAsked(worlds, missed)


def _refuse(asked: Asked, refused: Set[str], function: str) -> None:
    """Nothing is taken that would not count."""
    wrong = sorted(set(asked) & refused)
    if wrong:
        known = [name for name in Asked.__annotations__ if name not in refused]
        where = f" of {function}" if function else ""
        raise InputError(
            f"{wrong[0]!r} is nothing that can be asked for{where}.", next_step=f"Known: {', '.join(known)}."
        )


def _many(given: Any) -> tuple[Any, ...]:
    if given is None:
        return ()
    return (given,) if isinstance(given, str | Printer | Filament) else tuple(given)


def _since(given: str | Path | SinceRequest) -> SinceRequest:
    if isinstance(given, SinceRequest):
        return replace(given, plan=Path(given.plan))
    return SinceRequest(Path(given))
