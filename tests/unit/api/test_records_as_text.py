"""The records as texts: read and so checked without a mesh."""

from __future__ import annotations

import pytest

from planner.api.records import read_records, values_of
from planner.errors import RecordError
from planner.io.records.part_record import MeshHint

WORKSHOP = """
currency = "USD"
time_zone = "Europe/Lisbon"
[[printer]]
name = "desk"
like = "desktop 220"
[[attendance]]
from = "18:00"
until = "22:00"
"""
AIRFRAME = """
[recipe.mine]
like = "skin"
walls = 3
[[part]]
mesh = "a.stl"
section = "fuselage"
recipe = "mine"
"""
HINTS = [MeshHint("a.stl", 2, "none", False)]


def test_what_both_files_say_and_what_they_may_choose_from() -> None:
    """The airframe's own recipes come first; prices of the tables are in the workshop's currency."""
    found = read_records(AIRFRAME, WORKSHOP, HINTS, name="kit")
    assert found.airframe.name == "kit"
    assert [(part.mesh, part.copies, part.recipe.walls) for part in found.airframe.parts] == [("a.stl", 2, 3)]
    assert [one.name for one in found.workshop.printers] == ["desk"]
    assert found.recipes[0] == "mine"
    assert set(found.recipes) == {"mine", *found.builtin_recipes}
    assert "mine" not in found.builtin_recipes
    assert {"desktop 220", "round 300"} <= set(found.printers)
    assert "PLA" in found.filaments
    assert found.workshop.currency == "USD"


def test_without_files_the_names_of_the_meshes_hold() -> None:
    """What is assumed is told; a zone of the computer only where the workshop names none."""
    found = read_records(None, None, HINTS, name="kit", zone="Asia/Tokyo")
    assert [part.copies for part in found.airframe.parts] == [2]
    assert found.workshop.attendance.zone == "Asia/Tokyo"
    assert found.assumptions[0].startswith("no workshop.toml was found")
    zoned = read_records(None, WORKSHOP, HINTS, name="kit", zone="Asia/Tokyo")
    assert zoned.workshop.attendance.zone == "Europe/Lisbon"


@pytest.mark.parametrize(
    ("airframe", "workshop", "told"),
    [
        (AIRFRAME.replace("walls = 3", "walls = -1"), None, r"airframe.toml.*walls"),
        (AIRFRAME + 'filament = "cheese"\n', WORKSHOP, "cheese"),
        ("[[part]", None, r"airframe.toml"),
        (None, "currency = 'USD", r"workshop.toml"),
        (AIRFRAME.replace("a.stl", "b.stl"), None, r"b\.stl"),
    ],
)
def test_what_cannot_be_used_is_refused_by_its_file(
    airframe: str | None, workshop: str | None, told: str
) -> None:
    with pytest.raises(RecordError, match=told):
        read_records(airframe, workshop, HINTS, name="kit")


def test_values_as_they_are_written() -> None:
    """Texts stay texts; what is no TOML is refused with its line."""
    assert values_of('a = "1"\n[b]\nc = [1, 2.5]\n', "x.toml") == {"a": "1", "b": {"c": [1, 2.5]}}
    with pytest.raises(RecordError, match="line 2"):
        values_of("a = 1\nb = \n", "x.toml")
