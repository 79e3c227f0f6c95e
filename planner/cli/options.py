"""The options of the commands, each declared once; a command takes whole groups of them as one value."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import MISSING, dataclass, fields, is_dataclass
from pathlib import Path
from typing import Annotated, Any, get_type_hints

import typer

from planner.cli.numbers import number, whole
from planner.model.effort import EFFORTS, MOST_SEED, NORMAL
from planner.model.risk import MOST_MISSED, MOST_WORLDS

EFFORT_NAMES = "|".join(one.name for one in EFFORTS)
CacheFolder = Annotated[
    Path | None, typer.Option("--cache", metavar="DIR", help="Where estimates are kept between plans.")
]


@dataclass(frozen=True, slots=True)
class Kit:
    """What is planned, and what for: meshes, records, machines, and where estimates come from."""

    sources: Annotated[
        list[Path],
        typer.Argument(
            metavar="FOLDER",
            help="Folder of part meshes, a .zip of one, or single mesh files; each folder is one airframe.",
        ),
    ]
    workshop: Annotated[
        Path | None,
        typer.Option("--workshop", metavar="FILE", help="Printers, filaments, spools, attendance."),
    ] = None
    airframe: Annotated[
        Path | None, typer.Option("--airframe", metavar="FILE", help="Parts, recipes, fittings, targets.")
    ] = None
    printer: Annotated[
        list[str] | None,
        typer.Option("--printer", metavar="NAME[:COUNT]", help="Plan for these printers; may be repeated."),
    ] = None
    filament: Annotated[
        str | None,
        typer.Option("--filament", metavar="NAME", help="Filament of every part that names none."),
    ] = None
    jobs: Annotated[
        int | None,
        typer.Option(
            "--jobs", parser=whole(1, 256), metavar="N", help="Processors to use; all but eight at most."
        ),
    ] = None
    unit: Annotated[
        str | None,
        typer.Option("--unit", help="Unit of meshes that declare none: millimeter, inch, meter ..."),
    ] = None
    cluster: Annotated[
        str | None,
        typer.Option("--cluster", metavar="ADDRESS", help="Dask scheduler that estimates and searches."),
    ] = None
    cache: CacheFolder = None
    no_cache: Annotated[bool, typer.Option("--no-cache", help="Estimate every part anew; keep nothing.")] = (
        False
    )


@dataclass(frozen=True, slots=True)
class Search:
    """What is chosen of the kit, when it begins, and how long is searched."""

    option: Annotated[
        list[str] | None, typer.Option("--option", metavar="K=V", help="Choose an option of the kit.")
    ] = None
    start: Annotated[
        str | None, typer.Option("--start", metavar="TIME", help="Start of the plan, as 2026-12-01T18:00.")
    ] = None
    effort: Annotated[str, typer.Option("--effort", metavar=EFFORT_NAMES, help="How long to search.")] = (
        NORMAL.name
    )
    seed: Annotated[
        int,
        typer.Option("--seed", parser=whole(0, MOST_SEED), metavar="N", help="Same seed, same plan."),
    ] = 1


@dataclass(frozen=True, slots=True)
class Results:
    """Where a plan goes, what is said of it, and what it is searched for first."""

    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the results.")] = Path("out")
    prefer: Annotated[
        str | None, typer.Option("--prefer", metavar="GOALS", help="What counts first, as visits,finish.")
    ] = None
    copies: Annotated[
        int, typer.Option("--copies", parser=whole(1, 50), metavar="N", help="Whole airframes: N of each.")
    ] = 1
    every: Annotated[
        int,
        typer.Option("--every", parser=whole(0, 365), metavar="DAYS", help="Dates of copies, so far apart."),
    ] = 0
    risk: Annotated[
        int | None,
        typer.Option(
            "--risk",
            parser=whole(1, MOST_WORLDS),
            metavar="N",
            help="Live through the plan in N worlds: what fails, is late, is missed.",
        ),
    ] = None
    missed: Annotated[
        float,
        typer.Option(
            "--missed",
            parser=number(0.0, MOST_MISSED),
            metavar="P",
            help="With --risk: chance that a visit is missed.",
        ),
    ] = 0.0
    risk_only: Annotated[
        bool, typer.Option("--risk-only", help="With --risk: of the plan in --out; nothing is planned.")
    ] = False
    json_: Annotated[bool, typer.Option("--json", help="Print plan.json instead of the summary.")] = False
    strict: Annotated[bool, typer.Option("--strict", help="End with 1 for every doubt, too.")] = False
    verify: Annotated[
        bool, typer.Option("--verify", help="As always: check the plan by independent code.")
    ] = False


@dataclass(frozen=True, slots=True)
class Earlier:
    """The plan to go on from, and what became of its beds."""

    since: Annotated[
        Path | None,
        typer.Option("--since", metavar="PLAN", help="Go on from this plan.json or results folder."),
    ] = None
    done: Annotated[
        list[str] | None, typer.Option("--done", metavar="BED[=TIME]", help="A bed that is printed, when.")
    ] = None
    failed: Annotated[
        list[str] | None, typer.Option("--failed", metavar="BED[=TIME]", help="A bed that failed, when.")
    ] = None
    running: Annotated[
        list[str] | None,
        typer.Option("--running", metavar="BED[=TIME]", help="A bed that prints now, till."),
    ] = None
    good: Annotated[
        list[str] | None,
        typer.Option("--good", metavar="PIECE", help="A piece of a failed bed that can be used."),
    ] = None
    again: Annotated[
        list[str] | None,
        typer.Option("--again", metavar="PIECE", help="A finished piece that is to be printed once more."),
    ] = None
    cleared: Annotated[
        list[str] | None, typer.Option("--cleared", metavar="BED", help="A bed that is off its printer.")
    ] = None
    changed: Annotated[
        list[str] | None,
        typer.Option(
            "--changed", metavar="PRINTER", help="A printer that has the filament of its next bed on."
        ),
    ] = None
    as_planned: Annotated[
        bool, typer.Option("--as-planned", help="Beds that no option names went as they were planned.")
    ] = False
    ledger: Annotated[
        Path | None,
        typer.Option("--ledger", metavar="FILE", help="The ledger; else that beside workshop.toml."),
    ] = None
    untaught: Annotated[
        bool, typer.Option("--untaught", help="Leave out what a ledger has learned of grams and minutes.")
    ] = False
    anew: Annotated[
        bool, typer.Option("--anew", help="Plan all of it anew, whatever a ledger tells of beds.")
    ] = False
    tolerate: Annotated[
        str,
        typer.Option("--tolerate", metavar="TIME", help="Later finish for which beds stay where they were."),
    ] = "4h"


@dataclass(frozen=True, slots=True)
class Aims:
    """What a trade-off is to reach, and where it goes."""

    mass_at_most: Annotated[
        float | None,
        typer.Option("--mass-at-most", metavar="G", parser=number(0.0), help="Flying mass in grams."),
    ] = None
    finish_by: Annotated[
        str | None, typer.Option("--finish-by", metavar="TIME", help="End of the last run.")
    ] = None
    cost_at_most: Annotated[
        str | None, typer.Option("--cost-at-most", metavar="MONEY", help='All of it, as "460 EUR".')
    ] = None
    balance_inside: Annotated[
        bool, typer.Option("--balance-inside", help="Balance inside the window of the airframe file.")
    ] = False
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the results.")] = Path(
        "tradeoff"
    )
    json_: Annotated[bool, typer.Option("--json", help="Print tradeoff.json instead of the text.")] = False


def grouped(command: Callable[..., None]) -> Callable[..., None]:
    """A command that takes groups, as one that takes every option of theirs: what typer reads.

    Each group is made of its options and handed on; options that stand outside of groups stay as they are.
    """
    hints = get_type_hints(command, include_extras=True)
    groups = {name: kind for name, kind in hints.items() if isinstance(kind, type) and is_dataclass(kind)}
    shown: list[inspect.Parameter] = []
    for parameter in inspect.signature(command).parameters.values():
        if parameter.name in groups:
            shown += _parameters(groups[parameter.name])
        else:
            alone = parameter.replace(annotation=hints[parameter.name], kind=inspect.Parameter.KEYWORD_ONLY)
            shown.append(alone)

    def called(**given: Any) -> None:
        for name, kind in groups.items():
            given[name] = kind(**{each.name: given.pop(each.name) for each in fields(kind)})
        command(**given)

    called.__name__, called.__doc__ = command.__name__, command.__doc__
    called.__annotations__ = {each.name: each.annotation for each in shown}
    vars(called)["__signature__"] = inspect.Signature(shown)
    return called


def _parameters(group: type[Any]) -> list[inspect.Parameter]:
    hints = get_type_hints(group, include_extras=True)
    return [
        inspect.Parameter(
            each.name,
            inspect.Parameter.KEYWORD_ONLY,
            default=inspect.Parameter.empty if each.default is MISSING else each.default,
            annotation=hints[each.name],
        )
        for each in fields(group)
    ]
