"""Wing, tail and hull of a kit whose names say nothing, by the shape of parts and by what fits what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.plane_faces import PlaneFace
from planner.kit.drawn import DrawnInPlace
from planner.kit.ends import PartEnds
from planner.kit.figures import blunt
from planner.kit.rows import Row

Floats = NDArray[np.float64]

MATED, LIKELY, LONE = 0.85, 0.7, 0.6
_CLEAR = 0.6  # of the wing's area: a smaller surface is a tail
_BLOCKY = 60.0  # mm of a lone length of hull, at least
_BENT = 0.005  # of the chord: how far the middle of a cambered outline stands over its ends, at least
_NEAR_END = 0.02
_LARGER = 0.02  # of the area: one end is the root
_TRIAL_MM = (9.0, 31.0)  # edges of a test cube
_CUBE = 0.001


@dataclass(frozen=True, slots=True)
class Place:
    """The section of a part by its shape, why, and how sure that is."""

    section: str
    reason: str
    confidence: float


def places_of(
    parts: PartEnds, rows: Sequence[Row], named: Mapping[str, str], leave: frozenset[str]
) -> dict[str, Place]:
    """The section of each part of which shape says one: "fuselage", "wing" or "tail".

    Parameters
    ----------
    named : sections that names tell, of those parts that have one; what they fit belongs there, too
    leave : parts that are not looked at
    """
    groups = groups_of(parts, rows, leave)
    panels = [own for own in groups if parts.figures[own[0]].kind == "panel"]
    areas = [_area(parts, own) for own in panels]
    twins = [_twins(parts, own) for own in panels]
    wings = [own for own in panels if any(named.get(name) == "wing" for name in own)]
    able = wings or [own for own, two in zip(panels, twins, strict=True) if two] or panels
    wing = max(able, key=lambda own: _area(parts, own) * _root(parts, own), default=[])
    found: dict[str, Place] = {}
    for own in panels:
        others = [a for one, a in zip(panels, areas, strict=True) if one is not wing]
        told = _by_names(own, named) or _by_size(parts, own, wing, others)
        found |= dict.fromkeys(own, told)
    for own in groups:
        if parts.figures[own[0]].kind == "body":
            found |= dict.fromkeys(own, _by_names(own, named) or _hull(parts, own))
    for name, figure in parts.figures.items():
        if figure.kind == "rib" and name not in leave:
            found[name] = Place("wing", "a plate of an aerofoil's outline: a rib", LIKELY)
    return found


def groups_of(parts: PartEnds, rows: Sequence[Row], leave: frozenset[str]) -> list[list[str]]:
    """Panels and lengths of hull whose ends are of one shape, or that are of one kin."""
    able = [
        name
        for name, figure in parts.figures.items()
        if figure.kind in ("panel", "body") and name not in leave
    ]
    keys: dict[object, list[str]] = {}
    for name in able:
        kind = parts.figures[name].kind
        keys.setdefault(("kin", kind, parts.kin[name].number), []).append(name)
        for end in parts.ends[name]:
            keys.setdefault(("shape", kind, end.shape), []).append(name)
    for number, row in enumerate(rows):
        for place in row.parts:
            for name in place:
                if name in set(able):
                    keys.setdefault(("row", parts.figures[name].kind, number), []).append(name)
    head = {name: name for name in able}

    def top(name: str) -> str:
        while head[name] != name:
            head[name] = head[head[name]]
            name = head[name]
        return name

    for own in keys.values():
        for other in own[1:]:
            a, b = sorted((top(own[0]), top(other)))
            head[b] = a
    found: dict[str, list[str]] = {}
    for name in able:
        found.setdefault(top(name), []).append(name)
    return list(found.values())


def _area(parts: PartEnds, own: Sequence[str]) -> float:
    return sum(parts.figures[name].planform for name in own)


def _twins(parts: PartEnds, own: Sequence[str]) -> bool:
    """Whether its parts come in two: mirrored, or twice the same."""
    numbers = [parts.kin[name].number for name in own]
    return any(numbers.count(number) > 1 for number in numbers)


def _by_names(own: Sequence[str], named: Mapping[str, str]) -> Place | None:
    said = sorted({named[name] for name in own if name in named})
    return Place(said[0], f"its end fits a part of the {said[0]}", MATED) if len(said) == 1 else None


def _by_size(parts: PartEnds, own: Sequence[str], wing: Sequence[str], others: Sequence[float]) -> Place:
    """A tail is smaller than the wing, and so are its sections; an outer wing begins where the inner ends."""
    two = _twins(parts, own)
    if own is wing:
        sure = MATED if two and others and max(others) < _area(parts, wing) else LIKELY
        return Place("wing", "panels of the largest surface", sure)
    share = min(_root(parts, own) / max(_root(parts, wing), 1e-9), 1.0)
    if share <= _CLEAR:
        return Place("tail", "panels of a smaller surface than the wing", MATED if two else LIKELY)
    if _area(parts, own) <= _CLEAR * _area(parts, wing):
        return Place("tail", "panels of a smaller surface, and not much thinner than the wing", LONE)
    return Place("wing", "panels nearly as large as the largest surface", LONE)


def _root(parts: PartEnds, own: Sequence[str]) -> float:
    """Its largest end, mm2; of panels without a plane end their width times their height."""
    ends = [end.face.outline.area for name in own for end in parts.ends[name]]
    figures = [parts.figures[name] for name in own]
    return max(ends, default=0.0) or max(one.size[1] * one.size[2] for one in figures)


def _hull(parts: PartEnds, own: Sequence[str]) -> Place:
    if len(own) > 1:
        return Place("fuselage", "lengths of a hull whose ends fit one another", MATED)
    return Place("fuselage", "stout, with a round or a square end", LONE)


def trial(parts: PartEnds, name: str) -> bool:
    """Whether a part is a closed cube of the size of a trial piece."""
    figure = parts.figures[name]
    edge = figure.volume ** (1.0 / 3.0)
    cube = abs(figure.surface - 6.0 * edge * edge) <= _CUBE * figure.surface
    return bool(cube and _TRIAL_MM[0] <= edge <= _TRIAL_MM[1])


def hand_by_shape(parts: PartEnds, name: str, placed: DrawnInPlace | None = None) -> str:
    """The hand of a cambered panel that stands on its larger end: its blunt edge leads, its hollow is below.

    Where it is drawn in place, it stands on the end that is nearer to the middle. "none" where its ends are
    alike on both sides, or of one size.
    """
    ends = [end.face for end in parts.ends[name] if blunt(end.face)]
    if len(ends) != 2:
        return "none"
    if placed is not None:
        root = min(ends, key=lambda face: float(np.linalg.norm(face.middle - placed.middle)))
    elif abs(ends[0].outline.area - ends[1].outline.area) < _LARGER * ends[0].outline.area:
        return "none"
    else:
        root = max(ends, key=lambda face: face.outline.area)
    up = upper_side(root)
    if up is None:
        return "none"
    aft = root.along * (1.0 if root.outline.lean[0] > 0.0 else -1.0)
    outwards = -root.normal
    return "right" if float(np.cross(up, aft) @ outwards) > 0.0 else "left"


def upper_side(face: PlaneFace) -> Floats | None:
    """The side to which an aerofoil is bent; None where it is bent to neither."""
    ring = np.asarray(face.outline.region.exterior.coords)
    length = face.outline.size[0]
    low, high = ring[:, 0].min(), ring[:, 0].max()
    ends = [
        float(ring[near, 1].mean())
        for near in (ring[:, 0] <= low + _NEAR_END * length, ring[:, 0] >= high - _NEAR_END * length)
    ]
    bent = -sum(ends) / 2.0
    if abs(bent) < _BENT * length:
        return None
    return face.aside * (1.0 if bent > 0.0 else -1.0)
