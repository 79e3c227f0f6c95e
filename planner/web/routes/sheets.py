"""Routes that show something."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from planner.api import EFFORTS
from planner.model.attendance import DAYS
from planner.web.edits.edit_workshop import people_of, week_of
from planner.web.jobs.runs import lived, studied
from planner.web.ledger import place_for
from planner.web.routes.mutations import desk_of
from planner.web.routes.results import OWN_STYLE, SHOWN, archive, kind_of, result_file, result_files
from planner.web.routes.sheet_page import page, sheet
from planner.web.state import State, read_state
from planner.web.views.changes import CHANGES
from planner.web.views.kit_cards import cards_of
from planner.web.views.kit_found import KIT
from planner.web.views.palette import accent_css, colour, mark_svg, rgb
from planner.web.views.plan_stamp import PLAN
from planner.web.views.section_asks import colours_known, wishes_shown
from planner.web.views.shown import parts_shown, recipes_shown, workshop_rows, workshop_top
from planner.web.views.workshop_more import more_shown
from planner.web.words import say, words
from planner.web.workspace import OWN, NotHere, read_record


def home(request: Request) -> Response:
    """The first sheet: drop something, or open what is there."""
    workspace = desk_of(request).workspace
    cards = []
    for identifier in workspace.airframes():
        folder = workspace.folder(identifier)
        look = read_record(folder, "look.json") or {}
        told = read_record(folder, "card.json") or {}
        meshes = sorted(look.get("meshes", []), key=lambda row: -max(row["extents"]))
        cards.append(
            {
                "id": identifier,
                "meshes": len(meshes),
                "aside": len(look.get("set_aside", [])),
                "pictures": [row["key"] for row in meshes[:3]],
                "answers": told.get("answers", []),
                "title": told.get("title") or identifier,
                "outline": told.get("outline", ""),
            }
        )
    ways = [(way.address, Markup(way.drawing())) for way in request.app.state.ways]  # noqa: S704 - own drawing
    return page(
        "home.html", cards=cards, root=str(workspace.root), ways=ways, index=None, airframe=None, here=""
    )


def parts(request: Request) -> Response:
    """Meshes, choices and findings."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    state = read_state(folder)
    return sheet(
        request,
        "parts.html",
        "",
        sections=parts_shown(state, desk.looks.known(folder, state.revision) or desk.looks.last(folder)),
        recipes=recipes_shown(state),
        bed=_bed(state),
        wishes=wishes_shown(state),
        colours=colours_known(state),
        asked=len(cards_of(state, read_record(folder, KIT))),
    )


def _bed(state: State) -> dict[str, Any]:
    """The largest bed, to stand parts on."""
    if state.records is None:
        return {}
    bed = max((p.bed for p in state.records.workshop.printers), key=lambda b: b.width_mm * b.depth_mm)
    return {"shape": bed.shape, "width": bed.width_mm, "depth": bed.depth_mm}


def workshop(request: Request) -> Response:
    """Printers, filaments, shelf, attendance."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    state = read_state(folder)
    person = request.query_params.get("person", "")
    return sheet(
        request,
        "workshop.html",
        "/workshop",
        rows=workshop_rows(state),
        more=more_shown(state),
        colours=colours_known(state),
        top=workshop_top(state),
        week=week_of(state.records, person) if state.records else {},
        person=person,
        people=people_of(state.records) if state.records else [],
        days=DAYS,
    )


def plan(request: Request) -> Response:
    """Plan, and the six answers."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    return sheet(
        request,
        "plan.html",
        "/plan",
        efforts=EFFORTS,
        ledger=place_for(folder).file.is_file(),
        living=desk_of(request).runs.busy(lived(folder.name)),
    )


def beds(request: Request) -> Response:
    """Bed plans in the order of their runs."""
    return sheet(request, "beds.html", "/beds")


def cost(request: Request) -> Response:
    """The cost sheet, to sort and filter."""
    return sheet(request, "cost.html", "/cost")


def changes(request: Request) -> Response:
    """What to print otherwise to reach a target."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    found = read_record(folder, CHANGES)
    return sheet(
        request, "changes.html", "/changes", found=found, studying=desk.runs.busy(studied(folder.name))
    )


def documents(request: Request) -> Response:
    """Everything to take away."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    return sheet(request, "documents.html", "/documents", files=result_files(folder))


def records(request: Request) -> Response:
    """The two records as text."""
    return sheet(request, "records.html", "/records")


def told(here: str, key: str) -> Any:
    """A sheet that shows markup of the plan."""

    def show(request: Request) -> Response:
        return sheet(request, "told.html", here, key=key, made=Markup)

    return show


def picture(request: Request) -> Response:
    """A small picture of a mesh; made once, kept beside the mesh."""
    from planner.web.views.picture import picture as draw

    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    scene = _scene(folder, request.path_params["key"])
    rank = request.path_params["rank"] % 6
    kept = folder / OWN / "pictures" / f"{scene.stem}-{rank}.png"
    if not kept.is_file():
        import numpy as np

        made = draw(np.load(scene, allow_pickle=False), rgb(colour(rank)))
        kept.parent.mkdir(parents=True, exist_ok=True)
        fresh = kept.with_name(f".{kept.name}-{id(request)}")
        fresh.write_bytes(made)
        fresh.replace(kept)
    return FileResponse(kept, media_type="image/png", headers={"cache-control": "private, max-age=86400"})


