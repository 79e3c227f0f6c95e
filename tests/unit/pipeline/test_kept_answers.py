"""What is kept of shapes from one plan to the next: read back, it is what was found."""

from __future__ import annotations

import json
from typing import Any

import pytest

from planner.estimate.poses import poses
from planner.estimate.poses.pose_cost import Standing
from planner.estimate.poses.poses import PoseChoice
from planner.geometry.assembly.contact import Touch
from planner.geometry.assembly.mating import Mating
from planner.geometry.mesh.outer import OuterSurface
from planner.geometry.mesh.pose import UPRIGHT, Pose
from planner.geometry.remembered import Remembered
from planner.pipeline import mass_estimate, overlapping, seated

RING = ((0.1, 0.2), (1.0 / 3.0, -0.0), (5.0, 1e-17))
LYING = Pose((1.0, 0.0, 0.0, 0.0, 0.0, -1.0, 0.0, 1.0, 0.0))
STANDING = Standing(UPRIGHT, True, "", 10.1, 2.0, 30.0, 40.0, 0.0, 12.0 / 7.0, 0.3)
LAIN = Standing(LYING, False, "too long by 3 mm", 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 0.7, laid_mm3=1e3)
ANSWERS: tuple[tuple[Remembered[Any], Any], ...] = (
    (seated._SHADOWS, ((RING, RING[::-1]), ())),
    (seated._TOUCHES, (Touch(4.5, (1.0, 2.0 / 3.0, 3.0), (0.0, -1.0, 0.0)),)),
    (seated._TOUCHES, ()),
    (overlapping._MATINGS, Mating(3.1, False, 0.7, 1.0 / 7.0)),
    (mass_estimate._OUTER, OuterSurface(12.0 / 7.0, (0.1, -0.0, 1e9))),
    (poses._CHOICES, PoseChoice(LYING, "lies flat", (STANDING, LAIN))),
    (poses._CHOICES, PoseChoice(UPRIGHT, "as modelled")),
)


@pytest.mark.parametrize(("memory", "answer"), ANSWERS)
def test_an_answer_is_read_back_as_it_was(memory: Remembered[Any], answer: Any) -> None:
    """Equal, and of the same kinds all through."""
    plain = memory._plain
    assert plain is not None
    assert repr(plain.read(json.loads(json.dumps(plain.written(answer))))) == repr(answer)


def test_no_two_questions_share_a_name() -> None:
    memories = {id(memory): memory for memory, _ in ANSWERS}.values()
    assert len({memory._plain.name for memory in memories if memory._plain}) == len(memories)
