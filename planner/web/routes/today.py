"""The sheet Today: what to do at the next visit, facts that are told from it, and the plan that goes on."""

from __future__ import annotations

import shutil
from datetime import datetime
from pathlib import Path
from typing import Any

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from planner.api.clock import now_here
from planner.api.going_on import last_fact, take_results
from planner.api.kept_reads import offer_of
from planner.api.ledger_files import ledger_stamp
from planner.api.taking_back import write_offers
from planner.errors import InputError, PlannerError
from planner.web.edits.telling import LOCK, tell
from planner.web.jobs.runs import gone_on
from planner.web.ledger import place_for
from planner.web.routes.beside import progress_of
from planner.web.routes.mutations import body_of, desk_of
from planner.web.routes.sheet_page import sheet
from planner.web.settings import settings_of
from planner.web.state import read_state
from planner.web.views.plan_stamp import CARD, ONWARD, PLAN, plan_stamp
from planner.web.views.today_view import changes_of, facts_told, today_view
from planner.web.words import say
from planner.web.workspace import BESIDE, OWN, RESULTS, read_record, records_ready


def today(request: Request) -> Response:
    """For somebody who stands beside the printers."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    at = request.query_params.get("at", "")[:40]
    shown = today_view(place_for(folder), at, _now())
    stamp = plan_stamp(read_record(folder, PLAN))
    return sheet(
        request,
        "today.html",
        "/today",
        **shown,
        onward=changes_of(read_record(folder, ONWARD), stamp, last_told(folder)),
        going=desk.runs.busy(gone_on(folder.name)),
        made=Markup,
    )


def last_told(folder: Path) -> int:
    """The place of the last fact; a ledger that cannot be read is told elsewhere."""
    try:
        return last_fact(place_for(folder))
    except PlannerError:
        return -1


async def tell_fact(request: Request) -> Response:
    """Write a fact; the same id twice is one fact."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    given = await body_of(request)

    def work() -> dict[str, Any]:
        place = place_for(folder)
        answer = tell(place, given, _now())
        return {"lines": list(answer.lines[:-1]), "facts": ledger_stamp(place.file)}

    return JSONResponse(await run_in_threadpool(work))


async def start_onward(request: Request) -> Response:
    """Begin to plan on from here, beside the plan that holds."""
    desk = desk_of(request)
    given = await body_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    state = read_state(folder)
    if state.wrong:
        raise InputError(state.wrong)
    if not (folder / RESULTS / "plan.json").is_file():
        raise InputError(say("no_plan_sheet"))
    if desk.runs.busy(folder.name):
        raise InputError(say("onward_busy"))
    settings = {**settings_of(folder), "start": str(given.get("start") or "") or None}
    _forget(folder)
    by_files = given.get("files") is True
    begun = desk.runs.start(folder.name, folder, settings, state.revision, onward=True, by_files=by_files)
    return JSONResponse({"begun": begun})


async def leave_onward(request: Request) -> Response:
    """End it, or refuse what it found: the plan that holds stays as it is."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    desk.runs.leave(gone_on(folder.name))
    await run_in_threadpool(_forget, folder)
    return JSONResponse({})


async def take_onward(request: Request) -> Response:
    """Let the plan that was shown hold from now on: bed plans, timetable, calendar and all."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    if desk.runs.busy(folder.name):
        raise InputError(say("onward_busy"))
    await run_in_threadpool(_take, folder)
    return JSONResponse({"plan": plan_stamp(read_record(folder, PLAN))})


def _take(folder: Path) -> None:
    with LOCK:
        kept = read_record(folder, ONWARD)
        beside = folder / OWN / BESIDE
        if kept is None or not beside.is_dir():
            raise InputError(say("onward_gone"))
        if kept["base"] != plan_stamp(read_record(folder, PLAN)) or facts_told(kept) != last_told(folder):
            raise InputError(say("onward_old"))
        if (offered := kept.get("offered")) is not None:
            offers = [offer_of(one) for one in offered["rows"]]
            write_offers(place_for(folder), offers, datetime.fromisoformat(offered["at"]), "page")
        with records_ready(folder) as give:  # where there is no room for them, the plan of before holds on
            give(PLAN, kept["view"])
            give(CARD, kept["card"])
            take_results(beside, folder / RESULTS)
        _forget(folder)


def _forget(folder: Path) -> None:
    (folder / OWN / ONWARD).unlink(missing_ok=True)
    shutil.rmtree(folder / OWN / BESIDE, ignore_errors=True)


def _now() -> datetime:
    return now_here()


TODAY_ROUTES = [
    Route("/a/{airframe}/today", today),
    Route("/a/{airframe}/fact", tell_fact, methods=["POST"]),
    Route("/a/{airframe}/onward", start_onward, methods=["POST"]),
    Route("/a/{airframe}/onward", progress_of(gone_on)),
    Route("/a/{airframe}/onward", leave_onward, methods=["DELETE"]),
    Route("/a/{airframe}/onward/take", take_onward, methods=["POST"]),
]
