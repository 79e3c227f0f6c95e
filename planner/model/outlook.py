"""How the mass became known, whether its target is kept, and what to weigh next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class FactorThen:
    """A filament's factor with its 10 and 90 % values, as it was known at some time."""

    name: str
    factor: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class CourseStep:
    """What the airframe was expected to weigh after a weigh-in, with its 10 and 90 % values.

    ``after`` names what lay on the scale, empty before anything did.
    """

    after: str
    at: datetime | None
    mass_g: float
    low_g: float
    high_g: float
    factors: tuple[FactorThen, ...] = ()


@dataclass(frozen=True, slots=True)
class NextWeighing:
    """A piece that is printed and was not weighed, and the range of the mass once it will have been."""

    piece: str
    low_g: float
    high_g: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """What follows from the weigh-ins of an airframe, beside its mass.

    ``foretold`` weigh-ins had a range of 80 % before they were made, ``inside`` of them lay in theirs,
    ``outside`` names the others.
    ``chance`` is that of keeping the target mass, ``None`` where there is none. ``weigh_next``: the
    piece that narrows the range of the mass most comes first.
    """

    course: tuple[CourseStep, ...] = ()
    foretold: int = 0
    inside: int = 0
    outside: frozenset[str] = frozenset()
    chance: float | None = None
    weigh_next: tuple[NextWeighing, ...] = ()
