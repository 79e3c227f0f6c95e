"""A minute of figures for every check: CPU of each stage over that of plain work of its kind.

What is saved beside this file (`bench_saved.json`) is what they were; half as much again fails. The figures
are ratios, so that another machine, or a busy one, gives nearly the same.
"""

from __future__ import annotations

import functools
import html
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import bench_plain
from bench_compare import saved_rows
from bench_paired import TRIES, Least, Pair, judged, measured
from bench_plan import DEMO, ROOT, START
from bench_row import row

SAVED = Path(__file__).resolve().parent / "bench_saved.json"
_row = partial(row, "short")


def rows() -> list[dict[str, Any]]:
    """Of every pair the ratio of as many tries as it is ever given, to be saved."""
    sys.path.insert(0, str(ROOT))
    found = []
    for name in PAIRS:
        began = _all_s()
        least = functools.reduce(Least.with_, (_measured(name) for _ in range(TRIES)))
        found.append(_row(name, round(least.ratio, 5), "x", None, round(_all_s() - began, 1)))
    return found


def compare(path: Path) -> int:
    """Every pair against what was saved; 1 where one is half as slow again."""
    sys.path.insert(0, str(ROOT))
    saved = {str(row["name"]): float(row["value"]) for row in saved_rows(path) if row["section"] == "short"}
    lines, holds = judged(saved, PAIRS, _measured)
    print("\n".join(lines))
    return 0 if holds else 1


def _measured(name: str) -> Least:
    with tempfile.TemporaryDirectory() as folder:
        return measured(PAIRS[name](Path(folder)))


def estimate(_: Path) -> Pair:
    """A bracket: layers, beads and minutes, against sections of trimesh that shapely offsets."""
    import bench_estimate
    import bench_meshes

    from planner.estimate.part import estimate_part
    from planner.model.part import Part
    from planner.model.printer import Motion

    mesh = bench_meshes.bracket()
    part = Part("bracket", "bracket", "bench", bench_estimate.RECIPE, "PLA")
    motions = {"bench": Motion()}
    return Pair(
        lambda: estimate_part(mesh, part, bench_estimate.FILAMENT, motions),
        lambda: bench_estimate.baseline(mesh),
        turns=2,
    )


def mesh_file(_: Path) -> Pair:
    """An STL file read and examined, against corners and edges sorted by numpy."""
    import bench_meshes

    from planner.geometry.mesh.health import examine
    from planner.geometry.mesh.mesh import TriangleMesh
    from planner.io.meshes.limits import Limits
    from planner.io.meshes.meshes import read_file
    from tests.builders import stl_bytes

    mesh = bench_meshes.blob(rows=90, n=100)
    data, limits = stl_bytes(mesh), Limits()
    return Pair(
        lambda: examine(TriangleMesh(read_file(data, ".stl", limits)[0].scaled(1.0))),
        lambda: bench_plain.shared_edges(mesh.triangles),
    )


def lettering(_: Path) -> Pair:
    """Names on a crowded bed, against whole arrays."""
    import bench_folders
    import numpy as np

    from planner.report.drawings.label_places import labels
    from tests.slow_labels import slow_labels

    rings = dict(list(bench_folders.crowd(np.random.default_rng(1)).items())[:12])
    numbers = {name: k for k, name in enumerate(rings, 1)}
    sheet = (0.0, 0.0, 130.0, 130.0)
    return Pair(lambda: labels(rings, numbers, sheet), lambda: slow_labels(rings, numbers, sheet), turns=2)


