"""Marks, scales, profiles and hatches: places on paper worked by hand, read from the drawing by lxml."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from lxml import etree

from planner.model.budget import MassItem
from planner.report.decisions import decisions, told_together
from planner.report.drawings import bed_scale, profile
from planner.report.drawings.airframe_marks import (
    NAMED,
    Spot,
    balance_mark,
    bubbles,
    openings,
    outlines,
    radius_of,
    scale_for,
)
from planner.report.drawings.bed_drawing import bed_drawing
from planner.report.layout.colours import ACCENT, INK, SECTIONS
from planner.report.layout.legend import (
    Style,
    hatch_definitions,
    hatch_name,
    letter_mark,
    plain_style,
    section_styles,
    swatch,
)
from planner.report.layout.lie import Lying, PieceShape
from planner.report.lookup import Lookup
from tests.plan_edges import HOSTILE, empty_plan, hostile_plan, misfit_plan
from tests.plan_samples import sample_plan


def parsed(markup: str) -> Any:
    """Markup as a tree: it must be well-formed."""
    return etree.fromstring(f"<svg>{markup}</svg>".encode())


def points(path: Any) -> list[tuple[float, float]]:
    """Corners of a path that is made of lines."""
    words = path.get("d").replace("M", " ").replace("L", " ").replace("Z", " ").replace(",", " ").split()
    numbers = [float(word) for word in words]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def test_what_wants_a_decision_gravest_first() -> None:
    """A piece that fits nowhere, a mesh that is in no total, then doubts; notes want none."""
    told = decisions(Lookup(misfit_plan()))
    assert told[0].startswith("keel fits no bed: ")
    assert told[0].endswith("Lay it on its side: then it fits the large 300.")
    assert told[1].startswith("old/nose_v1.stl is set aside and in no total: the file ends")
    assert any(one.startswith("hinge plate: PLA softens") for one in told[2:])
    assert not any("inside out" in one for one in told)
    assert decisions(Lookup(empty_plan())) == [told[1]]


def test_a_sentence_about_several_things_is_told_once() -> None:
    """With each of them once, in the order in which they came."""
    said = [("a", "thin"), ("b", "odd"), ("c", "thin"), ("a", "thin")]
    assert told_together(said) == ["a, c: thin", "b: odd"]
    assert told_together([]) == []


@pytest.mark.parametrize(
    ("size", "scale"),
    [((100.0, 50.0), 1), ((100.1, 50.0), 2), ((100.0, 50.1), 2), ((900.0, 10.0), 10), ((1e6, 1.0), 100)],
)
def test_the_largest_scale_that_fits(size: tuple[float, float], scale: int) -> None:
    """The smallest of the row where none does."""
    assert scale_for((100.0, 50.0), size) == scale


def item(what: str, grams: float, kind: str = "fitting") -> MassItem:
    return MassItem(what, kind, "wing", grams, 0.0)


def test_the_area_of_a_bubble_goes_with_its_mass() -> None:
    """A quarter of the mass is half the radius; the lightest can still be seen."""
    assert radius_of(item("a", 200.0), 200.0) == 5.0
    assert radius_of(item("a", 50.0), 200.0) == 2.5
    assert radius_of(item("a", 0.01), 200.0) == 0.55


def test_bubbles_lie_by_mass_and_the_heaviest_are_named() -> None:
    """Printed ones are filled, what is half known is dashed, and a name is text."""
    spots = [Spot(item(f"i{n}", 10.0 + n), (float(n), 2.0), n != 3) for n in range(12)]
    spots += [Spot(item(HOSTILE, 100.0, "printed"), (50.0, 7.0), True)]
    parts, marks = bubbles(spots, lambda x, y: (2.0 * x, -y), lambda spot: spot.item.what)
    assert [(m.x, m.y) for m in marks[:2]] == [(100.0, -7.0), (22.0, -2.0)]
    assert marks[0].radius == 5.0
    assert [bool(m.words) for m in marks] == [True] * NAMED + [False] * 4
    tree = parsed("".join(parts))
    circles = tree.findall(".//circle")
    assert [c.get("stroke-dasharray") is not None for c in circles] == [m.x == 6.0 for m in marks]
    assert circles[0].get("fill") == INK
    assert {c.get("fill") for c in circles[1:]} == {"#ffffff"}
    assert "<script>" in tree.find(".//title").text  # as text: the tree has no such element
    assert tree.find(".//script") is None
    assert bubbles([], lambda x, y: (x, y), lambda spot: "") == ([], [])


def test_outlines_carry_the_hatch_of_their_section() -> None:
    """Rings on paper in their order; what belongs to no section has a style of its own."""
    look = Lookup(sample_plan())
    ring, hole = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)], [(6.0, 2.0), (8.0, 2.0), (8.0, 4.0)]
    shown: Any = [("fin", [ring, hole]), ("nobody", [ring])]
    parts, on_paper = outlines(look, "top", shown, lambda x, y: (x + 1.0, y + 2.0))
    assert on_paper[1] == [(7.0, 4.0), (9.0, 4.0), (9.0, 6.0)]
    assert len(on_paper) == 3
    tree = parsed("".join(parts))
    fills = [p.get("fill") for p in tree.findall(".//g/path")]
    styles = section_styles(look)
    assert fills == [f"url(#{hatch_name('top', one)})" for one in (styles["tail"], plain_style())]
    known = {p.get("id") for p in tree.findall(".//pattern")}
    assert {fill[5:-1] for fill in fills} <= known
    assert outlines(look, "top", [], lambda x, y: (x, y)) == ([], [])
    assert openings(shown, lambda x, y: (x, y)) == [hole]
    assert openings([("a", [ring]), ("b", [hole])], lambda x, y: (x, y)) == []  # of another piece


def test_the_mark_of_the_balance_warns_outside_its_window() -> None:
    """With the range as a line where both ends are known."""
    plan = sample_plan()
    bad = Lookup(replace(plan, balance=replace(plan.balance, inside=False)))
    good = Lookup(replace(plan, balance=replace(plan.balance, inside=True)))
    (only,) = balance_mark(good, (5.0, 6.0), [(1.0, 6.0)])
    line, mark = balance_mark(bad, (5.0, 6.0), [(1.0, 6.0), (9.0, 6.0)])
    assert ACCENT in line and ACCENT in mark  # noqa: PT018
    assert ACCENT not in only
    drawn = parsed(line).find("line")
    assert [float(drawn.get(k)) for k in ("x1", "y1", "x2", "y2")] == [1.0, 6.0, 9.0, 6.0]


def test_beds_share_a_scale_but_for_one_that_is_much_larger(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three beds of 1:3 and one of 1:4 are drawn 1:4; one of 1:10 stands alone and says so."""
    needs = {"a": 3, "b": 3, "c": 4, "d": 10, "e": 2}
    monkeypatch.setattr(bed_scale, "needed_scale", lambda _, batch, *__: needs[batch.name])
    batches = [SimpleNamespace(name=name) for name in needs]
    look: Any = SimpleNamespace(plan=SimpleNamespace(batches=batches))
    scales = bed_scale.bed_scales(look, 170.0, 168.0)
    assert scales == {"a": 4, "b": 4, "c": 4, "d": 10, "e": 4}
    told = [bed_scale.scale_words(batch, scales) for batch in batches]  # type: ignore[arg-type]
    assert told[0] == "scale 1:4"
    assert told[3] == "scale 1:10, smaller than the others (1:4): the bed is large"
    look.plan.batches = []
    assert bed_scale.bed_scales(look, 170.0, 168.0) == {}


