"""The goals of a plan: one list, in the order in which they count.

Plans are compared goal by goal. A later goal may cost a little of an earlier one, its tolerance: of all plans
found, those within the tolerance of the best first goal stay, of these those within the tolerance of the best
second goal, and so on.

A package that is installed beside this one adds a goal by an entry point of the group
``airframe_print_planner.goals`` whose value is an `Objective` with a measure that is `Sums`. It comes after
all others, unless it is preferred.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib.metadata import EntryPoint

from planner.errors import InputError
from planner.joint_search import measures
from planner.joint_search.objective import Objective, Sums, TimedPlan, Tolerance
from planner.model.goal import Goal
from planner.plug_ins import GOALS, added

BUILT_IN = (  # in the usual order
    Objective("finish", "h", Tolerance(0.01), measures.finish, measures.finish_words),
    Objective("sections", "h", Tolerance(0.05), measures.sections, measures.sections_words),
    Objective("visits", "", Tolerance(), measures.visits, measures.visits_words),
    # less than one bed more in a plan of forty
    Objective("hands", "min", Tolerance(0.02), measures.hands, measures.hands_words),
    Objective("risk", "h", Tolerance(0.1), measures.risk, measures.risk_words),
    Objective("pairs", "", Tolerance(), measures.pairs, measures.pairs_words),
    Objective("changeovers", "", Tolerance(), measures.changeovers, measures.changeovers_words),
    Objective("spools", "", Tolerance(), measures.spools, measures.spools_words),
)


def place_of(name: str) -> int:
    """Place of a built-in goal in the list: where its value stands among the values of a plan."""
    return [one.name for one in BUILT_IN].index(name)


FINISH, SPOOLS = place_of("finish"), place_of("spools")
_LATER_PRICES = (1.0, 0.02, 0.01, 0.005, 0.004, 0.003, 0.002, 0.001)


def later_price(behind: int) -> float:
    """Price of a goal so many places behind the one that counts, in parts of its own value; never 0."""
    last = len(_LATER_PRICES) - 1
    return _LATER_PRICES[behind] if behind <= last else _LATER_PRICES[last] * 0.5 ** (behind - last)


def objectives() -> tuple[Objective, ...]:
    """All goals, the built-in ones first.

    Raises
    ------
    InputError
        when a goal of another package cannot be used
    """
    return (*BUILT_IN, *_loaded(added(GOALS)))


@cache
def _loaded(entries: tuple[EntryPoint, ...]) -> tuple[Objective, ...]:
    found: list[Objective] = []
    for entry in entries:
        try:
            made = entry.load()
        except Exception as error:  # whatever another package does
            raise _refused(entry, f"cannot be loaded ({type(error).__name__}: {error})") from error
        if not isinstance(made, Objective) or not isinstance(made.measure, Sums):
            raise _refused(entry, "is no Objective whose measure is Sums")
        if made.name in {one.name for one in (*BUILT_IN, *found)}:
            raise _refused(entry, f"has the name of another goal, {made.name!r}")
        found.append(made)
    return tuple(found)


def _refused(entry: EntryPoint, why: str) -> InputError:
    return InputError(
        f"the goal of another package {why}.",
        where=entry.value,
        next_step="Mend that package, or take it out of this environment.",
    )


def order_of(preferred: Sequence[str]) -> tuple[int, ...]:
    """All goals by number, the preferred ones first; the others keep their usual order.

    Raises
    ------
    InputError
        when a word is no goal, or one is there twice
    """
    known = [one.name for one in objectives()]
    names = [word.strip().lower() for word in preferred]
    for name in names:
        if name not in known:
            raise InputError(
                f"{name!r} is no goal of a plan.",
                where="--prefer",
                next_step=f"The goals are {', '.join(known)}; write them with commas between.",
            )
        if names.count(name) > 1:
            raise InputError(f"{name!r} is named twice.", where="--prefer", next_step="Name each goal once.")
    first = [known.index(name) for name in names]
    return (*first, *(goal for goal in range(len(known)) if goal not in first))


def best_of(values: Sequence[Sequence[float]], order: Sequence[int]) -> int:
    """Number of the plan that wins, goal by goal with the tolerance of each; the first of equals."""
    goals = objectives()
    left = list(range(len(values)))
    for goal in order:
        limit = goals[goal].ceiling(min(values[n][goal] for n in left)) + 1e-9
        left = [n for n in left if values[n][goal] <= limit]
    return min(left, key=lambda n: ([values[n][goal] for goal in order], n))


def measured(plan: TimedPlan) -> tuple[float, ...]:
    """The value of every goal, by number."""
    return tuple(one.measure(plan) for one in objectives())


def told(order: Sequence[int], values: Sequence[float], plan: TimedPlan) -> tuple[Goal, ...]:
    """Every goal in its place, in words."""
    goals = objectives()
    return tuple(
        Goal(goals[goal].name, place, values[goal], goals[goal].unit, _words(goals[goal], plan, values[goal]))
        for place, goal in enumerate(order, start=1)
    )


def _words(goal: Objective, plan: TimedPlan, value: float) -> str:
    if not isinstance(goal.measure, Sums):
        return goal.words(plan, value)
    try:
        words = goal.words(plan, value)
    except Exception as error:  # whatever another package does
        return f"{value:g}, which its package could not tell in words ({type(error).__name__}: {error})"
    return words if isinstance(words, str) and words.strip() else f"{value:g}"
