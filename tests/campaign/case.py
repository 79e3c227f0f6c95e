"""One case of a campaign, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Case:
    """A case by kind and number; ``fault`` is empty where everything held, ``reached`` how far it came."""

    kind: str
    number: int
    what: str
    reached: str
    fault: str = ""
    seconds: float = 0.0
