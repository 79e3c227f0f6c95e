"""The built-in table of bought items."""

from __future__ import annotations

import pytest

from planner.errors import RecordError
from planner.weights.fittings import built_in_fitting, built_in_fittings, tube_mass_g
from planner.weights.spread import Z_HIGH


def test_every_row_is_usable_and_says_where_it_comes_from():
    """Ranges are ordered, and each source names a reading, a formula or admits to memory."""
    for row in built_in_fittings().values():
        assert 0.0 < row.low_g < row.high_g
        assert any(word in row.source for word in ("page", "geometry", "from memory", "common practice"))
        row.fitting(length_mm=100.0 if row.per == "metre" else None)


def test_sizes_that_builders_commonly_use_are_there():
    """Tubes of 4, 6 and 10 mm, M3 inserts, film hinges, printed M6 screws, packs of four cells and 5 Ah."""
    names = "\n".join(built_in_fittings())
    for words in (
        "tube 4 x",
        "tube 6 x",
        "tube 10 x",
        "M3, 5 mm outer",
        "20 x 25",
        "screw M6",
        "4 cells 5 Ah",
    ):
        assert words in names


def test_a_range_becomes_a_spread():
    """A servo of 5 to 10 g is 7.5 g, and 10 and 90 % of a normal spread lie at 5 and 10 g."""
    fitting = built_in_fitting("servo, micro").fitting(count=4, station_mm=70.0)
    assert (fitting.mass_g, fitting.count, fitting.kind) == (7.5, 4, "servo")
    assert 7.5 * (1.0 + Z_HIGH * (fitting.spread or 0.0)) == pytest.approx(10.0)


def test_a_pack_may_be_moved():
    """Packs are the fittings that the balance advice moves."""
    assert built_in_fitting("lithium pack, 4 cells 5 Ah").fitting().movable


def test_length_and_name_are_checked():
    """A tube without length, a servo with one and an unknown name are refused with a way out."""
    with pytest.raises(RecordError, match="needs a length_mm"):
        built_in_fitting("carbon tube 6 x 4").fitting()
    with pytest.raises(RecordError, match="takes no length_mm"):
        built_in_fitting("servo, micro").fitting(length_mm=10.0)
    with pytest.raises(RecordError, match="carbon tube 6 x 4"):
        built_in_fitting("carbon tube 6x4")


def test_a_bore_wider_than_its_tube_is_refused():
    """4 mm outside and 6 mm inside is no tube."""
    with pytest.raises(RecordError, match="bore of 6 mm"):
        tube_mass_g(4.0, 6.0, 100.0, 1.5)
