"""What there is to choose from: tables for the terminal, kinds of mesh files, folders left behind."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.api import formats, left, single, tables
from planner.errors import RecordError


@pytest.mark.parametrize("name", tables.TABLES)
def test_every_table_fits_the_terminal(name: str) -> None:
    """Eighty columns, no tail of blanks, and a line that is indented for every source."""
    lines = tables.table_text(name).splitlines()
    assert all(len(line) <= 80 and line == line.rstrip() for line in lines)
    assert any(line.startswith("    ") and line.strip() for line in lines)


@pytest.mark.parametrize(
    ("name", "rows"),
    [("filaments", single.filaments), ("printers", single.printers), ("recipes", single.recipes)],
)
def test_every_row_is_there_once(name: str, rows: object) -> None:
    """By its name in front of its numbers."""
    lines = [line for line in tables.table_text(name).splitlines() if line and not line.startswith(" ")]
    for key in rows():  # type: ignore[operator]
        words = [line for line in lines if line.split("  ")[0].strip() == key]
        assert len(words) == 1, key


def test_numbers_of_a_row_stand_in_their_columns() -> None:
    """PLA: 1.24 g/cm3 solid and laid."""
    head, *rows = tables.table_text("filaments").splitlines()
    (row,) = [line for line in rows if line.split("  ")[0] == "PLA"]
    end = head.index("solid g/cm3") + len("solid g/cm3")
    assert row[:end].endswith(" 1.24")
    end = head.index("laid g/cm3") + len("laid g/cm3")
    assert row[:end].endswith(" 1.24")


def test_a_table_that_is_none_is_refused_with_those_that_are() -> None:
    with pytest.raises(RecordError) as caught:
        tables.table_text("screws")
    assert str(caught.value) == (
        "tables: there is no built-in table 'screws'. Known: filaments, printers, recipes, fittings, finish."
    )


def test_the_kinds_of_files_are_told_and_those_that_are_not_read_apart() -> None:
    """No ending is both."""
    known = formats.endings()
    assert {".stl", ".3mf", ".obj"} <= set(known)
    assert not set(known) & set(formats.KNOWN_ASIDE)
    assert all(ending.startswith(".") and ending == ending.lower() for ending in known)
    assert {"STL", "3MF", "OBJ"} <= set(formats.formats_told().replace(",", " ").split())
    hint = formats.MeshHint("a.stl", 4, "left", True)
    assert (hint.name, hint.copies, hint.hand, hint.mirror) == ("a.stl", 4, "left", True)


def test_what_a_dead_process_left_is_taken_away_and_what_lives_stays(tmp_path: Path) -> None:
    """The lock of a file tells; other names are never touched."""
    out = tmp_path / "out"
    for name in ("abcd1234", "efgh5678"):
        (tmp_path / f".out-{name}").mkdir()
        (tmp_path / f".out-{name}.busy").touch()
    (tmp_path / ".out-mine.busy").touch()
    with (tmp_path / ".out-efgh5678.busy").open("a", encoding="utf-8") as alive:
        assert left.locked(alive)
        left.clear_left(out)
        assert {path.name for path in tmp_path.iterdir()} == {
            ".out-efgh5678", ".out-efgh5678.busy", ".out-mine.busy"
        }  # fmt: skip
    left.clear_left(out)
    assert {path.name for path in tmp_path.iterdir()} == {".out-mine.busy"}
