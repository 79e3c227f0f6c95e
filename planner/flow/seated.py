"""Meshes where they sit in the airframe: their outlines for the drawings, and the faces that touch."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from planner.budget.joints import face_share
from planner.budget.stations import seats
from planner.flow.job import Job
from planner.geometry.contact import GAP_MM, Touch, touches
from planner.geometry.silhouette import silhouette
from planner.model.airframe import Airframe
from planner.model.assembly import Contact, Ring, Silhouette
from planner.model.deposit import Deposit
from planner.model.part import Part, Piece

_Floats = NDArray[np.float64]
_Seat = tuple[_Floats, _Floats]
_AS_BESIDE = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])  # x stays, z becomes y
_MOST_PAIRS = 2000


def silhouettes(
    job: Job, parts: Sequence[Part], deposits: Mapping[str, Deposit], pieces: Sequence[Piece]
) -> tuple[Silhouette, ...]:
    """Outlines from above and from the side of every piece that has a seat."""
    meshes = {part.name: part.mesh for part in parts}
    found = []
    for name, (part, seat) in _seated(job.airframe, parts, deposits, pieces).items():
        triangles = _in_place(job.meshes[meshes[part]].triangles, seat)
        above, beside = silhouette(triangles), silhouette(triangles @ _AS_BESIDE.T)
        turn, (x, y, z) = tuple(map(float, seat[0].ravel())), seat[1].tolist()
        found.append(Silhouette(name, _rings(above), _rings(beside), turn, (x, y, z)))
    return tuple(found)


def contacts(
    job: Job,
    airframe: Airframe,
    parts: Sequence[Part],
    deposits: Mapping[str, Deposit],
    pieces: Sequence[Piece],
) -> tuple[Contact, ...]:
    """Plane faces on which two seated pieces touch, in the order of the pieces.

    Copies of one part are left out: they share the seat of the first, and nobody knows the others'.
    """
    known = {part.name: part for part in parts}
    single = [piece for piece in pieces if piece.part in known and known[piece.part].copies == 1]
    seated = _seated(airframe, parts, deposits, single)
    placed = {
        name: _in_place(job.meshes[known[p].mesh].triangles, seat) for name, (p, seat) in seated.items()
    }
    found = []
    for first, second in _near(placed):
        faces = touches(placed[first], placed[second])
        if faces:
            shares = [_glued(face, seated, deposits, (first, second)) for face in faces]
            area = sum(face.area_mm2 for face in faces)
            station = sum(face.area_mm2 * face.middle[0] for face in faces) / area
            found.append(Contact((first, second), area, sum(shares), station))
    return tuple(found)


def _seated(
    airframe: Airframe, parts: Sequence[Part], deposits: Mapping[str, Deposit], pieces: Iterable[Piece]
) -> dict[str, tuple[str, _Seat]]:
    own = tuple(pieces)
    known = seats(airframe, parts, deposits, own)
    return {piece.name: (piece.part, known[piece.name]) for piece in own if piece.name in known}


def _in_place(triangles: _Floats, seat: _Seat) -> _Floats:
    turn, shift = seat
    placed: _Floats = triangles @ turn.T + shift
    # a mirrored body is turned inside out: its facets are walked the other way round
    return placed[:, ::-1] if np.linalg.det(turn) < 0.0 else placed


def _near(placed: Mapping[str, _Floats]) -> list[tuple[str, str]]:
    names = list(placed)
    if len(names) < 2:
        return []
    low = np.array([placed[name].reshape(-1, 3).min(axis=0) for name in names])
    high = np.array([placed[name].reshape(-1, 3).max(axis=0) for name in names])
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


def _rings(rings: Iterable[_Floats]) -> tuple[Ring, ...]:
    return tuple(tuple((float(x), float(y)) for x, y in ring) for ring in rings)
