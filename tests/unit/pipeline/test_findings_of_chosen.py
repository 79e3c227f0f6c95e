"""Findings speak of what is printed, not of what the chosen options leave out."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from planner.api import PlanRequest, read_job
from tests.builders import box, stl_bytes, without

NOW = datetime(2026, 12, 1, 18, tzinfo=UTC)
AIRFRAME = """
[options]
nose = "a"
[[part]]
mesh = "nose_a.stl"
option = { nose = "a" }
[[part]]
mesh = "nose_b.stl"
option = { nose = "b" }
[[part]]
mesh = "spare.stl"
copies = 0
"""


def about(folder: Path, **options: str) -> set[str]:
    request = PlanRequest(sources=(folder,), options=options)
    return {finding.about for finding in read_job(request, NOW).findings}


def test_parts_that_are_not_chosen_are_not_spoken_of(tmp_path: Path) -> None:
    """Two equal noses of which one is printed, an open one, and a spare that is left out."""
    whole, open_ = box(30, 20, 10), without(box(30, 20, 10), [0])
    for name, mesh in {"nose_a": whole, "nose_b": open_, "spare": whole, "hull": box(90, 30, 20)}.items():
        (tmp_path / f"{name}.stl").write_bytes(stl_bytes(mesh))
    assert about(tmp_path) >= {"nose_b.stl", "spare.stl"}
    (tmp_path / "airframe.toml").write_text(AIRFRAME, encoding="utf-8")
    assert about(tmp_path) & {"nose_a.stl", "nose_b.stl", "spare.stl"} == set()
    assert "nose_b.stl" in about(tmp_path, nose="b")
