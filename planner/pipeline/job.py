"""Everything that a plan follows from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from planner.estimate.cache import DepositCache
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.remembered import Shelf
from planner.model.airframe import Airframe
from planner.model.checks import number
from planner.model.choices import Choices
from planner.model.effort import MOST_SEED, NORMAL, Effort
from planner.model.finding import Finding
from planner.model.learned import Taught
from planner.model.plan import SetAside
from planner.model.printed import PrintedPiece
from planner.model.recipe import Recipe
from planner.model.risk import RiskAsked
from planner.model.workshop import Workshop

# Called with the stage's name, what is done and how much there is.
Progress = Callable[[str, int, int], None]
# Asked between two steps of the search; true ends it with the best until then.
Stop = Callable[[], bool]


@dataclass(frozen=True, slots=True)
class Job:
    """Airframe, workshop and meshes, and how hard to search.

    ``watertight`` tells it by mesh; what is not named counts as watertight. ``recipes`` are all that
    are known by name, for trade-offs. ``prefer`` names the goals of a plan that count first,
    ``choices`` what was asked for beside the files. ``printed``: pieces that are there or being printed.
    ``shapes`` is where answers of shapes are kept. ``taught`` is what a ledger has taught,
    ``accounts`` are spools that it keeps an account of. With ``risk`` plans of equal finish are told apart by
    what may go wrong with them.
    """

    airframe: Airframe
    workshop: Workshop
    meshes: Mapping[str, TriangleMesh]
    start: datetime
    seed: int = 1
    effort: Effort = NORMAL
    prefer: tuple[str, ...] = ()
    workers: int = 1
    cluster: str | None = None
    cache: DepositCache | None = None
    shapes: Shelf | None = None
    set_aside: tuple[SetAside, ...] = ()
    assumptions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    watertight: Mapping[str, bool] = field(default_factory=dict)
    recipes: Mapping[str, Recipe] = field(default_factory=dict)
    choices: Choices = Choices()
    printed: Mapping[str, PrintedPiece] = field(default_factory=dict)
    taught: Taught | None = None
    accounts: frozenset[str] = frozenset()
    risk: RiskAsked | None = None

    def __post_init__(self) -> None:
        number(self.seed, "seed", low=0, high=MOST_SEED)
