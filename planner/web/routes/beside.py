"""Routes of what runs beside a plan: how far it is, and its end; which one it is, its key says."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from planner.web.routes.mutations import desk_of

Handler = Callable[[Request], Awaitable[Response]]


def progress_of(key: Callable[[str], str]) -> Handler:
    """Tells how far it is; ``key`` makes the name of what runs from that of the airframe."""

    async def progress(request: Request) -> Response:
        desk = desk_of(request)
        folder = desk.workspace.folder(request.path_params["airframe"])
        return JSONResponse(desk.runs.told(key(folder.name)))

    return progress


def end_of(key: Callable[[str], str]) -> Handler:
    """Ends it; what was there before stays."""

    async def end(request: Request) -> Response:
        desk = desk_of(request)
        desk.runs.leave(key(desk.workspace.folder(request.path_params["airframe"]).name))
        return JSONResponse({})

    return end
