"""What is no fault of the page: a browser that goes away, a disk that is full."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from planner.web.words import say
from planner.web.workspace import FULL


async def gone(request: Request, error: Exception) -> Response:
    """The browser went away before all was sent: nobody hears the answer, and nothing of it is kept."""
    del request, error
    return Response(status_code=400)


async def no_room(request: Request, error: Exception) -> Response:
    """The disk is full, in words; any other failure of the system is one of the page."""
    if not isinstance(error, OSError) or error.errno not in FULL:
        raise error
    return JSONResponse({"message": say("disk_full")}, 422)
