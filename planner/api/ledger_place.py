"""Which ledger and which plan are meant."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from planner.errors import RecordError

if TYPE_CHECKING:
    from planner.model.attendance import Attendance
    from planner.model.replan import EarlierPlan
    from planner.model.workshop import Workshop

LEDGER_FILE = "ledger.sqlite"
WORKSHOP_FILE = "workshop.toml"
CLOCK_DOUBT = timedelta(minutes=10)  # clocks of two machines differ by less; common practice, no source


@dataclass(frozen=True, slots=True)
class LedgerPlace:
    """Where facts go: ``ledger`` where it is named, else one in the folder, else beside the workshop file.

    ``folder`` is that of the airframe or the workshop, ``plan`` the results folder or ``plan.json``; ``zone``
    is that of the computer.
    """

    ledger: Path | None = None
    folder: Path = Path()
    plan: Path = Path("out")
    workshop_file: Path | None = None
    zone: str | None = None

    @property
    def workshop(self) -> Path | None:
        """The workshop file: as named, else in the folder, above it, or in the only one below."""
        if self.workshop_file is not None:
            return self.workshop_file
        for folder in (self.folder, self.folder.resolve().parent):
            if (folder / WORKSHOP_FILE).is_file():
                return folder / WORKSHOP_FILE
        below = sorted(self.folder.glob(f"*/{WORKSHOP_FILE}")) if self.folder.is_dir() else []
        return below[0] if len(below) == 1 else None

    @property
    def file(self) -> Path:
        """The ledger."""
        if self.ledger is not None:
            return self.ledger
        own = self.folder / LEDGER_FILE
        if own.is_file():
            return own
        workshop = self.workshop
        return (workshop.parent if workshop is not None else self.folder) / LEDGER_FILE

    @property
    def plan_file(self) -> Path:
        """The file of the plan."""
        from planner.api.since import plan_path

        return plan_path(self.plan)

    def earlier(self) -> EarlierPlan:
        """The plan that the facts are about."""
        from planner.io.results.plan_file import read_plan

        path = self.plan_file
        if not path.is_file():
            raise RecordError(
                "there is no plan here whose beds and pieces could be meant.",
                where=str(path),
                next_step="Name its results folder: --plan DIR.",
            )
        return read_plan(path)

    def begins(self) -> datetime | None:
        """When the plan starts; ``None`` where there is none."""
        return self.earlier().start if self.plan_file.is_file() else None

    def shop(self) -> Workshop:
        """The workshop as its file tells it, else the built-in one."""
        from planner.api.reading import workshop_of
        from planner.io.toml_file import read_toml

        path = self.workshop
        return workshop_of(read_toml(path) if path is not None else None, self.zone)[0]


def moment(text: str, attendance: Attendance, now: datetime, where: str = "--at") -> datetime:
    """A moment as people tell it: ``23:10`` is the last time the clock showed it, else a date and a time.

    Raises
    ------
    RecordError
        when it is neither
    """
    from planner.api.reading import start_time

    text = text.strip()
    try:
        if re.fullmatch("[0-9]{1,2}:[0-9]{1,2}", text):
            here = start_time(None, attendance, now)
            hours, minutes = (int(word) for word in text.split(":"))
            found = here.replace(hour=hours, minute=minutes)
            return found if found <= here else found - timedelta(days=1)
        return start_time(text, attendance, now)
    except (RecordError, ValueError) as error:
        raise RecordError(
            f"{text!r} is no moment.", where=where, next_step="Write it like 23:10 or 2026-12-01T23:10."
        ) from error


def not_later(
    at: datetime, now: datetime, start: Callable[[], datetime | None], where: str = "--at"
) -> datetime:
    """The moment of a fact, which is not later than now by more than clocks may differ.

    Parameters
    ----------
    start : of the plan that the fact is about; where that is still to come, all of it is told ahead

    Raises
    ------
    RecordError
        for a moment that is still to come
    """
    if at <= now + CLOCK_DOUBT:
        return at
    begins = start()
    if begins is not None and begins > now:
        return at
    raise RecordError(
        f"{at:%Y-%m-%d %H:%M} is still to come: it is {now.astimezone(at.tzinfo):%Y-%m-%d %H:%M} now.",
        where=where,
        next_step="Tell it when it has happened.",
    )
