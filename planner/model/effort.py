"""How hard to search: one list of efforts, each with a budget for every search."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from planner.errors import InputError, RecordError

MOST_SEED = 2**31 - 1  # compiled searches make larger numbers of it, which must fit into 64 bits


@dataclass(frozen=True, slots=True)
class Effort:
    """Budgets of all searches, counted in steps and never in seconds: the same inputs give the same plan.

    Parameters
    ----------
    name : by which the user asks for it
    bed_caps_minutes : caps on bed hours, each of which gives a plan that the joint search may start from
    first_goal_starts : searches for the first goal that know nothing of each other; the best goes on
    first_goal_steps : of one of them, in all rounds; all together have three times as many at most
    later_goal_steps : of the same for each goal after it
    goal_rounds : rounds of the first goal at most
    bed_share : of a bed that the joint search may fill at first; it grows and shrinks with what truly lies
    question_steps : placements judged to answer whether pieces share a bed; 0: boxes only
    nesting_steps : placements judged for every piece that is laid; 0: boxes only
    tidy_moves : tried for every piece of a bed, to lay it as a builder wants it
    schedule_steps : of the search for the times of beds that are laid
    proof_time : of the solver that proves a bound for these beds, in its own count, near to seconds; 0: none
    replan_steps : of the search for the times of what is left of a plan
    replan_solver_time : of the solver that looks for fewer moved beds, in its own count
    replan_placings : times that all lists are placed in the repair of a plan
    replan_placed_beds : beds placed in all of these together
    shelf_steps : of the search for an order of beds that makes do with the spools on the shelf
    demo_seconds : what beds and schedule of the demo take; only the relation counts, for shares of work done
    """

    name: str
    bed_caps_minutes: tuple[float, ...]
    first_goal_starts: int
    first_goal_steps: int
    later_goal_steps: int
    goal_rounds: int
    bed_share: float
    question_steps: int
    nesting_steps: int
    tidy_moves: int
    schedule_steps: int
    proof_time: float
    replan_steps: int
    replan_solver_time: float
    replan_placings: int
    replan_placed_beds: int
    shelf_steps: int
    demo_seconds: float

    def __post_init__(self) -> None:
        if not self.bed_caps_minutes or not all(cap > 0.0 for cap in self.bed_caps_minutes):
            raise InputError(f"effort {self.name!r} needs caps on bed hours, each above 0.")
        for one in fields(self)[2:]:
            budget = getattr(self, one.name)
            if not 0 <= budget < math.inf:
                raise InputError(f"effort {self.name!r}: {one.name} = {budget!r} is no budget of 0 or more.")


QUICK = Effort(
    "quick",
    bed_caps_minutes=(math.inf, 900.0),
    first_goal_starts=1,
    first_goal_steps=12_000,
    later_goal_steps=2_000,
    goal_rounds=4,
    bed_share=0.65,
    question_steps=0,
    nesting_steps=0,
    tidy_moves=0,
    schedule_steps=10_000,
    proof_time=0.0,
    replan_steps=10_000,
    replan_solver_time=1.0,
    replan_placings=400,
    replan_placed_beds=40_000,
    shelf_steps=400,
    demo_seconds=5.0,
)
NORMAL = Effort(
    "normal",
    bed_caps_minutes=(math.inf, 1440.0, 1080.0, 840.0, 660.0, 480.0),
    first_goal_starts=3,
    first_goal_steps=120_000,
    later_goal_steps=16_000,
    goal_rounds=8,
    bed_share=0.72,
    question_steps=20_000,
    nesting_steps=30_000,  # a core judges some 300,000 placements a second
    tidy_moves=400,  # some 40 microseconds each
    schedule_steps=60_000,
    proof_time=0.5,
    replan_steps=60_000,
    replan_solver_time=5.0,
    replan_placings=1_500,
    replan_placed_beds=150_000,
    shelf_steps=3_000,
    demo_seconds=20.0,
)
THOROUGH = Effort(
    "thorough",
    bed_caps_minutes=(
        *(math.inf, 1800.0, 1440.0, 1260.0, 1080.0, 960.0),
        *(840.0, 750.0, 660.0, 570.0, 480.0, 360.0),
    ),
    first_goal_starts=12,
    first_goal_steps=1_200_000,
    later_goal_steps=100_000,
    goal_rounds=8,
    bed_share=0.76,
    question_steps=300_000,
    nesting_steps=200_000,
    tidy_moves=2_000,
    schedule_steps=600_000,
    proof_time=20.0,
    replan_steps=600_000,
    replan_solver_time=40.0,
    replan_placings=6_000,
    replan_placed_beds=600_000,
    shelf_steps=20_000,
    demo_seconds=90.0,
)

EFFORTS = (QUICK, NORMAL, THOROUGH)  # each searches longer than the one before


def effort_named(name: str, where: str = "effort") -> Effort:
    """The effort of that name.

    Raises
    ------
    RecordError
        when there is none
    """
    for one in EFFORTS:
        if one.name == name:
            return one
    known = ", ".join(one.name for one in EFFORTS)
    raise RecordError(f"{name!r} is not one of: {known}.", where=where)


def longer(effort: Effort) -> Effort | None:
    """The next effort that searches longer; none behind the last."""
    behind = EFFORTS[EFFORTS.index(effort) + 1 :] if effort in EFFORTS else ()
    return behind[0] if behind else None
