"""The application: routes behind the guard."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Iterable, Sequence
from contextlib import asynccontextmanager
from importlib import resources
from pathlib import Path

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from planner.errors import PlannerError
from planner.web.desk import Desk
from planner.web.guard import Guard
from planner.web.routes.failures import gone, no_room
from planner.web.routes.kit import KIT_ROUTES
from planner.web.routes.lived import LIVED_ROUTES
from planner.web.routes.moves import MOVES_ROUTES
from planner.web.routes.mutations import ACTS, refused
from planner.web.routes.phone import Way
from planner.web.routes.sheets import SHEETS, missing
from planner.web.routes.study import STUDY_ROUTES
from planner.web.routes.today import TODAY_ROUTES
from planner.web.workspace import NotHere

REST_S = 20.0


def application(
    desk: Desk,
    token: str,
    hosts: Iterable[str],
    cookie: str = "planner",
    once: Callable[[str], bool] | None = None,
    ways: Sequence[Way] = (),
) -> Starlette:
    """The page over a desk.

    Parameters
    ----------
    token : secret of this start
    hosts : names, with the port, under which the page may be asked for
    once : takes a secret that is good for one use
    ways : in from a phone on the same network, where that was asked for
    """
    static = Path(str(resources.files("planner.web").joinpath("static")))

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        async def rest() -> None:
            while True:
                await asyncio.sleep(REST_S)
                desk.rest()
                desk.drops.clear_abandoned()

        resting = asyncio.create_task(rest())
        try:
            yield
        finally:
            resting.cancel()
            desk.close()

    app = Starlette(
        routes=[
            *ACTS,
            *SHEETS,
            *KIT_ROUTES,
            *TODAY_ROUTES,
            *MOVES_ROUTES,
            *LIVED_ROUTES,
            *STUDY_ROUTES,
            Mount("/static", StaticFiles(directory=static)),
        ],
        middleware=[Middleware(Guard, token=token, hosts=tuple(hosts), cookie=cookie, once=once)],
        exception_handlers={
            PlannerError: refused,
            NotHere: missing,
            404: missing,
            ClientDisconnect: gone,
            OSError: no_room,
        },
        lifespan=life,
    )
    app.state.desk = desk
    app.state.ways = tuple(ways)
    return app
