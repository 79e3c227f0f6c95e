"""In which order the airframe grows from what the runs deliver."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class BuildStep:
    """What can be done once the beds that are cleared at ``at`` are there.

    ``joints`` hold the names of the pieces on both sides; ``sections`` are those that have all
    their pieces now.
    """

    at: datetime
    runs: tuple[str, ...]
    pieces: tuple[str, ...]
    joints: tuple[tuple[str, ...], ...]
    sections: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Kit:
    """What must lie on the table to glue up one section.

    ``ready`` is ``None`` while a piece of it is on no run (those are ``missing``), and for a
    section of bought items only.
    """

    section: str
    pieces: tuple[str, ...]
    fittings: tuple[str, ...]
    joints: tuple[tuple[str, ...], ...]
    ready: datetime | None
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BuildOrder:
    """The steps in time, and the sections in the order in which they can be finished."""

    steps: tuple[BuildStep, ...]
    kits: tuple[Kit, ...]
