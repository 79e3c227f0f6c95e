"""An airframe put together by its joints: hull, what sits on it, and where each part of it lies then."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.assembled import disagreeing
from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.airframe_lie import Lie, Sitting, lie_of
from planner.kit.ends import PartEnds
from planner.kit.joints import Joined
from planner.kit.mounts import Mount, swapped
from planner.kit.roll import rolled
from planner.kit.rows import Row, Seat

Floats = NDArray[np.float64]
Motion = tuple[Floats, Floats]

DOUBT = "not sure how it lies: "
SEATED, DOUBTED = 0.9, 0.6
STILL: Motion = (np.eye(3), np.zeros(3))


@dataclass(frozen=True, eq=False, slots=True)
class PutTogether:
    """Where parts sit: x aft of the wing root's leading edge, y to the right, z up.

    Parameters
    ----------
    seats : turn and shift from each mesh's coordinates
    reasons : of each part in words
    sides : "left" or "right" of the parts of panels that sit beside the hull
    sections : "wing" of the parts of the largest pair, "tail" of what sits behind it
    notes : sweep and dihedral of what is mounted, and what is doubted, in words
    confidence : of all of it
    """

    seats: Mapping[str, Motion] = field(default_factory=dict)
    reasons: Mapping[str, str] = field(default_factory=dict)
    sides: Mapping[str, str] = field(default_factory=dict)
    sections: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    confidence: float = SEATED


def each_hull(
    parts: PartEnds, found: Joined, rows: Sequence[Row], mounts: Sequence[Mount]
) -> tuple[PutTogether, ...]:
    """What is put together on each hull that carries a pair of panels."""
    in_row = {seat.mesh: (row, seat) for row in rows for seat in row.seats}
    by_hull: dict[int | str, list[Mount]] = {}
    for mount in mounts:
        by_hull.setdefault(_hull_of(mount.host, in_row), []).append(mount)
    made = []
    for own in by_hull.values():
        rest = [in_row[m.guest][0] for m in mounts if m not in own and m.guest in in_row]
        elsewhere = {m.guest for m in mounts if m not in own} | {s.mesh for row in rest for s in row.seats}
        made.append(put_together(parts, found, rows, own, elsewhere=frozenset(elsewhere)))
    return tuple(one for one in made if one is not None)


def put_together(
    parts: PartEnds,
    found: Joined,
    rows: Sequence[Row],
    mounts: Sequence[Mount],
    turned: Lie | None = None,
    elsewhere: frozenset[str] = frozenset(),
) -> PutTogether | None:
    """The airframe of the hull that carries the panels; None where no pair of them tells its plane.

    Parameters
    ----------
    turned : how it lay before panels that hung down changed sides
    elsewhere : parts that sit on another hull

    Source: geometry; motions of joints and seats are put one behind the other.
    """
    in_row = {seat.mesh: (row, seat) for row in rows for seat in row.seats}
    hulls = {_hull_of(mount.host, in_row) for mount in mounts}
    if len(hulls) != 1:
        return None
    hull = hulls.pop()
    motions: dict[str, Motion] = {}
    reasons: dict[str, str] = {}
    if isinstance(hull, str):
        motions[hull] = STILL
        reasons[hull] = "what is mounted on it tells how it lies"
    else:
        _row_into(rows[hull], STILL, motions, reasons)
    sitting = _sitting(mounts, motions, in_row)
    doubts: list[str] = []
    if not isinstance(hull, str):
        motions, open_ = rolled(parts, found, rows[hull], motions, sitting)
        doubts += open_
        sitting = _sitting(mounts, motions, in_row)
    lie = lie_of(parts, sitting, None if isinstance(hull, str) else np.array([0.0, 0.0, 1.0]))
    if lie is None:
        return None
    if lie.hangs and turned is None:
        other = [swapped(parts, *pair) for pair in lie.hangs]
        new = {mount.guest: mount for pair in other if pair is not None for mount in pair}
        return put_together(parts, found, rows, [new.get(m.guest, m) for m in mounts], lie, elsewhere)
    for one in sitting:
        motions |= one.motions
    for one, told in zip(sitting, lie.told, strict=True):
        for name in one.motions:
            reasons[name] = f"its root fits a seat of {one.mount.host}{told}"
            if name != one.mount.guest:
                reasons[name] = f"its end fits the panel before it, whose {reasons[name][4:]}"
    placed = {name: _after((lie.turn, lie.shift), motion) for name, motion in motions.items()}
    doubts += [
        *lie.open,
        *_larger(parts, {*placed, *elsewhere}, sitting),
        *_crossing(parts.meshes, placed, found),
    ]
    notes = tuple(f"{DOUBT}{doubt}" for doubt in doubts)
    sides = {name: side for one, side in zip(sitting, lie.sides, strict=True) if side for name in one.motions}
    sections = {
        name: section
        for one, kind in zip(sitting, lie.names, strict=True)
        for name in one.motions
        if (section := _section(kind, placed[one.mount.guest], parts, one))
    }
    return PutTogether(
        placed, reasons, sides, sections, (*_summary(lie), *notes), DOUBTED if doubts else SEATED
    )


def _sitting(
    mounts: Sequence[Mount], motions: Mapping[str, Motion], in_row: Mapping[str, tuple[Row, Seat]]
) -> list[Sitting]:
    found = []
    for mount in mounts:
        base = _after(motions[mount.host], (mount.turn, mount.shift))
        found.append(Sitting(mount, motions[mount.host], base, _group(mount, in_row, base)))
    return found


def _larger(parts: PartEnds, placed: Collection[str], sitting: Sequence[Sitting]) -> list[str]:
    """A panel without a seat that is larger than all that have one: the wing may be missing."""
    most = max(parts.figures[name].planform for one in sitting for name in one.motions)
    return [
        f"{name} is larger than the panels that have a seat, and has none"
        for name, figure in parts.figures.items()
        if figure.kind == "panel" and name not in placed and figure.planform > most
    ][:1]


def _section(kind: str, placed: Motion, parts: PartEnds, one: Sitting) -> str:
    """The largest pair is the wing, and what sits behind its leading edge the tail; else empty."""
    middle = placed[0] @ parts.ends[one.mount.guest][one.mount.end].face.middle + placed[1]
    return "wing" if kind == "wing" else "tail" if float(middle[0]) > 0.0 else ""


def _hull_of(host: str, in_row: Mapping[str, tuple[Row, Seat]]) -> int | str:
    """The number of the row that a host is in, or its own name."""
    return in_row[host][1].row if host in in_row else host


def _row_into(row: Row, base: Motion, motions: dict[str, Motion], reasons: dict[str, str]) -> None:
    first = [place[0] for place in row.parts]
    for seat in row.seats:
        beside = first[seat.order - 1] if seat.order else first[1]
        motions[seat.mesh] = _after(base, (seat.turn, seat.shift))
        reasons[seat.mesh] = f"its end fits that of {beside}"


def _group(mount: Mount, in_row: Mapping[str, tuple[Row, Seat]], base: Motion) -> dict[str, Motion]:
    """The panel and all of its row, by the motion of the panel."""
    if mount.guest not in in_row:
        return {mount.guest: base}
    row, seat = in_row[mount.guest]
    back = seat.turn.T, -seat.turn.T @ seat.shift
    start = _after(base, back)
    return {one.mesh: _after(start, (one.turn, one.shift)) for one in row.seats}


def _after(later: Motion, first: Motion) -> Motion:
    return later[0] @ first[0], later[0] @ first[1] + later[1]


def _crossing(meshes: Mapping[str, TriangleMesh], placed: Mapping[str, Motion], found: Joined) -> list[str]:
    """Parts that would reach into each other by more than a skin; of an option its first choice counts."""
    others = {name for _, names in found.options for name in names[1:]}
    names = [name for name in placed if name not in others]
    moved = [TriangleMesh(meshes[n].triangles @ placed[n][0].T + placed[n][1]) for n in names]
    seen = disagreeing(moved)
    if seen is None:
        return ["most parts would lie in one another"]
    return [
        f"{names[k]} would reach into {', '.join(names[m] for m in into)}" for k, into in seen.shared.items()
    ]


def _summary(lie: Lie) -> tuple[str, ...]:
    told = [one for one in dict.fromkeys(lie.surfaces) if one]
    return (f"put together by what fits: {'; '.join(told)}",) if told else ()
