"""Changes to the text of an airframe: one row, one key, every comment where it was."""

from __future__ import annotations

from typing import Any

import pytest
import tomlkit

from planner.api import Records
from planner.api.records import read_records
from planner.errors import RecordError
from planner.io.records.part_record import MeshHint
from planner.web.edits import edit_airframe as edits

TEXT = """# mine
[airframe]   # head
name = "x"

[[part]]     # ribs
mesh = "rib_*.stl"
section = "left wing"
recipe = "plain"

[[part]]
mesh = "hull.stl"
name = "hull"
section = "fuselage"   # the boat

[[fitting]]
name = "cell"
mass_g = 20
station_mm = 10.0

[[fitting]]
name = "cell"
mass_g = 20
station_mm = 50.0
"""
HINTS = [MeshHint(f"{name}.stl", 1, "none", False) for name in ("rib_1", "rib_2", "hull")]
HINTS.append(MeshHint("pod x4.stl", 4, "left", True))


def records(text: str = TEXT) -> Records:
    return read_records(text, None, HINTS, name="kit")


class Doc:
    """A document with the records that it says."""

    def __init__(self, text: str = TEXT) -> None:
        self.doc, self.records = tomlkit.parse(text), records(text)

    def __call__(self, work: Any, *given: Any, **more: Any) -> str:
        label: str = work(self.doc, self.records, *given, **more)
        self.records = records(self.text)  # what is written can be read
        return label

    @property
    def text(self) -> str:
        return tomlkit.dumps(self.doc)

    def part(self, name: str) -> Any:
        return next(part for part in self.records.airframe.parts if part.name == name.replace("_", " "))


def test_a_row_of_its_own_keeps_its_comments() -> None:
    """One key more, and no line less."""
    doc = Doc()
    doc(edits.set_part, "hull", "recipe", "solid")
    before, after = TEXT.splitlines(), doc.text.splitlines()
    assert [line for line in after if line not in before] == ['recipe = "solid"']
    assert [line for line in before if line not in after] == []
    doc(edits.set_part, "hull", "recipe", None)
    assert doc.part("hull").recipe.name == "plain"


def test_a_shared_row_is_left_to_the_others() -> None:
    """The new row takes over what the shared one said."""
    doc = Doc()
    doc(edits.set_part, "rib 1", "filament", "ASA")
    assert [doc.part(f"rib_{n}").filament for n in (1, 2)] == ["ASA", "PLA"]
    assert [doc.part(f"rib_{n}").section for n in (1, 2)] == ["left wing"] * 2
    doc(edits.set_part, "rib 2", "filament", "TPU")  # a pattern without a mesh would be wrong
    assert [doc.part(f"rib_{n}").filament for n in (1, 2)] == ["ASA", "TPU"]
    assert 'mesh = "rib_*.stl"' in doc.text


def test_what_a_name_suggests_is_spelled_out_when_one_of_it_changes() -> None:
    """Four left ones and their mirror images: the hand and the mirror stay when the copies change."""
    doc = Doc()
    doc(edits.set_part, "pod x4", "copies", 2)
    pod = doc.part("pod x4")
    assert (pod.copies, pod.hand, pod.mirror) == (2, "left", True)


def test_a_section_is_changed_as_a_whole() -> None:
    doc = Doc()
    doc(edits.set_section, "left wing", "recipe", "skin")
    assert {doc.part(f"rib_{n}").recipe.name for n in (1, 2)} == {"skin"}
    assert doc.part("hull").recipe.name == "plain"
    with pytest.raises(RecordError, match="there is no section 'tail'"):
        doc(edits.set_section, "tail", "recipe", "skin")
    with pytest.raises(RecordError, match="'copies' is not one of: recipe, filament"):
        doc(edits.set_section, "left wing", "copies", 2)


def test_of_two_fittings_of_a_name_the_one_that_sat_there_moves() -> None:
    doc = Doc()
    doc(edits.take, [], [{"fitting": "cell", "station_mm": 50.0004, "to_mm": 61.26}])
    assert [row["station_mm"] for row in doc.doc["fitting"]] == [10.0, 61.3]  # type: ignore[union-attr]
    with pytest.raises(RecordError) as caught:
        doc(edits.take, [], [{"fitting": "cell", "station_mm": 50.0, "to_mm": 1.0}])
    assert caught.value.what == "there is no fitting 'cell' at station 50 mm."
    assert caught.value.next_step.startswith("The file was changed since the study")


