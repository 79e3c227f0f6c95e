"""What runs beside a plan is asked and ended by its own key, each at its own address."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.routing import Route

from planner.web.jobs.runs import Runs, gone_on, lived, studied
from planner.web.routes.beside import end_of, progress_of
from planner.web.routes.lived import LIVED_ROUTES
from planner.web.routes.study import STUDY_ROUTES
from planner.web.routes.today import TODAY_ROUTES
from tests.unit.web.page_desk import airframe_in, client_of, desk_at

ALL = [
    ("/study", studied, STUDY_ROUTES),
    ("/risk", lived, LIVED_ROUTES),
    ("/onward", gone_on, TODAY_ROUTES),
]


@pytest.mark.parametrize(("at", "key", "routes"), ALL)
def test_it_is_asked_and_ended_by_its_key(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: str, key: Callable[[str], str], routes: list[Route]
) -> None:
    """And neither the plan nor what else runs is touched."""
    asked: list[str] = []
    monkeypatch.setattr(Runs, "told", lambda self, name: asked.append(name) or {"state": name})
    monkeypatch.setattr(Runs, "leave", lambda self, name: asked.append(f"end {name}"))
    desk = desk_at(tmp_path)
    airframe_in(desk)
    client = client_of(desk)
    known = {(route.path, route.methods and min(route.methods)): route.endpoint for route in routes}
    assert known[f"/a/{{airframe}}{at}", "GET"].__qualname__ == progress_of(key).__qualname__
    assert known[f"/a/{{airframe}}{at}", "DELETE"].__qualname__ in (end_of(key).__qualname__, "leave_onward")
    assert client.get(f"/a/glider{at}").json() == {"state": key("glider")}
    assert client.delete(f"/a/glider{at}").json() == {}
    assert asked == [key("glider"), f"end {key('glider')}"]
    assert client.get(f"/a/nobody{at}").status_code == 404
    assert client.delete(f"/a/nobody{at}").status_code == 404
