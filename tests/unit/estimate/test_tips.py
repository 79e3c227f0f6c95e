"""A tip that thins out on its last layers is no thin wall."""

from __future__ import annotations

from planner.estimate.part import estimate_part
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests.builders import circle, cone, sleeve

PLA = Filament("PLA", "PLA", 1.24, 1.24)


def _weights(mesh: object) -> set[str]:
    part = Part("p", "p.stl", "s", Recipe("plain"), "PLA")
    deposit = estimate_part(mesh, part, PLA, {"a": Motion()})  # type: ignore[arg-type]
    return {f.weight for f in deposit.findings if "thinner than the least bead" in f.text}


def test_the_tip_of_a_cone_is_at_most_a_note() -> None:
    """The last layer of any tip is thinner than a bead; nobody has to decide anything about it."""
    assert _weights(cone(20.0, 40.0)) <= {"note"}


def test_a_wall_that_is_too_thin_all_the_way_up_is_a_fault() -> None:
    """A tube with a wall of 0.1 mm cannot be printed with a bead of 0.25 mm at the least."""
    assert _weights(sleeve(circle(30.0), circle(29.8), 20.0)) == {"fault"}
