"""Fittings like those of the built-in table, and limits for trade-offs."""

from __future__ import annotations

import pytest

from planner.errors import RecordError
from planner.units import MM_PER_M
from tests.unit.io.test_records import airframe


def test_a_tube_like_the_table_by_its_length() -> None:
    """900 mm of a 6 x 4 tube at 1.50 to 1.60 g/cm3 weigh 21.9 g; the spread is that of the density."""
    text = '[[fitting]]\nlike = "carbon tube 6 x 4"\nlength_mm = 900\nstation_mm = 58\nprice = "9.00 EUR"\n'
    (tube,) = airframe(text).airframe.fittings
    assert tube.name == "carbon tube 6 x 4 x 900"
    assert tube.mass_g == pytest.approx(24.347 * 900 / MM_PER_M, rel=1e-3)
    assert tube.kind == "tube"
    assert (tube.station_mm, tube.price_minor) == (58, 900)
    assert tube.spread == pytest.approx(0.1 / 2 / 1.2816 / 1.55, rel=1e-3)


def test_a_row_may_say_otherwise_than_the_table() -> None:
    """Name, mass and count of the row hold; a weighed mass has the spread of a scale."""
    text = '[[fitting]]\nlike = "lithium pack, 4 cells 5 Ah"\nname = "pack"\nmass_g = 512\ncount = 2\n'
    (pack,) = airframe(text).airframe.fittings
    assert (pack.name, pack.mass_g, pack.count, pack.movable, pack.spread) == ("pack", 512.0, 2, True, None)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[[fitting]]\nlike = "carbon tube 6 x 5"\nlength_mm = 9\n', ["line 2", "carbon tube 6 x 4"]),
        ('[[fitting]]\nlike = "carbon tube 6 x 4"\n', ["line", "needs a length_mm"]),
        ('[[fitting]]\nlike = "receiver, light"\nlength_mm = 9\n', ["line 3", "takes no length_mm"]),
        ('[[fitting]]\nlike = "receiver, light"\nmas_g = 9\n', ["line 3", "'mas_g'"]),
        ("[finish]\nglue_g = 3\nglue_g_per_cm2 = 0.02\n", ["twice"]),
        ('[[part]]\nmesh = "a.stl"\nallowed_recipes = ["skim"]\n', ["line 3", "'skim'", "'skin'"]),
        ('[[stack]]\nname = "s"\nmesh_up = "z"\n', ["line 3", "mesh_up", "x, y"]),
    ],
)
def test_wrong_rows(text: str, words: list[str]) -> None:
    """The message names line, value and what would be right."""
    with pytest.raises(RecordError) as caught:
        airframe(text)
    for word in words:
        assert word in str(caught.value)


def test_limits_for_trade_offs() -> None:
    """They are kept as the user wrote them, and all recipes are handed on."""
    text = '[[part]]\nmesh = "a.stl"\nallowed_recipes = ["skin"]\n'
    text += 'allowed_filaments = ["PETG"]\nleast_walls = 3\n'
    reading = airframe(text)
    part = reading.airframe.parts[0]
    assert (part.allowed_recipes, part.allowed_filaments, part.least_walls) == (("skin",), ("PETG",), 3)
    assert set(reading.recipes) == {"plain", "skin"}
