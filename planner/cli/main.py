"""The command ``planner``: words of the user to actions, answers to the terminal."""

from __future__ import annotations

import sys
from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.asked import cache_of, options_of, request_of, since_of
from planner.cli.exits import DONE, DONE_WITH_GAPS, INTERRUPTED, NO_PLAN, leave, printable, told
from planner.cli.interrupt import listen
from planner.cli.page import page
from planner.version import __version__

if TYPE_CHECKING:
    from planner.cli.progress import Report

app = typer.Typer(
    name="planner",
    help="Plan print jobs and filament for a model airframe that is printed in many parts.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

Sources = Annotated[
    list[Path], typer.Argument(metavar="FOLDER", help="Folder of part meshes, or single mesh files.")
]
WorkshopFile = Annotated[
    Path | None, typer.Option("--workshop", metavar="FILE", help="Printers, filaments, spools, attendance.")
]
AirframeFile = Annotated[
    Path | None, typer.Option("--airframe", metavar="FILE", help="Parts, recipes, fittings, targets.")
]
Printers = Annotated[
    list[str] | None,
    typer.Option("--printer", metavar="NAME[:COUNT]", help="Plan for these printers; may be repeated."),
]
FilamentName = Annotated[
    str | None, typer.Option("--filament", metavar="NAME", help="Filament of every part that names none.")
]
Unit = Annotated[
    str | None, typer.Option("--unit", help="Unit of meshes that declare none: millimeter, inch, meter ...")
]
Workers = Annotated[
    int | None,
    typer.Option("--jobs", min=1, max=256, metavar="N", help="Processors to use; all but eight at most."),
]
Cluster = Annotated[
    str | None, typer.Option("--cluster", metavar="ADDRESS", help="Dask scheduler that estimates the parts.")
]
Cache = Annotated[
    Path | None, typer.Option("--cache", metavar="DIR", help="Where estimates are kept between plans.")
]
Option = Annotated[
    list[str] | None, typer.Option("--option", metavar="K=V", help="Choose an option of the kit.")
]
Start = Annotated[
    str | None, typer.Option("--start", metavar="TIME", help="Start of the plan, as 2026-12-01T18:00.")
]
Since = Annotated[
    Path | None, typer.Option("--since", metavar="PLAN", help="Go on from this plan.json or results folder.")
]
Done = Annotated[
    list[str] | None, typer.Option("--done", metavar="BED[=TIME]", help="A bed that is printed, when.")
]
Failed = Annotated[
    list[str] | None, typer.Option("--failed", metavar="BED[=TIME]", help="A bed that failed, when.")
]
Running = Annotated[
    list[str] | None, typer.Option("--running", metavar="BED[=TIME]", help="A bed that prints now, till.")
]
Good = Annotated[
    list[str] | None,
    typer.Option("--good", metavar="PIECE", help="A piece of a failed bed that can be used."),
]
Again = Annotated[
    list[str] | None,
    typer.Option("--again", metavar="PIECE", help="A finished piece that is to be printed once more."),
]
Cleared = Annotated[
    list[str] | None, typer.Option("--cleared", metavar="BED", help="A bed that is off its printer.")
]
Changed = Annotated[
    list[str] | None,
    typer.Option("--changed", metavar="PRINTER", help="A printer that has the filament of its next bed on."),
]
AsPlanned = Annotated[
    bool, typer.Option("--as-planned", help="Beds that no option names went as they were planned.")
]
Tolerate = Annotated[
    str, typer.Option("--tolerate", metavar="TIME", help="Later finish for which beds stay where they were.")
]
Effort = Annotated[str, typer.Option("--effort", metavar="quick|normal|thorough", help="How long to search.")]
Prefer = Annotated[
    str | None, typer.Option("--prefer", metavar="GOALS", help="What counts first, as visits,finish.")
]
Seed = Annotated[int, typer.Option("--seed", min=0, metavar="N", help="Same seed, same plan.")]
NoCache = Annotated[bool, typer.Option("--no-cache", help="Estimate every part anew; keep nothing.")]


@app.callback(invoke_without_command=True)
def _top(
    version: Annotated[bool, typer.Option("--version", help="Print the version and end.")] = False,
) -> None:
    if version:
        print(f"planner {__version__}")  # noqa: T201
        raise typer.Exit(DONE)


@app.command()
def plan(
    sources: Sources,
    workshop: WorkshopFile = None,
    airframe: AirframeFile = None,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the results.")] = Path("out"),
    printer: Printers = None,
    filament: FilamentName = None,
    option: Option = None,
    start: Start = None,
    effort: Effort = "normal",
    seed: Seed = 1,
    prefer: Prefer = None,
    jobs: Workers = None,
    unit: Unit = None,
    cluster: Cluster = None,
    cache: Cache = None,
    no_cache: NoCache = False,
    json_: Annotated[bool, typer.Option("--json", help="Print plan.json instead of the summary.")] = False,
    strict: Annotated[bool, typer.Option("--strict", help="End with 1 for every doubt, too.")] = False,
    verify: Annotated[bool, typer.Option("--verify", help="Check the plan by independent code.")] = False,
    since: Since = None,
    done: Done = None,
    failed: Failed = None,
    running: Running = None,
    good: Good = None,
    again: Again = None,
    cleared: Cleared = None,
    changed: Changed = None,
    as_planned: AsPlanned = False,
    tolerate: Tolerate = "4h",
) -> None:
    """Plan the print jobs of a folder: bed plans, schedule, spools, mass, balance, cost.

    With --since it goes on from an earlier plan: failed beds are printed again, what runs goes on, and few of
    the other beds are moved.
    """
    from planner import actions

    with told():
        request = request_of(
            sources,
            workshop,
            airframe,
            printer,
            filament,
            jobs,
            unit,
            cluster=cluster,
            cache_folder=cache_of(cache, no_cache),
            out=out,
            options=options_of(option or []),
            start=start,
            effort=effort,
            seed=seed,
            prefer=tuple(prefer.split(",")) if prefer is not None else (),
            verify=verify,
            since=since_of(
                since, (done, failed, running, good, cleared, changed, again), as_planned, tolerate
            ),
        )
        with _shown() as progress:
            made = actions.plan_folder(request, _now(), progress)
        text = actions.plan_text(made, as_json=json_, report=out / "report.html")
        print(text if json_ else printable(text))  # noqa: T201
        doubts = strict and any(finding.weight != "note" for finding in made.findings)
        sys.exit(DONE_WITH_GAPS if made.set_aside or made.misfits or doubts else DONE)


@app.command()
def tradeoff(
    sources: Sources,
    mass_at_most: Annotated[
        float | None, typer.Option("--mass-at-most", metavar="G", min=0.0, help="Flying mass in grams.")
    ] = None,
    finish_by: Annotated[
        str | None, typer.Option("--finish-by", metavar="TIME", help="End of the last run.")
    ] = None,
    cost_at_most: Annotated[
        str | None, typer.Option("--cost-at-most", metavar="MONEY", help='All of it, as "460 EUR".')
    ] = None,
    balance_inside: Annotated[
        bool, typer.Option("--balance-inside", help="Balance inside the window of the airframe file.")
    ] = False,
    workshop: WorkshopFile = None,
    airframe: AirframeFile = None,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the results.")] = Path(
        "tradeoff"
    ),
    printer: Printers = None,
    filament: FilamentName = None,
    option: Option = None,
    start: Start = None,
    effort: Effort = "normal",
    seed: Seed = 1,
    jobs: Workers = None,
    unit: Unit = None,
    cluster: Cluster = None,
    cache: Cache = None,
    no_cache: NoCache = False,
    json_: Annotated[bool, typer.Option("--json", help="Print tradeoff.json instead of the text.")] = False,
) -> None:
    """What to print otherwise to reach a mass, a date, a cost or the balance window."""
    from planner import actions

    with told():
        request = request_of(
            sources,
            workshop,
            airframe,
            printer,
            filament,
            jobs,
            unit,
            cluster=cluster,
            cache_folder=cache_of(cache, no_cache),
            out=out,
            options=options_of(option or []),
            start=start,
            effort=effort,
            seed=seed,
        )
        wanted = actions.TradeoffRequest(mass_at_most, finish_by, cost_at_most, balance_inside)
        with _shown() as progress:
            found = actions.tradeoff_folder(request, wanted, _now(), progress)
        text = actions.tradeoff_told(found, as_json=json_, report=out / "tradeoff.html")
        print(text if json_ else printable(text))  # noqa: T201
        sys.exit(NO_PLAN if found.refusal else DONE)


