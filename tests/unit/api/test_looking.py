"""Drafts of both files: written once, in the words of what was seen, and nothing of the user's touched."""

from __future__ import annotations

import tomllib
from pathlib import Path
from types import SimpleNamespace

import pytest

from planner.api import looking
from planner.errors import InputError
from planner.kit.questions import Question
from planner.model.batch import Unplaced
from planner.model.finding import Finding
from planner.model.mesh_check import FolderCheck, MeshCheck
from planner.model.plan import SetAside
from tests.builders import box, stl_bytes


@pytest.fixture(name="kit")
def _kit(tmp_path: Path) -> Path:
    folder = tmp_path / "kit"
    folder.mkdir()
    (folder / "wing_L.stl").write_bytes(stl_bytes(box(80.0, 12.0, 6.0)))
    (folder / "clip x4.stl").write_bytes(stl_bytes(box(12.0, 8.0, 4.0)))
    return folder


def test_both_files_are_drafted_once(kit: Path) -> None:
    """A second time neither is touched, nor is anything told of the kit."""
    made = looking.draft_files(kit, zone="Europe/Lisbon")
    assert made.files == ((kit / "airframe.toml", True), (kit / "workshop.toml", True))
    assert made.found
    shop = tomllib.loads((kit / "workshop.toml").read_text(encoding="utf-8"))
    assert shop["time_zone"] == "Europe/Lisbon"
    assert tomllib.loads((kit / "airframe.toml").read_text(encoding="utf-8"))["airframe"]["name"] == "kit"
    (kit / "airframe.toml").write_text("# mine\n", encoding="utf-8")
    again = looking.draft_files(kit)
    assert again.files == ((kit / "airframe.toml", False), (kit / "workshop.toml", False))
    assert again.found == ()
    assert (kit / "airframe.toml").read_text(encoding="utf-8") == "# mine\n"


def test_what_a_killed_draft_left_is_cleared_where_both_files_stand(kit: Path) -> None:
    """It died after the last file had its name."""
    looking.draft_files(kit)
    before = sorted(path.name for path in kit.iterdir())
    (kit / ".workshop.toml-abcd1234").mkdir()
    (kit / ".workshop.toml-abcd1234.busy").touch()
    looking.draft_files(kit)
    assert sorted(path.name for path in kit.iterdir()) == before