def scene(request: Request) -> Response:
    """A light mesh as little-endian float32 corners."""
    import numpy as np

    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    fine = _scene(folder, request.path_params["key"])
    corners = np.load(fine, allow_pickle=False)
    if "coarse" in request.query_params:
        corners = _coarse(fine, corners)
    body = corners.astype("<f4").tobytes()
    return Response(
        body, media_type="application/octet-stream", headers={"cache-control": "private, max-age=86400"}
    )


def _coarse(fine: Path, corners: Any) -> Any:
    """The same, lighter; made once, kept beside the mesh."""
    import numpy as np

    from planner.web.views.scene import COARSE, light

    kept = fine.with_name(f"{fine.stem}-coarse.npy")
    if kept.is_file():
        return np.load(kept, allow_pickle=False)
    made = light(corners, COARSE)
    fresh = fine.with_name(f".{secrets.token_hex(6)}.npy")
    np.save(fresh, made)
    fresh.replace(kept)
    return made


def _scene(folder: Path, key: str) -> Path:
    path = folder / OWN / "scene" / f"{key}.npy"
    if not key.isalnum() or not path.is_file():
        raise NotHere(key)
    return path


def scenes(request: Request) -> Response:
    """What stands where: all parts, or the pieces of a bed."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    state = read_state(folder)
    if state.look is None or state.records is None:
        return JSONResponse({"parts": {}})
    looks = desk_of(request).looks
    known = looks.known(folder, state.revision) or looks.last(folder)
    plan = read_record(folder, PLAN) or {}
    poses = (known or plan.get("measures") or {}).get("parts", {})
    rows = {
        part.name: {"key": part.key, "colour": part.colour, "pose": poses.get(part.name, {}).get("pose")}
        for section in parts_shown(state, known).values()
        for part in section
    }
    return JSONResponse(
        {
            "parts": rows,
            "beds": plan.get("placed", {}),
            "bed": _bed(state),
            "assembled": plan.get("assembled", {"pieces": []}),
        }
    )


def download(request: Request) -> Response:
    """One file of the results."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    path = result_file(folder, request.path_params["inside"])
    shown = path.suffix in SHOWN and "save" not in request.query_params
    return FileResponse(
        path,
        media_type=kind_of(path),
        filename=path.name,
        content_disposition_type="inline" if shown else "attachment",
        headers={"content-security-policy": OWN_STYLE},
    )


def everything(request: Request) -> Response:
    """All results as one archive."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    if not result_files(folder):
        raise NotHere("plan")
    made = archive(folder)

    def pieces() -> Iterator[bytes]:
        with made:
            while chunk := made.read(1 << 16):
                yield chunk

    name = f"{folder.name}.zip".replace('"', "")
    return StreamingResponse(
        pieces(),
        media_type="application/zip",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )


def texts(request: Request) -> Response:
    """The texts that scripts need."""
    return JSONResponse({key: text for key, text in words().items() if key.startswith("js_")})


async def missing(request: Request, error: Exception) -> Response:
    """Nothing is at this address."""
    if "application/json" in request.headers.get("content-type", ""):
        return JSONResponse({"message": say("not_here")}, 404)
    made = page("missing.html", index=None, airframe=None, here="")
    made.status_code = 404
    return made


def accent(request: Request) -> Response:
    """The one colour that report and page share."""
    return Response(accent_css(), media_type="text/css")


def mark(request: Request) -> Response:
    """The sign in the browser's tab."""
    return Response(mark_svg(), media_type="image/svg+xml")


SHEETS = [
    Route("/", home),
    Route("/texts.json", texts),
    Route("/colours.css", accent),
    Route("/mark.svg", mark),
    Route("/a/{airframe}", parts),
    Route("/a/{airframe}/workshop", workshop),
    Route("/a/{airframe}/plan", plan),
    Route("/a/{airframe}/beds", beds),
    Route("/a/{airframe}/timetable", told("/timetable", "timetable")),
    Route("/a/{airframe}/balance", told("/balance", "balance")),
    Route("/a/{airframe}/each", told("/each", "parts")),
    Route("/a/{airframe}/build", told("/build", "build")),
    Route("/a/{airframe}/notes", told("/notes", "notes")),
    Route("/a/{airframe}/cost", cost),
    Route("/a/{airframe}/changes", changes),
    Route("/a/{airframe}/documents", documents),
    Route("/a/{airframe}/records", records),
    Route("/a/{airframe}/scenes", scenes),
    Route("/a/{airframe}/scene/{key}", scene),
    Route("/a/{airframe}/picture/{key}/{rank:int}", picture),
    Route("/a/{airframe}/all.zip", everything),
    Route("/a/{airframe}/file/{inside:path}", download),
]
