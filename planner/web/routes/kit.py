"""The sheet Kit: what the folder is read as, put together, and what is asked about it."""

from __future__ import annotations

from dataclasses import asdict

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from planner.api import fitting_rows, usual_sections
from planner.web.routes.mutations import desk_of
from planner.web.routes.sheet_page import sheet
from planner.web.state import State, read_state
from planner.web.views.kit_cards import cards_of, everything
from planner.web.views.kit_found import KIT
from planner.web.views.kit_rows import fittings_shown, frame_shown, kit_rows, loose_groups, seated_pieces
from planner.web.views.side_view import side_view
from planner.web.workspace import OWN, read_record


def kit(request: Request) -> Response:
    """Cards, side view, stacks, fittings, and every part with its place."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    state, found = read_state(folder), read_record(folder, KIT)
    measures = desk.looks.known(folder, state.revision) or desk.looks.last(folder) or {}
    placed = (found or {}).get("placed")
    cards = cards_of(state, found)
    pieces = seated_pieces(state, placed)
    rows = kit_rows(state, {piece.part for piece in pieces})
    fittings = fittings_shown(frame_shown(state, placed))
    scenes = folder / OWN / "scene"
    return sheet(
        request,
        "kit.html",
        "/kit",
        cards=cards,
        all_given=everything(cards),
        ready=sum(card.taken is not None for card in cards),
        rows=rows,
        row_of={row.mesh: row for row in rows},
        loose=[row for row in rows if row.printed and row.chosen and not row.seated],
        placed=placed is not None,
        side=side_view(scenes, pieces, fittings, measures.get("station_mm")) if rows else None,
        fittings=fittings,
        table=fitting_rows(),
        sections=_sections(state),
    )


def _sections(state: State) -> list[str]:
    """Sections that there are, and those that kits usually have."""
    frame = state.records.airframe if state.records else None
    own = [*frame.sections, *(part.section for part in frame.parts)] if frame else []
    return list(dict.fromkeys([*own, *usual_sections()]))


def kit_scene(request: Request) -> Response:
    """Pieces where they sit by what is written, and the parts that have no place yet."""
    folder = desk_of(request).workspace.folder(request.path_params["airframe"])
    state, found = read_state(folder), read_record(folder, KIT)
    pieces = seated_pieces(state, (found or {}).get("placed"))
    seated = {piece.part for piece in pieces}
    rows = kit_rows(state, seated)
    loose = loose_groups(rows, seated, (found or {}).get("rows", ()))
    return JSONResponse(
        {
            "pieces": [asdict(piece) for piece in pieces],
            "loose": [[asdict(piece) for piece in group] for group in loose],
        }
    )


KIT_ROUTES = [Route("/a/{airframe}/kit", kit), Route("/a/{airframe}/kit/scene", kit_scene)]
