"""STEP files through the open solid modeller (SOURCES.md: opencascade)."""

from __future__ import annotations

import numpy as np
import pytest

from planner.errors import MeshError
from planner.geometry.mesh.health import examine
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.step import read_step
from tests.step_box import MILLIMETRE, step_box_bytes

pytest.importorskip("cascadio", reason="the extra planner[step] is not installed")

UP, ALONG = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
SINGLE = 1e-5  # relative; the converter hands over 32-bit floats in metres


@pytest.mark.parametrize(
    ("unit", "factor"),
    [pytest.param(MILLIMETRE, 1.0, marks=pytest.mark.slow), ("SI_UNIT($,.METRE.)", 1000.0)],
)
def test_a_box_comes_out_upright_and_in_mm(unit: str, factor: float) -> None:
    """10 x 20 x 30 mm along x, y and z, whichever unit the file is in; closed."""
    (raw,) = read_step(step_box_bytes(10 / factor, 20 / factor, 30 / factor, unit), Limits())
    health = examine(TriangleMesh(raw.triangles))
    assert health.mesh.bounds.tolist() == [
        pytest.approx([0, 0, 0], abs=1e-6),
        pytest.approx([10, 20, 30], rel=SINGLE),
    ]
    assert health.volume == pytest.approx(6000, rel=SINGLE)
    assert health.watertight


def test_occurrences_of_a_product_are_copies_each_with_its_place() -> None:
    """An assembly that places one box twice, the second one a quarter turned."""
    places = [((100.0, 0.0, 0.0), UP, ALONG), ((0.0, 200.0, 0.0), UP, (0.0, 1.0, 0.0))]
    (raw,) = read_step(step_box_bytes(10, 20, 30, places=places), Limits())
    assert (raw.label, raw.copies) == ("box", 2)
    low = TriangleMesh(raw.triangles).bounds[0]
    assert low.tolist() == pytest.approx([100, 0, 0], abs=1e-4)
    first, second = raw.places(1.0)
    assert first == (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0)
    turn, shift = np.array(second[:9]).reshape(3, 3), np.array(second[9:])
    corners = raw.triangles @ turn.T + shift
    assert corners.min(axis=(0, 1)).tolist() == pytest.approx([-20, 200, 0], abs=1e-3)
    assert corners.max(axis=(0, 1)).tolist() == pytest.approx([0, 210, 30], abs=1e-3)


@pytest.mark.slow
def test_a_broken_step_file_is_an_error_of_ours() -> None:
    """Half a file: the converter may do as it likes, we name the file as broken."""
    data = step_box_bytes(10, 20, 30)
    with pytest.raises(MeshError):
        read_step(data[: len(data) // 3], Limits())
