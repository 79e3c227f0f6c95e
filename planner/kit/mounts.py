"""Panels that sit on a hull: their roots fit a pad, a stub or the floor of a pocket beside it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.profiles import Shaped, fit
from planner.kit.ends import PartEnds
from planner.kit.figures import blunt
from planner.kit.joints import Joined

Floats = NDArray[np.float64]
_TWO = 2
_MOST_SEATS = 6  # of one shape: more of them are no seats of wings
_SWEPT = 0.01  # of the span: one end leads back further than the other
_ALIKE_MM = 0.05  # two ways to sit that differ by less are one as good as the other


@dataclass(frozen=True, eq=False, slots=True)
class Mount:
    """A panel on a seat of a hull: ``turn`` and ``shift`` bring its corners into the axes of the hull's part.

    ``seat`` is the face of the host, ``end`` the number of the guest's end that lies on it; ``either`` tells
    that the outline would fit the seat of its twin as well, though the panel is not the same on both sides.
    """

    host: str
    seat: Shaped
    guest: str
    end: int
    turn: Floats
    shift: Floats
    either: bool = False

    @property
    def aft(self) -> Floats:
        """The way that its sharp edge looks, in the axes of the host."""
        face = self.seat.face
        return face.along * (1.0 if face.outline.lean[0] >= 0.0 else -1.0)


def mounts_of(parts: PartEnds, found: Joined, leave: frozenset[str]) -> tuple[Mount, ...]:
    """Every panel whose free end fits a seat, where it is clear which one sits on which.

    Several of one shape must be one kind of part, the same or mirrored: which of two equal ones sits left
    does not matter. What lies in its place as it is drawn has no mount.

    Parameters
    ----------
    leave : parts that are not looked at
    """
    if any(joint.in_place for joint in found.joints):
        return ()
    leave |= {name for name, _ in found.wholes}
    used = {end for joint in found.joints for end in (joint.one, joint.other)}
    guests: dict[int, list[tuple[str, int]]] = {}
    seats: dict[int, list[tuple[str, Shaped]]] = {}
    for name, figure in parts.figures.items():
        if name in leave:
            continue
        if figure.kind == "panel":
            for k, end in enumerate(parts.ends[name]):
                if (name, k) not in used:
                    guests.setdefault(end.shape, []).append((name, k))
        elif figure.kind == "body":
            for pad in parts.pads[name]:
                if blunt(pad.face) and not any(pad is end for end in parts.ends[name]):
                    seats.setdefault(pad.shape, []).append((name, pad))
    mounts = [
        mount
        for shape in sorted(guests.keys() & seats.keys())
        for mount in _seated(parts, guests[shape], seats[shape])
    ]
    times = [mount.guest for mount in mounts]
    return tuple(mount for mount in mounts if times.count(mount.guest) == 1)


def _seated(
    parts: PartEnds, guests: Sequence[tuple[str, int]], seats: Sequence[tuple[str, Shaped]]
) -> list[Mount]:
    kinds = Counter(parts.kin[name].number for name in {name for name, _ in guests})
    filling = [kind for kind, count in kinds.items() if count == len(seats)]
    if len(filling) == 1:
        guests = [(name, end) for name, end in guests if parts.kin[name].number == filling[0]]
    names = {name for name, _ in guests}
    one_kind = len({parts.kin[name].number for name in names}) == 1
    if not one_kind or len(names) > len(seats) or len(seats) > _MOST_SEATS:
        return []
    if len(names) < len(guests):
        guests = _swept_aft(parts, guests, seats)
    ways = {
        (g, s): fit(seat, parts.ends[name][end])
        for g, (name, end) in enumerate(guests)
        for s, (_, seat) in enumerate(seats)
    }
    able = []
    for order in permutations(range(len(seats)), len(guests)):
        offs = [way[0] if (way := ways[g, s]) is not None else None for g, s in enumerate(order)]
        if None not in offs:
            able.append((sum(off for off in offs if off is not None), order))
    if not able:
        return []
    best = min(able)
    rivals = [order for off, order in able if off <= best[0] + _ALIKE_MM * len(guests)]
    either = len(rivals) > 1 and not _either(parts, names)
    if len({frozenset(order) for order in rivals}) > 1 or (either and len(guests) != _TWO):
        return []
    made = []
    for g, s in enumerate(best[1]):
        way = ways[g, s]
        if way is not None:
            made.append(Mount(seats[s][0], seats[s][1], *guests[g], way[1], way[2], either))
    return made


def swapped(parts: PartEnds, one: Mount, other: Mount) -> tuple[Mount, Mount] | None:
    """Two panels, each on the seat of the other; None where they do not fit there."""
    ends = parts.ends[one.guest][one.end], parts.ends[other.guest][other.end]
    here, there = fit(other.seat, ends[0]), fit(one.seat, ends[1])
    if here is None or there is None:
        return None
    return (
        Mount(other.host, other.seat, one.guest, one.end, here[1], here[2], one.either),
        Mount(one.host, one.seat, other.guest, other.end, there[1], there[2], other.either),
    )


def _swept_aft(
    parts: PartEnds, guests: Sequence[tuple[str, int]], seats: Sequence[tuple[str, Shaped]]
) -> list[tuple[str, int]]:
    """Of panels of one chord, whose ends both fit, the end on which each is swept aft (common practice)."""
    chosen: dict[str, tuple[float, int]] = {}
    for name, end in guests:
        for _, seat in seats:
            way = fit(seat, parts.ends[name][end])
            if way is not None:
                face = seat.face
                aft = face.along * (1.0 if face.outline.lean[0] >= 0.0 else -1.0)
                middle = way[1] @ parts.meshes[name].bounds.mean(axis=0) + way[2]
                back = float((middle - face.middle) @ aft)
                far = float(np.abs(middle - face.middle).max())
                if name not in chosen or back > chosen[name][0] + _SWEPT * far:
                    chosen[name] = back, end
    return [(name, end) for name, (_, end) in chosen.items()]


def _either(parts: PartEnds, names: set[str]) -> bool:
    """Whether parts of one kind serve either side."""
    return all(parts.kin[name].twofold for name in names) and bool(names)


def aft_by_mounts(mounts: Sequence[Mount]) -> Mapping[str, Floats]:
    """Which way is aft in the axes of each part that carries a panel, on the mean of these."""
    ways: dict[str, list[Floats]] = {}
    for mount in mounts:
        ways.setdefault(mount.host, []).append(mount.aft)
    return {host: np.mean(own, axis=0) for host, own in ways.items()}
