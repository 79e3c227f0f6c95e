"""A sheet of the page: its place in the index, and what every sheet shows of the airframe."""

from __future__ import annotations

from typing import Any

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from planner.api.formats import endings, formats_told
from planner.version import __version__
from planner.web.edits.history import last_label
from planner.web.edits.moments import moment_shown
from planner.web.routes.mutations import desk_of
from planner.web.settings import settings_of
from planner.web.state import read_state
from planner.web.views.plan_stamp import PLAN, plan_stamp
from planner.web.words import say
from planner.web.workspace import read_record

# Address behind the airframe, key of its name, whether it needs a plan.
INDEX = (
    ("/kit", "sheet_kit", False),
    ("", "sheet_parts", False),
    ("/workshop", "sheet_workshop", False),
    ("/plan", "sheet_plan", False),
    ("/today", "sheet_today", True),
    ("/beds", "sheet_beds", True),
    ("/moves", "sheet_moves", True),
    ("/timetable", "sheet_timetable", True),
    ("/balance", "sheet_balance", True),
    ("/cost", "sheet_cost", True),
    ("/changes", "sheet_changes", False),
    ("/each", "sheet_each", True),
    ("/build", "sheet_build", True),
    ("/notes", "sheet_notes", True),
    ("/documents", "sheet_documents", True),
    ("/records", "sheet_records", False),
)
_TEMPLATES = jinja2.Environment(
    loader=jinja2.PackageLoader("planner.web", "templates"),
    autoescape=True,
    trim_blocks=True,
    lstrip_blocks=True,
    undefined=jinja2.StrictUndefined,
)
_TEMPLATES.globals["t"] = say
_TEMPLATES.filters["moment"] = moment_shown
_TEMPLATES.globals["mesh_formats"] = formats_told()
_TEMPLATES.globals["mesh_endings"] = ",".join(endings())


def page(template: str, **values: Any) -> HTMLResponse:
    """A template of the page, filled."""
    made = _TEMPLATES.get_template(template).render(version=__version__, **values)
    return HTMLResponse(made)


def sheet(request: Request, template: str, here: str, **values: Any) -> Response:
    """A sheet of one airframe; its meshes are looked at where nobody did."""
    desk = desk_of(request)
    folder = desk.workspace.folder(request.path_params["airframe"])
    state = read_state(folder)
    if not state.looked:
        desk.looks.start(folder)
    plan = read_record(folder, PLAN)
    known = desk.looks.known(folder, state.revision)
    return page(
        template,
        airframe=folder.name,
        title=state.records.airframe.name if state.records else folder.name,
        state=state,
        here=here,
        index=[(path, say(key), plan is not None or not needs) for path, key, needs in INDEX],
        plan=plan,
        stale=plan is not None and plan.get("revision") != state.revision,
        undo=last_label(folder),
        plan_stamp=plan_stamp(plan),
        measures=known or desk.looks.last(folder),
        reckoned=known is not None,
        settings=settings_of(folder),
        busy=desk.runs.busy(folder.name),
        **values,
    )
