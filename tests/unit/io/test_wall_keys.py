"""How thick a wall is: by the bead's width or by the wall, with round ends or without."""

from __future__ import annotations

import importlib
import math
from pathlib import Path

import pytest
import shapely

from planner.api.tables import table_text
from planner.errors import RecordError
from planner.io.records.builtin import builtin_recipes
from planner.io.records.record import Record
from planner.io.records.workshop_record import read_recipe
from planner.io.toml_file import parse_toml
from planner.model.recipe import Recipe
from tests import builders
from tests.estimates import deposit_of

ROOT = Path(__file__).resolve().parents[3]
SKIN = {"layer_height_mm": 0.25, "walls": 1, "top_layers": 0, "bottom_layers": 0, "infill": 0.0}


def recipe(text: str) -> Recipe:
    """A recipe from its lines."""
    file = parse_toml(f"[recipe.own]\n{text}", "airframe.toml")
    table = Record(file, file.values["recipe"]["own"], ("recipe", "own"), "recipe own")
    return read_recipe(table, "own", builtin_recipes())


ENDS = 0.25 * (1.0 - math.pi / 4.0)  # what round ends take from a bead 0.25 mm high: 0.053650 mm


@pytest.mark.parametrize(
    ("keys", "set_to", "thick", "read"),
    [
        ({"bead_width_mm": 0.4}, 0.4, 0.4 - ENDS, 0.4),
        ({"bead_width_mm": 0.4, "bead": "full"}, 0.4, 0.4, 0.4 + ENDS),
        ({"wall_mm": 0.4}, 0.4, 0.4 - ENDS, 0.4),
        ({"wall_mm": 0.4, "bead": "full"}, 0.4 - ENDS, 0.4 - ENDS, 0.4),
        ({"wall_mm": 0.4, "flow_trim": 0.9}, (0.4 - ENDS) / 0.9 + ENDS, (0.4 - ENDS) / 0.9, 0.4),
        ({"wall_mm": 0.25}, 0.25, 0.25 - ENDS, 0.25),  # a round thread
    ],
)
def test_skin_of_one_wall(keys, set_to, thick, read):
    """A box of one wall, no infill: centre lines times mean thickness times height; what calipers read."""
    own = Recipe("own", **SKIN, **keys)
    deposit = deposit_of(builders.box(60, 60, 5.0), **SKIN, **keys)
    line = 4.0 * (60.0 - set_to)
    assert deposit.volume_mm3 == pytest.approx(20 * 0.25 * thick * line, rel=0.001)
    assert own.bead_width_mm == pytest.approx(set_to)
    assert own.calipers_mm == pytest.approx(read)


def test_what_calipers_read_by_hand():
    """0.4 mm between calipers at 0.2 mm layers: (0.4 - 0.2) 0.2 + pi 0.01 = 0.071416 mm2 of wall a mm.

    A skin 100 mm round and 10 mm high (50 layers) then holds 357.08 mm3, whichever section the flow fills.
    """
    for bead in ("rounded", "full"):
        skin = Recipe("own", wall_mm=0.4, bead=bead)
        assert 0.2 * skin.pitch_mm == pytest.approx(0.071416, abs=1e-6)
        assert 50 * 100.0 * 0.2 * skin.pitch_mm == pytest.approx(357.08, abs=0.01)


def test_crests_of_a_bead_that_is_drawn():
    """The widest chord of the section that is laid is what calipers read, its area what it weighs."""
    for keys in ({"wall_mm": 0.4}, {"bead_width_mm": 0.4, "bead": "full"}):
        own = Recipe("own", **keys)
        straight = own.calipers_mm - own.layer_height_mm
        core = shapely.LineString([(0.0, 0.0), (straight, 0.0)])
        section = core.buffer(0.5 * own.layer_height_mm, quad_segs=400)
        low, _, high, _ = section.bounds
        assert high - low == pytest.approx(own.calipers_mm)
        assert section.area == pytest.approx(own.pitch_mm * own.layer_height_mm, rel=1e-5)


def test_keys_of_a_file():
    """``wall_mm`` and ``bead`` are read; a width of one's own replaces a wall taken over."""
    assert recipe('wall_mm = 0.4\nlike = "skin"').bead_width_mm == pytest.approx(0.4)
    assert recipe('wall_mm = 0.4\nbead = "full"\nlike = "skin"').bead_width_mm == pytest.approx(
        0.34635, abs=1e-5
    )
    assert recipe('bead_width_mm = 0.5\nlike = "skin"').wall_mm is None


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("wall_mm = 0.4\nbead_width_mm = 0.45", "twice"),
        ("wall_mm = 0.24\nlayer_height_mm = 0.25", "wall_mm"),
        ('wall_mm = 0.29\nlayer_height_mm = 0.25\nbead = "full"', "wall_mm"),
        ('bead = "round"', "bead"),
    ],
)
def test_refused(text, told):
    """Both at once, a wall thinner than a bead can be, an unknown bead."""
    with pytest.raises(RecordError, match=told):
        recipe(text)


def test_table_draws_the_bead():
    """The numbers of the table's words are those of the model, and it fits a terminal."""
    lines = table_text("recipes").splitlines()
    told = " ".join(lines)
    assert "reads 0.4 and lays 0.346 mm" in told
    assert "reads 0.454 and lays 0.4 mm, 15 % more" in told
    assert "wall_mm = 0.4 lays 0.346 mm" in told
    assert max(map(len, lines)) <= 80


def test_picture_of_the_docs(monkeypatch):
    """It is the one that the script draws, with the numbers of the model."""
    monkeypatch.syspath_prepend(str(ROOT / "scripts"))
    drawn = importlib.import_module("draw_wall").drawing()
    assert (ROOT / "docs" / "wall.svg").read_text(encoding="utf-8") == drawn
    for words in ("wall_mm = 0.4<", "weighs as 0.357 mm", "wall_mm = 0.443", "weighs as 0.400 mm"):
        assert words in drawn
