"""What is said of how an airframe lies: declared, found, or doubted, with the line to write."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import pytest

from planner.model.airframe import Airframe
from planner.model.axes import Axes
from planner.model.part import Part
from planner.pipeline.placed import lie
from planner.pipeline.placed.heading import Heading
from planner.pipeline.placed.lie import axes_told, lying, unused
from tests.sample_workshop import SKIN

PARTS = (Part("a", "a.stl", "s", SKIN, "PLA", hand="left", mirror=True), Part("b", "b.stl", "s", SKIN, "PLA"))


@dataclass(frozen=True)
class Job:
    """As much of a job as is looked at."""

    airframe: Airframe
    meshes: dict[str, Any] = field(default_factory=lambda: {"a.stl": 1, "b.stl": 2, "c.stl": 3})
    assumptions: tuple[str, ...] = ("first",)
    findings: tuple[Any, ...] = ("doubt",)


def job(**more: Any) -> Any:
    return Job(Airframe("x", more.pop("parts", PARTS), **more))


@pytest.fixture(name="found")
def _found(monkeypatch: pytest.MonkeyPatch) -> SimpleNamespace:
    """What is found of the meshes, and what was asked."""
    told = SimpleNamespace(value=Heading(Axes(), ()), asked=[])

    def heading(*asked: object) -> Heading:
        told.asked.append(asked)
        value: Heading = told.value
        return value

    monkeypatch.setattr(lie, "heading", heading)
    return told


ALONG_Y = Axes("y", "z")


def test_what_the_file_says_holds_and_nobody_looks(found: SimpleNamespace) -> None:
    """Told only where the right side runs against the axis that it names."""
    assert lying(job(axes=ALONG_Y), recognised=True).assumptions == ("first",)
    with_side = lying(job(axes=Axes("y", "z", ALONG_Y.side[-1])), recognised=False)
    if ALONG_Y.side.startswith("-"):
        assert with_side.assumptions[1:] == (
            "axes: with y aft and z up the right side is -x; nothing is mirrored",
        )
    assert found.asked == []


def test_only_meshes_that_are_printed_and_in_place_are_asked(found: SimpleNamespace) -> None:
    """With their hands, and those whose other hand is printed, too."""
    parts = (*PARTS, Part("c", "c.stl", "s", SKIN, "PLA", copies=0), Part("d", "d.stl", "s", SKIN, "PLA"))
    lying(job(parts=parts), recognised=True)
    meshes, hands, mirrored = found.asked[0]
    assert meshes == {"a.stl": 1, "b.stl": 2}  # c is not printed, d has no mesh
    assert hands["a.stl"] == "left"
    assert mirrored == {"a.stl"}
    alone = job(out_of_place=("b.stl",))
    assert lying(alone, recognised=True) is alone
    assert len(found.asked) == 1


def test_found_the_usual_way_nothing_is_said(found: SimpleNamespace) -> None:
    found.value = Heading(Axes(), ("the wings are mirrored",))
    made = lying(job(), recognised=True)
    assert (made.airframe.axes, made.assumptions, made.findings) == (Axes(), ("first",), ("doubt",))


def test_found_another_way_it_is_taken_and_told(found: SimpleNamespace) -> None:
    found.value = Heading(ALONG_Y, ("the wings are mirrored", "the fin is up"))
    made = lying(job(), recognised=True)
    assert made.airframe.axes == ALONG_Y
    assert made.assumptions[1] == (
        f"the airframe lies with y aft, {ALONG_Y.side} right, z up: the wings are mirrored, the fin is up;"
        f" {ALONG_Y} under [airframe] says it otherwise"
    )
    assert made.findings == ("doubt",)


def test_not_sure_it_is_taken_and_doubted(found: SimpleNamespace) -> None:
    """About axes, with the line that the page offers to write."""
    found.value = Heading(ALONG_Y, ("mirrored",), ("nose or tail", "up or down"))
    made = lying(job(), recognised=True)
    assert made.airframe.axes == ALONG_Y
    assert made.assumptions == ("first",)
    doubt = made.findings[1]
    assert doubt.about == "axes"
    assert doubt.text.startswith(
        "Which way the airframe lies is not sure: nose or tail; up or down. Taken: y aft"
    )
    from planner.api.offers import _AXES

    assert _AXES.search(doubt.text) is not None


@pytest.mark.parametrize(
    ("value", "doubted"),
    [
        (Heading(ALONG_Y, ()), False),  # nothing shows
        (Heading(Axes(), ("mirrored",)), False),
        (Heading(ALONG_Y, ("mirrored",)), True),
        (Heading(Axes("-x", "z"), ("mirrored",)), True),  # sure, and nose to tail
        (Heading(Axes("-x", "z"), ("mirrored",), ("nose or tail",)), False),  # not sure which end
        (Heading(Axes("x", "-z"), ("mirrored",), ("up or down",)), False),
        (Heading(Axes("y", "z"), ("mirrored",), ("nose or tail",)), True),  # surely another axis
        (Heading(Axes("x", "y"), ("mirrored",), ("up or down",)), True),
    ],
)
def test_what_is_declared_is_doubted_only_where_it_shows_otherwise(
    value: Heading, doubted: bool, found: SimpleNamespace
) -> None:
    """Nothing of the airframe is changed either way."""
    found.value = value
    asked = job()
    made = lying(asked, recognised=False)
    assert made.airframe is asked.airframe
    assert made.assumptions == ("first",)
    assert len(made.findings) == 1 + doubted
    if doubted:
        assert made.findings[1].text.startswith(
            "In assembly position x runs aft, y right and z up, but mirrored: it seems to lie with"
        )


def test_axes_in_words_and_axes_without_a_use() -> None:
    assert axes_told(Axes()) == "x aft of the datum, y right, z up"
    assert unused(Airframe("x", PARTS)) == ()
    assert unused(Airframe("x", PARTS, axes=Axes(), in_assembly_position=True)) == ()
    (doubt,) = unused(Airframe("x", PARTS, axes=Axes()))
    assert doubt.about == "axes"
    assert "in_assembly_position = true" in doubt.text
