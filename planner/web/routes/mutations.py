"""Routes that change something; all take and give JSON."""

from __future__ import annotations

import json
import math
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from planner.api import zone_name
from planner.api.ledger_files import ledger_stamp
from planner.errors import InputError, PlannerError
from planner.web.desk import Desk
from planner.web.edits.edits import LOCK, edit
from planner.web.edits.history import undo
from planner.web.jobs.runs import gone_on, lived
from planner.web.ledger import place_for
from planner.web.refusals import told_at_page
from planner.web.settings import keep_settings, settings_of
from planner.web.state import AIRFRAME, read_state
from planner.web.views.plan_stamp import PLAN, plan_stamp
from planner.web.words import say
from planner.web.workspace import read_record

MOST_BODY = 2_000_000
LARGEST = 10**15  # of a whole number: beyond it a program loses digits


async def body_of(request: Request) -> dict[str, Any]:
    """The JSON object of a request.

    Raises
    ------
    InputError
        when it is none, or too large
    """
    if not request.headers.get("content-type", "").startswith("application/json"):
        raise InputError("the request holds no JSON.")
    data = bytearray()
    async for chunk in request.stream():
        data += chunk
        if len(data) > MOST_BODY:
            raise InputError(f"the request is larger than {MOST_BODY} bytes; that is the limit.")
    try:
        value = json.loads(data, parse_float=_number, parse_int=_whole, parse_constant=_number)
    except (ValueError, RecursionError) as error:
        raise InputError("the request holds no JSON.") from error
    if not isinstance(value, dict):
        raise InputError("the request holds no JSON object.")
    return value


