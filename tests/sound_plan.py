"""A whole plan of the small airframe, made once in a process, and a way to change one field of it."""

from __future__ import annotations

import dataclasses
import functools
import tempfile
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from planner.api import PlanRequest
from planner.api.reading import read_job
from planner.model.plan import Plan
from planner.pipeline.run import run
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)


@functools.cache
def small_plan() -> Plan:
    """Nine pieces on two beds: both hands of a wing, a fuselage, four clips; a battery that can be moved."""
    with tempfile.TemporaryDirectory() as name:
        folder = write_small_job(Path(name) / "glider")
        asked = PlanRequest((folder,), effort="quick", start="2026-12-01T18:00")
        return run(read_job(asked, NOW))


def put(thing: Any, path: str, new: Any) -> Any:
    """The same with one field otherwise; ``batches.0.minutes`` is a path, ``new`` may be made of the old."""
    head, _, rest = path.partition(".")
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        return dataclasses.replace(thing, **{head: _inside(getattr(thing, head), rest, new)})
    if isinstance(thing, Mapping):
        return {**thing, head: _inside(thing[head], rest, new)}
    at = int(head)
    return (*thing[:at], _inside(thing[at], rest, new), *thing[at + 1 :])


def _inside(old: Any, rest: str, new: Any) -> Any:
    if rest:
        return put(old, rest, new)
    return new(old) if callable(new) else new
