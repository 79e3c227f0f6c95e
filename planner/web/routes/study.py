"""Routes of a study of changes: begun, watched and ended."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from planner.errors import InputError
from planner.web.jobs.runs import studied
from planner.web.routes.beside import end_of, progress_of
from planner.web.routes.mutations import body_of, desk_of
from planner.web.settings import settings_of
from planner.web.state import read_state
from planner.web.views.changes import wishes_from


async def start_study(request: Request) -> Response:
    """Begin to study changes."""
    desk = desk_of(request)
    wanted = wishes_from(await body_of(request))
    folder = desk.workspace.folder(request.path_params["airframe"])
    state = read_state(folder)
    if state.wrong:
        raise InputError(state.wrong)
    begun = desk.runs.start(folder.name, folder, settings_of(folder), state.revision, wanted)
    return JSONResponse({"begun": begun})


STUDY_ROUTES = [
    Route("/a/{airframe}/study", start_study, methods=["POST"]),
    Route("/a/{airframe}/study", progress_of(studied)),
    Route("/a/{airframe}/study", end_of(studied), methods=["DELETE"]),
]
