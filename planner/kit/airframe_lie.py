"""Which way an airframe lies that was put together: its plane of symmetry, aft and up, from what is mounted.

Panels of one shape on two seats are left and right; their blunt edges lead. What bends upwards, stands on the
plane of symmetry, or rises outwards, says where up is. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.plane_faces import PlaneFace
from planner.kit.ends import PartEnds
from planner.kit.mounts import Mount
from planner.kit.surfaces import upper_side

Floats = NDArray[np.float64]
Motion = tuple[Floats, Floats]

NEAR_MM = 1.0
_ALONG = 0.95  # cosine: a chord lies along the hull
_ALIKE = 0.995  # cosine between the planes that two pairs tell
_UPRIGHT = 0.9
_RISES_DEG = 1.0
_SIDES_DEG = 1.0
_CAMBER, _STANDS, _RISES = 2.0, 2.0, 1.0  # what each says of where up is


@dataclass(frozen=True, eq=False, slots=True)
class Sitting:
    """A mount, and the motions of its host, its guest and all parts behind it into the axes of the hull."""

    mount: Mount
    host: Motion
    guest: Motion
    motions: Mapping[str, Motion]

    @property
    def middle(self) -> Floats:
        """The middle of the seat, in the axes of the hull."""
        found: Floats = self.host[0] @ self.mount.seat.face.middle + self.host[1]
        return found

    @property
    def outwards(self) -> Floats:
        """The way that the seat looks."""
        return self.host[0] @ self.mount.seat.face.normal

    @property
    def aft(self) -> Floats:
        """The way that the sharp edge of its root looks."""
        return self.host[0] @ self.mount.aft


@dataclass(frozen=True, eq=False, slots=True)
class Lie:
    """Turn and shift into the airframe's axes, and of each mount: side, words on it, its surface, its name.

    ``open`` is what nothing tells, or what is told two ways; ``hangs`` are pairs of mounts that would
    fit each other's seats and hang down where they are: they belong on the other side (common practice).
    """

    turn: Floats
    shift: Floats
    sides: tuple[str, ...]
    told: tuple[str, ...]
    surfaces: tuple[str, ...]
    names: tuple[str, ...]
    open: tuple[str, ...] = ()
    hangs: tuple[tuple[Mount, Mount], ...] = ()


def lie_of(parts: PartEnds, sitting: Sequence[Sitting], along: Floats | None) -> Lie | None:
    """How the hull lies; None where no two mounts are a pair, or pairs disagree.

    Parameters
    ----------
    along : the way that the hull's row runs; None where it is one part
    """
    aft = aft_of(sitting, along)
    if aft is None:
        return None
    pairs = pairs_of(sitting)
    if not pairs:
        return None
    across = [one.middle - other.middle for one, other in pairs]
    if any(abs(float(way @ aft)) > NEAR_MM for way in across):
        return None
    wing = max(pairs, key=lambda pair: size_of(parts, pair[0]))
    side = _unit(wing[0].middle - wing[1].middle)
    plane = float((wing[0].middle + wing[1].middle) @ side) / 2.0
    for one, other in pairs:
        if abs(float(_unit(one.middle - other.middle) @ side)) < _ALIKE:
            return None
        if abs(float((one.middle + other.middle) @ side) / 2.0 - plane) > NEAR_MM:
            return None
    paired = {id(one) for pair in pairs for one in pair}
    single = [one for one in sitting if id(one) not in paired]
    if any(abs(float(one.middle @ side) - plane) > NEAR_MM for one in single):
        return None
    side = _unit(side - aft * float(side @ aft))
    up, doubts = up_of(parts, pairs, single, aft, np.cross(side, aft))
    right = np.cross(up, aft)
    turn = np.vstack([aft, right, up])
    lead = np.mean([_leading(parts, one, turn) for one in wing], axis=0)
    middle = plane * float(side @ right)
    shift = np.array([-lead[0], -middle, -lead[2]])
    signs = [0.0 if id(one) not in paired else float(one.middle @ right) - middle for one in sitting]
    angles = [_angles(parts, one, turn) for one in sitting]
    doubts += _unlike(sitting, pairs, angles)
    told = [_in_words(own, sign) for own, sign in zip(angles, signs, strict=True)]
    names = [
        "wing" if one in wing else "tail" if sign else "fin" for one, sign in zip(sitting, signs, strict=True)
    ]
    return Lie(
        turn,
        shift,
        tuple("" if not sign else "right" if sign > 0.0 else "left" for sign in signs),
        told=tuple(f"; {one}" if one else "" for one in told),
        names=tuple(names),
        surfaces=tuple(f"{name} {one}" if one else "" for name, one in zip(names, told, strict=True)),
        open=doubts,
        hangs=tuple(
            (one.mount, other.mount)
            for one, other in pairs
            if one.mount.either and _dihedral(sitting, angles, one) < -_RISES_DEG
        ),
    )


def aft_of(sitting: Sequence[Sitting], along: Floats | None) -> Floats | None:
    """The way aft by blunt edges, along the hull's row where it has one; None where it lies across that."""
    aft = _unit(np.sum([one.aft for one in sitting], axis=0))
    if along is None:
        return aft
    if abs(float(aft @ along)) < _ALONG:
        return None
    on_row: Floats = along * np.sign(float(aft @ along))
    return on_row