def test_a_way_is_a_recipe_and_a_filament() -> None:
    """As a study names it; another is refused."""
    doc = Doc()
    label = doc(edits.take, [{"part": "hull", "instead": "solid, ASA"}])
    assert "hull" in label
    assert (doc.part("hull").recipe.name, doc.part("hull").filament) == ("solid", "ASA")
    for way in ("solid", "solid, gold", "nothing, ASA", ", ASA"):
        with pytest.raises(RecordError, match="there is no way"):
            doc(edits.take, [{"part": "hull", "instead": way}])
    with pytest.raises(RecordError, match="there is no part 'keel'"):
        doc(edits.take, [{"part": "keel", "instead": "solid, ASA"}])


def test_a_recipe_of_the_tables_becomes_ones_own() -> None:
    """With the one key that was changed; wall and bead width take each other's place."""
    doc = Doc()
    doc(edits.set_recipe, "plain", "infill", 0.3)
    assert doc.part("hull").recipe.infill == 0.3
    assert doc.doc["recipe"]["plain"].unwrap() == {"like": "plain", "infill": 0.3}  # type: ignore[index,union-attr]
    doc(edits.set_recipe, "plain", "bead_width_mm", 0.5)
    doc(edits.set_recipe, "plain", "wall_mm", 1.0)
    assert "bead_width_mm" not in doc.text
    width = doc.part("hull").recipe.bead_width_mm
    doc(edits.set_recipe, "plain", "wall_mm", "")
    assert "wall_mm" not in doc.text
    assert doc.part("hull").recipe.bead_width_mm == pytest.approx(width, abs=1e-4)
    with pytest.raises(RecordError, match="there is no recipe 'x'"):
        doc(edits.set_recipe, "x", "walls", 1)
    with pytest.raises(RecordError, match="is not one of"):
        doc(edits.set_recipe, "plain", "like", "solid")


def test_a_recipe_is_added_once() -> None:
    doc = Doc()
    doc(edits.add_recipe, "mine", "skin")
    values = edits.recipe_values(doc.records, doc.doc.unwrap(), "mine")
    assert tuple(values) == edits.RECIPE_KEYS
    assert doc.doc["recipe"]["mine"].unwrap() == {"like": "skin"}  # type: ignore[index,union-attr]
    with pytest.raises(RecordError, match="there is a recipe 'mine' already"):
        doc(edits.add_recipe, "mine", "skin")


def test_values_of_the_head_come_and_go() -> None:
    doc = Doc()
    doc(edits.set_head, "target_mass_g", 640)
    doc(edits.set_head, "balance_window_mm", [30, 45])
    assert doc.records.airframe.target_mass_g == 640.0
    assert doc.records.airframe.balance_window_mm == (30.0, 45.0)
    doc(edits.set_head, "target_mass_g", None)
    assert doc.records.airframe.target_mass_g is None
    assert "# head" in doc.text
    with pytest.raises(RecordError, match="'parts' is not one of"):
        doc(edits.set_head, "parts", 1)


def test_a_default_holds_for_parts_that_say_nothing_else() -> None:
    doc = Doc()
    doc(edits.set_default, "filament", "ASA")
    assert {part.filament for part in doc.records.airframe.parts} == {"ASA"}
    doc(edits.set_default, "recipe", "solid")
    assert (doc.part("hull").recipe.name, doc.part("rib_1").recipe.name) == ("solid", "plain")
    with pytest.raises(RecordError, match="is not one of: recipe, filament, may_turn"):
        doc(edits.set_default, "copies", 2)


@pytest.mark.parametrize(
    ("key", "value", "told"),
    [("aft", "y", ("y", "z")), ("up", "-y", ("x", "-y")), ("aft", "z", ("z", "x")), ("up", "x", ("z", "x")),
     ("both", ["-x", "y"], ("-x", "y"))],
)  # fmt: skip
def test_axes_make_room_for_one_another(key: str, value: Any, told: tuple[str, str]) -> None:
    """The one that was there goes to the place that came free."""
    text = TEXT.replace('name = "x"', 'name = "x"\nin_assembly_position = true')
    doc = Doc(text)
    doc(edits.set_axes, key, value)
    assert doc.records.airframe.axes is not None
    assert (doc.records.airframe.axes.aft, doc.records.airframe.axes.up) == told
    doc(edits.set_axes, key, None)
    assert "axes" not in doc.text
