"""A raw kit by its seed: loose meshes in print pose with names in a style, and what each of them is.

A wing in panels that stand on their roots, a fuselage in segments that stand on their front ends, tail
panels, ribs, two noses to choose from, and what shall not be printed: a trial piece, an older version.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import manifold3d
import numpy as np

from tests.builders import aerofoil, stl_bytes
from tests.kits import shapes

Solid = manifold3d.Manifold
STYLES = ("en", "camel", "de", "es", "fr", "it", "pl", "pt", "nl")
_WORDS = {  # wing, left, right, fuselage, tailplane, fin, rib, nose
    "en": ("wing {n} {hand}", "left", "right", "fuselage {n}", "stab {hand}", "fin", "rib {n}", "nose"),
    "camel": ("WingPanel{n}{Hand}", "left", "right", "Fuselage{n}", "Stabilizer{Hand}", "Fin", "WingRib{n}",
              "Nose"),
    "de": ("Flügel {n} {hand}", "links", "rechts", "Rumpf {n}", "Höhenleitwerk {hand}", "Seitenleitwerk",
           "Rippe {n}", "Nase"),
    "es": ("ala {n} {hand}", "izquierda", "derecha", "fuselaje {n}", "estabilizador {hand}", "deriva",
           "costilla {n}", "nariz"),
    "fr": ("aile {n} {hand}", "gauche", "droite", "fuselage {n}", "stabilo {hand}", "dérive", "nervure {n}",
           "nez"),
    "it": ("ala {n} {hand}", "sinistra", "destra", "fusoliera {n}", "stabilizzatore {hand}", "deriva",
           "centina {n}", "muso"),
    "pl": ("skrzydło {n} {hand}", "lewe", "prawe", "kadłub {n}", "statecznik {hand}", "ogon", "żebro {n}",
           "kabina"),
    "pt": ("asa {n} {hand}", "esquerda", "direita", "fuselagem {n}", "leme {hand}", "cauda", "nervura {n}",
           "nariz"),
    "nl": ("vleugel {n} {hand}", "links", "rechts", "romp {n}", "stabilo {hand}", "kielvlak", "rib {n}",
           "neus"),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class RawPart:
    """One file, and what it is.

    ``order`` is its place in the stack of its section, ``choice`` the nose that it is.
    """

    file: str
    solid: Solid
    section: str
    order: int | None = None
    choice: str | None = None
    unwanted: bool = False


def raw_kit(seed: int, style: str) -> tuple[RawPart, ...]:
    """A kit of 15 to 40 files; the same seed and style give the same files."""
    rng = np.random.default_rng(seed)
    wing, left, right, hull, stab, fin, rib, nose = _WORDS[style]
    made: list[RawPart] = []
    for hand, side in ((left, "left wing"), (right, "right wing")):
        own = np.random.default_rng(seed + 1)
        made += _panels(own, wing, hand, side)
    made += _segments(rng, hull, nose)
    panel = shapes.tail_panel(90.0, 60.0, 120.0)
    for hand, solid in ((left, panel), (right, panel.mirror((0.0, 1.0, 0.0)))):
        made.append(RawPart(_named(stab, hand=hand), solid, "tail"))
    made.append(RawPart(_named(fin), shapes.tail_panel(100.0, 70.0, 140.0), "tail"))
    for n in range(int(rng.integers(3, 12))):
        made.append(RawPart(_named(rib, n=n + 1), shapes.rib(float(rng.uniform(80, 160)), 2.4), "wing"))
    made.append(RawPart(_named(rib, n=1).replace(".stl", "_v2.stl"), shapes.rib(93.0, 2.4), "wing"))
    made.append(RawPart("test cube.stl", shapes.block(20.0, 20.0, 20.0), "", unwanted=True))
    first = next(part for part in made if part.file == _named(rib, n=1))
    made[made.index(first)] = RawPart(first.file, first.solid, "wing", unwanted=True)
    return tuple(made)


def write(kit: tuple[RawPart, ...], folder: Path) -> Path:
    """The files in a folder that is made for them."""
    folder.mkdir(parents=True, exist_ok=True)
    for part in kit:
        (folder / part.file).write_bytes(stl_bytes(shapes.mesh_of(part.solid)))
    return folder


def names_of(style: str, sort: str, n: int, hand: str, choice: str) -> str:
    """The file of a part in a style: ``sort`` is what it is, ``n`` counts its like from 1."""
    wing, left, right, hull, stab, fin, rib, nose = _WORDS[style]
    side = {"left": left, "right": right}.get(hand, "")
    pattern = {
        "wing": wing, "tail": f"{stab} {{n}}", "fin": fin, "fuselage": hull, "rib": rib,
        "nose": f"{nose} {choice}".strip(),
        "whole": wing.replace("{hand}", right).replace("{Hand}", right.capitalize()).replace("{n}", "whole"),
        "trial": "test cube", "clip": "clip {n}", "mount": "motor mount",
    }[sort]  # fmt: skip
    return _named(pattern, n=n, hand=side)


def _named(pattern: str, n: int = 0, hand: str = "") -> str:
    return pattern.format(n=n, hand=hand, Hand=hand.capitalize()).replace(" ", "_") + ".stl"


def _panels(rng: np.random.Generator, pattern: str, hand: str, side: str) -> list[RawPart]:
    """Panels that taper and follow one another; in wing coordinates, x aft from the root's leading edge."""
    chord, many = float(rng.uniform(140.0, 200.0)), int(rng.integers(2, 5))
    straight = bool(rng.random() < 0.3)
    found = []
    for n in range(many):
        taper = 1.0 if straight else float(rng.uniform(0.8, 0.95))
        outline = manifold3d.CrossSection([aerofoil(chord, 0.12, 60).tolist()])
        solid = outline.extrude(float(rng.uniform(80.0, 160.0)), 8, 0.0, (taper, taper))
        if side.startswith("left"):
            solid = solid.mirror((0.0, 1.0, 0.0))
        found.append(RawPart(_named(pattern, n=n + 1, hand=hand), solid, side, order=n))
        chord *= taper
    return found


def _segments(rng: np.random.Generator, pattern: str, nose: str) -> list[RawPart]:
    """Segments that stand on their front ends, and two noses that stand on their joint."""
    width, many = float(rng.uniform(50.0, 80.0)), int(rng.integers(2, 5))
    found = []
    for choice, long in (("plain", 60.0), ("camera", 75.0)):
        solid = manifold3d.CrossSection.circle(width / 2.0, 96).extrude(long, 6, 0.0, (0.35, 0.35))
        found.append(RawPart(_named(f"{nose} {choice}"), solid, "fuselage", choice=choice))
    for n in range(many):
        taper = float(rng.uniform(0.85, 1.0))
        ring = manifold3d.CrossSection.circle(width / 2.0, 96).scale((1.0, 1.2))
        inner = manifold3d.CrossSection.circle(width / 2.0 - 2.0, 96).scale((1.0, 1.2))
        solid = (ring - inner).extrude(float(rng.uniform(80.0, 150.0)), 6, 0.0, (taper, taper))
        found.append(RawPart(_named(pattern, n=n + 1), solid, "fuselage", order=n))
        width *= taper
    return found
