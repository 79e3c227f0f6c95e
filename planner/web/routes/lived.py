"""Routes that live through the plan that is there, in simulated worlds; nothing is planned."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from planner.errors import InputError, RecordError
from planner.web.jobs.runs import lived
from planner.web.routes.beside import end_of, progress_of
from planner.web.routes.mutations import body_of, desk_of
from planner.web.settings import keep_settings, risk_asked
from planner.web.views.plan_stamp import PLAN
from planner.web.words import say
from planner.web.workspace import read_record


async def start_living(request: Request) -> Response:
    """Begin; in as many worlds as are asked for, which the sheet keeps like what a plan is asked for."""
    desk = desk_of(request)
    given = await body_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    wanted = {key: given.get(key) for key in ("worlds", "missed")}
    asked = risk_asked(wanted)
    if asked is None:
        raise RecordError(say("risk_how_many"), where=say("risk_worlds"), next_step=say("risk_how_many_next"))
    if desk.runs.busy(folder.name):
        raise InputError(say("risk_busy"))
    if read_record(folder, PLAN) is None:
        raise InputError(say("no_plan_sheet"), next_step=say("to_plan"))
    keep_settings(folder, wanted)
    return JSONResponse({"begun": desk.runs.live(folder.name, folder, asked)})


LIVED_ROUTES = [
    Route("/a/{airframe}/risk", start_living, methods=["POST"]),
    Route("/a/{airframe}/risk", progress_of(lived)),
    Route("/a/{airframe}/risk", end_of(lived), methods=["DELETE"]),
]
