"""What the user asks for, and what holds where nothing is asked."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from planner.api.own import Own
from planner.api.since import SinceRequest
from planner.model.choices import Choices
from planner.model.effort import EFFORTS as _EFFORTS
from planner.model.effort import NORMAL
from planner.model.risk import RiskAsked

CACHE_LIMIT_BYTES = 500_000_000
CACHE_TRIM_S = 3600.0  # it may be over the limit for so long
MOST_COPIES = 50  # of one airframe in one plan
EFFORTS = tuple(one.name for one in _EFFORTS)


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """What the user asks for; ``None`` leaves it to the files and the built-in tables.

    ``zone`` is the time zone of hours for which the workshop names none; without it they are taken in UTC.
    ``held`` are choices of an earlier plan, which hold where nothing else is asked for; ``own`` are values
    in place of files. ``ledger`` is another one than that beside the workshop file; with ``untaught``
    nothing that it has learned counts, with ``anew`` nothing that it tells of beds. ``tolerance_h`` is for a
    plan that goes on because of it. Several folders are several airframes; ``copies`` plans each as often,
    the dates of each copy ``every_days`` after those of the one before. With ``risk`` the plan is
    lived through in simulated worlds.

    Examples
    --------
    >>> import planner
    >>> from pathlib import Path
    >>> asked = planner.Request((Path("kit"),), out=Path("results"), effort="quick", start="2026-12-01T18:00")
    >>> planner.plan(asked).written
    PosixPath('results')
    """

    sources: tuple[Path, ...]
    out: Path = Path("out")
    workshop_file: Path | None = None
    airframe_file: Path | None = None
    printers: tuple[str, ...] = ()
    filament: str | None = None
    options: Mapping[str, str] = field(default_factory=dict)
    start: str | None = None
    effort: str = NORMAL.name
    seed: int = 1
    workers: int = 1
    cluster: str | None = None
    cache_folder: Path | None = None
    unit: str | None = None
    verify: bool = False
    since: SinceRequest | None = None
    prefer: tuple[str, ...] = ()
    zone: str | None = None
    held: Choices = Choices()
    own: Own = Own()
    ledger: Path | None = None
    untaught: bool = False
    anew: bool = False
    tolerance_h: float = 4.0
    copies: int = 1
    every_days: int = 0
    risk: RiskAsked | None = None


def default_workers() -> int:
    """Processors that this process may use, at most eight."""
    return max(
        1, min(8, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1)
    )
