"""The side view of the sheet Kit: outlines in place and to scale, balloons that do not cover one another."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from planner.web.views.kit_rows import FittingShown, Seated
from planner.web.views.side_view import BALLOON, WIDE, side_view
from tests.builders import box

UPRIGHT = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0)
ALONG_Y = (0.0, 1.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 1.0)  # the mesh's y runs aft


@pytest.fixture
def scenes(tmp_path: Path) -> Path:
    """The light mesh of a block 300 x 40 x 60 mm, its lowest corner at the origin."""
    np.save(tmp_path / "block.npy", box(300.0, 40.0, 60.0).triangles.astype(np.float32))
    return tmp_path


def piece(turn: tuple[float, ...] = UPRIGHT, shift: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Seated:
    """The block where it sits."""
    return Seated("block", "block", "#0072b2", turn, shift)


def fitting(at: int, station: float | None) -> FittingShown:
    """A bought item."""
    return FittingShown(at, str(at + 1), f"item {at}", "9.0 g", station, None, None)


def corners(path: str) -> np.ndarray:
    """The points of an outline."""
    return np.array([[float(v) for v in pair.split()] for pair in re.findall(r"[-\d.]+ [-\d.]+", path)])


def test_the_outline_of_a_block_is_its_rectangle_in_scale(scenes: Path) -> None:
    """300 mm long and 60 mm high where it sits, whatever was looked at before."""
    for turn, long in ((UPRIGHT, 300.0), (ALONG_Y, 40.0)):
        view = side_view(scenes, [piece(turn, (50.0, 0.0, 0.0))], [], None)
        ((path, colour, part),) = view.outlines
        points = corners(path)
        size = np.ptp(points, axis=0) / view.scale
        assert size.tolist() == pytest.approx([long, 60.0], abs=0.3)
        assert points[:, 0].min() / view.scale + view.left_mm == pytest.approx(50.0, abs=0.3)
        assert len(np.unique(points.round(0), axis=0)) == 4
        assert (colour, part) == ("#0072b2", "block")
    assert (scenes / "block-far.npy").is_file()


def test_everything_lies_inside_the_drawing(scenes: Path) -> None:
    """Datum, outline, balance and each balloon, with a fitting far ahead of all of it."""
    view = side_view(scenes, [piece()], [fitting(0, -240.0), fitting(1, 290.0)], 120.0)
    places = [view.datum, view.balance or -1.0, *(one.x for one in view.balloons)]
    assert all(0.0 < x < WIDE for x in places)
    assert view.datum / view.scale + view.left_mm == pytest.approx(0.0, abs=1e-6)
    assert (view.balance or 0.0) / view.scale + view.left_mm == pytest.approx(120.0)
    points = corners(view.outlines[0][0])
    assert points.min() > 0.0
    assert points[:, 1].max() < view.ground < view.height


def test_balloons_of_one_place_stand_over_one_another(scenes: Path) -> None:
    """None covers another one, and all leaders end on the ground line."""
    view = side_view(
        scenes, [piece()], [fitting(n, at) for n, at in enumerate((60.0, 61.0, 62.0, 250.0))], None
    )
    middles = np.array([(one.x, one.y) for one in view.balloons])
    apart = np.linalg.norm(middles[:, None] - middles[None], axis=2)[np.triu_indices(4, 1)]
    assert apart.min() >= 2.0 * BALLOON
    assert {one.foot for one in view.balloons} == {view.ground}
    assert min(middles[:, 1]) - BALLOON >= 0.0
    assert max(middles[:, 1]) + BALLOON < corners(view.outlines[0][0])[:, 1].min()


def test_fittings_without_a_station_wait_under_the_drawing(scenes: Path) -> None:
    """Side by side, and the drawing is higher by their row."""
    plain = side_view(scenes, [piece()], [], None)
    view = side_view(scenes, [piece()], [fitting(0, None), fitting(1, None), fitting(2, 10.0)], None)
    first, second, third = view.balloons
    assert (first.placed, second.placed, third.placed) == (False, False, True)
    assert first.y > view.ground
    assert second.x - first.x >= 2.0 * BALLOON
    assert first.y + BALLOON <= view.height
    assert plain.height < view.height


def test_an_empty_drawing_shows_the_datum_and_a_scale(scenes: Path) -> None:
    """Nothing has a place yet: a fitting can be put somewhere all the same."""
    view = side_view(scenes, [], [fitting(0, None)], None)
    assert view.outlines == ()
    assert view.left_mm < 0.0 < view.right_mm
    assert view.right_mm - view.left_mm >= 200.0
    assert 0 in [at for _, at in view.ticks]
    steps = np.diff([at for _, at in view.ticks])
    assert len(set(steps.tolist())) == 1
