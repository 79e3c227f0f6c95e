"""A plan that goes on from an earlier one: what is over, what runs, what changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from planner.model.batch import Batch
from planner.model.budget import Place
from planner.model.choices import Choices
from planner.model.drying import DryerLoad
from planner.model.printed import Make, PrintedPiece
from planner.model.schedule import Run, SpoolUse, Visit

Outcome = Literal["done", "failed"]
OUTCOMES: tuple[str, ...] = ("done", "failed", "running")


@dataclass(frozen=True, slots=True)
class PastRun:
    """A run that is over. Its draws are the grams that it really took, as far as that is known.

    ``good`` are the pieces of a failed run that can be used. ``on_bed``: its bed is still to be cleared.
    ``scrapped`` are pieces that it had left for use and that are printed once more.
    """

    run: Run
    batch: Batch
    outcome: Outcome
    good: tuple[str, ...] = ()
    on_bed: bool = False
    scrapped: tuple[str, ...] = ()

    @property
    def delivered(self) -> tuple[str, ...]:
        """The pieces that it left for use."""
        left = self.good if self.outcome == "failed" else tuple(p.piece for p in self.batch.placed)
        return tuple(piece for piece in left if piece not in self.scrapped)


@dataclass(frozen=True, slots=True)
class Marks:
    """What the builder says of the beds of an earlier plan, by name; ``good`` names pieces of failed beds.

    With ``as_planned`` a bed without a mark went as it was planned. ``again`` are finished pieces to be
    printed once more.
    ``at`` tells by bed when a failed or done
    one ended, and when a running one will end. ``cleared`` beds lie on no printer any more; ``changed``
    printers have the filament and the spool of their next bed on.

    Examples
    --------
    >>> import planner
    >>> planner.Marks(failed=("bed 3",), as_planned=True).failed
    ('bed 3',)
    """

    done: tuple[str, ...] = ()
    failed: tuple[str, ...] = ()
    running: tuple[str, ...] = ()
    good: tuple[str, ...] = ()
    as_planned: bool = False
    again: tuple[str, ...] = ()
    at: Mapping[str, datetime] = field(default_factory=dict)
    cleared: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Changed:
    """A filament that is on a printer for a bed that has not begun, and what its spool has purged for it."""

    printer: str
    filament: str
    spool: str
    purged_g: float


@dataclass(frozen=True, slots=True)
class EarlierPart:
    """What an earlier plan knew of a part; ``make`` is ``None`` in a plan that does not tell it."""

    filament: str
    recipe: str
    mass_g: float
    make: Make | None = None


@dataclass(frozen=True, slots=True)
class EarlierFilament:
    """Density on the bed and nozzle temperature as an earlier plan knew them; its colour, and of what."""

    deposited_g_per_cm3: float
    nozzle_c: float
    colour: str = ""
    of: str = ""


@dataclass(frozen=True, slots=True)
class EarlierTaught:
    """What an earlier plan had been taught by a ledger.

    ``facts`` is the place of the last fact that it counts, ``factors`` by part what its grams are times those
    of the tables, ``minutes`` likewise by printer, ``predicted`` by piece the grams that it flies with by the
    tables alone, ``minutes_on`` minutes by printer and filament where these were timed.
    """

    facts: int = 0
    factors: Mapping[str, float] = field(default_factory=dict)
    minutes: Mapping[str, float] = field(default_factory=dict)
    predicted: Mapping[str, float] = field(default_factory=dict)
    minutes_on: Mapping[tuple[str, str], float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class EarlierPlan:
    """What is read back of an earlier plan.

    ``told_g`` is what its shelf was told to hold, ``printed`` what was printed by piece, ``weights`` by
    piece what it flies with and where, ``filaments`` what was known of each, ``again`` pieces that are marked
    by hand, ``last_bed`` the highest number that a bed of the series ever had. ``told_dry`` tells by spool
    when it was told to be dry, or (false) wet, whatever its slots in ``drying`` say.
    """

    source: str
    identification: str
    airframe: str
    start: datetime
    finish: datetime
    parts: Mapping[str, EarlierPart]
    part_of: Mapping[str, str]
    batches: tuple[Batch, ...]
    runs: tuple[Run, ...]
    past: tuple[PastRun, ...]
    spools: tuple[SpoolUse, ...]
    told_g: Mapping[str, float]
    visits: tuple[datetime, ...] = ()
    series: str = ""
    generation: int = 0
    choices: Choices = Choices()
    printed: Mapping[str, PrintedPiece] = field(default_factory=dict)
    weights: Mapping[str, tuple[float, Place | None]] = field(default_factory=dict)
    filaments: Mapping[str, EarlierFilament] = field(default_factory=dict)
    again: tuple[str, ...] = ()
    last_bed: int = 0
    handled: tuple[Visit, ...] = ()
    changed: tuple[Changed, ...] = ()
    taught: EarlierTaught = EarlierTaught()
    drying: tuple[DryerLoad, ...] = ()
    told_dry: Mapping[str, tuple[datetime, bool]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Slot:
    """Where and when a batch runs."""

    printer: str
    start: datetime
    end: datetime


ChangeKind = Literal["done", "failed", "running", "stays", "moved", "new", "dropped"]


@dataclass(frozen=True, slots=True)
class Change:
    """What became of one bed since the earlier plan."""

    batch: str
    kind: ChangeKind
    was: Slot | None
    now: Slot | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Replan:
    """How a plan differs from the one that it goes on from.

    ``open_batches`` of the earlier plan had not begun; ``moved`` of them have another printer or start.
    ``best`` is the finish that was found with all of them free to move. ``proved``: no plan within the
    tolerance moves fewer. ``told_g`` is what the shelf is told to hold now. ``series`` names the first plan
    of all and ``generation`` counts the plans since, so that calendars know their events again;
    ``last_bed`` is the highest number that a bed of the series ever had. ``visits_gone`` are those of the
    earlier plan that nobody need come to any more; ``changed`` are printers that have been made ready for a
    bed that has not begun.
    """

    since: str
    tolerance_h: float
    earlier_finish: datetime
    best: datetime
    open_batches: int
    moved: int
    proved: bool
    changes: tuple[Change, ...]
    told_g: Mapping[str, float] = field(default_factory=dict)
    series: str = ""
    generation: int = 1
    visits_gone: tuple[datetime, ...] = ()
    last_bed: int = 0
    changed: tuple[Changed, ...] = ()
