"""A short run of the campaigns on files and folders, and that their oracles tell what is wrong."""

from __future__ import annotations

import json
from contextlib import nullcontext
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from tests import builders as build
from tests.campaign import keep, mutate, mutate_meshes
from tests.campaign.bytewise import damaged, smallest
from tests.campaign.feedback import Pool, traced
from tests.campaign.folders import wrong
from tests.campaign.mutate_records import finite
from tests.campaign.standing import standing
from tests.campaign.test_kills import campaign
from tests.campaign.warm import FORKS, Done

forks = pytest.mark.skipif(not FORKS, reason="cases run in processes that are forked")


@forks
@pytest.mark.slow
def test_files() -> None:
    """Nothing fails, all readers are met, and half of the meshes reach the estimate."""
    told = campaign("mutate", "--cases", "800")
    assert told["failed"] == []
    assert told["reached"]["estimate"] >= 0.5 * 0.75 * told["cases"]
    assert told["reached"]["read"] > 50
    assert told["reached"]["refused"] > 100


@forks
@pytest.mark.slow
def test_folders() -> None:
    """The whole command, a few times."""
    told = campaign("folders", "--cases", "20")
    assert told["failed"] == []


def mutants(number: int) -> list[str]:
    """What a block of its first cases tells."""
    return [case.fault for case in mutate.cases(range(number), 1)]


@pytest.fixture(name="_meshes")
def meshes_alone(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No records are changed."""
    monkeypatch.setattr(mutate, "RECORDS", 0.0)
    monkeypatch.setattr(mutate, "Records", lambda: nullcontext(SimpleNamespace(folder=tmp_path)))


@pytest.mark.usefixtures("_meshes")
def test_oracles_see_what_is_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader that fails, and one that loses a facet."""
    monkeypatch.setattr(mutate_meshes, "read", lambda *_: 1 / 0)
    assert any("ZeroDivisionError" in fault for fault in mutants(4))

    def grows(data: bytes, suffix: str) -> np.ndarray:
        del suffix
        return build.box(10.0, 10.0, 10.0 + len(data) % 7).triangles

    monkeypatch.setattr(mutate_meshes, "read", grows)
    monkeypatch.setattr(mutate_meshes, "numbers", lambda triangles: (float(triangles.max()), 1.0))
    assert any("became" in fault for fault in mutants(12))


def test_numbers_that_cannot_be(monkeypatch: pytest.MonkeyPatch) -> None:
    """More than the box holds; a number that is none deep within a value."""
    monkeypatch.setattr(mutate_meshes, "estimate_part", lambda *_: _Told())
    with pytest.raises(AssertionError, match="its box"):
        mutate_meshes.numbers(build.box(1.0, 1.0, 1.0).triangles)
    finite({"a": [1.0, (2.0, {"b": 3})]})
    with pytest.raises(AssertionError, match="is none"):
        finite({"a": [1.0, (2.0, {"b": float("nan")})]})


class _Told:
    """Numbers of a deposit that cannot be."""

    solid_volume_mm3, mass_g, volume_mm3, centroid_mm = 1e9, 1.0, 1.0, (0.0, 0.0, 0.0)
    findings = ()


def test_mutants_that_come_further_are_kept() -> None:
    """By the steps of the readers that they take; the same seed gives the same damage."""
    pool, rng = Pool(), np.random.default_rng(1)
    sound = build.obj_bytes(build.box(1, 1, 1))
    taken: set = set()
    with traced(taken):
        mutate_meshes.read(sound, ".obj")
    assert len(taken) > 20
    assert pool.look(".obj", sound, taken)
    assert not pool.look(".obj", b"again", taken)
    assert {pool.begin(rng, ".obj", b"fresh") for _ in range(50)} == {sound, b"fresh"}
    assert damaged(np.random.default_rng(5), sound) == damaged(np.random.default_rng(5), sound) != sound


@pytest.mark.usefixtures("_meshes")
def test_what_fails_is_kept_as_small_as_it_can_be(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bytes that matter, and the fault beside them."""
    assert smallest(b"x" * 500 + b"nan" + b"y" * 300, lambda data: b"nan" in data) == b"nan"
    monkeypatch.setattr(keep, "_at", [])
    keep.kept("never", ".stl", b"nan", "fails")
    keep.keep_in(tmp_path)
    monkeypatch.setattr(mutate, "DAMAGED", 1.0)
    monkeypatch.setattr(mutate_meshes, "read", lambda *_: 1 / 0)
    assert all(mutants(2))
    found = sorted(tmp_path.glob("damaged_*"))
    assert {path.stat().st_size for path in found if path.suffix != ".txt"} == {1}
    assert all(p.read_text().startswith("FAILS: Zero") for p in found if p.suffix == ".txt")


def test_folders_that_are_not_whole(tmp_path: Path) -> None:
    """Results that lack a file, a refusal that leaves something, a changed folder, a traceback."""
    (tmp_path / "kit").mkdir()
    (tmp_path / "kit" / "a.stl").write_bytes(b"a")
    before, out = standing(tmp_path).files, tmp_path / "home" / "out"
    assert wrong(Done(2, "", "refused."), tmp_path, before) == ""
    assert "refused in 0" in wrong(Done(2, "", ""), tmp_path, before)
    assert "refused in 900" in wrong(Done(2, "", "x" * 900), tmp_path, before)
    assert "Traceback" in wrong(Done(1, "", "Traceback"), tmp_path, before)
    assert "not whole" in wrong(Done(0, "", ""), tmp_path, before)
    out.mkdir(parents=True)
    assert "written" in wrong(Done(2, "", "refused."), tmp_path, before)
    plan = {"parts": [{"part": "a", "mass_g": 1.0}], "batches": [], "fits_nowhere": []}
    plan["pieces"] = [{"piece": "a"}]
    (out / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
    (out / "written.json").write_text('["plan.json", "b"]', encoding="utf-8")
    assert "named: ['b']" in wrong(Done(0, "", ""), tmp_path, before)
    (out / "written.json").write_text('["plan.json"]', encoding="utf-8")
    assert "on no bed" in wrong(Done(0, "", ""), tmp_path, before)
    (tmp_path / "kit" / "a.stl").write_bytes(b"b")
    assert "a.stl of the folder is changed" in wrong(Done(0, "", ""), tmp_path, before)
