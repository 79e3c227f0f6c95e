"""One fact: what happened, when, who wrote it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from planner.errors import RecordError
from planner.model.checks import one_of, words

BEGAN, DONE, FAILED, CLEARED, CHANGED = "began", "done", "failed", "cleared", "changed"
WEIGHED, LOST, AWAY, TAKEN_BACK = "weighed", "lost", "away", "taken back"
DRIED, WET = "dried", "wet"  # of a spool: it came out of a dryer; it is not dry, whatever a plan said
READ_BACK = "machine file read back"
SPOOL_ADDED, SPOOL_WEIGHED, SPOOL_RETIRED = "spool added", "spool weighed", "spool retired"
KINDS = (
    BEGAN, DONE, FAILED, CLEARED, CHANGED, WEIGHED, LOST, SPOOL_ADDED, SPOOL_WEIGHED, SPOOL_RETIRED, AWAY,
    TAKEN_BACK, READ_BACK, DRIED, WET,
)  # fmt: skip
BEDS = (BEGAN, DONE, FAILED, CLEARED)
SPOOLS = (SPOOL_ADDED, SPOOL_WEIGHED, SPOOL_RETIRED)
LONGEST_DATA = 200_000  # characters: a bed of a thousand pieces needs half of it


@dataclass(frozen=True, slots=True)
class Fact:
    """A row of the ledger.

    ``about`` is the bed, piece, spool, printer or filament; ``airframe`` is empty for what belongs to the
    workshop. ``at`` is aware. ``uid`` makes writing it twice harmless; ``takes_back`` is the uid of the fact
    that this one takes back. ``seq`` is its place in the ledger, 0 until it is written.
    """

    kind: str
    about: str
    at: datetime
    uid: str
    airframe: str = ""
    who: str = "terminal"
    takes_back: str = ""
    data: Mapping[str, Any] = field(default_factory=dict)
    seq: int = 0

    def __post_init__(self) -> None:
        one_of(self.kind, "kind of a fact", KINDS)
        words(self.about, f"{self.kind}: what it is about")
        words(self.uid, f"{self.kind}: uid")
        words(self.who, f"{self.kind}: who wrote it")
        if self.at.tzinfo is None:
            raise RecordError(f"{self.kind} {self.about!r}: its time {self.at} tells no zone.")
        if (self.kind == TAKEN_BACK) != bool(self.takes_back):
            raise RecordError(
                f"{self.kind} {self.about!r}: only a fact that is {TAKEN_BACK!r} takes one back."
            )

    @property
    def text(self) -> str:
        """Its data as the ledger keeps them.

        Raises
        ------
        RecordError
            when they hold what JSON cannot tell, or too much of it
        """
        try:
            text = json.dumps(dict(self.data), sort_keys=True, allow_nan=False, ensure_ascii=False)
        except (TypeError, ValueError) as error:
            raise RecordError(f"{self.kind} {self.about!r}: its data cannot be kept ({error}).") from error
        if len(text) > LONGEST_DATA:
            raise RecordError(f"{self.kind} {self.about!r}: it holds more than {LONGEST_DATA} characters.")
        return text

    def same_as(self, other: Fact) -> bool:
        """Whether both say the same, whenever they were written."""
        mine = (self.kind, self.about, self.airframe, self.takes_back)
        return mine == (other.kind, other.about, other.airframe, other.takes_back)


def uid_of(*told: object) -> str:
    """A uid that follows from what is told: who tells the same twice, tells it once."""
    text = json.dumps(told, sort_keys=True, default=str, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:32]
