"""Lettering finds its places quickly, and they are the same; a bed is drawn once in each scale."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from lxml import etree
from shapely import LineString, Point, Polygon, STRtree, box

from planner.report.bundle import documents
from planner.report.drawings import bed_drawing
from planner.report.drawings.callouts import Mark, callouts
from planner.report.drawings.label_places import labels
from planner.report.layout.drawing import SMALL, TEXT, text_width
from tests.plan_samples import sample_plan
from tests.slow_labels import CIRCLE, slow_labels

SVG = "{http://www.w3.org/2000/svg}"
SHEET = (0.0, 0.0, 170.0, 170.0)


def stars(seed: int, count: int = 24) -> dict[str, list[tuple[float, float]]]:
    """Outlines with dents, of 8 to 200 corners and 1 to 30 mm across, each in its field of a sheet."""
    rng = np.random.default_rng(seed)
    found = {}
    for k in range(count):
        corners = int(rng.integers(8, 200))
        turn = 2.0 * np.pi * np.arange(corners) / corners
        reach = rng.uniform(0.5, 15.0) * (1.0 + 0.5 * np.sin(int(rng.integers(2, 6)) * turn))
        x, y = 25.0 + 30.0 * (k % 5), 25.0 + 30.0 * (k // 5)
        made = np.column_stack([x + 0.65 * reach * np.cos(turn), y + 0.65 * reach * np.sin(turn)])
        found[f"part {k}" * int(rng.integers(1, 3))] = [(float(a), float(b)) for a, b in made]
    return found


@pytest.mark.parametrize("seed", range(2))
def test_places_are_those_of_a_plain_search(seed: int) -> None:
    """Compiled code gives every name and number the place that whole arrays of distances give it."""
    rings = stars(seed)
    numbers = {name: k for k, name in enumerate(rings, 1)}
    assert labels(rings, numbers, SHEET) == slow_labels(rings, numbers, SHEET)


@pytest.mark.parametrize("seed", range(4, 8))
def test_lettering_keeps_to_its_piece_or_off_all_pieces(seed: int) -> None:
    """Names lie in their outlines, numbers on leader lines clear of every outline (checked by shapely)."""
    rings = stars(seed)
    shapes = {name: Polygon(ring) for name, ring in rings.items()}
    tree = STRtree(list(shapes.values()))
    made = labels(rings, {name: k for k, name in enumerate(rings, 1)}, SHEET)
    for name, label in made.items():
        if label.leader is not None:
            assert len(tree.query(Point(label.x, label.y), "dwithin", CIRCLE - 1e-6)) == 0
            assert shapes[name].contains(Point(label.leader))
        elif not label.words.isdigit():
            size = text_width(label.words, label.size), 1.15 * label.size
            wide, high = size[::-1] if label.upright else size
            room = box(label.x - wide / 2, label.y - high / 2, label.x + wide / 2, label.y + high / 2)
            assert room.difference(shapes[name]).area < 0.02 * room.area  # the rim is looked at each half mm
    beside = [label for label in made.values() if label.leader is not None]
    for one, other in itertools.combinations(beside, 2):
        assert np.hypot(one.x - other.x, one.y - other.y) >= 2 * CIRCLE - 1e-6
    assert {label.size for label in made.values()} <= {TEXT, SMALL}


@pytest.mark.parametrize("seed", range(3))
def test_names_on_a_view_keep_apart(seed: int) -> None:
    """Names touch neither names, nor lines of others, nor openings, nor lettering that is there (shapely)."""
    rng = np.random.default_rng(seed)
    rings = list(stars(seed, 12).values())
    marks = [Mark(*rng.uniform(20.0, 120.0, 2), 2.0, f"item {k} of the view") for k in range(9)]
    there = (60.0, 60.0, 90.0, 64.0)
    openings = rings[:3]
    svg = "".join(callouts(marks, rings, [there], SHEET, openings))
    root = etree.fromstring(f'<svg xmlns="http://www.w3.org/2000/svg">{svg}</svg>')
    names = []
    for node in root.iter(f"{SVG}text"):
        x, y = float(node.get("x")), float(node.get("y"))
        names.append(box(x, y - 2.25, x + text_width(node.text, SMALL), y + 0.65).buffer(-0.02))
    lines = [
        LineString([(float(n.get(f"x{k}")), float(n.get(f"y{k}"))) for k in "12"])
        for n in root.iter(f"{SVG}line")
    ]
    assert len(names) >= 6
    for one, other in itertools.combinations(names, 2):
        assert not one.intersects(other)
    for name in names:
        assert not name.intersects(box(*there))
        assert not any(name.intersects(Polygon(ring)) for ring in openings)
        assert not any(name.buffer(-0.1).intersects(line) for line in lines)
    for one, other in itertools.combinations(lines, 2):
        assert not one.crosses(other)


def test_a_bed_is_drawn_once_in_each_scale(monkeypatch: pytest.MonkeyPatch) -> None:
    """Page, sheets and files share the pieces of a bed; nothing is placed twice at one scale."""
    asked: list[tuple[object, ...]] = []
    real = bed_drawing.labels

    def counted(rings, numbers, bounds):
        asked.append((tuple(sorted(rings)), bounds))
        return real(rings, numbers, bounds)

    monkeypatch.setattr(bed_drawing, "labels", counted)
    plan = sample_plan()
    documents(plan)
    assert len(asked) >= len(plan.batches)
    assert len(asked) == len(set(asked))
