"""Where glue, primer and paint lie on each piece and joint."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from planner.model.budget import MassItem, Place
from planner.weights.joints import JointFace


@dataclass(frozen=True, slots=True)
class Painted:
    """The outer surface of one piece and where its middle lies; no place where the piece has no seat."""

    area_mm2: float
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Ground:
    """What glue and paint lie on.

    ``surfaces_mm2`` are those of the whole meshes and ``outer`` the outer surfaces, by piece.
    ``jointed`` are the pieces of which all joints are known, for their meshes have a seat.
    """

    surfaces_mm2: Mapping[str, float] = field(default_factory=dict)
    outer: Mapping[str, Painted] = field(default_factory=dict)
    joints: Sequence[JointFace] = ()
    jointed: frozenset[str] = frozenset()

    @property
    def glued_mm2(self) -> float:
        """Area of all glued faces that are known."""
        return sum(joint.area_mm2 for joint in self.joints)


@dataclass(frozen=True, slots=True)
class Spot:
    """Grams of one section at one place; ``piece`` where it is that piece's own centroid."""

    section: str
    grams: float
    place: Place | None
    piece: str = ""


def at_joints(joints: Sequence[JointFace], g_per_mm2: float, printed: Sequence[MassItem]) -> list[Spot]:
    """Glue by the area of the joints: each side of a joint has half, its pieces equal parts of that."""
    home = {item.what: item.section for item in printed}
    spots = []
    for joint in joints:
        place = Place(joint.station_mm, joint.across_mm, joint.up_mm, "joint")
        for side in joint.sides:
            grams = g_per_mm2 * joint.area_mm2 / len(joint.sides) / len(side)
            spots += [Spot(home.get(name, ""), grams, place) for name in side]
    return spots


def glue_in_all(
    grams: float, printed: Sequence[MassItem], weights: Mapping[str, float], ground: Ground
) -> list[Spot]:
    """A total of glue, divided among the pieces by weights.

    What falls to pieces whose joints are known lies on these joints, by area. All else lies on the
    pieces themselves.
    """
    shares = _shares(printed, weights)
    known = ground.jointed if ground.glued_mm2 > 0.0 else frozenset[str]()
    held = grams * sum(shares.get(item.what, 0.0) for item in printed if item.what in known)
    loose = [item for item in printed if item.what not in known]
    spots = [_on(item, grams * shares[item.what]) for item in loose if item.what in shares]
    if held > 0.0:
        spots += at_joints(ground.joints, held / ground.glued_mm2, printed)
    return spots or [Spot("", grams, None)]


def paint_in_all(grams: float, covered: Sequence[MassItem], ground: Ground) -> list[Spot]:
    """A total of paint by the outer surfaces; by the whole surfaces, or by mass, where not known."""
    whole = sum(_outer(item, ground).area_mm2 for item in covered)
    if whole > 0.0 and all(item.what in ground.outer for item in covered):
        return paint_by_area(grams / whole, covered, ground)
    shares = _shares(covered, by_surface(covered, ground.surfaces_mm2))
    return [_on(item, grams * share) for item in covered if (share := shares.get(item.what, 0.0))] or [
        Spot("", grams, None)
    ]


def paint_by_area(g_per_mm2: float, covered: Sequence[MassItem], ground: Ground) -> list[Spot]:
    """Primer or paint on every covered piece, at the middle of its outer surface."""
    spots = []
    for item in covered:
        outer = _outer(item, ground)
        grams = g_per_mm2 * outer.area_mm2
        spots.append(_on(item, grams) if outer.place is None else Spot(item.section, grams, outer.place))
    return spots


def by_surface(printed: Sequence[MassItem], surfaces_mm2: Mapping[str, float]) -> dict[str, float]:
    """Weights by surface; where one is not known all go by mass."""
    areas = {item.what: surfaces_mm2.get(item.what, 0.0) for item in printed}
    return areas if all(area > 0.0 for area in areas.values()) else {i.what: i.mass_g for i in printed}


def _shares(printed: Sequence[MassItem], weights: Mapping[str, float]) -> dict[str, float]:
    whole = sum(weights.get(item.what, 0.0) for item in printed)
    return {item.what: weights.get(item.what, 0.0) / whole for item in printed} if whole > 0.0 else {}


def _outer(item: MassItem, ground: Ground) -> Painted:
    return ground.outer.get(item.what, Painted(0.0))


def _on(item: MassItem, grams: float) -> Spot:
    at = item.station_mm
    place = None if at is None else Place(at, item.across_mm, item.up_mm)
    return Spot(item.section, grams, place, item.what)
