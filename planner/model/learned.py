"""What was weighed and timed, and what a plan is taught by it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from planner.model.checks import number, words
from planner.model.first_plan import FirstPlan
from planner.model.outlook import Outlook

Loads = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Spreads:
    """Standard deviations of ln(measured / tables) of spools, printers and recipes, from memory.

    Those of filaments, and of the rest of a piece, stand with the filament; ``times_filament`` and
    ``times_rest`` multiply them where they were fitted to weigh-ins.
    """

    spool: float = 0.01
    printer: float = 0.02
    recipe: float = 0.02
    times_filament: float = 1.0
    times_rest: float = 1.0

    def __post_init__(self) -> None:
        for key in ("spool", "printer", "recipe"):
            number(getattr(self, key), f"spread_{key}", low=0.0, high=0.5)
        for key in ("times_filament", "times_rest"):
            number(getattr(self, key), key, above=0.0, high=100.0)


@dataclass(frozen=True, slots=True)
class WeighedPiece:
    """A piece as it lay on the scale: what the tables predict, and all that its mass may hang on."""

    piece: str
    predicted_g: float
    filament: str
    recipe: str = ""
    printer: str = ""
    spool: str = ""

    def __post_init__(self) -> None:
        words(self.piece, "weighed piece")
        number(self.predicted_g, f"{self.piece}: predicted grams", above=0.0, high=1e6)


@dataclass(frozen=True, slots=True)
class WeighIn:
    """Grams of one piece, or of several on the scale together; ``with_support``: before that was off."""

    pieces: tuple[WeighedPiece, ...]
    grams: float
    resolution_g: float = 0.1
    at: datetime | None = None
    with_support: bool = False
    airframe: str = ""

    def __post_init__(self) -> None:
        number(self.grams, "weighed grams", above=0.0, high=1e6)
        number(self.resolution_g, "resolution of the scale in grams", above=0.0, high=1000.0)

    @property
    def predicted_g(self) -> float:
        """Grams of all of it by the tables."""
        return sum(one.predicted_g for one in self.pieces)

    @property
    def name(self) -> str:
        """The pieces."""
        return " + ".join(one.piece for one in self.pieces)


@dataclass(frozen=True, slots=True)
class TimedRun:
    """A run whose minutes were measured, heat-up included in both; ``predicted`` are those of the tables."""

    bed: str
    printer: str
    filament: str
    measured: float
    predicted: float
    heat_up: float = 0.0
    airframe: str = ""


@dataclass(frozen=True, slots=True)
class Factor:
    """How far a filament, spool, printer or recipe lies off the tables.

    ``low`` and ``high`` are the 10 and 90 % values of ``factor``; ``facts`` is how many weigh-ins or runs it
    was learned from.
    """

    kind: str
    name: str
    factor: float
    low: float
    high: float
    facts: int


@dataclass(frozen=True, slots=True)
class Judged:
    """A weigh-in, what was expected when all others were known, and whether it was believed.

    ``off`` is how many standard deviations it lies off.
    """

    weigh_in: WeighIn
    expected_g: float
    off: float
    believed: bool


@dataclass(frozen=True, slots=True)
class FailureRate:
    """Failures per hour of a printer, with those and the hours that they were counted in."""

    printer: str
    per_hour: float
    failures: int
    hours: float


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that lessons are learned from: weigh-ins, timed runs, and runs that are over.

    ``weighed`` is by piece of this airframe; ``over`` tells printer, hours, and whether it failed. ``facts``
    is the place of the last fact.
    """

    facts: int = 0
    weigh_ins: tuple[WeighIn, ...] = ()
    weighed: Mapping[str, WeighedGrams] = field(default_factory=dict)
    timed: tuple[TimedRun, ...] = ()
    over: tuple[tuple[str, float, bool], ...] = ()


@dataclass(frozen=True, slots=True)
class WeighedGrams:
    """What a piece weighs by the scale, and the relative standard deviation of that."""

    grams: float
    spread: float


@dataclass(frozen=True, slots=True)
class Lesson:
    """What a plan is taught about pieces of one filament and recipe: a factor on grams, and how it errs.

    ``loads`` are relative: two pieces err together by the product of theirs; ``spread`` is of each alone.
    ``row`` is how much of each term is in it.
    """

    factor: float = 1.0
    loads: Loads = ()
    spread: float = 0.0
    row: tuple[tuple[tuple[str, ...], float], ...] = ()


@dataclass(frozen=True, slots=True)
class FileFigures:
    """What the machine file of a bed says; ``minutes`` of printing, without heating up or any factor.

    ``share`` is its grams over those that the tables alone give its pieces; ``minutes_share`` likewise.
    """

    file: str
    grams: float
    minutes: float
    share: float
    minutes_share: float
    pieces: tuple[str, ...] = ()
    filament: str = ""
    printer: str = ""

    def __post_init__(self) -> None:
        words(self.file, "machine file")
        number(self.share, f"{self.file}: grams over those of the tables", above=0.0, high=100.0)
        number(self.minutes, f"{self.file}: minutes", above=0.0, high=1e6)


@dataclass(frozen=True, slots=True)
class Taught:
    """All that a plan takes from a ledger.

    ``facts`` is the place of the last fact it counts. ``lessons`` are by filament and recipe, ``weighed`` by
    piece, ``minutes`` by printer, ``minutes_on`` by printer and filament, ``predicted`` by piece the grams of
    the tables as a plan before knew them. ``spreads`` are those that were learned with, ``fitted_from`` how
    many weigh-ins they were fitted to, 0 where they are as told. ``timed`` are runs of this airframe,
    ``drawn`` what it drew by spool, ``first`` is what the first plan promised. ``files`` are by bed the
    figures of its machine file.
    """

    facts: int = 0
    lessons: Mapping[tuple[str, str], Lesson] = field(default_factory=dict)
    weighed: Mapping[str, WeighedGrams] = field(default_factory=dict)
    minutes: Mapping[str, float] = field(default_factory=dict)
    minutes_on: Mapping[tuple[str, str], float] = field(default_factory=dict)
    predicted: Mapping[str, float] = field(default_factory=dict)
    files: Mapping[str, FileFigures] = field(default_factory=dict)
    factors: tuple[Factor, ...] = ()
    judged: tuple[Judged, ...] = ()
    spreads: Spreads = Spreads()
    fitted_from: int = 0
    timed: tuple[TimedRun, ...] = ()
    drawn: Mapping[str, float] = field(default_factory=dict)
    outlook: Outlook | None = None
    first: FirstPlan | None = None
    failures: tuple[FailureRate, ...] = ()
    notes: tuple[str, ...] = ()

    def share_of(self, piece: str) -> float:
        """Grams of a piece by the machine file of its bed over those of the tables; 1 without one."""
        return next((one.share for one in self.files.values() if piece in one.pieces), 1.0)
