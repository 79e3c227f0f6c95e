"""Plane faces gathered by the shape of their outlines, however they are turned or mirrored.

A face is compared with one face of each shape, not with all others: time grows with the number of faces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.plane_faces import PlaneFace
from planner.geometry.planar import polygon
from planner.geometry.planar.own_axes import Outline, carried, radii_round, turned_by

Floats = NDArray[np.float64]

ALIKE_MM = 0.4  # outlines that differ by more, on the mean of their length, are no joint
SHARE = 0.012  # and by more than that of the root of their area
_NEAR = 0.02  # of area, length round and radii: a quick look
_ROOM_MM = 0.15  # all round, as a pocket leaves it about a root: much of a thin outline
_ROUND = 1.04  # radii nearer to each other than that give no long axis
_AGAINST = -0.99999  # cosine between the normals of faces that look at each other
_STEPS = 180
_SAME_MM = 0.02  # as near as two tessellations of one outline come
_FINEST = 0.002  # rad


@dataclass(frozen=True, eq=False, slots=True)
class View:
    """A face as its shape: the shape's axes in space, which are those of a left hand where ``mirrored``."""

    along: Floats
    aside: Floats
    mirrored: bool
    off_mm: float


@dataclass(frozen=True, eq=False, slots=True)
class Shaped:
    """A face with the number of its shape, and how it lies on it: as it is, as its mirror image, or both."""

    face: PlaneFace
    shape: int
    views: tuple[View, ...]

    def view(self, *, mirrored: bool) -> View | None:
        """How it lies on its shape, mirrored or not."""
        return next((view for view in self.views if view.mirrored is mirrored), None)


def shaped(faces: Sequence[PlaneFace]) -> tuple[Shaped, ...]:
    """Each face with its shape; the first of a shape gives it its axes.

    Source: moments of area are the same for one outline wherever it lies; overlap then decides (geometry).
    """
    shapes: list[Outline] = []
    found = []
    for face in faces:
        number = -1
        views: tuple[View, ...] = ()
        for k, shape in enumerate(shapes):
            if _near(shape, face.outline) and (views := _views(shape, face)):
                number = k
                break
        if number < 0:
            number = len(shapes)
            shapes.append(face.outline)
            views = _views(face.outline, face)
        found.append(Shaped(face, number, views))
    return tuple(found)


def joined(to: Shaped, other: Shaped) -> tuple[Floats, Floats] | None:
    """The motion that lays the other face on this one, body beside body: ``corners @ turn.T + shift``.

    Nothing is turned where the faces fit as well as they are drawn, as round ones do.

    None where they are of two shapes, or where only the mirror image would fit.
    """
    found = fit(to, other)
    return None if found is None else found[1:]


def fit(to: Shaped, other: Shaped) -> tuple[float, Floats, Floats] | None:
    """How far two outlines differ, mm, and the motion of `joined`."""
    if to.shape != other.shape:
        return None
    best: tuple[float, View, View] | None = None
    for mirrored in (False, True):
        here, there = to.view(mirrored=mirrored), other.view(mirrored=not mirrored)
        if here is not None and there is not None:
            off = here.off_mm + there.off_mm
            best = (off, here, there) if best is None or off < best[0] else best
    if best is None:
        return None
    if _off_as_drawn(to.face, other.face) <= best[0] + _SAME_MM:
        return best[0], np.eye(3), to.face.middle - other.face.middle
    off, here, there = best
    mine = np.column_stack([here.along, here.aside, to.face.normal])
    theirs = np.column_stack([there.along, there.aside, -other.face.normal])
    turn = mine @ theirs.T
    return off, turn, to.face.middle - turn @ other.face.middle


def _off_as_drawn(face: PlaneFace, other: PlaneFace) -> float:
    """How far the outlines differ where the other body is only shifted; no end to it where it cannot be."""
    if face.normal @ other.normal > _AGAINST:
        return float("inf")
    seen = np.array(
        [[there @ here for here in (face.along, face.aside)] for there in (other.along, other.aside)]
    )
    return polygon.differ_by(face.outline.region, carried(other.outline.region, seen))


def _near(one: Outline, other: Outline) -> bool:
    if abs(one.area - other.area) > max(_NEAR * one.area, _ROOM_MM * one.round_mm):
        return False
    if abs(one.round_mm - other.round_mm) > max(_NEAR * one.round_mm, 2.0 * np.pi * _ROOM_MM):
        return False
    return bool((np.abs(one.radii - other.radii) <= np.maximum(_NEAR * one.radii, _ROOM_MM)).all())


def _views(shape: Outline, face: PlaneFace) -> tuple[View, ...]:
    """The ways in which a face is laid on a shape, within tolerance; the best turn of either hand."""
    most = min(ALIKE_MM, SHARE * float(np.sqrt(shape.area)))
    found = []
    for mirrored in (False, True):
        off, angle = _best_turn(shape, face.outline, mirrored)
        if off <= most:
            # shape = turned(mirrored(face)): the axes of the shape, seen in the axes of the face
            along = np.cos(angle) * face.along - np.sin(angle) * face.aside
            aside = np.sin(angle) * face.along + np.cos(angle) * face.aside
            if mirrored:
                along = -np.cos(angle) * face.along - np.sin(angle) * face.aside
                aside = -np.sin(angle) * face.along + np.cos(angle) * face.aside
            found.append(View(along, aside, mirrored, off))
    return tuple(found)


def _best_turn(shape: Outline, other: Outline, mirrored: bool) -> tuple[float, float]:
    """How far outlines differ at the turn that suits them best, and that turn in rad."""
    offs: dict[float, float] = {}
    for angle in (0.0, np.pi):
        offs[angle] = _off(shape, other, angle, mirrored)
        if offs[angle] <= _SAME_MM:
            return offs[angle], angle
    angle, step = min(offs, key=lambda one: (round(offs[one], 6), one)), 0.0
    if shape.radii[0] < _ROUND * shape.radii[1]:
        coarse = _turn_by_radii(shape, other, mirrored)
        offs[coarse] = _off(shape, other, coarse, mirrored)
        angle = min((angle, coarse), key=lambda one: round(offs[one], 6))
        step = 2.0 * np.pi / _STEPS
    while step > _FINEST and offs[angle] > _SAME_MM:
        step /= 3.0
        near = {at: _off(shape, other, at, mirrored) for at in (angle - step, angle + step)}
        offs |= near
        angle = min((angle, *near), key=lambda one: round(offs[one], 6))
    return offs[angle], angle


def _turn_by_radii(shape: Outline, other: Outline, mirrored: bool) -> float:
    """The turn at which the distances of the outlines from their middles are most alike, by steps."""
    theirs = radii_round(turned_by(other.region, 0.0, mirrored=mirrored), _STEPS)
    mine = radii_round(shape.region, _STEPS)
    rolled = np.array([np.roll(theirs, k) for k in range(_STEPS)])
    best = int(np.argmin(np.round(np.abs(rolled - mine).mean(axis=1), 6)))
    return 2.0 * np.pi * best / _STEPS


def _off(shape: Outline, other: Outline, angle: float, mirrored: bool) -> float:
    return polygon.differ_by(shape.region, turned_by(other.region, angle, mirrored=mirrored))