def nesting(_: Path) -> Pair:
    """Round things with waves laid on a bed by outlines, against shapely asked for distances."""
    import numpy as np

    from planner.model.effort import NORMAL
    from planner.model.printer import Bed
    from planner.nesting.pack import fill
    from planner.nesting.problem.item import BedKind, Item
    from planner.nesting.problem.problem import NestingProblem

    rng = np.random.default_rng(3)
    turn = 2.0 * np.pi * np.arange(60) / 60
    rings = []
    for _ in range(16):
        reach = rng.uniform(15.0, 30.0) * (1.0 + 0.3 * np.sin(int(rng.integers(2, 6)) * turn))
        x, y = reach * np.cos(turn), reach * np.sin(turn)
        rings.append(tuple((float(a), float(b)) for a, b in zip(x - x.min(), y - y.min(), strict=True)))
    items = [Item(f"piece {n}", ring, (), 20.0, None, "wing", f"part {n}") for n, ring in enumerate(rings)]
    kinds = (BedKind("bed", Bed("rectangle", 220.0, 220.0), 200.0),)
    places = rng.uniform((0.0, 0.0, 0.0), (220.0, 220.0, 6.28), (400, 3))
    problem = NestingProblem(items, kinds, 4.0, seed=1, effort=NORMAL, steps=20_000)
    return Pair(lambda: fill(problem), lambda: bench_plain.apart(rings, places, 4.0))


def search(_: Path) -> Pair:
    """Pieces to beds to an order at once, against jobs given out longest first in plain Python."""
    from planner.joint_search.search import compose
    from tests.unit.joint_search.tasks import make_task

    task = make_task(seed=7, parts=20, printers=2)
    minutes = [30 + 37 * n % 400 for n in range(300)]

    def plain() -> None:
        for machines in range(1, 200):
            bench_plain.list_schedule(minutes, machines, 600, 1440)

    return Pair(lambda: compose(task), plain)


def machine_file(folder: Path) -> Pair:
    """Twenty thousand lines read, against a pattern that finds their words."""
    import bench_readback

    from planner.readback.reading import MachineOf, read_moves

    machine = MachineOf((1000.0, 1000.0, 1000.0), 150.0, 0.05, 0.5, 220.0)
    path = folder / "moves"
    bench_readback.write_moves(path, 20_000)
    data = path.read_bytes()
    return Pair(lambda: read_moves(path, machine), lambda: bench_plain.moves(data), turns=3)


def documents(_: Path) -> Pair:
    """All documents of a plan of nine pieces, against its record written by the standard library."""
    from planner.report.bundle import documents as made
    from tests.sound_plan import small_plan

    plan = small_plan()
    record = json.loads(made(plan)["plan.json"])

    def plain() -> None:
        for _ in range(5):
            html.escape(json.dumps(record, indent=1))  # with an indent it is written in Python

    return Pair(lambda: made(plan), plain)


def start_up(_: Path) -> Pair:
    """The command says its help, against an interpreter that loads the library of commands."""
    return Pair(
        partial(_run, "-m", "planner", "--help"),
        partial(_run, "-c", "import typer, email, json"),
        5,
        _children_s,
    )


def whole_plan(folder: Path) -> Pair:
    """A quick plan of the demo with code and estimates kept, against loading the libraries that it uses."""
    out, cache = folder / "out", folder / "cache"
    words = [
        "plan",
        str(DEMO),
        "--out",
        str(out),
        "--start",
        START,
        "--effort",
        "quick",
        "--cache",
        str(cache),
    ]
    libraries = (
        "import numba.core.registry, numpy, shapely, ortools.sat.python.cp_model, scipy.optimize, highspy"
    )
    return Pair(partial(_run, "-m", "planner", *words), partial(_run, "-c", libraries), 3, _children_s)


def _run(*words: str) -> None:
    done = subprocess.run(
        [sys.executable, *words], cwd=ROOT, check=False, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
    )
    if done.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(words)} ended with {done.returncode}: {done.stderr[-500:]!r}")


def _all_s() -> float:
    return time.process_time() + _children_s()


def _children_s() -> float:
    """CPU seconds of the children that have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


PAIRS: dict[str, Callable[[Path], Pair]] = {
    "estimate of a bracket": estimate,
    "mesh read and examined": mesh_file,
    "lettering of a bed": lettering,
    "pieces laid by outlines": nesting,
    "beds and order, quick": search,
    "machine file read": machine_file,
    "documents of a plan": documents,
    "planner --help": start_up,
    "demo, quick, all kept": whole_plan,
}
