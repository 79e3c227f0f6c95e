"""Rows of the built-in table, made anew from its file, and what a fitting of them is."""

from __future__ import annotations

import math
import tomllib
from importlib.resources import files

import pytest

from planner.errors import RecordError
from planner.model.airframe import Fitting
from planner.weights.fittings import FittingRow, built_in_fitting, built_in_fittings, tube_mass_g

TABLE = tomllib.loads((files("planner") / "data" / "fittings.toml").read_text(encoding="utf-8"))
ROW = FittingRow("cord", "cord", 2.0, 4.0, "metre", movable=True, source="a page")


@pytest.fixture(autouse=True)
def _made_anew():
    """The table is kept once it is read; here it is read by each test."""
    built_in_fittings.cache_clear()
    yield
    built_in_fittings.cache_clear()


def test_every_row_is_as_its_file_says():
    """Name, kind, range, unit, whether it moves, and source; what the file leaves out: a piece that stays."""
    rows = built_in_fittings()
    for entry in TABLE["row"]:
        row = rows[entry["name"]]
        assert (row.kind, row.source) == (entry["kind"], entry["source"])
        assert (row.low_g, row.high_g) == (entry["low_g"], entry["high_g"])
        assert row.per == entry.get("per", "piece")
        assert row.movable is entry.get("movable", False)
    assert len(rows) == len(TABLE["row"]) + len(TABLE["tube"]["sizes_mm"])
    assert all(name == row.name for name, row in rows.items())


def test_tubes_and_rods_by_hand():
    """A tube of 6 x 4 mm has 15.708 mm2: 23.56 and 25.13 g a metre at 1.50 and 1.60; a rod of 2 mm 3.1416."""
    tube, rod = built_in_fitting("carbon tube 6 x 4"), built_in_fitting("carbon rod 2")
    assert (tube.low_g, tube.high_g) == pytest.approx((5.0 * math.pi * 1.5, 5.0 * math.pi * 1.6))
    assert (rod.low_g, rod.high_g) == pytest.approx((math.pi * 1.5, math.pi * 1.6))
    for row in (tube, rod):
        assert (row.kind, row.per, row.movable) == ("tube", "metre", False)
        assert row.source == TABLE["tube"]["source"]


def test_a_length_becomes_a_fitting():
    """250 mm of 3 g a metre are 0.75 g; all that is given is handed on."""
    found = ROW.fitting(station_mm=10.0, length_mm=250.0, count=3, section="wing", price_minor=120)
    assert found.spread == pytest.approx(1.0 / (1.2815515655 * 3.0))  # 10 and 90 % are 1 g from 3 g
    assert found == Fitting(
        "cord x 250",
        0.75,
        3,
        10.0,
        120,
        "wing",
        movable=True,
        source="a page",
        kind="cord",
        spread=found.spread,
    )


def test_a_piece_becomes_a_fitting():
    """Without a length the name and the mass are those of the row; one of it, nowhere yet, at no price."""
    found = built_in_fitting("servo, micro").fitting()
    assert (found.name, found.mass_g, found.count) == ("servo, micro", 7.5, 1)
    assert (found.station_mm, found.price_minor, found.section) == (None, None, "")


def test_refusals_word_for_word():
    """What is near is named, three at most; where nothing is, that is said."""
    with pytest.raises(RecordError) as refusal:
        built_in_fitting("carbon tube")
    assert "like = 'carbon tube' names no fitting of the built-in table." in str(refusal.value)
    near = (
        (refusal.value.next_step or "").removeprefix("Near: ").removesuffix(". Or give its mass_g yourself.")
    )
    assert len(near.split("; ")) == 3
    assert all(name in built_in_fittings() for name in near.split("; "))
    with pytest.raises(RecordError) as refusal:
        built_in_fitting("???????")
    assert refusal.value.next_step == "Near: nothing. Or give its mass_g yourself."


@pytest.mark.parametrize(("outer", "inner"), [(4.0, 4.0), (4.0, -0.1), (0.0, 0.0)])
def test_what_is_no_tube_is_refused(outer, inner):
    """A wall of nothing, a bore below nothing, nothing at all."""
    with pytest.raises(RecordError, match=f"a tube of {outer:g} mm cannot have a bore of {inner:g} mm"):
        tube_mass_g(outer, inner, 100.0, 1.5)


def test_a_rod_is_a_tube_without_a_bore():
    """pi / 4 x 4 mm2 x 1000 mm x 2 g/cm3 = 6.2832 g."""
    assert tube_mass_g(2.0, 0.0, 1000.0, 2.0) == pytest.approx(2.0 * math.pi)
