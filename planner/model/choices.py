"""What was chosen for a plan beside its files: it holds for the plans that go on from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True)
class Choices:
    """Options, printers, filament and goals as they were asked for; empty where the files said it.

    ``section_dates`` are those of the airframe file: they hold until it says others.
    """

    options: Mapping[str, str] = field(default_factory=dict)
    printers: tuple[str, ...] = ()
    filament: str | None = None
    prefer: tuple[str, ...] = ()
    section_dates: Mapping[str, date] = field(default_factory=dict)
