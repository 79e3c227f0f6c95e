"""Small mesh files damaged at random, by seed: no crash, no hang, no number that is none.

Whatever comes out of a damaged file is either an error of ours or a mesh that every later stage can
take. ``STAGES`` are run on each mesh that survives; a stage that is added here is fuzzed too.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import fields

import numpy as np
import pytest

from planner.errors import PlannerError
from planner.estimate.part import estimate_part
from planner.geometry.mesh.health import Health, examine
from planner.geometry.mesh.measure import measures
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import read_file
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests import builders as build

FEW, MANY = 300, 10_000
SECONDS_EACH = 10.0  # a mutant of a few kilobytes takes milliseconds; this is a hang
LIMITS = Limits(triangles=20_000, objects=50, archive_bytes=5_000_000, archive_entries=50)
_TURNED = "0 1 0 -1 0 0 0 0 1 5 5 5"
_HOLLOW = build.joined(build.box(9, 9, 9), build.inward(build.box(2, 2, 2, (3, 3, 3))))
_PAIR = (
    '<object id="3"><components><component objectid="1"/>'
    f'<component objectid="2" transform="{_TURNED}"/></components></object>'
)
_OBJECTS = build.threemf_object(1, build.box(1, 2, 3)) + build.threemf_object(2, build.cone(4, 5, 6)) + _PAIR
_MODEL = (
    f'<model unit="inch" xmlns="{build.THREEMF_NAMESPACE}"><resources>{_OBJECTS}</resources>'
    f'<build><item objectid="3"/><item objectid="1" transform="{_TURNED}"/></build></model>'
)
SEEDS: tuple[tuple[str, bytes], ...] = (
    (".stl", build.stl_bytes(_HOLLOW, b"solid maybe")),
    (".stl", build.stl_bytes(build.tube(20, 15, 10, n=8))),
    (".stl", build.ascii_stl_bytes(build.cone(10, 20, n=5))),
    (".obj", build.obj_bytes(build.aerofoil_slab(100, 30, n=6)) + b"o two\nf 1/1/1 2//2 -1 -2\n"),
    (".3mf", build.package_bytes({"3D/3dmodel.model": _MODEL})),
    (".model", _MODEL.encode()),  # damaged before it is packed, so that the archive stays sound
)
FILAMENT = Filament("PLA", "PLA", 1.24, 1.24)
RECIPES = (
    Recipe("plain"),
    Recipe("thin", walls=1, infill=0.0, layer_height_mm=0.3),
    Recipe("spiral", spiral=True),
    Recipe("held", walls=3, infill=0.4, brim_mm=5.0, support="everywhere"),
)
_WORDS = (b"nan", b"inf", b"-1", b"0", b"1e308", b"1e-320", b"99999999999", b"", b"\0", b"\xff", b"f 1 2 3\n")


def _run_examine(mesh: TriangleMesh) -> None:
    health = examine(mesh)
    for field in fields(Health):
        value = getattr(health, field.name)
        assert field.name == "mesh" or np.isfinite(value), field.name
    assert np.isfinite([health.distance, health.single_step]).all()
    assert health.volume >= 0 or health.cavities or not health.compared


def _run_measures(mesh: TriangleMesh) -> None:
    found = measures(mesh)
    assert np.isfinite([found.volume, found.area, *found.centroid, *found.inertia.ravel()]).all()


def _run_estimate(mesh: TriangleMesh) -> None:
    """Finite and not negative, layer by layer; nothing deposited is never passed over in silence."""
    recipe = RECIPES[len(mesh) % len(RECIPES)]
    deposit = estimate_part(mesh, Part("p", "p", "s", recipe, "PLA"), FILAMENT, {"one": Motion()})
    layers = [getattr(deposit.layers, field.name) for field in fields(deposit.layers)]
    for column in (*layers, *deposit.seconds.values()):
        assert np.isfinite(column).all()
        assert (np.asarray(column) >= -1e-9).all()
    places = [*deposit.centroid_mm, *deposit.centroid_in_mesh_mm, *deposit.inertia_g_mm2, *deposit.extents_mm]
    outlines = [point for ring in (deposit.footprint_mm, *deposit.inside_holes) for point in ring]
    sizes = [deposit.mass_g, deposit.filament_m, deposit.solid_volume_mm3, deposit.surface_mm2]
    assert np.isfinite([*places, *sizes, *np.ravel(outlines)]).all()
    assert deposit.mass_g > 0.0 or any(finding.weight == "fault" for finding in deposit.findings)


STAGES: tuple[Callable[[TriangleMesh], None], ...] = (_run_examine, _run_measures, _run_estimate)


def _damaged(data: bytes, rng: np.random.Generator) -> bytes:
    """One to four random damages: bits, bytes, words, cuts, repeats, swaps."""
    made = bytearray(data)
    digits = bool(rng.random() < 0.5)  # text stays readable when only its digits change
    for _ in range(int(rng.integers(1, 5))):
        if not made:
            break
        if digits:
            _change_digits(made, rng)
            continue
        at, to = sorted(int(place) for place in rng.integers(0, len(made) + 1, 2))
        kind = int(rng.integers(0, 8))
        at = min(at, len(made) - 1)
        if kind == 0:
            made[at] ^= 1 << int(rng.integers(0, 8))
        elif kind == 1:
            made[at : at + 4] = rng.bytes(4)
        elif kind == 2:
            del made[at : min(to, at + 64)]
        elif kind == 3:
            made[at:at] = made[at : min(to, at + 200)]
        elif kind == 4:
            made[at : at + int(rng.integers(0, 8))] = _WORDS[int(rng.integers(0, len(_WORDS)))]
        elif kind == 5:
            del made[to:]
        elif kind == 6:
            made[at : at + 4] = np.float32(rng.choice([np.nan, np.inf, 1e38, -1e-40, 0.0])).tobytes()
        else:
            other = int(rng.integers(0, len(made)))
            made[at], made[other] = made[other], made[at]
    return bytes(made)


def _change_digits(made: bytearray, rng: np.random.Generator) -> None:
    """Put another digit, a sign or an exponent where a digit was."""
    places = [k for k, byte in enumerate(made) if 48 <= byte <= 57]
    for place in rng.choice(places, 3) if places else []:
        made[place] = int(rng.choice(list(b"0123456789" * 4 + b"-e.")))


def _run(seed: int) -> str:
    rng = np.random.default_rng(seed)
    suffix, data = SEEDS[seed % len(SEEDS)]
    mutant = _damaged(data, rng)
    if suffix == ".model":
        suffix = ".3mf"
        mutant = build.package_bytes({"3D/3dmodel.model": mutant.decode("latin-1")})
    began = time.process_time()  # of this process, whatever else the machine does
    try:
        outcome = "read"
        for raw in read_file(mutant, suffix, LIMITS):
            mesh = TriangleMesh(raw.triangles)
            if np.abs(mesh.bounds).max() > 1e9:  # the folder reader sets these aside
                continue
            for stage in STAGES:
                stage(mesh)
    except PlannerError as error:
        outcome = "refused" if str(error).strip() else "refused without a word"
    assert time.process_time() - began < SECONDS_EACH
    return outcome


@pytest.fixture(autouse=True, scope="module")
def _compiled() -> None:
    """Compiled passes may be made anew on their first use; that is no hang."""
    for recipe in RECIPES:
        estimate_part(build.box(9, 9, 9), Part("p", "p", "s", recipe, "PLA"), FILAMENT, {"one": Motion()})


def test_three_hundred_damaged_files_do_no_harm() -> None:
    """And both outcomes occur, so that the fuzz reaches past the readers."""
    outcomes = [_run(seed) for seed in range(FEW)]
    assert set(outcomes) == {"read", "refused"}
    assert outcomes.count("read") > FEW // 20
    assert outcomes.count("refused") > FEW // 20


@pytest.mark.slow
def test_ten_thousand_damaged_files_do_no_harm() -> None:
    """The same, for longer."""
    assert {_run(seed) for seed in range(FEW, FEW + MANY)} == {"read", "refused"}
