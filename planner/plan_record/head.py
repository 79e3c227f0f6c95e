"""What a plan is about, what it was asked for, and what is to be said of it."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from msgspec import UNSET, Meta

from planner.model.finding import Weight
from planner.plan_record.values import Amount, Later, Name, NotEmpty, Record, Seldom, Text, Told

GOAL_NAME = "^[a-z][a-z0-9-]{0,19}$"


class AirframeRecord(Record, frozen=True, kw_only=True):
    """The airframe, and the choice made for each of its options."""

    name: Name
    datum: Told[str] = UNSET
    options: Told[dict[str, str]] = UNSET


class ChoicesRecord(Record, frozen=True, kw_only=True):
    """What was asked for beside the files; it holds for the plans that go on from this one."""

    options: dict[str, Text]
    printers: list[str]
    filament: Later[Text | None] = UNSET
    prefer: list[str]
    section_dates: Annotated[dict[str, date], Meta(extra={"wanted": "a date such as 2026-12-05"})]


class FindingRecord(Record, frozen=True, kw_only=True):
    """One sentence about one thing: good to know, to be looked at, or wrong."""

    about: str
    text: str
    weight: Weight


class AsideRecord(Record, frozen=True, kw_only=True):
    """A mesh that could not be used."""

    mesh: str
    reason: str


class MisfitRecord(Record, frozen=True, kw_only=True):
    """A piece that no given bed takes."""

    piece: NotEmpty
    axis: str
    missing_mm: Amount
    proposal: str
    reason: Seldom[str] = UNSET


class GoalRecord(Record, frozen=True, kw_only=True):
    """One goal that the plan was searched for, and what it reached."""

    goal: Annotated[
        str,
        Meta(pattern=GOAL_NAME, description="A goal that is built in, or one that another package adds."),
    ]
    value: Amount
    unit: str
    told: NotEmpty