def test_a_footprint_fills_its_field_and_keeps_its_shape() -> None:
    """40 x 20 mm in 21 x 16 mm: half size, in the middle, the far side up."""
    drawn = profile.outline_picture(
        ((0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)), plain_style(), 21.0, 16.0
    )
    path = etree.fromstring(drawn.encode()).find(".//{*}path")
    assert points(path) == [(0.5, 13.0), (20.5, 13.0), (20.5, 3.0), (0.5, 3.0)]
    assert profile.outline_picture(((0.0, 0.0), (1.0, 1.0)), plain_style(), 21.0, 16.0) == ""


def test_a_profile_goes_from_the_bed_to_the_top() -> None:
    """Values of 1, 2 and 4 at a third, two thirds and the whole of the width; the largest reaches the top."""
    drawn = profile.profile_picture(
        np.array([10.0, 20.0, 30.0]), np.array([1.0, 2.0, 4.0]), 31.0, 13.0, "4 cm2 & more", "area"
    )
    tree = etree.fromstring(drawn.encode())
    field, line = tree.findall(".//{*}path")
    assert points(line) == [(0.5, 8.6), (10.5, 8.6), (20.5, 6.6), (30.5, 2.6)]  # 10.6 is the ground
    assert points(field) == [(0.5, 10.6), *points(line), (30.5, 10.6)]
    assert tree.findtext(".//{*}text") == "4 cm2 & more"


