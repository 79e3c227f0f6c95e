"""The command ``planner``: words of the user to actions, answers to the terminal."""

from __future__ import annotations

import logging
import os
import sys
import warnings
from contextlib import AbstractContextManager, nullcontext
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.asked import plan_request, request_of, worlds_asked
from planner.cli.circles import looking_seldom
from planner.cli.exits import (
    DONE,
    DONE_WITH_GAPS,
    INTERRUPTED,
    NO_PLAN,
    leave,
    printable,
    say,
    told,
)
from planner.cli.interrupt import listen, stopped
from planner.cli.options import Aims, Earlier, Kit, Results, Search, grouped
from planner.cli.page import page
from planner.cli.places import say_left
from planner.cli.plain_values import PlainCommand, PlainGroup
from planner.cli.readback import readback
from planner.cli.record import record
from planner.cli.shelf import away, spool
from planner.cli.streams import open_streams
from planner.cli.today import today
from planner.version import __version__

if TYPE_CHECKING:
    from planner.cli.progress import Report
    from planner.kit.questions import Answer, Question

PLANNING = ("plan", "tradeoff", "check", "new", "prepare")  # commands that do one long work and end
COMPILED = (*PLANNING, "page")  # commands that use compiled code

app = typer.Typer(
    name="planner",
    cls=PlainGroup,
    help="Plan print jobs and filament for a model airframe that is printed in many parts.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


@app.callback(invoke_without_command=True)
def _top(
    version: Annotated[bool, typer.Option("--version", help="Print the version and end.")] = False,
) -> None:
    if version:
        say(f"planner {__version__}")
        raise typer.Exit(DONE)


@app.command()
@grouped
def plan(kit: Kit, search: Search, results: Results, earlier: Earlier) -> None:
    """Plan the print jobs of a folder: bed plans, schedule, spools, mass, balance, cost.

    With --since it goes on from an earlier plan: failed beds are printed again, what runs goes on, and few of
    the other beds are moved.
    """
    from planner import api

    with told():
        if results.risk_only:
            found = api.lived_through(results.out, worlds_asked(results))
            text = api.risk_text(found, as_json=results.json_)
            say(text if results.json_ else printable(text))
            sys.exit(DONE)
        say_left(results.out, earlier.since)
        request = plan_request(kit, search, results, earlier)
        with _shown() as progress:
            made = api.plan_folder(request, _now(), progress, stopped)
        text = api.plan_text(made, as_json=results.json_, report=results.out / "report.html")
        say(text if results.json_ else printable(text))
        if stopped():
            leave(f"Stopped; the best plan until then is in {results.out}.", INTERRUPTED)
        doubts = results.strict and any(finding.weight != "note" for finding in made.findings)
        sys.exit(DONE_WITH_GAPS if made.set_aside or made.misfits or doubts else DONE)


@app.command()
@grouped
def tradeoff(kit: Kit, search: Search, aims: Aims) -> None:
    """What to print otherwise to reach a mass, a date, a cost or the balance window."""
    from planner import api

    with told():
        say_left(aims.out)
        request = request_of(kit, search, out=aims.out)
        wanted = api.TradeoffRequest(
            aims.mass_at_most, aims.finish_by, aims.cost_at_most, aims.balance_inside
        )
        with _shown() as progress:
            found = api.tradeoff_folder(request, wanted, _now(), progress)
        text = api.tradeoff_told(found, as_json=aims.json_, report=aims.out / "tradeoff.html")
        say(text if aims.json_ else printable(text))
        sys.exit(NO_PLAN if found.refusal else DONE)


@app.command()
def tables(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="filaments, printers, recipes, fittings or finish")
    ],
) -> None:
    """Show a built-in table with the source of every row."""
    from planner import api

    with told():
        say(printable(api.table_text(name)))


@app.command()
@grouped
def check(kit: Kit) -> None:
    """Look at the meshes only: health, size, fit, unit, printable wall; no plan."""
    from planner import api

    with told():
        with _shown() as progress:
            found = api.check_folder(request_of(kit), _now(), progress)
        say(printable(api.check_text(found)))
        sys.exit(DONE if found.clean else DONE_WITH_GAPS)


@app.command()
def new(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Folder of part meshes, or a .zip of one.")
    ],
    ask: Annotated[bool, typer.Option("--ask", help="Ask what is not sure, one by one.")] = False,
) -> None:
    """Draft airframe.toml and workshop.toml from the meshes; never overwrites."""
    from textwrap import fill

    from planner import api

    with told():
        given, folder = folder, api.unpacked(folder)
        if folder != given:
            say(printable(f"unpacked  {given} into {folder}"))
        drafted = api.draft_files(folder, zone=api.computer_zone(), ask=_asked if ask else None)
        for path, written in drafted.files:
            say(printable(f"{'drafted' if written else 'kept as it is'}  {path}"))
        for line in drafted.found:
            say(printable(fill(line, 80, subsequent_indent="  ")))


@app.command()
def prepare() -> None:
    """Compile the number-crunching parts now, so that the first plan need not."""
    from planner import api

    with told(), _shown() as progress:
        api.prepare(progress)


def _asked(question: Question) -> Answer:
    """One question on the terminal; an empty answer, or none at all, leaves it open."""
    from planner.cli.asking import answer

    return answer(question)


def _shown() -> AbstractContextManager[Report]:
    from planner.cli.progress import shown

    return shown()


def _now() -> datetime:
    from planner.api import now_here

    return now_here()


app.command()(page)
app.command()(record)
app.command()(readback)
app.command()(spool)
app.command()(away)
app.command()(today)
for _command in app.registered_commands:
    _command.cls = PlainCommand


def _refuse_nowhere() -> None:
    """A working folder that was deleted meanwhile: paths lead nowhere from there, and libraries stumble."""
    from planner.errors import InputError

    with told():
        try:
            Path.cwd()
        except OSError as error:
            raise InputError(
                "the folder that you are in is not there any more.", next_step="Go to another one (cd)."
            ) from error


def _say_where() -> None:
    """Before anything is compiled: a place to keep it, or a sentence."""
    from textwrap import fill

    from planner.api import place_for_compiled_code

    note = place_for_compiled_code()
    if note:
        say(fill(note, 80), to_errors=True)


def main() -> None:
    """Entry point of the command."""
    open_streams()
    if not sys.warnoptions:  # those of libraries are for whoever writes programs with them
        warnings.simplefilter("ignore")
        os.environ.setdefault("PYTHONWARNINGS", "ignore")
        logging.getLogger().addHandler(logging.NullHandler())  # else what they log comes, too
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    listen()
    try:
        if sys.argv[1:2] and sys.argv[1] in COMPILED:
            _refuse_nowhere()
            _say_where()
        with looking_seldom() if sys.argv[1:2] and sys.argv[1] in PLANNING else nullcontext():
            app()
    except KeyboardInterrupt:
        leave("Stopped; nothing was written.", INTERRUPTED)


if __name__ == "__main__":
    main()
