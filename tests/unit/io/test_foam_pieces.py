"""Filaments that foam get few pieces a bed by a built-in number with its reason, unless they say another."""

from planner.io.records.builtin import builtin_filaments
from tests.unit.io.test_own_densities import filament

OWN = 'material = "m"\nsolid_g_per_cm3 = 1.2\nfoaming = true\ndeposited_g_per_cm3 = 0.6\n'


def test_an_own_foam_gets_the_built_in_number_with_its_reason() -> None:
    """From ``foaming = true`` alone, and through ``like``."""
    foam = builtin_filaments()["foaming PLA"]
    for row in (OWN, 'like = "foaming PLA"', 'like = "PLA"\nfoaming = true\ndeposited_g_per_cm3 = 0.6'):
        own = filament(row, "own foam")
        assert (own.most_pieces, own.most_pieces_why) == (foam.most_pieces, foam.most_pieces_why)
    assert foam.most_pieces is not None
    assert "no source" in foam.most_pieces_why


def test_an_own_number_has_not_the_built_in_reason() -> None:
    """What the user writes holds, in a filament and in what is like it; what does not foam has no limit."""
    for row in (OWN + "most_pieces = 7", 'like = "foaming PLA"\nmost_pieces = 7'):
        own = filament(row, "own foam")
        assert (own.most_pieces, own.most_pieces_why) == (7, "")
    plain = filament('like = "foaming PLA"\nfoaming = false', "own")
    assert (plain.most_pieces, plain.most_pieces_why) == (None, "")
    assert filament('like = "PLA"', "own").most_pieces is None
