"""The folder of many parts that benches plan."""

from __future__ import annotations

import hashlib
from pathlib import Path

from planner.api.reading import meshes_of
from tests.kits.folder import folder_of_parts


def test_a_folder_has_as_many_sound_parts_as_asked_for(tmp_path: Path) -> None:
    """All closed, no two alike, the same files from the same seed and others from another."""
    made = folder_of_parts(tmp_path / "one", 14, fine=0.1)
    found = meshes_of((made,), None, None)
    assert len(found.meshes) == 14
    assert not found.set_aside
    assert all(record.watertight for record in found.meshes)
    assert len({record.content_hash for record in found.meshes}) == 14

    def digest(folder: Path) -> str:
        return hashlib.sha256(b"".join(p.read_bytes() for p in sorted(folder.iterdir()))).hexdigest()

    assert digest(folder_of_parts(tmp_path / "again", 14, fine=0.1)) == digest(made)
    assert digest(folder_of_parts(tmp_path / "other", 14, seed=2, fine=0.1)) != digest(made)
