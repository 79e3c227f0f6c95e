"""A job at hand: after every kind of change the figures are those of a process that knows nothing."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api.at_hand import AtHand
from planner.api.request import PlanRequest
from planner.errors import RecordError
from planner.estimate import executor
from planner.io.meshes import kept_files
from planner.pipeline.at_once import AtOnce
from tests.builders import box, stl_bytes
from tests.kits.large import large_job

NOW = datetime(2026, 12, 1, 18, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(kept_files, "_SETTLED_NS", 0)
    return large_job(tmp_path / "kit", 6, fine=0.1)


def told(hand: AtHand, folder: Path) -> AtOnce:
    """The figures at hand, which must be those of a fresh start."""
    request = PlanRequest((folder,), out=folder / "out", start="2026-12-01T18:00", effort="quick")
    found = hand.figures(request, NOW)
    assert found is not None
    assert found == AtHand().figures(request, NOW)
    return found


def written(file: Path, old: str, new: str) -> str:
    """Change a record; the text of before."""
    before = file.read_text(encoding="utf-8")
    assert old in before
    file.write_text(before.replace(old, new, 1), encoding="utf-8")
    return before


def test_nothing_goes_stale(folder: Path) -> None:
    """Parts, tables of recipes, workshop, a mesh in the place of another, a copy more, and all taken back."""
    hand, airframe, workshop = AtHand(), folder / "airframe.toml", folder / "workshop.toml"
    first = told(hand, folder)
    seen = [first]
    texts = {airframe: airframe.read_text(), workshop: workshop.read_text()}
    for file, old, new in (
        (airframe, 'recipe = "plate"', 'recipe = "shell"'),
        (airframe, "walls = 3", "walls = 4"),
        (airframe, 'filament = "PLA"', 'filament = "PETG"'),
        (airframe, "[[part]]\n", "[[part]]\ncopies = 3\n"),
        (workshop, 'like = "PLA"', 'like = "PLA"\ndeposited_g_per_cm3 = 1.05'),
        (workshop, 'price = "21.00 EUR"', 'price = "42.00 EUR"'),
        (workshop, 'like = "desktop 180"', 'like = "desktop 180"\nminutes_factor = 1.5'),
    ):
        written(file, old, new)
        seen.append(told(hand, folder))
        assert seen[-1] != seen[-2], new
    mesh = sorted(folder.glob("*.stl"))[0]
    was = mesh.read_bytes(), mesh.stat()
    mesh.write_bytes(stl_bytes(box(30.0, 20.0, 10.0)))
    os.utime(mesh, ns=(was[1].st_atime_ns, was[1].st_mtime_ns))
    assert told(hand, folder) != seen[-1]
    mesh.write_bytes(was[0])
    for file, text in texts.items():
        file.write_text(text, encoding="utf-8")
    assert told(hand, folder) == first


def test_a_change_costs_the_part_that_changed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One estimate for another recipe of one part, none for another price, none for taking it back."""
    asked: list[str] = []
    estimate = executor.estimate_part

    def counted(mesh, part, filament, motions):  # type: ignore[no-untyped-def]
        asked.append(part.name)
        return estimate(mesh, part, filament, motions)

    monkeypatch.setattr(executor, "estimate_part", counted)
    request = PlanRequest((folder,), out=folder / "out", start="2026-12-01T18:00")
    hand = AtHand()
    hand.figures(request, NOW)
    assert len(asked) == 6
    asked.clear()
    before = written(folder / "airframe.toml", 'recipe = "plate"', 'recipe = "shell"')
    hand.figures(request, NOW)
    assert len(asked) == 1
    written(folder / "workshop.toml", 'price = "21.00 EUR"', 'price = "42.00 EUR"')
    (folder / "airframe.toml").write_text(before, encoding="utf-8")
    hand.figures(request, NOW)
    assert len(asked) == 1


def test_a_wrong_record_is_refused_and_forgotten(folder: Path) -> None:
    """In the reader's words; the next question finds all as before."""
    hand = AtHand()
    first = told(hand, folder)
    before = written(folder / "airframe.toml", 'recipe = "plate"', 'recipe = "nonesuch"')
    with pytest.raises(RecordError, match="nonesuch"):
        told(hand, folder)
    (folder / "airframe.toml").write_text(before, encoding="utf-8")
    assert told(hand, folder) == first
