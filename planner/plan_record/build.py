"""In which order the airframe grows, and what must lie on the table for each section."""

from __future__ import annotations

from planner.plan_record.values import Moment, Record


class StepRecord(Record, frozen=True, kw_only=True):
    """What can be joined once the beds of a visit are cleared; what is fastened is among the joints."""

    at: Moment
    runs: list[str]
    pieces: list[str]
    joints: list[list[str]]
    fastened: list[list[str]]
    sections: list[str]


class KitRecord(Record, frozen=True, kw_only=True):
    """What must lie on the table to build one section."""

    section: str
    pieces: list[str]
    fittings: list[str]
    joints: list[list[str]]
    ready: Moment | None
    missing: list[str]


class BuildRecord(Record, frozen=True, kw_only=True):
    """Steps in time, and kits in the order in which they can be finished."""

    steps: list[StepRecord]
    kits: list[KitRecord]
