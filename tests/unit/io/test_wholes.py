"""Meshes that are the whole of others: boxes cut by hand, in place and apart, and what only looks like it."""

from __future__ import annotations

from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import pytest

from planner.geometry.mesh.measure import measures
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes import wholes as wholes_module
from planner.io.meshes.wholes import Whole, whole_findings, wholes
from tests.builders import box, joined, moved


@dataclass
class Row:
    name: str
    mesh: TriangleMesh

    @property
    def health(self) -> Any:
        return SimpleNamespace(volume=measures(self.mesh).volume)


def rows(**meshes: TriangleMesh) -> Any:
    return [Row(f"{name}.stl", mesh) for name, mesh in meshes.items()]


WHOLE = box(100.0, 40.0, 20.0)
LEFT, RIGHT = box(60.0, 40.0, 20.0), box(40.0, 40.0, 20.0, (60.0, 0.0, 0.0))


def test_a_box_beside_its_two_halves() -> None:
    """In their order of the folder; the halves are not the whole of anything."""
    found = wholes(rows(all=WHOLE, b=RIGHT, a=LEFT))
    assert found == (Whole("all.stl", ("b.stl", "a.stl"), True),)
    assert wholes(rows(all=WHOLE, b=RIGHT, a=LEFT), known=("all.stl",)) == ()


def test_the_doubt_names_the_pieces_and_the_line_that_leaves_it_out() -> None:
    three = rows(all=WHOLE, a=box(30.0, 40.0, 20.0), b=box(30.0, 40.0, 20.0, (30.0, 0.0, 0.0)), c=RIGHT)
    (doubt,) = whole_findings(three)
    assert doubt.about == "all.stl"
    assert doubt.others == ("a.stl", "b.stl", "c.stl")
    assert doubt.text.startswith("It is as large as a.stl, b.stl and c.stl together, which lie in it:")
    assert 'mesh = "all.stl" copies = 0' in doubt.text


@pytest.mark.parametrize(
    ("name", "pieces"),
    [
        ("a piece too few", {"a": LEFT}),
        ("a gap of 5 %", {"a": LEFT, "b": box(35.0, 40.0, 20.0, (65.0, 0.0, 0.0))}),
        ("in another place", {"a": LEFT, "b": moved(RIGHT, y=3.0)}),
        ("one over the other", {"a": box(100.0, 40.0, 20.0, (0.0, 0.0, 0.0)), "b": box(100.0, 40.0, 0.2)}),
    ],
)
def test_what_is_not_the_whole(name: str, pieces: dict[str, TriangleMesh]) -> None:
    assert wholes(rows(all=WHOLE, **pieces)) == (), name


def test_as_much_in_the_same_box_is_not_enough() -> None:
    """Two bars at the long sides have the volume of a slab in the middle with feet, and not its moments."""
    slab = joined(
        box(100.0, 20.0, 20.0, (0.0, 10.0, 0.0)),
        box(1.0, 10.0, 20.0),
        box(1.0, 10.0, 20.0, (99.0, 30.0, 0.0)),
    )
    bars = {"a": box(100.0, 10.1, 20.0), "b": box(100.0, 10.1, 20.0, (0.0, 29.9, 0.0))}
    assert measures(slab).volume == pytest.approx(sum(measures(one).volume for one in bars.values()))
    assert wholes(rows(slab=slab, **bars)) == ()


def test_pieces_that_are_drawn_elsewhere_are_known_by_their_name() -> None:
    """As wide, as deep, and together as long, however they are turned; words such as "full" do not count."""
    away = box(40.0, 20.0, 60.0, (500.0, 0.0, 0.0))
    other = box(20.0, 40.0, 40.0, (0.0, 700.0, 0.0))
    found = wholes(rows(keel_full=WHOLE, keel_1=away, keel_2=other))
    assert found == (Whole("keel_full.stl", ("keel_1.stl", "keel_2.stl"), False),)
    assert (
        "which have its name and two of its lengths"
        in whole_findings(rows(keel_full=WHOLE, keel_1=away, keel_2=other))[0].text
    )
    assert wholes(rows(keel_full=WHOLE, fin_1=away, fin_2=other)) == ()
    assert wholes(rows(whole=WHOLE, one_1=away, one_2=other)) == ()  # no word of its own is left


def test_elsewhere_the_volume_must_fit_closely() -> None:
    """To half a percent; in place pins may change two."""
    away = box(40.0, 20.0, 60.0, (500.0, 0.0, 0.0))
    short = box(20.0, 40.0, 39.0, (0.0, 700.0, 0.0))
    assert wholes(rows(keel=WHOLE, keel_1=away, keel_2=short)) == ()
    near = box(39.2, 40.0, 20.0, (60.8, 0.0, 0.0))
    assert len(wholes(rows(keel=WHOLE, a=LEFT, b=near))) == 1


def test_of_very_many_in_one_box_only_all_together_are_asked() -> None:
    """Seventeen slices make the whole; with a stranger among them nothing is found."""
    cuts = {f"s{n:02d}": box(100.0 / 17, 40.0, 20.0, (n * 100.0 / 17, 0.0, 0.0)) for n in range(17)}
    assert wholes(rows(all=WHOLE, **cuts))[0].pieces == tuple(f"{name}.stl" for name in cuts)
    assert wholes(rows(all=WHOLE, **cuts, stranger=box(5.0, 5.0, 5.0))) == ()


def test_a_name_is_taken_apart_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a folder of two hundred; what shares words is still found among them."""
    asked: list[str] = []
    words = wholes_module._words
    monkeypatch.setattr(wholes_module, "_words", lambda name: asked.append(name) or words(name))
    many = {f"rib_{n}": box(10.0 + n / 8.0, 7.0, 3.0) for n in range(200)}
    parts = {"spar": WHOLE, "spar_left": LEFT, "spar_right": moved(RIGHT, 500.0)}
    found = wholes(rows(**many, **parts))
    assert [(one.mesh, one.pieces) for one in found] == [("spar.stl", ("spar_left.stl", "spar_right.stl"))]
    assert len(asked) == 203
