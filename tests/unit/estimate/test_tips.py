"""A tip that thins out on its last layers is no thin wall."""

from __future__ import annotations

import re

from planner.estimate.part import estimate_part
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests.builders import circle, cone, sleeve

PLA = Filament("PLA", "PLA", 1.24, 1.24)
PART = Part("p", "p.stl", "s", Recipe("plain"), "PLA")


def _weights(mesh: object) -> set[str]:
    deposit = estimate_part(mesh, PART, PLA, {"a": Motion()})  # type: ignore[arg-type]
    return {f.weight for f in deposit.findings if "thinner than the least bead" in f.text}


def test_the_tip_of_a_cone_is_at_most_a_note() -> None:
    """The last layer of any tip is thinner than a bead; nobody has to decide anything about it."""
    assert _weights(cone(20.0, 40.0)) <= {"note"}


def test_a_wall_that_is_too_thin_all_the_way_up_is_a_fault() -> None:
    """A tube with a wall of 0.1 mm cannot be printed with a bead of 0.25 mm at the least."""
    assert _weights(sleeve(circle(30.0), circle(29.8), 20.0)) == {"fault"}


def test_a_wall_on_one_layer_is_told_at_its_height_and_not_between_a_number_and_itself() -> None:
    """Tips of one thin layer: "at 25.5 mm"; tubes that are thin all the way up keep both their ends."""
    told = []
    for width in (6.0, 10.0, 14.0, 20.0, 26.0, 30.0):
        deposit = estimate_part(cone(width, 24.0), PART, PLA, {"a": Motion()})
        told += [f.text for f in deposit.findings if "thinner than the least bead" in f.text]
    assert any(re.search(r"stand at \d+\.\d mm above", text) for text in told)
    spans = [re.search(r"between (\S+) and (\S+) mm", text) for text in told]
    assert all(span.group(1) != span.group(2) for span in spans if span is not None)
