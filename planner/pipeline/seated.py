"""Meshes where they sit in the airframe: their outlines for the drawings, and the faces that touch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import partial

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.contact import GAP_MM, Touch, touches
from planner.geometry.assembly.silhouette import silhouette
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.remembered import Plain, Remembered
from planner.model.airframe import Airframe
from planner.model.assembly import Contact, Ring, Silhouette
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece
from planner.pipeline.job import Job
from planner.weights.joints import face_share
from planner.weights.stations import seats

_Floats = NDArray[np.float64]
_Seat = tuple[_Floats, _Floats]
_AS_BESIDE = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])  # x stays, z becomes y
_MOST_PAIRS = 2000
_SAME_PLACES = 9  # decimals of turns and mm
_Shadows = tuple[tuple[Ring, ...], tuple[Ring, ...]]
_SHADOWS: Remembered[_Shadows] = Remembered(
    4096, Plain("shadows", list, lambda held: (_as_rings(held[0]), _as_rings(held[1])))
)
_TOUCHES: Remembered[tuple[Touch, ...]] = Remembered(
    8192,
    Plain(
        "touches",
        lambda found: [(face.area_mm2, face.middle, face.outward) for face in found],
        lambda held: tuple(Touch(area, _point(middle), _point(outward)) for area, middle, outward in held),
    ),
)


def silhouettes(
    job: Job, parts: Sequence[Part], deposits: Mapping[str, Deposit], pieces: Sequence[Piece]
) -> tuple[Silhouette, ...]:
    """Outlines from above and from the side of every piece that has a seat."""
    meshes = {part.name: part.mesh for part in parts}
    found = []
    for name, (part, seat) in _seated(job.airframe, parts, deposits, pieces).items():
        mesh = job.meshes[meshes[part]]
        above, beside = _SHADOWS.of((mesh.digest, _sits(seat)), partial(_shadows, mesh, seat), job.shapes)
        turn, (x, y, z) = tuple(map(float, seat[0].ravel())), seat[1].tolist()
        found.append(Silhouette(name, above, beside, turn, (x, y, z)))
    return tuple(found)


def _shadows(mesh: TriangleMesh, seat: _Seat) -> _Shadows:
    triangles = _in_place(mesh.triangles, seat)
    return _rings(silhouette(triangles)), _rings(silhouette(triangles @ _AS_BESIDE.T))


def contacts(
    job: Job,
    airframe: Airframe,
    parts: Sequence[Part],
    deposits: Mapping[str, Deposit],
    pieces: Sequence[Piece],
) -> tuple[Contact, ...]:
    """Plane faces on which two seated pieces touch, in the order of the pieces.

    Copies of one part are left out where they share the seat of the first, and nobody knows the others'.
    """
    known = {part.name: part for part in parts}
    single = {part.name for part in known.values() if part.copies == 1 or airframe.copies_placed(part)}
    seated = _seated(airframe, parts, deposits, [piece for piece in pieces if piece.part in single])
    meshes = {name: job.meshes[known[part].mesh] for name, (part, _) in seated.items()}
    boxes = {name: _box(mesh, seated[name][1]) for name, mesh in meshes.items()}
    bounds: dict[int, tuple[_Floats, _Floats]] = {}
    found = []
    for first, second in _near(boxes):
        region = np.maximum(boxes[first][0], boxes[second][0]), np.minimum(boxes[first][1], boxes[second][1])
        pair = [(meshes[name], seated[name][1]) for name in (first, second)]
        key = tuple((mesh.digest, _sits(seat)) for mesh, seat in pair)
        faces = _TOUCHES.of(key, partial(_touches, pair, region, bounds), job.shapes)
        if faces:
            shares = [_glued(face, seated, deposits, (first, second)) for face in faces]
            area = sum(face.area_mm2 for face in faces)
            middle = [sum(face.area_mm2 * face.middle[k] for face in faces) / area for k in range(3)]
            found.append(Contact((first, second), area, sum(shares), *middle))
    return tuple(found)


def _touches(
    pair: Sequence[tuple[TriangleMesh, _Seat]],
    region: tuple[_Floats, _Floats],
    bounds: dict[int, tuple[_Floats, _Floats]],
) -> tuple[Touch, ...]:
    own, other = (_within(mesh, seat, region, bounds) for mesh, seat in pair)
    return tuple(touches(own, other)) if len(own) and len(other) else ()


def _seated(
    airframe: Airframe, parts: Sequence[Part], deposits: Mapping[str, Deposit], pieces: Iterable[Piece]
) -> dict[str, tuple[str, _Seat]]:
    own = tuple(pieces)
    known = seats(airframe, parts, deposits, own)
    found = {piece.name: (piece.part, known[piece.name]) for piece in own if piece.name in known}
    # to a billionth, so that what is remembered of a seat is what would be found there anew
    return {name: (part, (_even(turn), _even(shift))) for name, (part, (turn, shift)) in found.items()}


def _even(values: _Floats) -> _Floats:
    rounded: _Floats = np.asarray(values, dtype=np.float64).round(_SAME_PLACES) + 0.0
    return rounded


def _sits(seat: _Seat) -> bytes:
    return np.concatenate([seat[0].ravel(), seat[1]]).tobytes()


def _in_place(triangles: _Floats, seat: _Seat) -> _Floats:
    turn, shift = seat
    placed: _Floats = triangles @ turn.T + shift
    # a mirrored body is turned inside out: its facets are walked the other way round
    return placed[:, ::-1] if np.linalg.det(turn) < 0.0 else placed


def _box(mesh: TriangleMesh, seat: _Seat) -> tuple[_Floats, _Floats]:
    """A box round the mesh in place, in the airframe's axes: that of its own box, turned."""
    turn, shift = seat
    corners = _corners(mesh.bounds[0], mesh.bounds[1]) @ turn.T + shift
    return corners.min(axis=0), corners.max(axis=0)


