"""The sheet Machine files: what was read of them, their layers, and the plan that goes by them."""

from __future__ import annotations

from pathlib import Path

from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from planner.errors import InputError
from planner.web.jobs.runs import gone_on, moves_read
from planner.web.moves import (
    forget,
    forget_all,
    layer_files,
    read_files,
    receive,
    waiting,
)
from planner.web.routes.mutations import body_of, desk_of
from planner.web.routes.sheet_page import sheet
from planner.web.routes.today import last_told
from planner.web.views.plan_stamp import ONWARD, PLAN, plan_stamp
from planner.web.views.today_view import changes_of
from planner.web.words import say
from planner.web.workspace import RESULTS, read_record

BEAD_BYTES = 8
MOST_BEADS = 1 << 20  # of one answer


def moves(request: Request) -> Response:
    """Drop machine files, and read what they say against the plan."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    stamp = plan_stamp(read_record(folder, PLAN))
    read = read_files(folder)
    takes = [one for one in read["files"] if not one["refused"] and not one["offer"]["why_not"]]
    return sheet(
        request,
        "moves.html",
        "/moves",
        read=read,
        old_files=bool(read["files"]) and read["base"] != stamp,
        takes=takes,
        reading=desk.runs.busy(moves_read(folder.name)) or bool(waiting(folder)),
        onward=changes_of(read_record(folder, ONWARD), stamp, last_told(folder)),
        going=desk.runs.busy(gone_on(folder.name)),
        made=Markup,
    )


async def take_in(request: Request) -> Response:
    """Read the files of a drop."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    key = str((await body_of(request)).get("drop") or "")
    if not (folder / RESULTS / "plan.json").is_file():
        raise InputError(say("no_plan_sheet"))

    def work() -> None:
        receive(folder, desk.drops.machine_files(key))
        desk.drops.forget(key)
        desk.runs.read_moves(folder.name, folder)

    await run_in_threadpool(work)
    return JSONResponse({})


async def progress(request: Request) -> Response:
    """How far the reading is; what came while it ended is read, too."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    key = moves_read(folder.name)
    state = desk.runs.told(key)
    if waiting(folder) and not desk.runs.busy(key) and state["state"] != "failed":
        desk.runs.read_moves(folder.name, folder)
        state = desk.runs.told(key)
    return JSONResponse({**state, "waiting": len(waiting(folder))})


async def leave(request: Request) -> Response:
    """End the reading and forget what waits, or forget a file or all that was read."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    desk.runs.leave(moves_read(folder.name))
    key = request.path_params.get("key")
    await run_in_threadpool(forget, folder, key) if key else await run_in_threadpool(forget_all, folder)
    return JSONResponse({})


async def layers(request: Request) -> Response:
    """Heights, bed and pieces of a file that was read."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    record, _ = layer_files(folder, request.path_params["key"])
    return Response(await run_in_threadpool(record.read_bytes), media_type="application/json")


async def beads(request: Request) -> Response:
    """Beads of layers that follow each other; no more is read of the file than is asked for."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    _, path = layer_files(folder, request.path_params["key"])
    begin, count = (_whole(request, name) for name in ("from", "count"))
    body = await run_in_threadpool(_slice, path, begin, min(count, MOST_BEADS))
    return Response(body, media_type="application/octet-stream")


def _whole(request: Request, name: str) -> int:
    text = request.query_params.get(name, "")
    if not text.isascii() or not text.isdigit() or len(text) > 12:
        raise InputError(f"{name} = {text[:20]!r} is no whole number of beads.")
    return int(text)


def _slice(path: Path, begin: int, count: int) -> bytes:
    with path.open("rb") as stream:
        stream.seek(begin * BEAD_BYTES)
        return stream.read(count * BEAD_BYTES)


MOVES_ROUTES = [
    Route("/a/{airframe}/moves", moves),
    Route("/a/{airframe}/moves", take_in, methods=["POST"]),
    Route("/a/{airframe}/moves", leave, methods=["DELETE"]),
    Route("/a/{airframe}/moves/reading", progress),
    Route("/a/{airframe}/moves/{key}", leave, methods=["DELETE"]),
    Route("/a/{airframe}/moves/{key}/layers", layers),
    Route("/a/{airframe}/moves/{key}/beads", beads),
]
