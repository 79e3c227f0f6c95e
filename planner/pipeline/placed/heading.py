"""Which way an airframe lies that is drawn in place: length, span and height, nose and top.

Mirrored halves give the span, the sections of what lies across give length and height: a wing is longer
than thick, blunt in front and sharp behind. Names say the rest. Nothing is taken for sure that one of
these contradicts. Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from planner.geometry.assembly.halves import Halves, Profile, halves, profile_across
from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.axes import Axes, axis_named
from planner.model.hand import Hand

FRONT = frozenset({
    "nose", "cowl", "cowling", "spinner", "firewall", "motor", "nase", "bug", "nez", "morro", "naso", "neus",
    "dziob",
})  # fmt: skip
BACK = frozenset({
    "tail", "fin", "rudder", "elevator", "stab", "stabiliser", "stabilizer", "tailplane", "heck", "leitwerk",
    "queue", "derive", "cola", "coda", "staart", "ogon",
})  # fmt: skip
TOP = frozenset(
    {"fin", "rudder", "canopy", "cockpit", "hatch", "haube", "seitenleitwerk", "derive", "verriere"}
)
UNDER = frozenset({"skid", "gear", "wheel", "belly", "keel", "kufe", "fahrwerk", "rad", "train", "rueda"})
Hands = Mapping[str, Hand]
NO_HANDS: Hands = MappingProxyType({})
_LETTERS = "xyz"
_SHARE = 0.1  # of all volume lies in halves: so much makes a plane
_CLEARLY = 1.5  # times the next best axis, or as long as thick
_THIN = 2.0  # a wing's chord over its thickness, at least
_LEAN = 0.02  # of the chord: a section leans to its blunt end; 0.08 for a plain aerofoil
_OFF = 0.2  # of half the length: names lie on one side of the middle
_ASIDE_MM = 1.0
_MOST = 0.6  # of the parts that are not mirrored
_FIN = 0.25  # of its length and height: so thin is a fin
_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Heading:
    """Axes that were found, why, and what stays open; ``sure`` when nothing does."""

    axes: Axes
    reasons: tuple[str, ...]
    open: tuple[str, ...] = ()

    @property
    def sure(self) -> bool:
        """Whether it may be taken without asking."""
        return not self.open


def heading(
    meshes: Mapping[str, TriangleMesh], hands: Hands = NO_HANDS, mirrored: Collection[str] = ()
) -> Heading:
    """How an airframe of these meshes lies.

    Parameters
    ----------
    hands : of the meshes that are said to be left or right
    mirrored : meshes whose other hand is made from them
    """
    low = np.min([mesh.bounds[0] for mesh in meshes.values()], axis=0)
    high = np.max([mesh.bounds[1] for mesh in meshes.values()], axis=0)
    bodies = list(meshes.values())
    found = halves(bodies)
    if found is not None and (found.share < _SHARE or found.share < _CLEARLY * found.runner_up):
        found = None
    across = found or _by_mirroring(meshes, mirrored)
    if across is None:
        why = "no two halves of it mirror each other"
        return Heading(Axes(), (), (why,))
    reason = (
        f"{len(across.members)} meshes mirror each other in pairs across {_LETTERS[across.axis]}"
        if found is not None
        else f"the parts that are mirrored lie on one side of {_LETTERS[across.axis]} = 0"
    )
    ends = (low[across.axis] - across.level, high[across.axis] - across.level)
    profile = profile_across(bodies, across.axis, across.level, float(max(ends, key=abs)))
    return _turned(meshes, hands, across, profile, high - low, (low + high) / 2.0, reason)


def _turned(
    meshes: Mapping[str, TriangleMesh],
    hands: Hands,
    across: Halves,
    profile: Profile | None,
    size: _Floats,
    middle: _Floats,
    reason: str,
) -> Heading:
    """Length and height among the two axes that are left, then nose and top."""
    rest = [axis for axis in range(3) if axis != across.axis]
    open_: list[str] = []
    chord = rest if profile is None else sorted(rest, key=lambda axis: -profile.size[axis])
    if profile is None or profile.size[chord[0]] < _THIN * profile.size[chord[1]]:
        chord = sorted(rest, key=lambda axis: -float(size[axis]))
        if size[chord[0]] < _CLEARLY * size[chord[1]]:
            open_.append(f"whether {_LETTERS[chord[0]]} or {_LETTERS[chord[1]]} runs along it")
    elif size[chord[1]] > _CLEARLY * size[chord[0]]:
        open_.append(
            f"it is longer along {_LETTERS[chord[1]]} than along {_LETTERS[chord[0]]}, its wings' chord"
        )
    along, upward = chord
    top = _by_names(meshes, TOP, UNDER, upward, middle, size)
    votes = _nose(meshes, across, profile, along, middle, size)
    if abs(top) <= _OFF and votes:
        aft = -1.0 if sum(votes.values()) < 0.0 else 1.0
        top = _fins(list(meshes.values()), across, along, upward, aft, middle)
    top = -1.0 if top < 0.0 else 1.0
    votes |= _hands(meshes, hands, across, along, upward, top)
    aft = -1.0 if sum(votes.values()) < 0.0 else 1.0
    against = [why for why, vote in votes.items() if vote * aft < 0.0]
    if not votes:
        open_.append(f"at which end of {_LETTERS[along]} the nose is")
    elif against:
        open_.append(f"{' and '.join(against)} would have the nose at the other end of {_LETTERS[along]}")
    if open_ and across.only_alike:
        return Heading(Axes(), (), ("no two halves of it are surely mirrored", *open_))
    unit = np.eye(3)
    axes = Axes(axis_named(aft * unit[along]), axis_named(top * unit[upward]))
    told = [why for why, vote in votes.items() if vote * aft > 0.0]
    return Heading(axes, (reason, *told), tuple(open_))


def _nose(
    meshes: Mapping[str, TriangleMesh],
    across: Halves,
    profile: Profile | None,
    along: int,
    middle: _Floats,
    size: _Floats,
) -> dict[str, float]:
    """What says which way is aft: positive along the axis, negative against it, by the reason."""
    votes: dict[str, float] = {}
    if profile is not None and abs(profile.lean[along]) > _LEAN:
        votes["blunt leading edges"] = -2.0 * float(np.sign(profile.lean[along]))
    named = _by_names(meshes, BACK, FRONT, along, middle, size)
    if abs(named) > _OFF:
        votes["names of nose and tail"] = 2.0 * float(np.sign(named))
    return votes


def _hands(
    meshes: Mapping[str, TriangleMesh],
    hands: Hands,
    across: Halves,
    along: int,
    upward: int,
    top: float,
) -> dict[str, float]:
    """What the names of left and right say: with the top up, the right side tells where aft is."""
    right = _right(meshes, hands, across)
    if not right:
        return {}
    unit = np.eye(3)
    aft = np.cross(right * unit[across.axis], top * unit[upward])  # for right = up x aft
    return {"names of left and right": float(aft[along])}


def _by_names(
    meshes: Mapping[str, TriangleMesh],
    these: frozenset[str],
    those: frozenset[str],
    axis: int,
    middle: _Floats,
    size: _Floats,
) -> float:
    """How far meshes of the one name lie beyond the middle, and those of the other before it; -1 to 1."""
    offs = []
    for name, mesh in meshes.items():
        words = {word.casefold() for word in re.findall(r"[^\W\d_]+", name)}
        side = bool(words & these) - bool(words & those)
        if side:
            away = float(mesh.bounds.mean(axis=0)[axis] - middle[axis]) / max(0.5 * float(size[axis]), 1e-9)
            offs.append(side * away)
    return float(np.mean(offs)) if offs else 0.0


def _right(meshes: Mapping[str, TriangleMesh], hands: Hands, across: Halves) -> float:
    """On which side of the plane the right hands lie: 1, -1, or 0 where they do not agree."""
    sides = set()
    for name, hand in hands.items():
        if hand != "none" and name in meshes:
            away = float(meshes[name].bounds.mean(axis=0)[across.axis]) - across.level
            if abs(away) > _ASIDE_MM:
                sides.add(float(np.sign(away)) * (1.0 if hand == "right" else -1.0))
    return sides.pop() if len(sides) == 1 else 0.0


def _by_mirroring(meshes: Mapping[str, TriangleMesh], mirrored: Collection[str]) -> Halves | None:
    """The axis whose zero all mirrored parts lie beside, and most of the others astride of."""
    mirrored = [name for name in meshes if name in mirrored]
    others = [mesh for name, mesh in meshes.items() if name not in mirrored]
    if not mirrored or not others:
        return None
    low = np.min([meshes[name].bounds[0] for name in mirrored], axis=0)
    high = np.max([meshes[name].bounds[1] for name in mirrored], axis=0)
    astride = np.mean([np.abs(mesh.bounds.mean(axis=0)) <= _ASIDE_MM for mesh in others], axis=0)
    fit = (low >= -_ASIDE_MM) | (high <= _ASIDE_MM)
    able = np.flatnonzero(fit & (astride >= _MOST))
    if len(able) != 1:
        return None
    members = tuple(k for k, name in enumerate(meshes) if name in mirrored)
    return Halves(int(able[0]), 0.0, 0.0, 0.0, members)


def _fins(
    meshes: Sequence[TriangleMesh], across: Halves, along: int, upward: int, aft: float, middle: _Floats
) -> float:
    """On which side of what lies across the thin bodies stand that lie in the plane, behind: 1, -1, or 0."""
    wings = float(np.mean([meshes[k].bounds.mean(axis=0)[upward] for k in across.members]))
    sides = set()
    for mesh in meshes:
        spot, size = mesh.bounds.mean(axis=0), mesh.extents
        thin = size[across.axis] < _FIN * min(size[along], size[upward])
        behind = aft * float(spot[along] - middle[along]) > 0.0
        if thin and behind and abs(spot[across.axis] - across.level) <= _ASIDE_MM:
            sides.add(float(np.sign(spot[upward] - wings)))
    return sides.pop() if len(sides) == 1 else 0.0