@app.command()
def tables(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="filaments, printers, recipes, fittings or finish")
    ],
) -> None:
    """Show a built-in table with the source of every row."""
    from planner import actions

    with told():
        print(printable(actions.table_text(name)))  # noqa: T201


@app.command()
def check(
    sources: Sources,
    workshop: WorkshopFile = None,
    airframe: AirframeFile = None,
    printer: Printers = None,
    filament: FilamentName = None,
    jobs: Workers = None,
    unit: Unit = None,
    cluster: Cluster = None,
    cache: Cache = None,
    no_cache: NoCache = False,
) -> None:
    """Look at the meshes only: health, size, fit, unit, printable wall; no plan."""
    from planner import actions

    with told():
        request = request_of(
            sources,
            workshop,
            airframe,
            printer,
            filament,
            jobs,
            unit,
            cluster=cluster,
            cache_folder=cache_of(cache, no_cache),
        )
        with _shown() as progress:
            found = actions.check_folder(request, _now(), progress)
        print(printable(actions.check_text(found)))  # noqa: T201
        sys.exit(DONE if found.clean else DONE_WITH_GAPS)


@app.command()
def new(folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder of part meshes.")]) -> None:
    """Draft airframe.toml and workshop.toml from the meshes; never overwrites."""
    from planner import actions

    with told():
        for path, written in actions.draft_files(folder, zone=actions.computer_zone()):
            print(printable(f"{'drafted' if written else 'kept as it is'}  {path}"))  # noqa: T201


@app.command()
def prepare() -> None:
    """Compile the number-crunching parts now, so that the first plan need not."""
    from planner import actions

    with told(), _shown() as progress:
        actions.prepare(progress)


def _shown() -> AbstractContextManager[Report]:
    from planner.cli.progress import shown

    return shown()


def _now() -> datetime:
    return datetime.now().astimezone()


app.command()(page)


def main() -> None:
    """Entry point of the command."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    listen()
    try:
        app()
    except KeyboardInterrupt:
        leave("Stopped; nothing was written.", INTERRUPTED)


if __name__ == "__main__":
    main()
