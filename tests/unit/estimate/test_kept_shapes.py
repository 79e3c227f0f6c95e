"""Answers of shapes in a folder: the same to the last bit, or a miss."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from planner.estimate import kept_shapes
from planner.estimate.cache_trim import trim
from planner.estimate.kept_shapes import ShapeFolder, finders

ANSWER = [0.1 + 0.2, -0.0, 1e-300, [3, "flügel", None]]
KEY = ("body", (1.5, b"\x00seat"))


def _only(folder: Path) -> Path:
    (path,) = folder.iterdir()
    return path


def test_an_answer_comes_back_to_the_last_bit(tmp_path: Path) -> None:
    ShapeFolder(tmp_path / "kept").put("touches", KEY, ANSWER)
    assert repr(ShapeFolder(tmp_path / "kept").get("touches", KEY)) == repr(ANSWER)


@pytest.mark.parametrize(("name", "key"), [("outer", KEY), ("touches", ("body", (1.5, b"\x01seat")))])
def test_another_question_has_another_answer(name: str, key: object, tmp_path: Path) -> None:
    ShapeFolder(tmp_path).put("touches", KEY, ANSWER)
    assert ShapeFolder(tmp_path).get(name, key) is None


@pytest.mark.parametrize("body", [b"", b"{", b"\n[]", b"\xff\xfe", b"0" * 32 + b"\n[1, 2]"])
def test_a_damaged_file_is_a_miss_and_is_replaced(body: bytes, tmp_path: Path) -> None:
    """The last one would be read, had it not the sum of another answer."""
    shelf = ShapeFolder(tmp_path)
    shelf.put("touches", KEY, ANSWER)
    _only(tmp_path).write_bytes(body)
    assert shelf.get("touches", KEY) is None
    shelf.put("touches", KEY, ANSWER)
    assert shelf.get("touches", KEY) == ANSWER


def test_one_changed_digit_is_a_miss(tmp_path: Path) -> None:
    shelf = ShapeFolder(tmp_path)
    shelf.put("touches", KEY, [12.5])
    path = _only(tmp_path)
    path.write_text(path.read_text(encoding="ascii").replace("12.5", "13.5"), encoding="ascii")
    assert shelf.get("touches", KEY) is None


def test_where_nothing_can_be_written_nothing_is_kept(tmp_path: Path) -> None:
    """A file stands where the folder would be."""
    (tmp_path / "file").write_text("", encoding="ascii")
    shelf = ShapeFolder(tmp_path / "file" / "kept")
    shelf.put("touches", KEY, ANSWER)
    assert shelf.get("touches", KEY) is None
    assert _only(tmp_path).name == "file"


def test_other_code_finds_its_own_answers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ShapeFolder(tmp_path).put("touches", KEY, ANSWER)
    monkeypatch.setattr(kept_shapes, "finders", lambda: "another")
    assert ShapeFolder(tmp_path).get("touches", KEY) is None


@pytest.mark.parametrize("file", ["units.py", "pipeline/seated.py", "geometry/assembly/contact.py"])
def test_a_change_of_what_finds_answers_is_other_code(file: str, tmp_path: Path) -> None:
    package = tmp_path / "planner"
    shutil.copytree(Path(kept_shapes.__file__).parents[1], package)
    rooms = kept_shapes._ROOMS
    assert kept_shapes.code_hash(package, rooms) == finders()
    with (package / file).open("a", encoding="utf-8") as source:
        source.write("# more\n")
    assert kept_shapes.code_hash(package, rooms) != finders()


def test_answers_are_trimmed_with_the_deposits(tmp_path: Path) -> None:
    shelf = ShapeFolder(tmp_path)
    for at in range(4):
        shelf.put("touches", at, "x" * 400)
    trim(tmp_path, 1000)
    assert 1 <= len(list(tmp_path.iterdir())) < 4
