"""What a trade-off found: the plan before, the proposal, the plan that it makes, and what else there is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from planner.model.plan import Plan
from planner.tradeoffs.choice_model import Measure
from planner.tradeoffs.single_changes import SingleChange
from planner.tradeoffs.tradeoff import Proposal

Pair = tuple[Measure, Measure]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the user wants to reach; ``None`` leaves one open."""

    mass_g: float | None = None
    finish: datetime | None = None
    cost_minor: int | None = None
    balance_inside: bool = False

    @property
    def any(self) -> bool:
        """Whether anything is asked for."""
        return self.balance_inside or (self.mass_g, self.finish, self.cost_minor) != (None, None, None)


@dataclass(frozen=True, slots=True)
class Study:
    """A trade-off of one plan.

    ``after`` is the proposal planned for real, ``None`` without wishes or where nothing has to
    change or can (``refusal`` says why); ``fewest`` changes are needed at least for a date that was
    asked for. ``fronts`` hold for each pair of measures the choices of which none is better in both;
    their hours are those of the machines as the table adds them up.
    """

    before: Plan
    wishes: Wishes
    ways: Mapping[str, tuple[str, ...]]
    by_hour: tuple[SingleChange, ...]
    by_money: tuple[SingleChange, ...]
    proposal: Proposal | None = None
    after: Plan | None = None
    refusal: str = ""
    fronts: Mapping[Pair, tuple[Proposal, ...]] = field(default_factory=dict)
    minutes: float = 0.0
    fewest: int = 0
