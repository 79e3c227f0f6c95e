"""Deposits kept by content: what counts, what does not, and what a damaged file does."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest

import planner
from planner.estimate import cache
from planner.estimate.cache import FolderCache, MemoryCache, deposit_key
from planner.estimate.executor import EstimateJob, estimate_all
from planner.geometry.mesh.pose import about_axis
from planner.model.deposit import Deposit, Layers
from planner.model.printer import Motion
from tests import builders
from tests.estimates import PLAIN, part_of

BOX = builders.box(10, 8, 3)
MOTIONS = {"slow": Motion(), "fast": Motion(wall_speed=150.0)}


def job(**recipe):
    """A job on the box."""
    return EstimateJob(BOX, part_of(**recipe), PLAIN, MOTIONS)


def same(one: Deposit, other: Deposit) -> None:
    """Every field of two deposits is equal to the bit."""
    for item in fields(Deposit):
        a, b = getattr(one, item.name), getattr(other, item.name)
        if item.name == "layers":
            for column in fields(Layers):
                assert getattr(a, column.name).tobytes() == getattr(b, column.name).tobytes()
        elif item.name == "seconds":
            assert list(a) == list(b)
            assert all(a[kind].tobytes() == b[kind].tobytes() for kind in a)
        else:
            assert a == b, item.name


def test_names_and_prices_do_not_count():
    """Another name, price or note asks for the same deposit."""
    key = deposit_key(BOX, part_of(), PLAIN, MOTIONS)
    dearer = replace(PLAIN, name="other", price_minor=9900, spool_g=750.0, notes=("dry it",), source="list")
    assert deposit_key(BOX, replace(part_of(), name="x", mesh="y.stl", copies=3), dearer, MOTIONS) == key


@pytest.mark.parametrize(
    "change",
    [
        lambda: (builders.box(10, 8, 3.001), part_of(), PLAIN, MOTIONS),
        lambda: (BOX, part_of(walls=3), PLAIN, MOTIONS),
        lambda: (BOX, part_of(pose=about_axis((1, 0, 0), 90)), PLAIN, MOTIONS),
        lambda: (BOX, part_of(), replace(PLAIN, deposited_g_per_cm3=1.0), MOTIONS),
        lambda: (BOX, part_of(), replace(PLAIN, flow_limit_mm3_s=4.0), MOTIONS),
        lambda: (BOX, part_of(), PLAIN, {"slow": Motion()}),
    ],
)
def test_what_counts(change):
    """Facets, recipe, pose, densities, flow limit and motions each ask for another deposit."""
    assert deposit_key(*change()) != deposit_key(BOX, part_of(), PLAIN, MOTIONS)


@pytest.mark.parametrize("kind", ["memory", "folder"])
def test_second_time_is_read(kind, tmp_path, monkeypatch):
    """The second estimate is the first one to the bit, without work, under the new name."""
    cache = MemoryCache() if kind == "memory" else FolderCache(tmp_path / "kept")
    first = estimate_all([job(support="everywhere", brim_mm=2.0)], cache=cache)[0]
    monkeypatch.setattr("planner.estimate.executor.estimate_part", None)  # any call would fail
    renamed = replace(
        job(support="everywhere", brim_mm=2.0),
        part=replace(part_of(support="everywhere", brim_mm=2.0), name="new"),
    )
    again = estimate_all([renamed], cache=cache)[0]
    assert again.part == "new"
    same(replace(again, part=first.part), first)


@pytest.mark.parametrize("damage", [b"", b"not a kept deposit", None])
def test_damaged_file_is_a_miss(damage, tmp_path):
    """A file that is empty, foreign or cut off is reckoned anew and replaced."""
    cache = FolderCache(tmp_path)
    first = estimate_all([job()], cache=cache)[0]
    path = next(tmp_path.glob("*.npz"))
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2] if damage is None else damage)
    same(estimate_all([job()], cache=cache)[0], first)
    assert FolderCache(tmp_path).get(path.stem) is not None


def test_folder_that_cannot_be_written(tmp_path):
    """A cache that cannot be written does not disturb the work."""
    blocked = tmp_path / "file"
    blocked.write_text("in the way", encoding="utf-8")
    assert estimate_all([job()], cache=FolderCache(blocked / "kept"))[0].volume_mm3 > 0.0


def test_no_half_file_is_left(tmp_path):
    """Only finished files lie in the folder."""
    estimate_all([job(), job(walls=1)], cache=FolderCache(tmp_path))
    assert sorted(p.suffix for p in tmp_path.iterdir()) == [".npz", ".npz"]


def test_threads_give_the_same_bytes():
    """One thread or four, the deposits and their order are the same to the bit."""
    jobs = [job(walls=n) for n in (1, 2, 3)] + [
        EstimateJob(lambda: builders.sphere(12), part_of(), PLAIN, MOTIONS),
        EstimateJob(builders.tube(20, 18, 9), part_of(), PLAIN, MOTIONS),
    ]
    seen: list[tuple[int, int]] = []
    alone = estimate_all(jobs, workers=1)
    threaded = estimate_all(jobs, workers=4, progress=lambda done, total: seen.append((done, total)))
    for one, other in zip(alone, threaded, strict=True):
        same(one, other)
    assert seen == [(n, len(jobs)) for n in range(1, len(jobs) + 1)]
    assert np.all(np.diff([d.layers.volume_mm3.sum() for d in alone[:3]]) > 0.0)


def test_other_code_asks_for_another_deposit(monkeypatch):
    """What an older planner kept is not taken for what this one would reckon."""
    key = deposit_key(BOX, part_of(), PLAIN, MOTIONS)
    monkeypatch.setattr(cache, "engine", lambda: "other code")
    assert deposit_key(BOX, part_of(), PLAIN, MOTIONS) != key


def test_a_change_in_any_file_below_changes_the_key(tmp_path: Path) -> None:
    """Code in a folder of a folder counts, too; a file that is moved, as well; other rooms do not."""
    deep = tmp_path / "estimate" / "layers" / "thin.py"
    for path in (deep, tmp_path / "geometry" / "mesh" / "mesh.py", tmp_path / "report" / "page.py"):
        path.parent.mkdir(parents=True)
        path.write_text("a = 1\n", encoding="utf-8")
    hashes = [cache.code_hash(tmp_path)]
    for path in (deep, tmp_path / "geometry" / "mesh" / "mesh.py"):
        path.write_text("a = 2\n", encoding="utf-8")
        hashes.append(cache.code_hash(tmp_path))
    deep.rename(deep.with_name("thick.py"))
    hashes.append(cache.code_hash(tmp_path))
    assert len(set(hashes)) == 4
    (tmp_path / "report" / "page.py").write_text("a = 3\n", encoding="utf-8")
    assert cache.code_hash(tmp_path) == hashes[-1]


def test_the_rooms_that_make_deposits_are_all_hashed() -> None:
    """What an estimate imports of this package lies in those rooms, or says nothing of deposits."""
    package = Path(planner.__file__).parent
    imported = {
        line.split()[1].split(".")[1]
        for file in (package / "estimate").rglob("*.py")
        for line in file.read_text(encoding="utf-8").splitlines()
        if line.lstrip().startswith("from planner.")
    }
    assert imported == {"compiled", "errors", "estimate", "geometry", "model", "units"}  # how, not what
