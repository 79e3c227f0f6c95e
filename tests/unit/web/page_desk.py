"""A desk over a workspace of the test, and a browser's side of it."""

from __future__ import annotations

import zipfile
from io import BytesIO
from pathlib import Path

from starlette.testclient import TestClient

from planner.web.app import application
from planner.web.desk import Desk, desk_for
from planner.web.guard import cookie_value
from planner.web.jobs.worker_tasks import look
from planner.web.routes.drop import DropLimits
from planner.web.state import stamp_of
from tests.builders import box, stl_bytes

HOST = "127.0.0.1:8317"
TOKEN = "token-of-this-test"  # noqa: S105 - no secret
ORIGIN = {"origin": f"http://{HOST}"}

AIRFRAME = """# keep this comment
[airframe]
name = "test glider"

[defaults]
recipe = "plain"   # how most of it is printed
filament = "PLA"

[[part]]           # ribs share a row
mesh = "rib_*.stl"
section = "left wing"
copies = 2

[[part]]
mesh = "hull.stl"
section = "fuselage"
"""
WORKSHOP = """currency = "EUR"
energy_price = "0.30 EUR"   # per kWh

[[printer]]
name = "desk"
like = "desktop 220"        # the small one

[[attendance]]
days = ["mon", "tue"]
from = "17:30"
until = "22:30"
"""


def desk_at(root: Path, limits: DropLimits | None = None) -> Desk:
    """A desk over a fresh workspace."""
    return desk_for(root / "workspace", None, limits)


def client_of(desk: Desk, *, signed_in: bool = True) -> TestClient:
    """A browser at the page; with the cookie of this start unless told otherwise."""
    app = application(desk, TOKEN, [HOST], "planner-test")
    client = TestClient(app, base_url=f"http://{HOST}", raise_server_exceptions=False)
    if signed_in:
        client.cookies.set("planner-test", cookie_value(TOKEN, "planner-test"))
    client.headers.update(ORIGIN)
    return client


def airframe_in(desk: Desk, name: str = "glider") -> Path:
    """An airframe folder with three meshes and both records, looked at."""
    folder = desk.workspace.root / name
    folder.mkdir()
    for at, mesh in enumerate(("rib_1.stl", "rib_2.stl", "hull.stl"), start=1):
        (folder / mesh).write_bytes(stl_bytes(box(40.0, 10.0 + at, 3.0)))
    (folder / "airframe.toml").write_text(AIRFRAME, encoding="utf-8")
    (folder / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    look(str(folder), stamp_of(folder), lambda stage, done, total: None)
    return folder


def zipped(files: dict[str, bytes]) -> bytes:
    """A zip archive of these files, names as they are."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as opened:
        for name, body in files.items():
            opened.writestr(name, body)
    return stream.getvalue()
