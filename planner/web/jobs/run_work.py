"""The process of one plan or one study: search, write the results, tell the page what it shows."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.api.clock import now_here
from planner.errors import InputError, PlannerError
from planner.model.effort import QUICK
from planner.web.jobs.worker import tell
from planner.web.refusals import told_at_page
from planner.web.words import say
from planner.web.workspace import FULL

if TYPE_CHECKING:
    from planner.api import PlanRequest
    from planner.model.plan import Plan
    from planner.model.risk import RiskAsked

Progress = Callable[[str, int, int], None]


@contextmanager
def told(pipe: Connection) -> Iterator[Progress]:
    """Tells the page how far the work is, and at its end that it is done, or why it failed."""

    def report(stage: str, done: int, total: int) -> None:
        tell(pipe, ("progress", (stage, done, total)))

    try:
        yield report
        tell(pipe, ("done", None))
    except PlannerError as error:
        tell(pipe, ("failed", told_at_page(error)))
    except Exception as error:
        if isinstance(error, OSError) and error.errno in FULL:
            tell(pipe, ("failed", say("disk_full")))
            return
        traceback.print_exc()
        tell(pipe, ("failed", ""))


def plan(
    pipe: Connection, stop: Event, folder: str, settings: dict[str, Any], cache: str | None, revision: str
) -> None:
    """Plan a folder; messages are ``progress``, then ``done`` or ``failed``."""
    from planner import api
    from planner.web.jobs.worker import alone
    from planner.web.settings import request_for
    from planner.web.views.card import CARD, card
    from planner.web.views.plan_stamp import PLAN
    from planner.web.views.plan_view import plan_view
    from planner.web.workspace import records_ready

    alone()
    place = Path(folder)
    with told(pipe) as report, records_ready(place) as give:

        def shown(made: Plan) -> None:
            view = plan_view(made)
            view["revision"] = revision
            view["stopped"] = stop.is_set()
            view["made"] = now_here().isoformat(timespec="seconds")
            give(PLAN, view)
            give(CARD, card(made))

        request = request_for(place, settings, cache)
        api.plan_folder(request, now_here(), report, stop.is_set, shown)


def onward(
    pipe: Connection, stop: Event, folder: str, settings: dict[str, Any], cache: str | None, revision: str
) -> None:
    """Plan on from the plan that holds, beside it; messages as for a plan."""
    from planner.web.jobs.worker import alone
    from planner.web.settings import request_for
    from planner.web.views.plan_stamp import ONWARD
    from planner.web.workspace import write_record

    alone()
    place = Path(folder)
    with told(pipe) as report:
        request = request_for(place, settings, cache)
        now = now_here()
        write_record(place, ONWARD, beside(place, request, now, report, stop.is_set, revision))


def beside(
    place: Path,
    request: PlanRequest,
    now: datetime,
    report: Progress,
    stop: Callable[[], bool],
    revision: str,
) -> dict[str, Any]:
    """A plan that goes on from the one that holds, beside it, as the page shows what would change."""
    from planner.api.going_on import plan_beside
    from planner.web.views.onward_view import onward_record
    from planner.web.views.plan_stamp import PLAN
    from planner.web.workspace import BESIDE, OWN, read_record

    made = plan_beside(request, place / OWN / BESIDE, now, report, stop)
    moment = now_here().isoformat(timespec="seconds")
    return onward_record(made, read_record(place, PLAN), moment, revision)


def live(pipe: Connection, stop: Event, folder: str, asked: RiskAsked) -> None:
    """Live through the plan that is there, and show it with what came of it; messages as for a plan."""
    from planner import api
    from planner.web.jobs.worker import alone
    from planner.web.views.lived_view import lived_view
    from planner.web.views.plan_stamp import PLAN, plan_stamp
    from planner.web.workspace import RESULTS, read_record, write_record

    del stop  # worlds are few: there is no best until now to keep
    alone()
    place = Path(folder)
    with told(pipe) as report:
        report(say("risk_stage"), 0, 1)
        view = read_record(place, PLAN)
        found = api.lived_through(place / RESULTS, asked)
        if view is None or plan_stamp(read_record(place, PLAN)) != plan_stamp(view):
            raise InputError(say("risk_other_plan"), next_step=say("risk_again"))
        write_record(place, PLAN, lived_view(view, found))


def study(
    pipe: Connection,
    stop: Event,
    folder: str,
    settings: dict[str, Any],
    cache: str | None,
    revision: str,
    wanted: dict[str, Any],
) -> None:
    """Study what to print otherwise; messages as for a plan."""
    from dataclasses import replace

    from planner import api
    from planner.web.jobs.worker import alone
    from planner.web.settings import request_for
    from planner.web.views.changes import CHANGES, changes_view
    from planner.web.workspace import STUDY, write_record

    del stop  # it has no best until now to keep
    alone()
    place = Path(folder)
    with told(pipe) as report:
        request = replace(
            request_for(place, {**settings, "effort": QUICK.name, "worlds": None, "missed": None}, cache),
            out=place / STUDY,
        )
        wishes = api.TradeoffRequest(**wanted)
        found = api.tradeoff_folder(request, wishes, now_here(), report)
        write_record(place, CHANGES, {**changes_view(found), "revision": revision})
