"""Meshes in every format that is read here: damaged, or changed so that the answer is known.

Oracles outside the readers: finite numbers, no volume beyond the box, mass as the sum of its layers; facets
in another order, a turn, another unit leave volume and mass alone; a second body doubles both; files in
another order are read alike. Lines of the fill stand still where the part is turned or has a neighbour: there
alone the mass may differ by more than rounding.
"""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from planner.estimate.part import estimate_part
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import read_file, read_meshes
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests import builders as build
from tests.campaign.bytewise import damaged
from tests.campaign.feedback import Pool, Step, traced
from tests.campaign.near import near
from tests.step_box import step_box_bytes

LIMITS = Limits(triangles=20_000, objects=50, archive_bytes=5_000_000, archive_entries=50)
FILAMENT = Filament("PLA", "PLA", 1.24, 1.24)
PART = Part("p", "p", "s", Recipe("plain"), "PLA")
ROUNDED = 1e-6  # of volume and mass: some formats keep seven digits
LAYER = 0.01  # of mass in another unit: a height that is rounded may reach one layer more
FILLED = 0.01  # of mass, where the lines of the fill fall elsewhere on the part; or, if that is more,
FILLED_MM = 1.0  # of bead on each layer: on a part of a quarter of a gram one line counts
LARGEST_MM = 1e3  # of what is estimated here; larger is set aside by its size, or takes longer
MODEL = "3D/3dmodel.model"
AS_IT_IS = 0.01  # of the readers that have a process of their own, in one that is started anew

Numbers = tuple[float, float]  # volume of the solid, mass
Asks = Callable[[bytes], str]
Drawn = tuple[str, str, bytes, Asks]


def _threemf(mesh: TriangleMesh) -> bytes:
    return build.threemf_bytes(build.threemf_object(1, mesh), '<item objectid="1"/>')


def _model(mesh: TriangleMesh) -> bytes:
    """The model of a package, which may be damaged without harm to the archive."""
    with zipfile.ZipFile(io.BytesIO(_threemf(mesh))) as archive:
        return archive.read(MODEL)


def _exported(kind: str) -> Callable[[TriangleMesh], bytes]:
    def written(mesh: TriangleMesh) -> bytes:
        made = mesh.to_trimesh().export(file_type=kind)
        return made.encode() if isinstance(made, str) else bytes(made)

    return written


FORMATS: tuple[tuple[str, Callable[[TriangleMesh], bytes], float], ...] = (
    (".stl", build.stl_bytes, 0.25),
    (".stl", build.ascii_stl_bytes, 0.19),
    (".obj", build.obj_bytes, 0.21),
    (".3mf", _threemf, 0.1),
    (".model", _model, 0.17),  # damaged before it is packed
    (".ply", _exported("ply"), 0.024),
    (".off", _exported("off"), 0.024),
    (".glb", _exported("glb"), 0.024),
    (".step", lambda mesh: step_box_bytes(*mesh.extents), 0.008),
)
_SHARES = np.array([share for _, _, share in FORMATS])


def warm_meshes() -> None:
    """Compile and load: one estimate, one file of each format."""
    numbers(build.box(9, 9, 9).triangles)
    with near():
        for suffix, written, _ in FORMATS:
            read(written(build.box(9, 8, 7)), suffix)


def shape(rng: np.random.Generator) -> TriangleMesh:
    """A small solid of few facets."""
    size = rng.uniform(6.0, 24.0, 3)
    kind = int(rng.integers(4))
    if kind == 0:
        return build.box(*size)
    if kind == 1:
        return build.tube(size[0] + 8.0, size[0] + 3.0, size[2], 12)
    if kind == 2:
        return build.cone(size[0], size[2], n=8)
    return build.aerofoil_slab(30.0 + size[0], size[1], n=6)


def read(data: bytes, suffix: str) -> np.ndarray:
    """All triangles of a file, in its unit."""
    if suffix == ".model":
        data, suffix = _packed(data), ".3mf"
    raws = read_file(data, suffix, LIMITS)
    return np.concatenate([np.asarray(raw.triangles, dtype=np.float64) for raw in raws])


def numbers(triangles: np.ndarray) -> Numbers:
    """Estimate; numbers that cannot be are told as an assertion."""
    mesh = TriangleMesh(np.asarray(triangles, dtype=np.float64))
    found = estimate_part(mesh, PART, FILAMENT, {"one": Motion()})
    values = np.array([found.solid_volume_mm3, found.mass_g, found.volume_mm3, *found.centroid_mm])
    assert np.isfinite(values).all(), "a number is none"
    assert (values[:3] >= 0.0).all(), "a volume or a mass is below zero"
    wide, deep, high = np.ptp(mesh.bounds, axis=0)
    rounded = high + PART.recipe.layer_height_mm  # the last layer is counted whole
    # A surface with holes has no inside of its own; where it is closed by a guess, that must be told.
    guessed = any("volume and minutes near it are a guess" in finding.text for finding in found.findings)
    most = wide * deep * rounded * 1.0001 + 1e-6
    assert values[0] <= most or guessed, "more than its box holds"
    layers = float(found.layers.volume_mm3.sum()) * FILAMENT.solid_g_per_cm3 / 1000.0
    assert abs(layers - values[1]) <= 1e-6 * values[1] + 1e-9, "the mass is not the sum of its layers"
    return float(values[0]), float(values[1])


