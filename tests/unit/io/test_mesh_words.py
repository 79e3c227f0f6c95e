"""What is said of a mesh, word for word; and broken lines of a written-out STL."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.errors import MeshError
from planner.geometry.mesh.health import Health, examine
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.ascii_stl import read_ascii_stl
from planner.io.meshes.limits import Limits
from planner.io.meshes.mesh_findings import health_findings
from planner.io.meshes.raw_mesh import RawMesh
from tests.builders import box

SOUND = examine(box(10.0, 20.0, 30.0))
RAW = RawMesh(SOUND.mesh.triangles)


def said(health: Health, raw: RawMesh = RAW) -> list[tuple[str, str]]:
    return [(f.weight, f.text) for f in health_findings("rib.stl", raw, health)]


TWICE = "in this mesh; the common space may be counted twice. Join the bodies in the CAD program."
HOLLOW = "left out, adding nothing. A hollow needs facets that look into it."
OPEN = "volume and mass are estimates. Close the holes in the CAD program."


@pytest.mark.parametrize(
    ("changes", "weight", "text"),
    [
        ({"open_edges": 1}, "fault", f"1 edge of the surface is open; {OPEN}"),
        ({"open_edges": 7}, "fault", f"7 edges of the surface are open; {OPEN}"),
        ({"one_sided": 2}, "fault", "2 edges join facets that cannot agree on an outside."),
        ({"crowded_edges": 1}, "note", "1 edge is shared by more than two facets; bodies touch there."),
        ({"crowded_edges": 3, "watertight": False}, "fault", "3 edges are shared by more than two facets."),
        ({"overlapping": 1}, "doubt", f"1 pair of bodies overlaps {TWICE}"),
        ({"overlapping": 2}, "doubt", f"2 pairs of bodies overlap {TWICE}"),
        ({"swallowed": 2}, "doubt", f"2 bodies wholly within the material of another were {HOLLOW}"),
        ({"swallowed": 1}, "doubt", f"1 body wholly within the material of another was {HOLLOW}"),
        ({"compared": False}, "doubt", "The 1 bodies are too many to look for overlaps and hollows."),
        ({"cavities": 1}, "note", "1 closed hollow inside the material is left empty."),
        ({"bodies": 2}, "note", "The mesh holds 2 bodies that do not hang together."),
        ({"inside_out": 1}, "note", "1 surface looked inward as a whole and was turned."),
        ({"turned": 4}, "note", "4 facets looked the wrong way and were turned."),
        ({"collapsed": 1}, "note", "1 facet without area was removed."),
        ({"repeated": 2}, "note", "2 facets that lay upon another were removed."),
        ({"twins": 2}, "note", "2 facets that lay face to face with another were removed."),
        ({"slivers": 1}, "note", "1 facet without area stays, as it holds the surface shut."),
        ({"slivers": 2}, "note", "2 facets without area stay, as they hold the surface shut."),
    ],
)  # fmt: skip
def test_findings_word_for_word(changes, weight, text):
    """Each by itself, in one and in several."""
    assert said(replace(SOUND, **changes)) == [(weight, text)]


def test_a_sound_mesh_is_told_nothing():
    """Nothing wrong, nothing said."""
    assert said(SOUND) == []


def test_faults_come_first():
    """Then doubts, then notes; those of the reader last, with a capital."""
    health = replace(SOUND, cavities=1, overlapping=1, open_edges=2)
    raw = replace(RAW, notes=("colours were left out",))
    assert [weight for weight, _ in said(health, raw)] == ["fault", "doubt", "note", "note"]
    assert said(health, raw)[-1] == ("note", "Colours were left out.")


def test_a_mesh_far_from_the_origin():
    """Beyond two metres it is told; where the file keeps coarse steps only, that is a doubt."""

    def at(x: float) -> Health:
        return replace(SOUND, mesh=TriangleMesh(SOUND.mesh.triangles + np.array([x, 0.0, 0.0])))

    assert said(at(1990.0)) == []
    assert said(at(2005.0)) == [("note", "The part lies 2005 mm from the origin; only its shape is used.")]
    single = replace(RAW, single=True)
    assert said(at(1990.0), single) == []
    # binary32 at 200 000 mm: 2^17 <= 200 000 < 2^18, a step of 2^-6 mm
    assert said(at(200_000.0), single) == [
        ("doubt", "The part lies so far from the origin that its file keeps steps of 0.016 mm only."
         " Export it again near the origin."),
    ]  # fmt: skip


FACET = "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 {}\nendloop\nendfacet\n"


def stl(*facets: str, name: str = "rib") -> bytes:
    return f"solid {name}\n{''.join(facets)}endsolid {name}\n".encode()


def test_facets_as_written():
    """Two solids, a name that holds words of the format, capitals, blanks, ends of lines of any system."""
    data = stl(FACET.format(2), name="solid facet 1") + stl(
        FACET.format("3e0").upper().replace("\n", "\r\n  ")
    )
    found = read_ascii_stl(data, Limits())
    assert found.tolist() == [[[0, 0, 0], [1, 0, 0], [0, 1, 2]], [[0, 0, 0], [1, 0, 0], [0, 1, 3]]]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (stl(FACET.format(1), FACET.format("one")), "facet 2 is broken: 'one' is no number."),
        (
            stl(FACET.format(1).replace("outer", "inner")),
            "facet 1 is broken: 'inner' stands where outer belongs.",
        ),
        (stl(FACET.format(1), FACET.format(1).replace("endfacet\n", "")), "facet 2 is cut off."),
        (stl(), "the STL holds no facet."),
        (stl(FACET.format(1)).split(b"endsolid")[0], "the STL is cut off: it has no endsolid line."),
    ],
)
def test_broken_lines_are_named(data, words):
    """Which facet, which word."""
    with pytest.raises(MeshError) as refusal:
        read_ascii_stl(data, Limits())
    assert refusal.value.what == words


def test_too_many_facets_are_refused():
    """Two are taken under a limit of two, three are not."""
    assert len(read_ascii_stl(stl(FACET.format(1), FACET.format(2)), Limits(triangles=2))) == 2
    with pytest.raises(MeshError, match="the file has 3 triangles or more; the limit is 2"):
        read_ascii_stl(stl(*[FACET.format(n) for n in range(3)]), Limits(triangles=2))