@pytest.mark.parametrize("values", [[], [0.0, 0.0], [-1.0]])
def test_without_values_there_is_no_profile(values: list[float]) -> None:
    told = np.array(values)
    assert profile.profile_picture(np.arange(len(values)) + 1.0, told, 30.0, 12.0, "", "") == ""


def test_a_tall_part_loses_points_and_no_peak() -> None:
    """Of 1,000 layers 90 points are left, with every peak in its share, and the top at its height."""
    heights, values = np.linspace(0.2, 200.0, 1000), np.ones(1000)
    values[[0, 517, 999]] = 7.0, 9.0, 5.0
    places, tops = profile._thinned(heights, values)
    assert len(places) == len(tops) == 90
    assert [v for v in tops if v > 1.0] == [7.0, 9.0, 5.0]
    assert places[-1] == 200.0
    assert abs(places[list(tops).index(9.0)] - heights[517]) <= 200.0 / 90.0
    assert profile._thinned(heights[:90], values[:90])[0] == heights[:90].tolist()


def test_forty_two_sections_differ() -> None:
    """By colour and hatch together; then they come round again."""
    names = tuple(f"s{n}" for n in range(50))
    look: Any = SimpleNamespace(sections=names)
    styles = section_styles(look)
    assert len({styles[name] for name in names[:42]}) == 42
    assert styles["s42"] == styles["s0"]
    assert [styles[n].colour for n in names[: len(SECTIONS)]] == list(SECTIONS)
    assert styles["s1"].hatch != styles["s0"].hatch


def test_hatches_are_defined_once_and_by_their_drawing() -> None:
    """Two sections of one style share a pattern; the prefix keeps drawings on a page apart."""
    style = Style("#123456", "cross")
    tree = parsed(hatch_definitions("bed1", [style, style, plain_style()]))
    patterns = tree.findall(".//pattern")
    assert [p.get("id") for p in patterns] == ["bed1-cross-123456", "bed1-broken-9aa5b1"]
    assert {line.get("stroke") for line in patterns[0].findall("line")} == {"#123456"}
    assert len(patterns[0].findall("line")) == 2
    assert patterns[0].get("patternTransform") == "rotate(45)"
    field = parsed(swatch("bed1", style, 3.0, 4.0)).find("rect")
    assert field.get("fill") == "url(#bed1-cross-123456)"
    assert (float(field.get("x")), float(field.get("y"))) == (3.0, 4.0)


def test_the_letter_of_a_filament_stands_in_its_circle() -> None:
    """A longer code is smaller, and markup is text."""
    one, two = parsed(letter_mark(10.0, 20.0, "A")), parsed(letter_mark(10.0, 20.0, "<b"))
    assert (one.find(".//circle").get("cx"), one.find(".//circle").get("cy")) == ("10", "20")
    assert one.findtext(".//text") == "A"
    assert two.findtext(".//text") == "<b"
    assert float(two.find(".//text").get("font-size")) < float(one.find(".//text").get("font-size"))


@pytest.mark.parametrize("make", [sample_plan, hostile_plan])
def test_a_bed_is_laid_on_paper_once_in_each_scale(make: Any) -> None:
    """Every piece with its shape, its mark of turn and its lettering; another scale is another drawing."""
    look = Lookup(make())
    bed = look.plan.batches[0]
    large = bed_drawing(look, bed, "a", 170.0, 168.0)
    bed_drawing(look, bed, "b", 170.0, 168.0)
    small = bed_drawing(look, bed, "c", 60.0, 60.0)
    assert list(look.drawn) == [(bed.name, large.scale), (bed.name, small.scale)]
    lying = look.drawn[bed.name, large.scale]
    assert isinstance(lying, Lying)
    assert set(lying.shapes) == {placed.piece for placed in bed.placed}
    assert len(lying.names) == len(bed.placed)
    for shape in lying.shapes.values():
        assert isinstance(shape, PieceShape)
        assert shape.outline.startswith("M")
        assert shape.tooth.startswith("M")
