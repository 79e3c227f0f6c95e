"""Deposits kept by the content of what they were made from."""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import os
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from planner.errors import PlannerError
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import Pose
from planner.model.deposit import Deposit, Layers
from planner.model.filament import Filament
from planner.model.finding import Finding
from planner.model.part import Part
from planner.model.printer import Motion
from planner.model.recipe import Recipe

_ROOMS = ("geometry", "model", "estimate")
# What a filament is bought for, kept for and said of changes no deposit.
_SILENT = {
    "name", "price_minor", "spool_g", "spread_shared", "spread_piece", "notes", "source", "softening_c",
    "unattended_run", "unattended_start", "watch_minutes", "material", "brittle",
    "away", "nozzle_mm", "hardened_nozzle", "plate", "needs_drying", "open_hours",
}  # fmt: skip
_UNHEARD = {"name", "source", "nozzle_mm", "plate"}  # of a recipe
_PLAIN = (
    "part", "mass_g", "filament_m", "pose_reason", "extents_mm", "solid_volume_mm3", "centroid_mm",
    "centroid_in_mesh_mm", "footprint_mm", "first_layer_area_mm2", "triangles", "watertight", "surface_mm2",
    "inside_holes", "mesh_low_mm", "mesh_extents_mm", "inertia_g_mm2", "support_s",
)  # fmt: skip
_POINTS = (
    "extents_mm", "centroid_mm", "centroid_in_mesh_mm", "mesh_low_mm", "mesh_extents_mm", "inertia_g_mm2",
)  # fmt: skip


class DepositCache(Protocol):
    """Where deposits are kept; a miss is ``None``, never an error."""

    def get(self, key: str) -> Deposit | None:
        """The deposit kept under the key."""
        ...

    def put(self, key: str, deposit: Deposit) -> None:
        """Keep a deposit; failing to do so must not disturb the work."""
        ...


@cache
def engine() -> str:
    """Hash of the code that makes deposits: other code may give other numbers for the same input."""
    return code_hash(Path(__file__).resolve().parents[1])


def code_hash(package: Path, rooms: Sequence[str] = _ROOMS) -> str:
    """Hash of every file of the rooms (those that make deposits), however deep it lies."""
    digest = hashlib.blake2b(digest_size=16)
    whole = [package / room for room in rooms]
    files = {path for room in whole for path in ([room] if room.suffix else room.rglob("*.py"))}
    for file in sorted(files):
        digest.update(file.relative_to(package).as_posix().encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()


def deposit_key(mesh: TriangleMesh, part: Part, filament: Filament, motions: Mapping[str, Motion]) -> str:
    """Hash of what a deposit depends on: facets, pose, recipe, filament, motions; no names, no prices."""
    rest = [
        engine(),
        mesh.digest,
        part.pose.rotation,
        _recipe(part.recipe),
        _filament(filament),
        {k: _motion(m) for k, m in sorted(motions.items())},
    ]
    return hashlib.blake2b(json.dumps(rest, sort_keys=True).encode(), digest_size=20).hexdigest()


@lru_cache(maxsize=1024)  # a folder of many parts has few recipes
def _recipe(recipe: Recipe) -> Mapping[str, Any]:
    return {k: v for k, v in asdict(recipe).items() if k not in _UNHEARD}


@lru_cache(maxsize=1024)
def _filament(filament: Filament) -> Mapping[str, Any]:
    return {k: v for k, v in asdict(filament).items() if k not in _SILENT}


@lru_cache(maxsize=256)
def _motion(motion: Motion) -> Mapping[str, Any]:
    return asdict(motion)


def named(deposit: Deposit, part: Part) -> Deposit:
    """The same deposit under the names of another part."""
    found = tuple(replace(f, about=part.mesh) for f in deposit.findings)
    return replace(deposit, part=part.name, findings=found)


class MemoryCache:
    """Deposits of this run."""

    def __init__(self) -> None:
        self._kept: dict[str, Deposit] = {}

    def get(self, key: str) -> Deposit | None:
        """The deposit kept under the key."""
        return self._kept.get(key)

    def put(self, key: str, deposit: Deposit) -> None:
        """Keep a deposit."""
        self._kept[key] = deposit


class FolderCache:
    """One file a deposit in a folder that may be deleted at any time.

    Files are written beside their place and then moved there; what cannot be read is a miss.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def get(self, key: str) -> Deposit | None:
        """The deposit kept under the key, ``None`` where the file is missing or damaged."""
        try:
            path = self._folder / f"{key}.npz"
            with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as kept:
                deposit = _read(kept)
            path.touch()  # so that `cache_trim` knows what is in use
            return deposit
        except (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile, PlannerError):
            return None

    def put(self, key: str, deposit: Deposit) -> None:
        """Keep a deposit; a full or locked disk only means that it is not kept."""
        spare = self._folder / f"{key}.{os.getpid()}.part"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            with spare.open("wb") as file:
                np.savez(file, **_written(deposit))
            spare.replace(self._folder / f"{key}.npz")
        except OSError:
            with contextlib.suppress(OSError):
                spare.unlink(missing_ok=True)


def _written(deposit: Deposit) -> dict[str, Any]:
    plain: dict[str, Any] = {name: getattr(deposit, name) for name in _PLAIN}
    plain["support_s"] = dict(deposit.support_s)
    plain["pose"] = deposit.pose.rotation
    plain["findings"] = [asdict(f) for f in deposit.findings]
    plain["kinds"] = list(deposit.seconds)
    arrays = {f.name: getattr(deposit.layers, f.name) for f in fields(Layers)}
    seconds = {f"seconds_{i}": column for i, column in enumerate(deposit.seconds.values())}
    text = np.frombuffer(json.dumps(plain).encode(), dtype=np.uint8)
    return {**arrays, **seconds, "plain": text}


def _read(kept: Any) -> Deposit:
    plain = json.loads(kept["plain"].tobytes())
    kinds = plain.pop("kinds")
    pose = Pose(tuple(plain.pop("pose")))
    findings = tuple(Finding(**{**f, "others": tuple(f["others"])}) for f in plain.pop("findings"))
    layers = Layers(**{f.name: np.array(kept[f.name], dtype=np.float64) for f in fields(Layers)})
    seconds = {kind: np.array(kept[f"seconds_{i}"], dtype=np.float64) for i, kind in enumerate(kinds)}
    for name in _POINTS:
        plain[name] = tuple(plain[name])
    plain["footprint_mm"] = tuple((x, y) for x, y in plain["footprint_mm"])
    plain["inside_holes"] = tuple(tuple((x, y) for x, y in hole) for hole in plain["inside_holes"])
    return Deposit(layers=layers, seconds=seconds, pose=pose, findings=findings, **plain)
