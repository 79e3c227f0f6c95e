"""Lofts, prisms and bores as bodies of the boolean library."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

import manifold3d as mf  # type: ignore[import-not-found, unused-ignore]
import numpy as np
from numpy.typing import NDArray

from demo_shapes.aerofoil import Ring

Body: TypeAlias = Any  # a mf.Manifold: the library ships no types that a checker finds
SEGMENTS = 48  # corners of a round bore


def loft(rings: Sequence[Ring], heights: Sequence[float]) -> Body:
    """The body through rings with the same number of points, each lying flat at its height.

    Rings run anticlockwise seen from above, heights rise.
    """
    count = len(rings[0])
    corners = np.concatenate(
        [np.column_stack([ring, np.full(count, z)]) for ring, z in zip(rings, heights, strict=True)]
    )
    here = np.arange(count)
    there = np.roll(here, -1)
    faces = []
    for level in range(len(rings) - 1):
        low, high = level * count, (level + 1) * count
        faces.append(np.column_stack([low + here, low + there, high + there]))
        faces.append(np.column_stack([low + here, high + there, high + here]))
    bottom = np.asarray(mf.triangulate([np.ascontiguousarray(rings[0])]))
    top = np.asarray(mf.triangulate([np.ascontiguousarray(rings[-1])]))
    faces += [bottom[:, ::-1], top + (len(rings) - 1) * count]
    return from_arrays(corners, np.concatenate(faces))


def from_arrays(corners: NDArray[np.float64], faces: NDArray[np.int64]) -> Body:
    """A body from shared corners and faces; refuses what does not close."""
    mesh = mf.Mesh64(
        np.ascontiguousarray(corners, dtype=np.float64), np.ascontiguousarray(faces, dtype=np.uint64)
    )
    body = mf.Manifold(mesh)
    if body.status() != mf.Error.NoError or body.volume() <= 0.0:
        raise ValueError(f"the loft does not close: {body.status()}, volume {body.volume():.3f} mm3")
    return body


def prism(outline: Ring | Sequence[tuple[float, float]], low: float, high: float) -> Body:
    """An outline in x and y, drawn out along z."""
    return (
        mf.CrossSection([np.asarray(outline, dtype=np.float64)], mf.FillRule.NonZero)
        .extrude(high - low)
        .translate((0.0, 0.0, low))
    )


def prism_y(outline: Ring | Sequence[tuple[float, float]], low: float, high: float) -> Body:
    """An outline in x and z, drawn out along y from ``low`` to ``high``."""
    return prism(outline, -high, -low).rotate((90.0, 0.0, 0.0))  # (x, y, z) becomes (x, -z, y)


def prism_x(outline: Ring | Sequence[tuple[float, float]], low: float, high: float) -> Body:
    """An outline in y and z, drawn out along x from ``low`` to ``high``."""
    return prism(outline, low, high).rotate((90.0, 0.0, 90.0))  # (x, y, z) becomes (z, x, y)


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Body:
    """A box between two corners."""
    size = tuple(b - a for a, b in zip(low, high, strict=True))
    return mf.Manifold.cube(size).translate(low)


def rounded(width: float, depth: float, radius: float, middle: tuple[float, float] = (0.0, 0.0)) -> Ring:
    """A rectangle in the plane with round corners."""
    quarter = np.linspace(0.0, np.pi / 2.0, 9)
    corners = []
    for turn, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        angle = quarter + turn * np.pi / 2.0
        centre = np.array([sx * (width / 2.0 - radius), sy * (depth / 2.0 - radius)])
        corners.append(centre + radius * np.column_stack([np.cos(angle), np.sin(angle)]))
    ring: Ring = np.concatenate(corners) + np.asarray(middle)
    return ring


def disc(diameter: float, middle: tuple[float, float] = (0.0, 0.0), count: int = SEGMENTS) -> Ring:
    """A circle in the plane."""
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    ring: Ring = np.asarray(middle) + diameter / 2.0 * np.column_stack([np.cos(angle), np.sin(angle)])
    return ring


def bore(diameter: float, x: float, y: float, low: float, high: float) -> Body:
    """A round bore along z."""
    return prism(disc(diameter, (x, y)), low, high)


def bore_y(diameter: float, x: float, z: float, low: float, high: float) -> Body:
    """A round bore along y."""
    return prism_y(disc(diameter, (x, z)), low, high)


def joined(bodies: Iterable[Body]) -> Body:
    """The union."""
    return mf.Manifold.batch_boolean(list(bodies), mf.OpType.Add)


def cut(body: Body, tools: Iterable[Body]) -> Body:
    """The body without its tools."""
    return mf.Manifold.batch_boolean([body, *tools], mf.OpType.Subtract)
