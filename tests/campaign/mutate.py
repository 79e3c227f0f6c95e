"""Meshes in every format that is read here, changed by seed: damaged, or changed so that the answer is known.

Oracles outside the reader: a damaged file is refused in a sentence or gives finite numbers within its box;
facets in another order, a quarter turn, another unit leave volume and mass alone; a second body doubles both.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from planner.errors import PlannerError
from planner.estimate.part import estimate_part
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import read_file
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests import builders as build
from tests.campaign.case import Case

LIMITS = Limits(triangles=50_000, objects=50, archive_bytes=5_000_000, archive_entries=50)
FILAMENT = Filament("PLA", "PLA", 1.24, 1.24)
PART = Part("p", "p", "s", Recipe("plain"), "PLA")
LONGEST_S = 15.0
SAME = 0.01  # of mass, where the answer is known: layers and beads fall elsewhere after a turn
_WORDS = (b"nan", b"-1", b"1e308", b"99999999999999999999", b"", b"\0", b"\xff", b"_", b"<x>", b"endsolid\n")

Numbers = tuple[float, float]  # volume of the solid, mass


def _threemf(mesh: TriangleMesh) -> bytes:
    return build.threemf_bytes(build.threemf_object(1, mesh), '<item objectid="1"/>')


FORMATS: tuple[tuple[str, Callable[[TriangleMesh], bytes]], ...] = (
    (".stl", build.stl_bytes),
    (".stl", build.ascii_stl_bytes),
    (".obj", build.obj_bytes),
    (".3mf", _threemf),
)


def _shape(rng: np.random.Generator) -> TriangleMesh:
    size = rng.uniform(8.0, 40.0, 3)
    made = (
        build.box(*size),
        build.tube(size[0] + 10.0, size[0] + 4.0, size[2], 24),
        build.cone(size[0], size[2], n=16),
        build.aerofoil_slab(40.0 + size[0], size[1], n=10),
    )
    return made[int(rng.integers(len(made)))]


def _numbers(triangles: np.ndarray) -> Numbers:
    """Estimate; numbers that cannot be are told as an assertion."""
    mesh = TriangleMesh(np.asarray(triangles, dtype=np.float64))
    found = estimate_part(mesh, PART, FILAMENT, {"one": Motion()})
    values = np.array([found.solid_volume_mm3, found.mass_g, found.volume_mm3, *found.centroid_mm])
    assert np.isfinite(values).all(), "a number is none"
    assert (values[:3] >= 0.0).all(), "a volume or a mass is below zero"
    wide, deep, high = np.ptp(mesh.bounds, axis=0)
    rounded = high + PART.recipe.layer_height_mm  # the last layer is counted whole
    assert values[0] <= wide * deep * rounded * 1.0001 + 1e-6, "more than its box holds"
    return float(values[0]), float(values[1])


def _read(data: bytes, suffix: str) -> np.ndarray:
    raws = read_file(data, suffix, LIMITS)
    return np.concatenate([np.asarray(raw.triangles, dtype=np.float64) for raw in raws])


def _damaged(rng: np.random.Generator, data: bytes) -> bytes:
    made = bytearray(data)
    for _ in range(int(rng.integers(1, 4))):
        at = int(rng.integers(len(made)))
        if rng.random() < 0.5:
            made[at] ^= int(rng.integers(1, 256))
        else:
            made[at : at + int(rng.integers(0, 6))] = _WORDS[int(rng.integers(len(_WORDS)))]
    return bytes(made)


def _same_answer(rng: np.random.Generator, mesh: TriangleMesh) -> tuple[str, TriangleMesh, float, float]:
    """What was changed, the changed mesh, the factor that undoes its unit, the factor on the answer."""
    kind = ("order", "turn", "unit", "twice")[int(rng.integers(4))]
    triangles = mesh.triangles
    if kind == "order":
        turned = np.roll(triangles[rng.permutation(len(triangles))], int(rng.integers(3)), axis=1)
        return kind, TriangleMesh(turned), 1.0, 1.0
    if kind == "turn":
        return kind, TriangleMesh(triangles @ np.array([[0.0, 1, 0], [-1, 0, 0], [0, 0, 1]])), 1.0, 1.0
    if kind == "unit":
        return kind, TriangleMesh(triangles / 25.4), 25.4, 1.0
    apart = 5.0 + float(np.ptp(mesh.bounds[:, 0]))
    return kind, build.joined(mesh, build.moved(mesh, apart)), 1.0, 2.0


def case(number: int, seed: int) -> Case:
    """One changed mesh."""
    rng = np.random.default_rng([seed, number])
    began = time.process_time()
    suffix, written = FORMATS[int(rng.integers(len(FORMATS)))]
    mesh, reached, fault, what = _shape(rng), "refused", "", "damaged"
    try:
        if rng.random() < 0.5:
            triangles = _read(_damaged(rng, written(mesh)), suffix)
            if np.isfinite(triangles).all() and 0.0 < np.abs(triangles).max() < 1e4:
                _numbers(triangles)
                reached = "estimate"
            else:
                reached = "set aside"
        else:
            what, changed, factor, times = _same_answer(rng, mesh)
            plain = _numbers(_read(written(mesh), suffix))
            other = _numbers(_read(written(changed), suffix) * factor)
            reached = "estimate"
            for name, one, two in zip(("volume", "mass"), plain, other, strict=True):
                if abs(two - times * one) > SAME * times * one:
                    fault = f"{name} {one:.6g} became {two:.6g}"
    except PlannerError as error:
        fault = "" if 0 < len(str(error)) <= 500 else "refused without a sentence"
    except Exception as error:
        fault = f"{type(error).__name__}: {error}"[:300]
    seconds = time.process_time() - began
    if seconds > LONGEST_S:
        fault = fault or f"took {seconds:.0f} s"
    return Case("mutate", number, f"{what} {suffix}", reached, fault, seconds)
