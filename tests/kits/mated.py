"""A random airframe in which everything mates: wing, tail and fin sit on pads or in pockets of the hull.

As ``loose`` has it otherwise: axes, poses, names, and the truth of each file.
"""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np

from tests.kits import loose, shapes
from tests.kits.loose import LoosePart, Pose
from tests.kits.shapes import Solid

POCKET_MM, RIM_MM, ROOM_MM = 3.0, 2.5, 0.1


def mated_kit(
    seed: int, style: str, pose: Pose, *, camber: bool | None = None, noses: int | None = None
) -> tuple[LoosePart, ...]:
    """A kit of 10 to 30 files; the same seed, style and pose give the same files.

    Parameters
    ----------
    camber : whether the wing is cambered; else it may be, or not: symmetric panels serve either side
    noses : how many noses there are to choose from, all of one circle; else one or two
    """
    rng = np.random.default_rng([seed, 177])
    wide = float(rng.uniform(50.0, 80.0))
    chord = float(rng.uniform(120.0, 180.0))
    bend = float(rng.choice([0.0, 0.03, 0.04]))
    bend = bend if camber is None else 0.03 * camber
    wing = loose._surface(rng, "wing", chord, int(rng.integers(1, 4)), camber=bend)
    tail = loose._surface(rng, "tail", 0.6 * chord, int(rng.integers(1, 3)), camber=0.0)
    fin = replace(loose._surface(rng, "tail", 0.45 * chord, 1, camber=0.0)[0], sort="fin", chain="fin")
    pocket = bool(rng.random() < 0.5)
    front, middle, boom = float(rng.uniform(70, 120)), chord + float(rng.uniform(35, 70)), 0.6 * chord + 50.0
    lengths = (front, middle, *rng.uniform(90, 150, int(rng.integers(0, 3))).tolist(), boom)
    ring = _ring(rng, wide)
    hull = _hull(rng, ring, lengths)
    at_wing = (front + 15.0, 0.5 * wide + 4.0, float(rng.uniform(-8.0, 8.0)))
    at_tail = (sum(lengths) - boom + 20.0, 0.5 * wide + 2.0, float(rng.uniform(4.0, 10.0)))
    lift = float(rng.uniform(0.0, 6.0))
    pads = [
        *loose._both([_pad(wing[0], pocket)], at_wing, "wing", lift),
        *loose._both([_pad(tail[0], pocket)], at_tail, "tail", 0.0),
    ]
    at_fin = (at_tail[0] + 5.0, 0.0, 0.55 * wide)
    pads.append(loose._put(_pad(fin, pocket), np.eye(3), at_fin))
    hull = _with(hull, pads, wide)
    made = [*hull, *_noses(rng, ring, noses or int(rng.integers(1, 3)))]
    made += loose._both(wing, at_wing, "wing", lift)
    made += loose._both(tail, at_tail, "tail", 0.0)
    made.append(replace(loose._put(fin, np.eye(3), at_fin), hand="none"))
    for n in range(int(rng.integers(0, 3))):
        clip = shapes.clip(*rng.uniform(8.0, 20.0, 3))
        made.append(LoosePart("", clip, "clip", "", order=n))
    return loose._named([loose._posed(part, pose, rng) for part in made], style, seed)


def two_airframes(seed: int, style: str, pose: Pose) -> tuple[tuple[LoosePart, ...], tuple[LoosePart, ...]]:
    """Two kits for one folder: the second one is another airframe, and its files are named on."""
    first, second = mated_kit(seed, style, pose), mated_kit(seed + 5000, style, pose)
    return first, tuple(replace(part, file=f"b_{part.file}") for part in second)


def _ring(rng: np.random.Generator, wide: float) -> manifold3d.CrossSection:
    """A round hull, or one that is flat below."""
    ring = manifold3d.CrossSection.circle(wide / 2.0, int(rng.integers(32, 64)))
    if rng.random() < 0.5:
        box = manifold3d.CrossSection.square((0.8 * wide, 0.5 * wide), center=True)
        ring = ring + box.translate((0.0, -0.25 * wide))
    return ring


def _hull(
    rng: np.random.Generator, ring: manifold3d.CrossSection, lengths: tuple[float, ...]
) -> list[LoosePart]:
    """Tapering segments, one behind the other."""
    wall = float(rng.uniform(1.4, 2.4))
    made, x, at = [], 0.0, 1.0
    for n, long in enumerate(lengths):
        taper = float(rng.uniform(0.9, 0.98))
        own = ring.scale((at, at))
        solid = own.extrude(long, 4, 0.0, (taper, taper))
        solid = solid - own.offset(-wall).extrude(long, 4, 0.0, (taper, taper))
        place = loose._motion(loose._AFT, np.array([x, 0.0, 0.0]))
        made.append(LoosePart("", solid, "fuselage", "fuselage", chain="fuselage", order=n + 1, place=place))
        x, at = x + long, at * taper
    return made


def _noses(rng: np.random.Generator, ring: manifold3d.CrossSection, many: int) -> list[LoosePart]:
    """Noses of one outline, each of another length."""
    made = []
    turn = loose._AFT @ np.diag([-1.0, 1.0, -1.0])
    for k in range(many):
        solid = ring.extrude(float(rng.uniform(40.0, 70.0)) + 15.0 * k, 6, 0.0, (0.4, 0.4))
        choice = ("plain", "camera", "long")[k] if many > 1 else None
        place = loose._motion(turn, np.zeros(3))
        made.append(
            LoosePart("", solid, "nose", "fuselage", chain="fuselage", order=0, choice=choice, place=place)
        )
    return made


def _pad(panel: LoosePart, pocket: bool) -> LoosePart:
    """What the hull has at a root, in the panel's coordinates: a stub that ends there, with a rim or not."""
    ring = max(panel.solid.slice(0.01).to_polygons(), key=lambda one: abs(_area(one)))
    outline = manifold3d.CrossSection([ring.tolist()])
    stub = outline.offset(RIM_MM if pocket else 0.0).extrude(40.0 + (POCKET_MM if pocket else 0.0))
    stub = stub.translate((0.0, 0.0, -40.0))
    if pocket:
        stub = stub - outline.offset(ROOM_MM).extrude(POCKET_MM + 1.0)
    return replace(panel, solid=stub)


def _area(ring: np.ndarray) -> float:
    x, y = np.asarray(ring).T
    return float(0.5 * (x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def _with(hull: list[LoosePart], pads: list[LoosePart], wide: float) -> list[LoosePart]:
    """The segments with their pads, kept out of what is hollow."""
    made = []
    for part in hull:
        own = loose._moved(part.solid, part.place)
        low, high = own.bounding_box()[0], own.bounding_box()[3]
        hollow = Solid.hull(own) - own
        for pad in pads:
            stub = loose._moved(pad.solid, pad.place)
            x0, x1 = stub.bounding_box()[0], stub.bounding_box()[3]
            if low < x0 and x1 < high:
                own = own + (stub - hollow)
        made.append(replace(part, solid=loose._moved(own, np.linalg.inv(part.place))))
    return made