def test_a_folder_that_has_both_files_is_not_read_for_a_draft(
    kit: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its shapes were read for nothing; an empty folder is refused all the same."""
    looking.draft_files(kit)

    def never(*told: object) -> None:
        raise AssertionError(told)

    monkeypatch.setattr(looking, "_turns", never)
    monkeypatch.setattr(looking, "placed_as", never)
    assert [made for _, made in looking.draft_files(kit).files] == [False, False]
    for mesh in kit.glob("*.stl"):
        mesh.unlink()
    with pytest.raises(InputError, match="no usable mesh"):
        looking.draft_files(kit)


def test_one_workshop_may_serve_several_airframes(kit: Path) -> None:
    """It is drafted where it is wanted; the airframe stays with its meshes."""
    made = looking.draft_files(kit, kit.parent)
    assert [path for path, _ in made.files] == [kit / "airframe.toml", kit.parent / "workshop.toml"]
    assert not (kit / "workshop.toml").exists()


def test_the_draft_can_be_read_back(kit: Path) -> None:
    """It names every mesh; the other hand and the copies that names suggest hold."""
    looking.draft_files(kit)
    from planner.api.records import read_records
    from planner.io.records.part_record import MeshHint

    hints = [MeshHint("wing_L.stl", 1, "left", True), MeshHint("clip x4.stl", 4, "none", False)]
    air, shop = ((kit / name).read_text(encoding="utf-8") for name in ("airframe.toml", "workshop.toml"))
    parts = read_records(air, shop, hints, name="kit").airframe.parts
    assert {(part.mesh, part.copies) for part in parts} == {("wing_L.stl", 1), ("clip x4.stl", 4)}


def test_what_is_not_sure_is_asked_only_of_who_wants_to_be_asked(kit: Path) -> None:
    """Every question is one that the kit has; an answer of None leaves it open."""
    asked: list[Question] = []

    def ask(question: Question) -> None:
        asked.append(question)

    looking.draft_files(kit, ask=ask)
    assert all(one.text.strip() for one in asked)
    from planner.api.reading import meshes_of
    from planner.kit.questions import questions_of

    kit_found = looking.kit_of(meshes_of((kit,), None, None))
    assert [one.text for one in asked] == [one.text for one in questions_of(kit_found)]


def test_a_folder_without_meshes_is_not_drafted(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        looking.draft_files(tmp_path)
    assert caught.value.what == "the folder holds no usable mesh."
    assert caught.value.where == str(tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("spared", "told"),
    [
        ({}, ""),
        ({"a": 0.4}, "on another flat face less hangs in the air: a by 40 %"),
        (
            {"a": 0.4, "b": 0.555, "c": 0.1, "d": 0.2, "e": 1.0},
            "on another flat face less hangs in the air: a by 40 %, b by 56 %, c by 10 % and 2 more",
        ),
    ],
)
def test_what_turning_would_spare_is_told_of_three(
    spared: dict[str, float], told: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What hangs little is not even tried; what turning does not help is left out."""
    meshes = [SimpleNamespace(name=name, mesh=name) for name in (*spared, "little", "no help")]
    monkeypatch.setattr("planner.pipeline.turning.hangs_much", lambda mesh, _: mesh != "little")

    def turned(mesh: str, part: object, printers: object) -> SimpleNamespace | None:
        assert mesh != "little"
        return SimpleNamespace(spared=spared[mesh]) if mesh in spared else None

    monkeypatch.setattr("planner.pipeline.turning.spared_by_turning", turned)
    assert looking._turns(SimpleNamespace(meshes=meshes)) == told


def test_a_whole_beside_its_parts_is_said_not_to_be_printed(
    kit: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In place it is surer than by its name; an assembly that was found already is not asked again."""
    from planner.api.reading import meshes_of

    folder = meshes_of((kit,), None, None)
    seen: list[dict[str, tuple[str, float]]] = []
    monkeypatch.setattr(
        "planner.io.meshes.likeness.assembly_findings", lambda _: [Finding("wing_L.stl", "all")]
    )
    monkeypatch.setattr(
        "planner.io.meshes.wholes.wholes",
        lambda records, known: [
            SimpleNamespace(mesh="a", pieces=("b", "c"), in_place=True),
            SimpleNamespace(mesh="d", pieces=("e",), in_place=known != ("wing_L.stl",)),
        ],
    )
    monkeypatch.setattr("planner.kit.reading.read_kit", lambda _, unwanted: seen.append(unwanted) or ())
    looking.kit_of(folder, in_place=True)
    assert seen == [
        {
            "wing_L.stl": ("the whole assembly beside its parts", 0.85),
            "a": ("the whole of b, c", 0.9),
            "d": ("the whole of e", 0.7),
        }
    ]


def test_a_look_is_clean_only_where_all_can_be_used_and_fits() -> None:
    """And its text names what is wrong."""
    good = MeshCheck("a.stl", 12, (30.0, 20.0, 10.0), 6.0, True, ("desktop 220",), None, ())
    big = MeshCheck(
        "b.stl", 12, (300.0, 20.0, 10.0), 60.0, True, (), Unplaced("b.stl", "x", 80.0, "cut it"), ()
    )
    clean = FolderCheck((good,), (), (), ())
    assert clean.clean
    assert not FolderCheck((good, big), (), (), ()).clean
    assert not FolderCheck((good,), (SetAside("c.stl", "it is cut"),), (), ()).clean
    told = looking.check_text(FolderCheck((good, big), (SetAside("c.stl", "it is cut"),), (), ()))
    assert "a.stl" in told
    assert "it is cut" in told
    assert "cut it" in told
    assert all(len(line) <= 80 for line in told.splitlines())
