"""Bed files are written bed by bed: what they hold, and what is in memory meanwhile."""

from __future__ import annotations

import hashlib
import io
import zipfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from planner.errors import OutputError
from planner.io.results.bed_files import MODEL, Shapes, write_beds
from planner.io.results.mesh_text_kernel import mesh_text
from planner.io.results.output import WRITTEN, results
from planner.pipeline.run import run
from tests.kits.jobs import random_job


def test_a_mesh_is_told_as_python_would_tell_it() -> None:
    """Corners to five digits, minus signs and negative noughts included; facets but the collapsed ones."""
    rng = np.random.default_rng(7)
    corners = rng.uniform(-300.0, 300.0, (400, 3)) * rng.choice([1.0, 1e-4, 1e4], (400, 1))
    corners[:5] = [
        [0.0, -0.0, 1e-6],
        [-1e-6, 0.5, 123456.789],
        [0.000005, 0.000015, 0.1],
        [-7, 7, 1e9],
        [1, 2, 3],
    ]
    corners[5:8] = [
        [9999.0, 9999.999996, 10000.0],
        [-99_999_999.0, 1e8, 2_000_000_003.00004],
        [9_999_999_998.5, 10_000.1, -1234567.0],
    ]
    faces = rng.integers(0, 400, (300, 3)).astype(np.int32)
    faces[0] = [3, 3, 4]
    rows = "".join(
        f'<vertex x="{x:.5f}" y="{y:.5f}" z="{z:.5f}"/>' for x, y, z in np.round(corners, 5).tolist()
    )
    sides = "".join(
        f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces.tolist() if len({a, b, c}) == 3
    )
    told = f"<mesh><vertices>{rows}</vertices><triangles>{sides}</triangles></mesh>"
    assert mesh_text(corners, faces).decode() == told


@pytest.mark.parametrize("seed", [3, 8])
def test_only_what_a_later_bed_needs_stays_in_memory(seed: int) -> None:
    """After a bed its shapes go unless another bed has them; the digest is that of the model in the file."""
    job = random_job(seed)
    plan = run(job)
    half = [(b.placed[: len(b.placed) // 2], b.placed[len(b.placed) // 2 :]) for b in plan.batches]
    beds = [replace(b, placed=p, name=f"bed {n}") for b, two in zip(plan.batches, half, strict=True)
            for n, p in enumerate(two, len(plan.batches) * 10) if p]  # fmt: skip
    plan = replace(plan, batches=tuple(replace(b, name=f"bed {n}") for n, b in enumerate(beds, 1)))
    shapes = Shapes(plan.parts, plan.pieces, plan.deposits, job.meshes)
    files: dict[str, bytes] = {}

    def write(path: str, body) -> None:
        number = int(path.partition("/")[2].partition(".")[0])
        here = {shapes.key(p.piece) for b in plan.batches[:number] for p in b.placed}
        assert set(shapes.kept) <= here  # nothing is made before its bed
        later = {shapes.key(p.piece) for b in plan.batches[number - 1 :] for p in b.placed}
        assert set(shapes.kept) <= later  # nothing is kept after its last bed
        files[path] = body if isinstance(body, bytes) else b"".join(body)

    told = write_beds(plan, shapes, write)
    assert not shapes.kept
    assert len(files) == 2 * len(plan.batches) > 2
    for number, batch in enumerate(told.batches, 1):
        with zipfile.ZipFile(io.BytesIO(files[f"beds/{number:02d}.3mf"])) as package:
            assert hashlib.sha256(package.read(MODEL)).hexdigest() == batch.digest
            assert {entry.date_time for entry in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        many = sum(len(shapes.mesh(shapes.key(p.piece))) for p in batch.placed)
        assert len(files[f"beds/{number:02d}.stl"]) == 84 + 50 * many


def test_a_document_may_come_in_pieces(tmp_path: Path) -> None:
    """They stand one after another in the file, and the list names it."""
    with results(tmp_path / "out") as made:
        made.write("beds/01.stl", iter([b"one", b"two"]))
    assert (tmp_path / "out" / "beds" / "01.stl").read_bytes() == b"onetwo"
    assert "beds/01.stl" in (tmp_path / "out" / WRITTEN).read_text()


def test_what_fails_between_two_documents_leaves_the_earlier_results(tmp_path: Path) -> None:
    """A fault of whoever makes the documents is told as it is; the folder stays as it was."""
    out = tmp_path / "out"
    with results(out) as made:
        made.write("a.txt", b"1")
    with pytest.raises(ZeroDivisionError), results(out) as made:
        made.write("a.txt", (b"2" * (1 // k) for k in (1, 0)))
    with pytest.raises(OutputError, match="would leave"), results(out) as made:
        made.write("../evil.txt", b"2")
    assert (out / "a.txt").read_bytes() == b"1"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]
