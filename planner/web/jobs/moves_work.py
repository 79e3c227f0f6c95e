"""The process that reads machine files, and the one that plans on by them."""

from __future__ import annotations

import secrets
import shutil
from dataclasses import replace
from datetime import datetime
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.api.clock import now_here
from planner.errors import InputError
from planner.web.jobs.run_work import Progress, beside, told

if TYPE_CHECKING:
    from planner.api.reading_back import Beds

MEBI = 1 << 20


def read(pipe: Connection, stop: Event, folder: str) -> None:
    """Read every file that waits; messages are ``progress``, then ``done`` or ``failed``."""
    from planner.web.jobs.worker import alone

    alone()
    with told(pipe) as report:
        read_waiting(Path(folder), report, stop)


def read_waiting(folder: Path, report: Progress, stop: Event | None = None) -> None:
    """Read files until none waits; what is refused is kept as that, in the words of the reader.

    Raises
    ------
    RecordError
        where there is no plan whose beds could be meant
    """
    from planner.api.reading_back import Beds
    from planner.web.ledger import place_for
    from planner.web.moves import keep_read, read_files, waiting
    from planner.web.views.plan_stamp import PLAN, plan_stamp
    from planner.web.workspace import read_record

    base = plan_stamp(read_record(folder, PLAN))
    beds = Beds.of(place_for(folder))
    before = read_files(folder)
    if before["base"] != base:  # read against another plan: no figure of it says anything about this one
        before = {**before, "files": []}
    beds.taken.extend(one["bed"] for one in before["files"] if one.get("bed"))
    while (left := waiting(folder)) and not (stop is not None and stop.is_set()):
        path = left[0]
        same = [one for one in before["files"] if one["file"] == path.name]
        for one in same:
            if one.get("bed") in beds.taken:
                beds.taken.remove(one["bed"])
        row = _one(folder, path, beds, report)
        files = [one for one in before["files"] if one["file"] != path.name] + [row]
        faults, unread = beds.together([(one["file"], one["bed"]) for one in files if one.get("bed")])
        before = {"files": files, "base": base, "faults": faults, "unread": unread}
        keep_read(folder, before)
        shutil.rmtree(path.parent, ignore_errors=True)


def _one(folder: Path, path: Path, beds: Beds, report: Progress) -> dict[str, Any]:
    """Read one file: a row that is kept, and its layers beside it."""
    from planner.api.kept_reads import read_and_keep
    from planner.web.ledger import place_for
    from planner.web.moves import moves_folder

    key, whole = secrets.token_hex(8), max(1, -(-path.stat().st_size // MEBI))
    report(path.name, 0, whole)
    told_so = lambda size: report(path.name, size // MEBI, whole)  # noqa: E731
    row = read_and_keep(place_for(folder), beds, path, moves_folder(folder) / key, told_so)
    return {**row, "key": key}


def onward(
    pipe: Connection, stop: Event, folder: str, settings: dict[str, Any], cache: str | None, revision: str
) -> None:
    """Plan on as if the files were taken, beside the plan that holds; messages as for a plan."""
    from planner.web.jobs.worker import alone
    from planner.web.settings import request_for
    from planner.web.views.plan_stamp import ONWARD
    from planner.web.workspace import write_record

    alone()
    place = Path(folder)
    with told(pipe) as report:
        now = now_here()
        ledger, offered = offered_ledger(place, now)
        try:
            request = replace(request_for(place, settings, cache), ledger=ledger)
            record = beside(place, request, now, report, stop.is_set, revision)
        finally:
            shutil.rmtree(ledger.parent, ignore_errors=True)
        write_record(place, ONWARD, {**record, "offered": offered})


def offered_ledger(folder: Path, now: datetime) -> tuple[Path, dict[str, Any]]:
    """A copy of the ledger in which the files are taken already, and what to write to the ledger itself.

    Raises
    ------
    InputError
        where no file can be taken
    """
    from planner.api.kept_reads import offer_of
    from planner.api.ledger_files import LEDGER_FILE, ledger_copy
    from planner.api.taking_back import write_offers
    from planner.web.ledger import place_for
    from planner.web.moves import moves_folder, read_files

    rows = [one for one in read_files(folder)["files"] if not one["refused"]]
    place = place_for(folder)
    aside = moves_folder(folder) / "ledger"
    shutil.rmtree(aside, ignore_errors=True)
    aside.mkdir(parents=True)
    if place.file.is_file():
        (aside / LEDGER_FILE).write_bytes(ledger_copy(place.file))
    copied = replace(place, ledger=aside / LEDGER_FILE)
    answer = write_offers(copied, [offer_of(one) for one in rows], now, "page")
    if not answer.facts:
        shutil.rmtree(aside, ignore_errors=True)
        raise InputError("\n".join(answer.lines[:-1]) or "no machine file was read.")
    kept = [{"file": one["file"], "offer": one["offer"]} for one in rows]
    lines = list(answer.lines[:-1])
    return aside / LEDGER_FILE, {
        "rows": kept, "at": now.isoformat(), "facts": len(answer.facts), "lines": lines,
    }  # fmt: skip
