"""Which files are taken for meshes."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from planner.errors import InputError
from planner.io.meshes.limits import Limits
from planner.io.meshes.mesh_sources import find_sources


def _touch(folder: Path, *names: str) -> None:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")


def _names(source: Path | list[Path], limits: Limits | None = None) -> list[str]:
    return [entry.name for entry in find_sources(source, limits or Limits())[0]]


def test_a_folder_is_read_with_its_sub_folders_in_a_fixed_order(tmp_path: Path) -> None:
    """Any case of the ending, blanks, brackets, dots; sorted without regard to case."""
    _touch(
        tmp_path, "b.STL", "A (1).stl", "a.v1.2.Stl", "sub dir/Rib [x2].OBJ", "sub dir/pod.3mf", "notes.txt"
    )
    assert _names(tmp_path) == ["A (1).stl", "a.v1.2.Stl", "b.STL", "sub dir/pod.3mf", "sub dir/Rib [x2].OBJ"]


def test_hidden_entries_and_plans_of_ours_are_passed_over(tmp_path: Path) -> None:
    """A sub-folder with a plan.json was written by us; the folder that is given is read in any case."""
    _touch(
        tmp_path, "a.stl", ".b.stl", ".git/c.stl", "__MACOSX/d.stl", "out/plan.json", "out/e.stl", "plan.json"
    )
    assert _names(tmp_path) == ["a.stl"]


def test_other_mesh_files_are_set_aside(tmp_path: Path) -> None:
    """They are named, with what to do."""
    _touch(tmp_path, "a.stl", "b.amf", "c.iges")
    aside = find_sources(tmp_path, Limits())[1]
    assert [entry.mesh for entry in aside] == ["b.amf", "c.iges"]
    assert "STL or 3MF" in aside[0].reason


def test_links_that_lead_out_are_set_aside(tmp_path: Path) -> None:
    """A link within the folder is read; one that leaves it, or leads nowhere, is not."""
    inside, outside = tmp_path / "in", tmp_path / "out"
    _touch(inside, "a.stl")
    _touch(outside, "secret.stl")
    try:
        (inside / "b.stl").symlink_to(inside / "a.stl")
    except OSError:
        pytest.skip("this system lets nobody make links")
    (inside / "c.stl").symlink_to(outside / "secret.stl")
    (inside / "d.stl").symlink_to(inside / "nowhere.stl")
    (inside / "e").symlink_to(outside, target_is_directory=True)
    (inside / "f").symlink_to(inside, target_is_directory=True)
    found, aside = find_sources(inside, Limits())
    assert [entry.name for entry in found] == ["a.stl", "b.stl"]
    assert [entry.mesh for entry in aside] == ["c.stl", "d.stl"]
    assert "leads out of the folder" in aside[0].reason


def test_single_files_are_told_apart(tmp_path: Path) -> None:
    """Equal names get their folder's before them; a file named twice is read once."""
    _touch(tmp_path, "x/rib.stl", "y/rib.stl", "y/pod.stl")
    files = [tmp_path / "x/rib.stl", tmp_path / "y/rib.stl", tmp_path / "y/pod.stl", tmp_path / "x/rib.stl"]
    assert _names(files) == ["pod.stl", "x/rib.stl", "y/rib.stl"]


def test_what_is_not_there_is_an_error(tmp_path: Path) -> None:
    """A path that was given must exist."""
    with pytest.raises(InputError, match="no such file"):
        find_sources(tmp_path / "nothing", Limits())


def test_too_many_files_are_refused(tmp_path: Path) -> None:
    """With how many there are, and the limit."""
    _touch(tmp_path, *[f"{k}.stl" for k in range(6)])
    with pytest.raises(InputError, match="6 mesh files were found; the limit is 5"):
        find_sources(tmp_path, Limits(files=5))


@pytest.mark.skipif(os.name == "nt", reason="Windows allows no such names")
def test_names_that_cannot_be_printed_are_set_aside(tmp_path: Path) -> None:
    """A line break in a name would break tables and reports; the name is shown without it."""
    _touch(tmp_path, "a\nb.stl", "ok.stl", "l" * 240 + ".stl")
    found, aside = find_sources(tmp_path, Limits())
    assert [entry.name for entry in found] == ["ok.stl"]
    assert sorted(len(entry.mesh) for entry in aside) == [7, 200]
    assert all(entry.mesh.isprintable() for entry in aside)


def test_folders_nested_without_end_are_cut(tmp_path: Path) -> None:
    """Fifty folders deep: set aside, no overflow."""
    _touch(tmp_path, "/".join(["d"] * 50) + "/a.stl", "b.stl")
    found, aside = find_sources(tmp_path, Limits())
    assert [entry.name for entry in found] == ["b.stl"]
    assert "folders deep" in aside[0].reason