def pairs_of(sitting: Sequence[Sitting]) -> list[tuple[Sitting, Sitting]]:
    """Two mounts of one shape whose seats look apart."""
    by_shape: dict[int, list[Sitting]] = {}
    for one in sitting:
        by_shape.setdefault(one.mount.seat.shape, []).append(one)
    found = []
    for own in by_shape.values():
        if len(own) == 2:
            apart = own[0].middle - own[1].middle
            if float(apart @ own[0].outwards) > 0.0 > float(apart @ own[1].outwards):
                found.append((own[0], own[1]))
    return found


def up_of(
    parts: PartEnds,
    pairs: Sequence[tuple[Sitting, Sitting]],
    single: Sequence[Sitting],
    aft: Floats,
    up: Floats,
) -> tuple[Floats, tuple[str, ...]]:
    """The way up along one axis, and what is open about it."""
    says: list[float] = []
    rises: list[float] = []
    for pair in pairs:
        for one in pair:
            bent = upper_side(parts.ends[one.mount.guest][one.mount.end].face)
            if bent is not None:
                says.append(_CAMBER * float(np.sign((one.guest[0] @ bent) @ up)))
            far = _far(parts, one)
            if far is not None:
                away = far - one.middle
                beside = away - up * float(away @ up) - aft * float(away @ aft)
                rise = float(np.degrees(np.arctan2(float(away @ up), float(np.linalg.norm(beside)))))
                told = _RISES * float(np.sign(rise)) if abs(rise) > _RISES_DEG else 0.0
                (rises if one.mount.either else says).append(told)
    for one in single:
        stands = float(one.outwards @ up)
        says.append(_STANDS * float(np.sign(stands)) if abs(stands) > _UPRIGHT else 0.0)
    says = says if any(says) else rises  # panels that may sit on either side tell it last
    for_, against = sum(v for v in says if v > 0.0), -sum(v for v in says if v < 0.0)
    if max(for_, against) == 0.0:
        return up, ("nothing tells which way is up",)
    doubts = (
        ("what bends, rises and stands upright disagrees on which way is up",) if min(for_, against) else ()
    )
    return (up if for_ >= against else -up), doubts


def size_of(parts: PartEnds, one: Sitting) -> float:
    """Length times width of all that is mounted there, mm2."""
    return sum(parts.figures[name].planform for name in one.motions)


def _far(parts: PartEnds, one: Sitting) -> Floats | None:
    """The middle of the outermost plane end of what is mounted, in the axes of the hull."""
    ends = [
        turn @ end.face.middle + shift
        for name, (turn, shift) in one.motions.items()
        for k, end in enumerate(parts.ends[name])
        if (name, k) != (one.mount.guest, one.mount.end)
    ]
    return max(ends, key=lambda middle: float(np.linalg.norm(middle - one.middle)), default=None)


def _leading(parts: PartEnds, one: Sitting, turn: Floats) -> Floats:
    """The foremost point of a root, in the axes of the airframe but for the shift."""
    face = parts.ends[one.mount.guest][one.mount.end].face
    return _foremost(face, one.guest, turn)


def _foremost(face: PlaneFace, motion: Motion, turn: Floats) -> Floats:
    flat = np.asarray(face.outline.region.exterior.coords)
    space = face.middle + flat[:, :1] * face.along + flat[:, 1:] * face.aside
    placed = (space @ motion[0].T + motion[1]) @ turn.T
    found: Floats = placed[int(np.argmin(placed[:, 0]))]
    return found


def _unlike(
    sitting: Sequence[Sitting],
    pairs: Sequence[tuple[Sitting, Sitting]],
    angles: Sequence[tuple[float, float] | None],
) -> tuple[str, ...]:
    """Sides of one surface that are swept or raised otherwise than each other."""
    own = {id(one): found for one, found in zip(sitting, angles, strict=True)}
    return tuple(
        f"{one.mount.guest} and {other.mount.guest} are swept or raised otherwise than each other"
        for one, other in pairs
        if (here := own[id(one)]) is not None
        and (there := own[id(other)]) is not None
        and max(abs(a - b) for a, b in zip(here, there, strict=True)) > _SIDES_DEG
    )


def _dihedral(
    sitting: Sequence[Sitting], angles: Sequence[tuple[float, float] | None], one: Sitting
) -> float:
    found = next(own for other, own in zip(sitting, angles, strict=True) if other is one)
    return 0.0 if found is None else found[1]


def _in_words(angles: tuple[float, float] | None, sign: float) -> str:
    if angles is None:
        return ""
    sweep, dihedral = (f"{round(angle, 1) + 0.0:.1f} degrees" for angle in angles)
    return f"swept {sweep} at its leading edge" + (f", dihedral {dihedral}" if sign else "")


def _angles(parts: PartEnds, one: Sitting, turn: Floats) -> tuple[float, float] | None:
    """Sweep of the leading edge and dihedral of what is mounted, degrees; None without a far end."""
    best: tuple[float, Floats, Floats] | None = None
    for name, motion in one.motions.items():
        for k, end in enumerate(parts.ends[name]):
            if (name, k) == (one.mount.guest, one.mount.end):
                continue
            middle = motion[0] @ end.face.middle + motion[1]
            away = float(np.linalg.norm(middle - one.middle))
            if best is None or away > best[0]:
                best = away, turn @ middle, _foremost(end.face, motion, turn)
    if best is None:
        return None
    step, edge = best[1] - turn @ one.middle, best[2] - _leading(parts, one, turn)
    beside = float(np.linalg.norm(edge[1:]))
    sweep, dihedral = np.arctan2(edge[0], beside), np.arctan2(step[2], abs(step[1]))
    return float(np.degrees(sweep)), float(np.degrees(dihedral))


def _unit(vector: Floats) -> Floats:
    found: Floats = vector / max(float(np.linalg.norm(vector)), 1e-12)
    return found
