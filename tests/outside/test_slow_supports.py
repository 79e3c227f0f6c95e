"""Support against beads laid one by one with trimesh and shapely. See SOURCES.md: slow-support."""

from __future__ import annotations

import pytest

from tests.estimates import deposit_of
from tests.slow_support import PROPPED, slow_support

FIVE_PERCENT = 0.05
KEYS = {
    "where": "support",
    "angle": "support_angle_deg",
    "infill": "support_infill",
    "walls": "support_walls",
    "interface": "support_interface_layers",
    "gap": "support_gap_mm",
    "height_gap": "support_gap_height_mm",
    "widening": "support_widening_deg",
}
STURDY = {"walls": 2, "infill": 0.3, "gap": 0.3}
WIDE = {"widening": 10.0, "interface": 4, "height_gap": 0.4}


def compare(shape: str, **given: object) -> None:
    """Within five percent of the beads that were laid."""
    mesh = PROPPED[shape]
    slow = slow_support(mesh.triangles, **given).volume
    ours = deposit_of(mesh, **{"support": "everywhere", **{KEYS[key]: v for key, v in given.items()}})
    assert ours.support_mm3 == pytest.approx(slow, rel=FIVE_PERCENT)
    assert slow > 50.0


@pytest.mark.parametrize("shape", ["table", "shelf"])
def test_plain_shapes(shape: str) -> None:
    """Flat ceilings over the bed and over the part, with the built-in values."""
    compare(shape)


@pytest.mark.slow
@pytest.mark.parametrize(
    "keys",
    [{}, STURDY, WIDE, {"where": "bed only"}, {"walls": 0}],
    ids=["plain", "sturdy", "wide", "bed", "no walls"],
)
@pytest.mark.parametrize("shape", ["table", "mushroom", "ball"])
def test_every_shape_under_every_recipe(shape: str, keys: dict[str, object]) -> None:
    """Round ceilings, thin columns, walls, gaps and growth."""
    compare(shape, **keys)


@pytest.mark.slow
@pytest.mark.parametrize("keys", [{}, STURDY, WIDE], ids=["plain", "sturdy", "wide"])
def test_narrow_columns_under_a_ring(keys: dict[str, object]) -> None:
    """Columns low and hardly wider than a bead, where a grid is coarse."""
    compare("ring", **keys)
