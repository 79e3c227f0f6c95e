"""A hundred and twenty parts on the page: an edit is told at once, and told right."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import read_file
from planner.web.desk import Desk, desk_for
from planner.web.state import read_state
from tests.builders import stl_bytes
from tests.kits.large import large_job
from tests.unit.web.page_desk import client_of

BAR_S = 3.0  # half a second on a quiet machine


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = desk_for(tmp_path / "workspace", str(tmp_path / "cache"))
    yield made
    made.close()


@pytest.mark.slow
def test_an_edit_of_one_of_many_parts_is_told_at_once(desk: Desk) -> None:
    """Recipe and filament, and both taken back: grams as the reckoning has them, hours near."""
    folder = large_job(desk.workspace.root / "large", 120, fine=0.3)
    client = client_of(desk)
    desk.looks.looked(folder)
    first = client.post("/a/large/reckon", json={}).json()
    client.post("/a/large/at-once", json={})
    part = next(path.stem for path in sorted(folder.glob("wing skin panel*.stl")))

    def edited(do: str, given: dict[str, Any]) -> dict[str, Any]:
        began = time.perf_counter()
        saved = client.post("/a/large/edit", json={"do": do, "given": given}).json()
        told: dict[str, Any] = client.post("/a/large/at-once", json={"before": saved["before"]}).json()
        assert time.perf_counter() - began < BAR_S
        assert told["revision"] == saved["revision"]
        return told

    told = edited("part", {"part": part, "key": "recipe", "value": "plate"})
    assert told["before"]["print_h"] == first["now"]["print_h"]
    whole = client.post("/a/large/reckon", json={}).json()["now"]
    assert told["now"]["printed_g"] == whole["printed_g"] != first["now"]["printed_g"]
    assert told["now"]["total_g"] == whole["total_g"]
    grown = whole["print_h"] - first["now"]["print_h"]
    assert told["now"]["print_h"] - told["before"]["print_h"] == pytest.approx(grown, abs=1.0)
    told = edited("part", {"part": part, "key": "filament", "value": "PETG"})
    assert told["now"]["printed_g"] != whole["printed_g"]
    for _ in range(2):
        before = client.post("/a/large/undo", json={}).json()["before"]
        told = client.post("/a/large/at-once", json={"before": before}).json()
    assert told["now"]["printed_g"] == first["now"]["printed_g"]


@pytest.mark.slow
def test_a_replaced_mesh_of_many_is_told_at_once(desk: Desk) -> None:
    """Grams are those that the reckoning finds after the look; the choices before are told beside."""
    folder = large_job(desk.workspace.root / "large", 120, fine=0.3)
    client = client_of(desk)
    desk.looks.looked(folder)
    first = client.post("/a/large/reckon", json={}).json()
    client.post("/a/large/at-once", json={})
    file = next(iter(sorted(folder.glob("wing rib*.stl"))))
    (raw,) = read_file(file.read_bytes(), ".stl", Limits())
    larger = stl_bytes(TriangleMesh(raw.scaled(1.1)))
    key = client.post("/drop", json={}).json()["key"]
    began = time.perf_counter()
    client.put(f"/drop/{key}?path={file.name}", content=larger)
    client.post(f"/drop/{key}/done", json={"into": "large"})
    told = client.post("/a/large/at-once", json={"before": first["revision"]}).json()
    assert time.perf_counter() - began < BAR_S
    assert read_state(folder).look is None  # it goes on
    assert told["before"]["printed_g"] == first["now"]["printed_g"]
    whole = client.post("/a/large/reckon", json={"before": first["revision"]}).json()
    assert told["now"]["printed_g"] == whole["now"]["printed_g"] > first["now"]["printed_g"]
    assert whole["revision"] == read_state(folder).revision != first["revision"]
    assert whole["before"]["printed_g"] == first["now"]["printed_g"]
