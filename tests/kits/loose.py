"""A random airframe cut into loose files, and the truth of each: what it is, and where it sits.

Axes of the airframe: x aft, y to the right, z up. Files lie in place, on the bed after a turn by right
angles, or after any turn; they are named in a style of ``raw``, or by numbers or digests that say nothing.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

import manifold3d
import numpy as np

from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import aerofoil, stl_bytes
from tests.kits import shapes
from tests.kits.raw import names_of
from tests.kits.shapes import Solid

Pose = Literal["in place", "bed", "any"]
POSES: tuple[Pose, ...] = ("in place", "bed", "any")
NAMELESS = ("numbers", "digests")
_MIRROR = np.diag([1.0, -1.0, 1.0])
_AFT = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])  # what stood up runs aft


@dataclass(frozen=True, eq=False, slots=True)
class LoosePart:
    """One file. ``place`` (4, 4) brings its corners to where they sit.

    ``section`` is "fuselage", "wing", "tail", or empty where nobody could tell. ``chain`` and ``order`` name
    the row of parts that it is one of, from the root or the nose on. Parts of one ``like`` are one shape,
    whichever side they are meant for. ``sort`` is a key of the table of words.
    """

    file: str
    solid: Solid
    sort: str
    section: str
    hand: str = "none"
    chain: str = ""
    order: int | None = None
    choice: str | None = None
    unwanted: bool = False
    like: str = ""
    place: np.ndarray = field(default_factory=lambda: np.eye(4))

    @property
    def mesh(self) -> TriangleMesh:
        """As the file holds it, in single precision."""
        return TriangleMesh(shapes.mesh_of(self.solid).triangles.astype(np.float32).astype(np.float64))


def loose_kit(seed: int, style: str, pose: Pose) -> tuple[LoosePart, ...]:
    """A kit of 10 to 45 files; the same seed, style and pose give the same files."""
    rng = np.random.default_rng([seed, 77])
    wide = float(rng.uniform(45.0, 80.0))
    hull = _hull(rng, wide)
    length = max(part.place[0, 3] + part.solid.bounding_box()[5] for part in hull)
    chord = float(rng.uniform(130.0, 220.0))
    wing = _surface(rng, "wing", chord, int(rng.integers(1, 5)), camber=float(rng.choice([0.0, 0.02, 0.04])))
    tail = _surface(rng, "tail", 0.55 * chord, int(rng.integers(1, 3)), camber=0.0)
    fin = replace(_surface(rng, "tail", 0.6 * chord, 1, camber=0.0)[0], sort="fin", chain="fin", hand="none")
    made = [*hull, *_both(wing, (0.3 * length, 0.5 * wide, 8.0), "wing", float(rng.uniform(0.0, 5.0)))]
    made += _both(tail, (length - 0.6 * chord, 0.15 * wide + 1.0, 10.0), "tail", 0.0)
    made.append(_put(fin, np.eye(3), (length - 0.65 * chord, 0.0, 0.3 * wide)))
    closed = wing[0].solid.volume() > 0.5 * Solid.hull(wing[0].solid).volume()
    made += _small(rng, chord, wide, ribs=not (closed and pose == "in place"))
    if rng.random() < 0.4 and len(wing) > 1:
        sides = [part for part in made if part.chain == "right wing"]
        whole = Solid.batch_boolean([_moved(part.solid, part.place) for part in sides], manifold3d.OpType.Add)
        made.append(LoosePart("", whole, "whole", "wing", unwanted=True))
    if rng.random() < 0.5:
        far = _motion(np.eye(3), np.array([-400.0, 0.0, 0.0]))
        made.append(LoosePart("", shapes.block(20.0, 20.0, 20.0), "trial", "", unwanted=True, place=far))
    return _named([_posed(part, pose, rng) for part in made], style, seed)


def write(kit: tuple[LoosePart, ...], folder: Path) -> Path:
    """The files in a folder that is made for them."""
    folder.mkdir(parents=True, exist_ok=True)
    for part in kit:
        (folder / part.file).write_bytes(stl_bytes(part.mesh))
    return folder


def _named(parts: list[LoosePart], style: str, seed: int) -> tuple[LoosePart, ...]:
    if style in NAMELESS:
        order = np.random.default_rng([seed, 3]).permutation(len(parts))
        if style == "numbers":
            names = [f"part_{k + 1:02d}.stl" for k in order]
        else:
            names = [hashlib.sha256(f"{seed} {k}".encode()).hexdigest()[:12] + ".stl" for k in order]
        return tuple(replace(part, file=name) for part, name in zip(parts, names, strict=True))
    taken: set[str] = set()
    made = []
    for part in parts:
        name, again = names_of(style, part.sort, (part.order or 0) + 1, part.hand, part.choice or ""), 2
        while name in taken:
            name, again = names_of(style, part.sort, again, part.hand, part.choice or ""), again + 1
        taken.add(name)
        made.append(replace(part, file=name))
    return tuple(made)


def _section(rng: np.random.Generator, chord: float, camber: float) -> manifold3d.CrossSection:
    """An aerofoil, its leading edge at the origin. Mean line of four digits, its top at 40 % of the chord.

    Source: Abbott and von Doenhoff, Theory of Wing Sections, 6.4 (from memory).
    """
    points = aerofoil(chord, float(rng.uniform(0.08, 0.14)), int(rng.integers(18, 50)))
    x, p = points[:, 0] / chord, 0.4
    mean = np.where(
        x < p,
        camber / p**2 * (2 * p * x - x**2),
        camber / (1 - p) ** 2 * (1 - 2 * p + 2 * p * x - x**2),
    )
    return manifold3d.CrossSection([(points + np.column_stack([0.0 * x, chord * mean])).tolist()])


def _surface(
    rng: np.random.Generator, section: str, chord: float, many: int, *, camber: float
) -> list[LoosePart]:
    """Panels of a right half, standing on their roots: x aft, y up, z outwards from the root."""
    outline = _section(rng, chord, camber)
    wall = float(rng.choice([0.0, 0.0, 0.8, 1.6]))  # 0: closed
    pins, sweep = bool(rng.random() < 0.4), float(np.tan(np.radians(rng.uniform(0.0, 12.0))))
    straight = bool(rng.random() < 0.15)
    made, span, at = [], 0.0, 1.0
    for n in range(many):
        taper = 1.0 if straight else float(rng.uniform(0.78, 0.95))
        long = float(rng.uniform(90.0, 170.0))
        own = outline.scale((at, at))
        solid = own.extrude(long, 4, 0.0, (taper, taper))
        if wall:
            solid = solid - own.offset(-wall).extrude(long, 4, 0.0, (taper, taper))
        elif pins:
            x, y = 0.25 * chord * at, 0.4 * camber * chord * at
            body = solid - shapes.rod(4.0 + shapes.PIN_GAP, 9.0, (x, y, -1.0))
            body = body + shapes.rod(
                4.0, 9.0, (taper * x, taper * y, long - 1.0)
            )  # where the next one has it
            solid = body if n < many - 1 else body.trim_by_plane((0.0, 0.0, -1.0), -long)
        lean = np.eye(3)
        lean[0, 2] = sweep
        solid = _turned(solid, lean)
        place = np.eye(4)
        place[:3, 3] = (sweep * span, 0.0, span)
        like = f"{section} {n}" if camber == 0.0 else ""
        made.append(
            LoosePart("", solid, section, section, "right", f"right {section}", n, like=like, place=place)
        )
        span, at = span + long, at * taper
    return made


def _both(
    panels: list[LoosePart], at: tuple[float, float, float], section: str, dihedral: float
) -> list[LoosePart]:
    """The right half where it sits, and the left one as its mirror image."""
    # x aft, y up, z outwards -> x aft, y right, z up: a mirroring, so the solids are mirrored first
    made = []
    swap = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0]])
    angle = np.radians(dihedral)
    lift = np.array(
        [[1.0, 0.0, 0.0], [0.0, np.cos(angle), -np.sin(angle)], [0.0, np.sin(angle), np.cos(angle)]]
    )
    for part in panels:
        shift = swap @ part.place[:3, 3]
        right = replace(part, solid=_turned(part.solid, swap), place=_motion(np.eye(3), shift))
        right = _put(right, lift, at)
        left = replace(
            right,
            solid=_turned(right.solid, _MIRROR),
            place=_mirrored(right.place),
            hand="left",
            chain=f"left {section}",
        )
        made += [right, left]
    return made


def _hull(rng: np.random.Generator, wide: float) -> list[LoosePart]:
    """Segments behind one another, a nose or two to choose from before them."""
    high = float(rng.uniform(1.0, 1.4))
    ring = manifold3d.CrossSection.circle(wide / 2.0, int(rng.integers(32, 96))).scale((1.0, high))
    if rng.random() < 0.5:  # flat below
        box = manifold3d.CrossSection.square((0.8 * wide, 0.5 * high * wide), center=True)
        ring = ring + box.translate((0.0, -0.25 * high * wide))
    wall, pins = float(rng.uniform(1.2, 2.5)), bool(rng.random() < 0.4)
    made, x, at = [], 0.0, 1.0
    many = int(rng.integers(2, 6))
    for n in range(many):
        taper = float(rng.uniform(0.86, 0.99)) if n < many - 1 else float(rng.uniform(0.3, 0.6))
        long = float(rng.uniform(80.0, 160.0))
        own = ring.scale((at, at))
        solid = own.extrude(long, 5, 0.0, (taper, taper))
        solid = solid - own.offset(-wall).extrude(long, 5, 0.0, (taper, taper))
        if pins and n < many - 1:  # a tab along the wall goes into the next one
            top = 0.5 * high * wide * at * taper - wall
            solid = solid + shapes.block(5.0, 5.0, 14.0).translate((-2.5, top - 4.6, long - 6.0))
        place = _motion(_AFT, np.array([x, 0.0, 0.0]))
        made.append(LoosePart("", solid, "fuselage", "fuselage", chain="fuselage", order=n + 1, place=place))
        x, at = x + long, at * taper
    noses = ("plain", "camera") if rng.random() < 0.5 else ("",)
    for k, choice in enumerate(noses):
        long = float(rng.uniform(50.0, 90.0))
        solid = ring.extrude(long, 6, 0.0, (0.35 + 0.1 * k, 0.35 + 0.1 * k))
        if k:
            solid = solid - ring.offset(-3.0).extrude(0.5 * long, 3)
        turn = _AFT @ np.diag([-1.0, 1.0, -1.0])  # it stands on its joint, and points forward
        made.append(
            LoosePart("", solid, "nose", "fuselage", chain="fuselage", order=0, choice=choice or None,
                      place=_motion(turn, np.zeros(3)))
        )  # fmt: skip
    return made


def _small(rng: np.random.Generator, chord: float, wide: float, *, ribs: bool) -> list[LoosePart]:
    """Ribs, clips and a mount; the wing has no room for ribs where it is closed."""
    made = []
    for n in range(int(rng.integers(0, 7)) if ribs else 0):
        size = chord * float(rng.uniform(0.4, 0.6))
        at = np.array([0.6 * chord + 3.0 * n, 60.0 + 40.0 * n, 8.0])
        turn = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
        made.append(_put(LoosePart("", shapes.rib(size, 2.4), "rib", "wing", order=n), turn, tuple(at)))
    for n in range(int(rng.integers(0, 5))):
        clip = shapes.clip(*rng.uniform(8.0, 20.0, 3))
        made.append(
            LoosePart(
                "", clip, "clip", "", order=n, place=_motion(np.eye(3), np.array([40.0 * n + 10.0, 0, 0]))
            )
        )
    if rng.random() < 0.5:
        mount = shapes.mount(float(rng.uniform(28.0, 40.0)), 4.0)
        made.append(LoosePart("", mount, "mount", "", place=_motion(np.eye(3), np.array([5.0, 0, 0]))))
    return made


def _posed(part: LoosePart, pose: Pose, rng: np.random.Generator) -> LoosePart:
    """The part as its file holds it."""
    if pose == "in place":
        return replace(part, solid=_moved(part.solid, part.place), place=np.eye(4))
    turn = _right_angles(rng) if pose == "bed" else _any_turn(rng)
    solid = _turned(part.solid, turn)
    low = solid.bounding_box()[:3]
    away = np.array([0.0, 0.0, -low[2]]) - np.array([*(rng.uniform(-5.0, 5.0, 2)), 0.0])
    solid = solid.translate(tuple(away))
    back = _motion(turn.T, -turn.T @ away)
    return replace(part, solid=solid, place=part.place @ back)


def _right_angles(rng: np.random.Generator) -> np.ndarray:
    turn = np.eye(3)[rng.permutation(3)] * rng.choice([-1.0, 1.0], 3)[:, None]
    return turn if np.linalg.det(turn) > 0 else -turn


def _any_turn(rng: np.random.Generator) -> np.ndarray:
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    return turn if np.linalg.det(turn) > 0 else -turn


def _turned(solid: Solid, turn: np.ndarray) -> Solid:
    return solid.transform(np.column_stack([turn, np.zeros(3)]))


def _moved(solid: Solid, motion: np.ndarray) -> Solid:
    return solid.transform(motion[:3])


def _motion(turn: np.ndarray, shift: np.ndarray) -> np.ndarray:
    made = np.eye(4)
    made[:3, :3], made[:3, 3] = turn, shift
    return made


def _put(part: LoosePart, turn: np.ndarray, at: tuple[float, ...]) -> LoosePart:
    return replace(part, place=_motion(turn, np.array(at)) @ part.place)


def _mirrored(motion: np.ndarray) -> np.ndarray:
    flip = np.diag([1.0, -1.0, 1.0, 1.0])
    made: np.ndarray = flip @ motion @ flip
    return made