def _corners(low: _Floats, high: _Floats) -> _Floats:
    picks = np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)], dtype=bool)
    return np.where(picks, high, low)


def _within(
    mesh: TriangleMesh,
    seat: _Seat,
    region: tuple[_Floats, _Floats],
    bounds: dict[int, tuple[_Floats, _Floats]],
) -> _Floats:
    """The facets of a mesh in place that reach into a region; only they are turned and shifted."""
    turn, shift = seat
    here = (_corners(region[0] - GAP_MM, region[1] + GAP_MM) - shift) @ turn  # back into the mesh
    if id(mesh) not in bounds:
        a, b, c = (mesh.triangles[:, k] for k in range(3))
        bounds[id(mesh)] = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
    low, high = bounds[id(mesh)]
    keep = ((low <= here.max(axis=0)) & (high >= here.min(axis=0))).all(axis=1)
    return _in_place(mesh.triangles[keep], seat)


def _near(boxes: Mapping[str, tuple[_Floats, _Floats]]) -> list[tuple[str, str]]:
    names = list(boxes)
    if len(names) < 2:
        return []
    low, high = (np.array([box[k] for box in boxes.values()]) for k in (0, 1))
    reach = (low[:, None] - high[None]).max(axis=2)
    pairs = np.argwhere(np.triu(np.maximum(reach, reach.T) <= GAP_MM, k=1))
    return [(names[a], names[b]) for a, b in pairs[:_MOST_PAIRS].tolist()]


def _glued(
    face: Touch,
    seated: Mapping[str, tuple[str, _Seat]],
    deposits: Mapping[str, Deposit],
    names: tuple[str, str],
) -> float:
    """Area of a face that both sides really have: an open skin ends in its walls."""
    share = 1.0
    for name, sign in zip(names, (1.0, -1.0), strict=True):
        part, (turn, shift) = seated[name]
        outward = turn.T @ (sign * np.array(face.outward))
        at = turn.T @ (np.array(face.middle) - shift)
        share = min(share, face_share(deposits[part], outward, at))
    return face.area_mm2 * share


def _as_rings(held: Sequence[Sequence[tuple[float, float]]]) -> tuple[Ring, ...]:
    return tuple(tuple((x, y) for x, y in ring) for ring in held)


def _point(held: Sequence[float]) -> tuple[float, float, float]:
    x, y, z = held
    return x, y, z


def _rings(rings: Iterable[_Floats]) -> tuple[Ring, ...]:
    return tuple(tuple((x, y) for x, y in ring.tolist()) for ring in rings)
