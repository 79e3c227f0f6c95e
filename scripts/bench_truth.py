"""Estimates against what is true: every bead of forty parts, and of support, drawn and timed."""

from __future__ import annotations

import statistics
import sys
import time
from functools import partial
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # the maker of toolpaths lives with the tests

from bench_row import row

from planner.estimate.part import estimate_part
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests.slow_support import PROPPED, slow_support
from tests.toolpaths.generate import toolpath
from tests.toolpaths.machines import machine_of
from tests.toolpaths.parts import PARTS, TruePart
from tests.toolpaths.seconds import path_seconds

_row = partial(row, "truth")
FILAMENT = Filament("PLA", "PLA", 1.24, 1.24)
MOTION = Motion()
SUPPORT_EACH = 5.0
VOLUME_EACH, VOLUME_MEDIAN, MINUTES_EACH, MINUTES_MEDIAN = 1.0, 0.3, 5.0, 2.0


def rows() -> list[dict[str, Any]]:
    """One row a part and measure, then the medians and the worst."""
    out, volumes, minutes = [], [], []
    for part in PARTS:
        begun = time.perf_counter()
        volume, seconds, note = compared(part)
        took = time.perf_counter() - begun
        volumes.append(volume)
        minutes.append(seconds)
        out.append(_row(f"volume, {part.name}", abs(volume), "%", VOLUME_EACH, took, note))
        out.append(_row(f"minutes, {part.name}", abs(seconds), "%", MINUTES_EACH, 0.0, f"{seconds:+.2f} %"))
    for name, found, each, middle in (
        ("volume", volumes, VOLUME_EACH, VOLUME_MEDIAN),
        ("minutes", minutes, MINUTES_EACH, MINUTES_MEDIAN),
    ):
        spread = [abs(value) for value in found]
        inside = sum(value <= each for value in spread)
        note = f"{inside} of {len(found)} within {each:g} %; signed median {statistics.median(found):+.2f} %"
        out.append(
            _row(f"{name}, median of {len(found)} parts", statistics.median(spread), "%", middle, 0.0, note)
        )
        out.append(_row(f"{name}, worst of {len(found)} parts", max(spread), "%", each, 0.0, ""))
    return out + _support_rows()


def _support_rows() -> list[dict[str, Any]]:
    """Volume and seconds of support over those of its beads, for shapes with flat and round ceilings."""
    out = []
    for name, mesh in PROPPED.items():
        begun = time.perf_counter()
        recipe = Recipe("held", support="everywhere")
        part = Part(name, name, "truth", recipe, "PLA")
        ours = estimate_part(mesh, part, FILAMENT, {"m": MOTION})
        slow = slow_support(mesh.triangles)
        volume = 100.0 * (ours.support_mm3 / slow.volume - 1.0)
        seconds = 100.0 * (ours.support_s["m"] / slow.seconds(machine_of(MOTION, recipe, FILAMENT)) - 1.0)
        took = time.perf_counter() - begun
        note = f"{volume:+.2f} %: {ours.support_mm3:.0f}/{slow.volume:.0f} mm3"
        out.append(_row(f"support, {name}", abs(volume), "%", SUPPORT_EACH, took, note))
        note = f"{seconds:+.2f} %"
        out.append(_row(f"minutes of support, {name}", abs(seconds), "%", SUPPORT_EACH, 0.0, note))
    return out


def compared(part: TruePart) -> tuple[float, float, str]:
    """Volume and seconds of the estimate over those of the toolpath, less one, in percent."""
    mesh, recipe = part.make(), part.planned()
    layers = toolpath(mesh.triangles, part.settings())
    true_mm3 = sum(layer.volume() for layer in layers)
    true_s = float(path_seconds(layers, machine_of(MOTION, recipe, FILAMENT)).sum())
    ours = estimate_part(mesh, Part(part.name, part.name, "truth", recipe, "PLA"), FILAMENT, {"m": MOTION})
    volume = 100.0 * (ours.volume_mm3 / true_mm3 - 1.0)
    seconds = 100.0 * (float(ours.seconds["m"].sum()) / true_s - 1.0)
    walls = sum(layer.volume("outer wall", "inner wall", "thin") for layer in layers)
    sparse = sum(layer.volume("sparse") for layer in layers)
    kinds = (
        ("walls", ours.layers.wall_mm3, walls),
        ("sparse", ours.layers.sparse_mm3, sparse),
        ("rest", ours.layers.solid_mm3, true_mm3 - walls - sparse),
    )
    told = ", ".join(f"{name} {float(column.sum()):.0f}/{true:.0f}" for name, column, true in kinds)
    note = f"{volume:+.2f} %: {told} mm3"
    return volume, seconds, note
