"""Which end is joined to which, what fits the same end, and parts that are others in one piece."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.plane_faces import PlaneFace
from planner.geometry.assembly.profiles import joined
from planner.kit.ends import PartEnds
from planner.kit.figures import blunt
from planner.kit.parallels import left_over, parallels

Floats = NDArray[np.float64]
End = tuple[str, int]

SAME_PLACE_MM = 1.0
_AGAINST = -0.999  # cosine between the normals of faces that lie on each other
_WHOLE = 0.02  # of the volume: what pins, sockets and gaps of a cut may change
_LONGEST_PATH = 12
_MOST_STEPS = 2000  # along paths, for each part that may be a whole


@dataclass(frozen=True, eq=False, slots=True)
class EndJoint:
    """Two ends that are joined, and the motion that brings the second part to the first."""

    one: End
    other: End
    turn: Floats
    shift: Floats
    in_place: bool


@dataclass(frozen=True, slots=True)
class Joined:
    """Joints, groups of parts of which one is used at an end, and parts that are others in one piece.

    ``options`` are (host, alternatives), the host empty where none is known, ``wholes`` (whole, its pieces).
    ``open_rows`` are parts that could follow one another in more than one order.
    """

    joints: tuple[EndJoint, ...]
    options: tuple[tuple[str, tuple[str, ...]], ...]
    wholes: tuple[tuple[str, tuple[str, ...]], ...]
    open_rows: tuple[tuple[str, ...], ...]


def join(
    parts: PartEnds, rank: Mapping[str, int], hands: Mapping[str, str], unwanted: frozenset[str] = frozenset()
) -> Joined:
    """Joints between ends of one shape.

    Parameters
    ----------
    rank : where a part stands among its like by its name
    hands : "left" or "right" of those of which it is known; parts of two hands are not joined
    unwanted : parts that are not printed
    """
    wholes = _wholes(parts, unwanted)
    leave = unwanted | {name for name, _ in wholes}
    beside = parallels(parts, leave)
    leave |= {name for names in beside for name in names[1:]}
    joints: list[EndJoint] = []
    options: list[tuple[str, tuple[str, ...]]] = []
    open_rows: list[tuple[str, ...]] = []
    by_shape = parts.of_shape(leave)
    shared = {shape: len({parts.kin[n].number for n, _ in own}) for shape, own in by_shape.items()}
    for shape in sorted(by_shape):
        joints += _in_place(parts, by_shape[shape], options)
    # what is drawn in its place beside one part is joined to no other that is drawn elsewhere
    seated = {end[0] for joint in joints for end in (joint.one, joint.other)}
    sitting = seats_on_hulls(parts, leave) if not seated else {}
    for shape in sorted(by_shape):
        own = [end for end in by_shape[shape] if end[0] not in seated]
        own = _without_roots(parts, own, sitting.get(shape, 0))
        if left_over(parts, [name for name, _ in own], shared, leave):
            options.append(("", tuple(sorted(name for name, _ in own))))
            continue
        _solve(parts, own, rank, hands, shared, joints, options, open_rows)
    joints = _without_circles(parts, joints)
    for names in beside:
        _set_beside(parts, names, joints, options)
    return Joined(tuple(joints), tuple(options), wholes, tuple(open_rows))


def seats_on_hulls(parts: PartEnds, leave: frozenset[str]) -> Mapping[int, int]:
    """How many seats of each shape lengths of hull have, beside their ends, for roots of panels."""
    return Counter(
        pad.shape
        for name, pads in parts.pads.items()
        if parts.figures[name].kind == "body" and name not in leave
        for pad in pads
        if blunt(pad.face) and not any(pad is end for end in parts.ends[name])
    )


def _without_roots(parts: PartEnds, own: Sequence[End], seats: int) -> list[End]:
    """The ends without those of the one kind of panel that has a seat on the hull for each of its parts."""
    counts = Counter(parts.kin[name].number for name, _ in own)
    roots = [kind for kind, count in counts.items() if count == seats]
    return [end for end in own if len(roots) != 1 or parts.kin[end[0]].number != roots[0]]


def _set_beside(
    parts: PartEnds,
    names: tuple[str, ...],
    joints: list[EndJoint],
    options: list[tuple[str, tuple[str, ...]]],
) -> None:
    """The choices of one place joined like the first of them; an option where none was seen yet."""
    hosts = []
    for joint in list(joints):
        if names[0] not in (joint.one[0], joint.other[0]):
            continue
        mine, host = (joint.one, joint.other) if joint.one[0] == names[0] else (joint.other, joint.one)
        hosts.append(host[0])
        shape = parts.ends[mine[0]][mine[1]].shape
        for name in names[1:]:
            k = next(k for k, end in enumerate(parts.ends[name]) if end.shape == shape)
            if joint.in_place and (name, k) in _lying_on(parts, host, [(name, k)]):
                joints.append(EndJoint(host, (name, k), np.eye(3), np.zeros(3), True))
                continue
            motion = joined(parts.ends[host[0]][host[1]], parts.ends[name][k])
            if motion is not None:
                joints.append(EndJoint(host, (name, k), *motion, False))
    for at, (host_, own) in enumerate(options):
        if names[0] in own:
            options[at] = (host_, (*own, *(name for name in names[1:] if name not in own)))
            return
    options.append((hosts[0] if hosts else "", names))


def _in_place(
    parts: PartEnds, own: Sequence[End], options: list[tuple[str, tuple[str, ...]]]
) -> list[EndJoint]:
    """Ends that lie on each other as they are drawn; where several lie on one, they are alternatives."""
    found: list[EndJoint] = []
    taken: set[End] = set()
    for one in own:
        near = _lying_on(parts, one, own)
        if one in taken or not near or (len(near) == 1 and len(_lying_on(parts, near[0], own)) > 1):
            continue
        taken |= {one, *near}
        found += [EndJoint(one, other, np.eye(3), np.zeros(3), True) for other in near]
        if len(near) > 1:
            options.append((one[0], tuple(name for name, _ in near)))
    return found


def _without_circles(parts: PartEnds, joints: Sequence[EndJoint]) -> list[EndJoint]:
    """Joints that close no circle: what is drawn in place comes first, then the larger ends."""
    head: dict[str, str] = {}

    def top(name: str) -> str:
        while head.setdefault(name, name) != name:
            name = head[name]
        return name

    kept = []
    for joint in sorted(
        joints, key=lambda one: (not one.in_place, -round(_face(parts, one.one).outline.area, 3))
    ):
        a, b = top(joint.one[0]), top(joint.other[0])
        if a != b:
            head[max(a, b)] = min(a, b)
            kept.append(joint)
    return kept


def _lying_on(parts: PartEnds, end: End, own: Sequence[End]) -> list[End]:
    face = _face(parts, end)
    return [
        other
        for other in own
        if other[0] != end[0]
        and face.normal @ _face(parts, other).normal < _AGAINST
        and float(np.abs(face.middle - _face(parts, other).middle).max()) <= SAME_PLACE_MM
    ]


def _face(parts: PartEnds, end: End) -> PlaneFace:
    return parts.ends[end[0]][end[1]].face


def _solve(
    parts: PartEnds,
    own: Sequence[End],
    rank: Mapping[str, int],
    hands: Mapping[str, str],
    shared: Mapping[int, int],
    joints: list[EndJoint],
    options: list[tuple[str, tuple[str, ...]]],
    open_rows: list[tuple[str, ...]],
) -> None:
    """The joints of one shape: by kinds of parts, those with one such end and those with two."""
    kinds: dict[int, list[End]] = {}
    for end in own:
        kinds.setdefault(parts.kin[end[0]].number, []).append(end)
    twice = {k for k, ends in kinds.items() if len({name for name, _ in ends}) < len(ends)}
    once = [k for k in kinds if k not in twice]
    if len(once) == 2 and not twice:
        joints += _paired(parts, kinds[once[0]], kinds[once[1]], hands)
    elif len(twice) == 1 and len(once) in (1, 2):
        middle = list(kinds[next(iter(twice))])
        for k in once:
            made = _paired(parts, kinds[k], middle, hands)
            used = {joint.other for joint in made}
            middle = [end for end in middle if end not in used]
            joints += made
    elif len(once) >= 3 and not twice:
        hosts = [k for k in once if any(_goes_on(parts, end, shared) for end in kinds[k])]
        rest = [k for k in once if k not in hosts]
        if len(hosts) == 1 and len(rest) >= 2:
            for host in kinds[hosts[0]]:
                fits = [_paired(parts, [host], kinds[k], hands) for k in rest]
                joints += [joint for made in fits for joint in made[:1]]
                names = tuple(joint.other[0] for made in fits for joint in made[:1])
                if len(names) > 1:
                    options.append((host[0], names))
    elif len(kinds) > 1:
        several = sorted({name for name, _ in own})
        by_rank = _by_rank(parts, several, own, rank, hands)
        joints += by_rank
        if not by_rank:
            open_rows.append(tuple(several))


def _goes_on(parts: PartEnds, end: End, shared: Mapping[int, int]) -> bool:
    """Whether the part has another end which others fit."""
    return any(shared.get(other.shape, 0) > 1 for k, other in enumerate(parts.ends[end[0]]) if k != end[1])


def _paired(
    parts: PartEnds, ones: Sequence[End], others: Sequence[End], hands: Mapping[str, str]
) -> list[EndJoint]:
    """Each of the ones with one of the others, as long as there are any that fit."""
    left = list(others)
    found = []
    for one in ones:
        for other in sorted(left, key=lambda end: hands.get(end[0]) != hands.get(one[0])):
            sides = {hands.get(one[0], "none"), hands.get(other[0], "none")}
            if one[0] == other[0] or sides == {"left", "right"}:
                continue
            motion = joined(parts.ends[one[0]][one[1]], parts.ends[other[0]][other[1]])
            if motion is not None:
                found.append(EndJoint(one, other, *motion, False))
                left.remove(other)
                break
    return found


def _by_rank(
    parts: PartEnds,
    names: Sequence[str],
    own: Sequence[End],
    rank: Mapping[str, int],
    hands: Mapping[str, str],
) -> list[EndJoint]:
    """Parts of one outline in the order of their names, hand by hand; none where a name says nothing."""
    found: list[EndJoint] = []
    for hand in sorted({hands.get(name, "none") for name in names}):
        own_names = [name for name in names if hands.get(name, "none") == hand]
        ranks = [rank.get(name) for name in own_names]
        if None in ranks or len(set(ranks)) < len(ranks):
            return []
        row = sorted(own_names, key=lambda name: rank[name])
        free = {name: [end for end in own if end[0] == name] for name in row}
        for before, behind in pairwise(row):
            made = _paired(parts, free[before], free[behind], hands)[:1]
            if not made:
                return []
            free[before].remove(made[0].one)
            free[behind].remove(made[0].other)
            found += made
    return found


def _wholes(parts: PartEnds, unwanted: frozenset[str]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Parts that begin and end as a row of others does, and are as large as these together.

    Source: geometry; ends are edges between shapes of outlines, and a whole is one edge beside a path.
    """
    edges = {
        name: (own[0].shape, own[1].shape)
        for name, own in parts.ends.items()
        if len(own) == 2 and name not in unwanted
    }
    at: dict[int, list[str]] = {}
    for name, shapes in edges.items():
        for shape in set(shapes):
            at.setdefault(shape, []).append(name)
    found = []
    for name, (first, last) in edges.items():
        pieces = _path(parts, edges, at, name, first, last)
        if pieces:
            found.append((name, pieces))
    return tuple(found)


def _path(
    parts: PartEnds,
    edges: Mapping[str, tuple[int, int]],
    at: Mapping[int, list[str]],
    whole: str,
    first: int,
    last: int,
) -> tuple[str, ...]:
    """Others from the one outline to the other that make up the volume; one of each kind is enough."""
    volume = parts.figures[whole].volume
    waiting: list[tuple[int, tuple[str, ...], float]] = [(first, (), 0.0)]
    for _ in range(_MOST_STEPS):
        if not waiting:
            break
        shape, row, so_far = waiting.pop()
        if shape == last and len(row) > 1 and abs(so_far - volume) <= _WHOLE * volume:
            return row
        if len(row) >= _LONGEST_PATH:
            continue
        seen = {parts.kin[name].number for name in (*row, whole)}
        for name in at.get(shape, ()):
            number = parts.kin[name].number
            larger = so_far + parts.figures[name].volume
            if number in seen or larger > (1.0 + _WHOLE) * volume:
                continue
            seen.add(number)
            a, b = edges[name]
            waiting.append((b if a == shape else a, (*row, name), larger))
    return ()
