"""What is asked of the nesting is one value, checked when it is made."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, replace

import pytest

from planner.errors import InputError
from planner.model.effort import NORMAL, QUICK
from planner.nesting.problem.problem import NestingProblem
from tests.unit.nesting.shapes import item, rectangle, square_bed


def _problem() -> NestingProblem:
    blocks = [item(name, rectangle(30.0, 20.0)) for name in ("a", "b", "c")]
    return NestingProblem(blocks, [square_bed()], 3.0, seed=1, effort=NORMAL)


def test_the_budget_is_that_of_the_effort_unless_steps_are_given() -> None:
    """So many for every piece; no effort and no steps: boxes only."""
    problem = _problem()
    assert problem.budget == 3 * NORMAL.nesting_steps > 0
    assert replace(problem, effort=QUICK).budget == 0
    assert replace(problem, effort=QUICK, steps=77).budget == 77
    assert replace(problem, steps=0).budget == 0


def test_the_budget_of_many_pieces_is_that_of_two_dozen() -> None:
    """From there on more pieces bring no more steps."""
    for count, paid in ((23, 23), (24, 24), (25, 24), (300, 24)):
        problem = replace(_problem(), items=[item(str(n), rectangle(30.0, 20.0)) for n in range(count)])
        assert problem.budget == paid * NORMAL.nesting_steps


def test_it_does_not_follow_a_list_that_changes() -> None:
    """Frozen, with tuples inside, and nobody stops it unless asked to."""
    blocks = [item("a", rectangle(30.0, 20.0))]
    problem = NestingProblem(blocks, [square_bed()], 3.0, seed=1, effort=QUICK)
    blocks.append(item("b", rectangle(5.0, 5.0)))
    assert [one.piece for one in problem.items] == ["a"]
    assert not problem.stop(10**9)
    with pytest.raises(FrozenInstanceError):
        problem.seed = 2  # type: ignore[misc]


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"spacing_mm": -0.1}, "clearance_mm = -0.1 is not between 0 and 1000"),
        ({"spacing_mm": float("nan")}, "clearance_mm = nan"),
        ({"spacing_mm": 1000.5}, "clearance_mm = 1000.5"),
        ({"steps": -1}, "steps = -1"),
        ({"items": [item("a", rectangle(3.0, 2.0))] * 2}, "same name"),
    ],
)
def test_what_cannot_be_asked_is_refused(changed: dict[str, object], words: str) -> None:
    """At once, before anything is laid; both ends of the spacing are allowed."""
    with pytest.raises(InputError, match=words):
        replace(_problem(), **changed)  # type: ignore[arg-type]
    for spacing in (0.0, 1000.0):
        assert replace(_problem(), spacing_mm=spacing).spacing_mm == spacing