def damaged_mesh(rng: np.random.Generator, pool: Pool) -> Drawn:
    """A file with one to four damages; one of the pool, or a sound one."""
    suffix, written, _ = FORMATS[int(rng.choice(len(FORMATS), p=_SHARES))]
    data = damaged(rng, pool.begin(rng, suffix, written(shape(rng))))
    as_it_is = bool(rng.random() < AS_IT_IS)

    def asks(data: bytes) -> str:
        taken: set[Step] = set()
        try:
            with near(as_it_is=as_it_is), traced(taken):
                triangles = read(data, suffix)
        finally:
            pool.look(suffix, data, taken)
        if not len(triangles) or not np.isfinite(triangles).all():
            return "set aside"
        if not 0.0 < np.abs(triangles).max() < LARGEST_MM:
            return "set aside"
        numbers(triangles)
        return "estimate"

    return "damaged", suffix, data, asks


def related_mesh(rng: np.random.Generator) -> Drawn:
    """A file whose answer follows from that of another one."""
    suffix, written, _ = FORMATS[int(rng.choice(len(FORMATS) - 1, p=_SHARES[:-1] / _SHARES[:-1].sum()))]
    mesh = shape(rng)
    kind = ("order", "turn", "unit", "twice", "files")[int(rng.integers(5))]
    if kind == "files":
        other = _packed(written(shape(rng))) if suffix == ".model" else written(shape(rng))
        name = ".3mf" if suffix == ".model" else suffix
        first = _packed(written(mesh)) if suffix == ".model" else written(mesh)
        return kind, name, first, lambda data: _in_any_order(data, other, name)
    changed, factor, times = _changed(rng, mesh, kind, suffix)
    plain = written(mesh)

    def asks(data: bytes) -> str:
        with near():
            one, two = numbers(read(plain, suffix)), numbers(read(data, suffix) * factor)
        high = np.ptp(mesh.triangles[:, :, 1 if suffix == ".glb" else 2])
        allowed = ROUNDED * times * one[0], times * mass_apart(kind, one[1], float(high))
        for name, before, after, apart in zip(("volume", "mass"), one, two, allowed, strict=True):
            assert abs(after - times * before) <= apart, f"{name} {before:.6g} became {after:.6g}"
        return "estimate"

    return kind, suffix, written(changed), asks


def mass_apart(kind: str, mass_g: float, high_mm: float) -> float:
    """Grams that a mass of that kind may be off where its answer is known."""
    if kind in ("order", "unit"):
        return (ROUNDED if kind == "order" else LAYER) * mass_g
    recipe = PART.recipe
    bead_g_per_mm = recipe.layer_height_mm * recipe.bead_width_mm * FILAMENT.solid_g_per_cm3 / 1000.0
    return max(FILLED * mass_g, FILLED_MM * bead_g_per_mm * np.ceil(high_mm / recipe.layer_height_mm))


_TURN = np.array([[0.0, 1, 0], [-1, 0, 0], [0, 0, 1]])  # a quarter about z
_TURN_Y = np.array([[0.0, 0, -1], [0, 1, 0], [1, 0, 0]])  # about y, which looks up in some formats


def _changed(
    rng: np.random.Generator, mesh: TriangleMesh, kind: str, suffix: str
) -> tuple[TriangleMesh, float, float]:
    """The changed mesh, the factor that undoes its unit, the factor on the answer."""
    triangles = mesh.triangles
    if kind == "order":
        return (
            TriangleMesh(np.roll(triangles[rng.permutation(len(triangles))], int(rng.integers(3)), axis=1)),
            1.0,
            1.0,
        )
    if kind == "turn":
        return TriangleMesh(triangles @ (_TURN_Y if suffix == ".glb" else _TURN)), 1.0, 1.0
    if kind == "unit":
        return TriangleMesh(triangles / 25.4), 25.4, 1.0
    apart = 5.0 + float(np.ptp(mesh.bounds[:, 0]))
    return build.joined(mesh, build.moved(mesh, apart)), 1.0, 2.0


def _in_any_order(data: bytes, other: bytes, suffix: str) -> str:
    with tempfile.TemporaryDirectory() as name, near():
        one, two = Path(name) / f"one{suffix}", Path(name) / f"two{suffix}"
        one.write_bytes(data)
        two.write_bytes(other)
        found = [read_meshes(paths, limits=LIMITS) for paths in ((one, two), (two, one))]
        told = [[(record.name, record.content_hash) for record in folder.meshes] for folder in found]
        assert told[0] == told[1], "the order of the files counts"
        assert len(told[0]) + len(found[0].set_aside) >= 2, "a mesh is lost"
    return "read"


def _packed(data: bytes) -> bytes:
    return build.package_bytes({MODEL: data.decode("latin-1")})