def _number(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise InputError(f"{text[:20]!r} is no number that can be used: it has no end.")
    return value


def _whole(text: str) -> int:
    value = float(text)
    if abs(value) > LARGEST:
        raise InputError(f"{text[:20]!r} is no number that can be used: the limit is {LARGEST}.")
    return int(text)


def desk_of(request: Request) -> Desk:
    """The desk of the application."""
    desk: Desk = request.app.state.desk
    return desk


async def begin_drop(request: Request) -> Response:
    """Open a drop."""
    desk = desk_of(request)
    moves = (await body_of(request)).get("moves") is True
    if not moves:
        desk.bench.warm()
    return JSONResponse({"key": desk.drops.begin(moves=moves)})


async def receive_file(request: Request) -> Response:
    """Receive one file; its path comes in the address, its bytes are the body."""
    desk = desk_of(request)
    path = request.query_params.get("path", "")
    told = await desk.drops.receive(request.path_params["key"], path, request.stream())
    return JSONResponse({"told": told})


async def finish_drop(request: Request) -> Response:
    """Make an airframe of a drop, or add it to one; the look at it begins."""
    desk = desk_of(request)
    given = await body_of(request)
    key = request.path_params["key"]
    left_out: list[str] = []
    if given.get("into"):
        folder = desk.workspace.folder(str(given["into"]))
        left_out = await run_in_threadpool(desk.drops.add_to, key, folder)
        identifier = folder.name
    else:
        identifier = await run_in_threadpool(desk.drops.finish, key, str(given.get("name") or "airframe"))
        if (zone := zone_name(given.get("zone"))) is not None:  # of the browser, for the draft of the hours
            keep_settings(desk.workspace.folder(identifier), {"zone": zone})
    folder = desk.workspace.folder(identifier)
    raw = not (folder / AIRFRAME).is_file()  # a kit that brings no record is read, and asked about
    desk.looks.start(folder, after_firsts=bool(given.get("into")))
    more: dict[str, Any] = {"sheet": "/kit"} if raw else {}
    more |= {"left_out": left_out} if left_out else {}
    return JSONResponse({"airframe": identifier, **more})


async def forget_drop(request: Request) -> Response:
    """Throw a drop away."""
    desk_of(request).drops.forget(request.path_params["key"])
    return JSONResponse({})


async def make_edit(request: Request) -> Response:
    """One edit of a record."""
    desk = desk_of(request)
    given = await body_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    values = given.get("given")

    def work() -> dict[str, str]:
        desk.looks.looked(folder)
        with LOCK:
            before = read_state(folder)
            label = edit(before, str(given.get("do")), values if isinstance(values, dict) else {})
            return {"label": label, "before": before.revision, "revision": read_state(folder).revision}

    return JSONResponse(await run_in_threadpool(work))


async def take_back(request: Request) -> Response:
    """Undo the last edit."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])

    def work() -> dict[str, str]:
        with LOCK:
            before = read_state(folder).revision
            label = undo(folder)
            return {
                "label": say("taken_back", label=label),
                "before": before,
                "revision": read_state(folder).revision,
            }

    return JSONResponse(await run_in_threadpool(work))


async def reckon(request: Request) -> Response:
    """Mass, hours and cost of the choices as they stand, and as they stood before."""
    desk = desk_of(request)
    given = await body_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    await run_in_threadpool(desk.looks.looked, folder)  # else its meshes are others once it is reckoned
    revision, now = await run_in_threadpool(desk.looks.reckon, folder)
    before = desk.looks.known(folder, str(given.get("before", "")))
    return JSONResponse({"revision": revision, "now": _brief(now), "before": _brief(before)})


async def at_once(request: Request) -> Response:
    """The first figures of the choices as they stand; none where they are wrong."""
    desk = desk_of(request)
    before = str((await body_of(request)).get("before", ""))
    folder = desk.workspace.folder(request.path_params["airframe"])
    try:
        return JSONResponse(await run_in_threadpool(desk.firsts.tell, folder, before))
    except (PlannerError, RuntimeError):  # the reckoning says why
        return JSONResponse({"revision": read_state(folder).revision, "now": None, "before": None})
    finally:
        desk.looks.firsts_told(folder)


def _brief(measures: dict[str, Any] | None) -> dict[str, Any] | None:
    if measures is None:
        return None
    return {key: value for key, value in measures.items() if key not in ("parts", "assumptions")}


async def reckon_progress(request: Request) -> Response:
    """How far the reckoning is."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    return JSONResponse(desk.looks.reckoning(folder.name))


async def start_look(request: Request) -> Response:
    """Look at the meshes."""
    desk = desk_of(request)
    desk.looks.start(desk.workspace.folder(request.path_params["airframe"]))
    return JSONResponse({})


async def look_progress(request: Request) -> Response:
    """How far the look is."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    return JSONResponse(desk.looks.told(folder.name))


async def start_plan(request: Request) -> Response:
    """Begin to plan."""
    desk = desk_of(request)
    given = await body_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    keep_settings(folder, given)
    state = read_state(folder)
    if state.wrong:
        raise InputError(state.wrong)
    settings = {**settings_of(folder), "anew": given.get("anew") is True}
    desk.runs.leave(lived(folder.name))
    begun = desk.runs.start(folder.name, folder, settings, state.revision)
    return JSONResponse({"begun": begun})


async def plan_progress(request: Request) -> Response:
    """Stage, best finish so far, and the revision of the choices."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    revision = read_state(folder).revision
    plan = plan_stamp(read_record(folder, PLAN))
    facts = ledger_stamp(place_for(folder).file)
    return JSONResponse({**desk.runs.told(folder.name), "revision": revision, "plan": plan, "facts": facts})


async def stop_plan(request: Request) -> Response:
    """End the search with its best, or leave it altogether."""
    desk = desk_of(request)
    given = await body_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    (desk.runs.leave if given.get("leave") else desk.runs.stop)(folder.name)
    return JSONResponse({})


async def remove(request: Request) -> Response:
    """Put an airframe aside."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    desk.runs.leave(folder.name)
    desk.runs.leave(gone_on(folder.name))
    desk.runs.leave(lived(folder.name))
    desk.workspace.remove(folder.name)
    return JSONResponse({})


async def refused(request: Request, error: Exception) -> Response:
    """Errors of the planner as they are told everywhere."""
    assert isinstance(error, PlannerError)  # noqa: S101 - registered for this kind only
    return JSONResponse({"message": told_at_page(error)}, 422)


ACTS = [
    Route("/drop", begin_drop, methods=["POST"]),
    Route("/drop/{key}", receive_file, methods=["PUT"]),
    Route("/drop/{key}", forget_drop, methods=["DELETE"]),
    Route("/drop/{key}/done", finish_drop, methods=["POST"]),
    Route("/a/{airframe}/edit", make_edit, methods=["POST"]),
    Route("/a/{airframe}/undo", take_back, methods=["POST"]),
    Route("/a/{airframe}/reckon", reckon, methods=["POST"]),
    Route("/a/{airframe}/reckon", reckon_progress),
    Route("/a/{airframe}/at-once", at_once, methods=["POST"]),
    Route("/a/{airframe}/look", start_look, methods=["POST"]),
    Route("/a/{airframe}/look", look_progress),
    Route("/a/{airframe}/run", start_plan, methods=["POST"]),
    Route("/a/{airframe}/run", plan_progress),
    Route("/a/{airframe}/stop", stop_plan, methods=["POST"]),
    Route("/a/{airframe}/remove", remove, methods=["POST"]),
]
