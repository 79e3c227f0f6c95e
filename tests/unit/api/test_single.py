"""One question at a time: a mesh, what is laid down for it, pieces on beds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from planner.api.single import deposit_of, filaments, pack, printers, read_mesh, recipes
from planner.errors import InputError, MeshError, RecordError
from planner.model.printer import Bed
from planner.model.recipe import Recipe
from tests.builders import box, stl_bytes, threemf_bytes, threemf_object

FULL = Recipe("full", 0.2, walls=2, infill=1.0)


def test_the_built_in_tables_by_name() -> None:
    """Every row is kept under its own name."""
    for table in (recipes(), filaments(), printers()):
        assert table
        assert all(name == row.name for name, row in table.items())
    assert filaments()["PLA"].solid_g_per_cm3 == 1.24
    assert recipes()["plain"].walls == 2


def test_a_mesh_in_the_unit_that_is_said(tmp_path: Path) -> None:
    """Inches become millimetres; a 3MF file says its unit itself."""
    (tmp_path / "a.stl").write_bytes(stl_bytes(box(1.0, 2.0, 3.0)))
    assert read_mesh(tmp_path / "a.stl", unit="inch").extents.tolist() == pytest.approx([25.4, 50.8, 76.2])
    item = '<item objectid="1"/>'
    (tmp_path / "b.3mf").write_bytes(threemf_bytes(threemf_object(1, box(1.0, 2.0, 3.0)), item, "centimeter"))
    assert read_mesh(str(tmp_path / "b.3mf")).extents.tolist() == pytest.approx([10.0, 20.0, 30.0])


def test_a_file_with_two_objects_is_refused(tmp_path: Path) -> None:
    """With how many it holds; a file that cannot be used with its reason."""
    both = threemf_object(1, box(10.0, 20.0, 30.0), "a") + threemf_object(2, box(11.0, 20.0, 30.0), "b")
    (tmp_path / "two.3mf").write_bytes(threemf_bytes(both, '<item objectid="1"/><item objectid="2"/>'))
    with pytest.raises(MeshError) as caught:
        read_mesh(tmp_path / "two.3mf")
    assert str(caught.value) == f"{tmp_path / 'two.3mf'}: it holds 2 objects, not one."
    (tmp_path / "cut.stl").write_bytes(stl_bytes(box(10.0, 20.0, 30.0))[:-30])
    with pytest.raises(MeshError, match=r"^cut\.stl: "):
        read_mesh(tmp_path / "cut.stl")


def test_a_full_block_weighs_its_volume() -> None:
    """30 x 20 x 10 mm are 6 cm3, of PLA 7.44 g; less at the corners only, which beads round off."""
    block = box(30.0, 20.0, 10.0)
    laid = deposit_of(block, FULL)
    assert laid.mass_g == pytest.approx(6.0 * 1.24, rel=0.02)
    assert len(laid.layers) == 50
    assert laid.extents_mm == pytest.approx((30.0, 20.0, 10.0))
    double = replace(filaments()["PLA"], solid_g_per_cm3=2.48, deposited_g_per_cm3=2.48)
    assert deposit_of(block, FULL, double).mass_g == pytest.approx(2.0 * laid.mass_g)
    assert list(deposit_of(block, FULL, printer="round 300").seconds) == [printers()["round 300"].kind]


@pytest.mark.parametrize(
    ("asked", "what"),
    [({"recipe": "soft"}, "recipe"), ({"filament": "soft"}, "filament"), ({"printer": "soft"}, "printer")],
)
def test_a_row_that_is_not_built_in_is_refused_with_those_that_are(asked: dict[str, str], what: str) -> None:
    with pytest.raises(RecordError) as caught:
        deposit_of(box(10.0, 10.0, 10.0), **asked)
    assert caught.value.what == f"there is no built-in {what} 'soft'."
    known = {"recipe": recipes, "filament": filaments, "printer": printers}[what]()
    assert caught.value.next_step == f"Known: {', '.join(known)}."


def test_pieces_share_beds_only_with_their_clearance() -> None:
    """Four plates of 95 mm lie on 200 mm with 4 mm between them, not with 12 mm; a fifth needs another."""
    plate = deposit_of(box(95.0, 95.0, 2.0), FULL)
    machine = replace(printers()["desktop 220"], bed=Bed("rectangle", 200.0, 200.0, margin_mm=0.0))
    four, five = ({f"p{n}": plate for n in range(count)} for count in (4, 5))
    assert len(pack(four, machine, effort="quick").beds) == 1
    assert len(pack(four, machine, effort="quick", clearance_mm=12.0).beds) > 1
    laid = pack(five, machine, effort="quick")
    assert len(laid.beds) == 2
    assert sorted(place.piece for bed in laid.beds for place in bed.placed) == sorted(five)
    assert laid.misfits == ()


def test_a_piece_that_no_bed_takes_is_a_misfit() -> None:
    """With how much is missing."""
    mast = deposit_of(box(10.0, 10.0, 30.0), FULL)
    low = replace(printers()["desktop 220"], clear_height_mm=25.0)
    laid = pack({"mast": mast}, low, effort="quick")
    assert laid.beds == ()
    assert [(one.piece, one.axis, round(one.missing_mm, 6)) for one in laid.misfits] == [("mast", "z", 5.0)]


@pytest.mark.parametrize(
    ("asked", "told"), [({"effort": "hard"}, "'hard' is not one of"), ({"clearance_mm": -0.1}, "clearance")]
)
def test_what_cannot_be_asked_is_refused(asked: dict[str, object], told: str) -> None:
    with pytest.raises(InputError, match=told):
        pack({}, **asked)  # type: ignore[arg-type]
