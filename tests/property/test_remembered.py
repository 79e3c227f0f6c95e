"""What a process remembers of meshes never shows: a plan is the same after any others were made."""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, reckon
from planner.estimate.poses import poses
from planner.geometry.remembered import Remembered
from planner.pipeline import mass_estimate, overlapping, seated
from planner.report.exports.plan_json import plan_json
from tests.kits.kit import random_kit
from tests.kits.shop import random_shop

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
ALL = (poses._CHOICES, overlapping._MATINGS, seated._SHADOWS, seated._TOUCHES, mass_estimate._OUTER)


def reckoned(folder: Path) -> str:
    return plan_json(reckon(PlanRequest((folder,), effort="quick", start="2026-12-01T18:00"), NOW))


def written(folder: Path, seed: int) -> Path:
    folder.mkdir()
    random_kit(seed, 5).write(folder)
    random_shop(seed).write(folder)
    with (folder / "airframe.toml").open("a", encoding="utf-8") as file:
        file.write("\n[finish]\npaint_g = 40\n")
    return folder


@pytest.mark.parametrize("seed", [pytest.param(seed, marks=pytest.mark.slow) for seed in (3, 8)])
def test_a_plan_is_the_same_after_others(seed: int, tmp_path: Path) -> None:
    """The kit alone; then after another kit with its names, and after its meshes have changed places."""
    kit, other = written(tmp_path / "kit", seed), written(tmp_path / "other", seed + 20)
    for memory in ALL:
        memory.forget()
    alone = reckoned(kit)
    reckoned(other)
    first, second = sorted(kit.rglob("*.stl"))[:2]
    bodies = first.read_bytes(), second.read_bytes()
    first.write_bytes(bodies[1])
    second.write_bytes(bodies[0])
    changed = reckoned(kit)
    assert changed != alone
    for memory in ALL:
        memory.forget()
    assert reckoned(kit) == changed
    first.write_bytes(bodies[0])
    second.write_bytes(bodies[1])
    assert reckoned(kit) == alone


def test_the_longest_unasked_is_forgotten() -> None:
    """Two places: asking again keeps an answer, and a third drops the one that nobody asked for."""
    memory: Remembered[int] = Remembered(2)
    asked: list[str] = []

    def find(key: str) -> int:
        def found() -> int:
            asked.append(key)
            return len(asked)

        return memory.of(key, found)

    assert [find("a"), find("b"), find("a"), find("c"), find("a"), find("b")] == [1, 2, 1, 3, 1, 4]
    memory.forget()
    assert find("a") == 5


def test_threads_ask_at_once() -> None:
    """Every thread gets the answer of its own question."""
    memory: Remembered[int] = Remembered(5)
    wrong: list[int] = []

    def ask(start: int) -> None:
        wrong.extend(n for n in range(start, start + 400) if memory.of(n % 9, lambda n=n: n % 9) != n % 9)

    threads = [threading.Thread(target=ask, args=(start,)) for start in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []


@pytest.mark.slow
def test_a_plan_is_the_same_from_what_was_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing kept; all kept, and nothing of it found anew; some of it damaged."""
    kit, kept = written(tmp_path / "kit", 3), tmp_path / "kept"
    request = PlanRequest((kit,), effort="quick", start="2026-12-01T18:00", cache_folder=kept)

    def found_anew(*words: object) -> None:
        raise AssertionError("found anew")

    def anew() -> str:
        for memory in ALL:
            memory.forget()
        return plan_json(reckon(request, NOW))

    first = anew()
    with monkeypatch.context() as watched:
        for room, name in ((seated, "touches"), (seated, "silhouette"), (mass_estimate, "outer_surface")):
            watched.setattr(room, name, found_anew)
        assert anew() == first
    for path in sorted(kept.glob("*.shape"))[::2]:
        path.write_bytes(path.read_bytes()[:-3])
    assert anew() == first
