"""Moments of inertia of what is laid down, about its own centroid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.walk import Walk, between
from planner.geometry.sections.section import Sections

Column = NDArray[np.float64]

_AGREES = 0.05  # share of the inner area by which the offset outline may miss it and still be taken for it

_LITTLE = 0.02  # share of the section below which the free inside has no centroid of its own
_LEAST = np.array([0.0, 0.0, -np.inf])  # integrals of squares are not negative


@dataclass(frozen=True, eq=False, slots=True)
class Shapes:
    """Centroid (n, 2) and own second moments for one mm2 (n, 3) of the walls and of what they leave free."""

    wall_middle: Column
    wall_own: Column
    inner_middle: Column
    inner_own: Column


def layer_shapes(cut: Sections, walk: Walk, inner_mm2: Column, depth_mm: Column) -> Shapes:
    """Where walls and inner regions of all layers lie, and how far they spread.

    Parameters
    ----------
    inner_mm2 : (n,) area that walls leave free
    depth_mm : (n,) from the outline to the inner region

    Walked layers are exact where the outline moved inward has the area of the inner region. Elsewhere
    walls are taken to lie along the outline, and the inner region for the section shrunk about its
    own centroid. Layers between lie on straight lines.
    """
    from planner.estimate.layers.outline_kernel import moments

    rings, at = walk.rings, walk.layers
    # Source: geometry, Green's theorem over straight edges
    whole, inner = moments(rings.points, rings.starts, rings.plane, depth_mm[at])
    free, whole_own = inner_mm2[at], _central(whole)
    wall = np.maximum(whole[:, 0] - free, 0.0)
    sound = (np.abs(inner[:, 0] - free) <= _AGREES * np.maximum(free, 1e-9))[:, None]
    per_wall, per_free = _over(wall), _over(np.where(free > _LITTLE * whole[:, 0], free, 0.0))
    gap = np.where(sound, _middle(inner) - _middle(whole), 0.0)
    off = np.where(sound, -free[:, None] * gap * per_wall, cut.line_middle[at] - cut.middle[at])
    gap = np.where(sound, gap, -wall[:, None] * off * per_free)
    share = free[:, None] * _over(whole[:, 0])
    inner_own = np.where(sound, _central(inner), whole_own * share**2)
    wall_own = whole_own - inner_own - free[:, None] * _outer(gap) - wall[:, None] * _outer(off)
    n = len(cut.mids)
    return Shapes(
        cut.middle + _spread(at, off, n),
        _spread(at, np.maximum(wall_own * per_wall, _LEAST), n),
        cut.middle + _spread(at, gap, n),
        _spread(at, inner_own * _over(free), n),
    )


def _over(area: Column) -> Column:
    """One over each area as a column, 0 where there is none."""
    inverse: Column = (1.0 / np.where(area > 1e-9, area, np.inf))[:, None]
    return inverse


def _spread(layers: NDArray[np.int64], table: Column, n: int) -> Column:
    """Values of all layers from those of the walked ones."""
    return np.stack([between(layers, table[:, c], n) for c in range(table.shape[1])], axis=1)


def _middle(table: Column) -> Column:
    area = np.where(np.abs(table[:, 0]) > 1e-9, table[:, 0], np.inf)
    middle: Column = table[:, 1:3] / area[:, None]
    return middle


def _outer(shift: Column) -> Column:
    return np.stack([shift[:, 0] ** 2, shift[:, 1] ** 2, shift[:, 0] * shift[:, 1]], axis=1)


def _central(table: Column) -> Column:
    own: Column = table[:, 3:6] - table[:, :1] * _outer(_middle(table))
    return own


def tensor(
    parts: list[tuple[Column, Column, Column]], mid_mm: Column, height_mm: Column, centre: Column
) -> tuple[float, float, float, float, float, float]:
    """Ixx, Iyy, Izz, Ixy, Ixz, Iyz about ``centre``; products are the plain integrals of x y and so on.

    Parameters
    ----------
    parts : mass (n,), centroid (n, 2) and own moments for one unit of mass (n, 3) of each kind of fill

    Source: geometry, parallel axes; a layer's own height adds a twelfth of its square.
    """
    xx = yy = zz = xy = xz = yz = 0.0
    for mass, middle, own in parts:
        x, y, z = middle[:, 0] - centre[0], middle[:, 1] - centre[1], mid_mm - centre[2]
        xx += float((mass * (own[:, 0] + x * x)).sum())
        yy += float((mass * (own[:, 1] + y * y)).sum())
        zz += float((mass * (height_mm**2 / 12.0 + z * z)).sum())
        xy += float((mass * (own[:, 2] + x * y)).sum())
        xz += float((mass * x * z).sum())
        yz += float((mass * y * z).sum())
    return (yy + zz, xx + zz, xx + yy, xy, xz, yz)
