"""Flying mass: what counts, what does not, and how far it may lie off."""

from __future__ import annotations

import pytest

from planner.errors import RecordError
from planner.model.airframe import Finish, Fitting
from planner.model.budget import Mass
from planner.model.learned import Taught, WeighedGrams
from planner.weights.finish import GLUE_SHARE
from planner.weights.mass import airframe_mass, flying_g
from planner.weights.spread import Z_HIGH
from tests.unit.weights.samples import FILAMENTS, airframe, deposit, part, pieces

NO_FINISH = Finish(glue_g=0.0, paint_g=0.0)
EXACT_G = 1e-9


def mass_of(plane, deposits) -> Mass:
    return airframe_mass(plane, plane.parts, {d.part: d for d in deposits}, pieces(plane), FILAMENTS)


def test_support_does_not_fly():
    """A fifth of 50 g laid down is support: 40 g fly."""
    assert flying_g(deposit("a", 50.0, support_share=0.2)) == pytest.approx(40.0, abs=EXACT_G)


def test_kinds_add_up_by_hand():
    """Two mirrored pieces of 40 g, four servos of 9 g, 6 g of glue and 14 g of paint make 136 g."""
    plane = airframe(
        part("wing", hand="left", mirror=True, other_section="right wing", section="left wing"),
        fittings=(Fitting("servo", 9.0, count=4),),
        finish=Finish(glue_g=6.0, paint_g=14.0),
        target_mass_g=150.0,
    )
    mass = mass_of(plane, [deposit("wing", 50.0, support_share=0.2)])
    assert (mass.printed_g, mass.fittings_g, mass.finish_g) == pytest.approx((80.0, 36.0, 20.0))
    assert mass.total_g == pytest.approx(136.0)
    assert mass.target_g == 150.0
    assert [item.section for item in mass.items[:2]] == ["left wing", "right wing"]


def test_glue_falls_back_to_the_stated_share():
    """Without a figure glue is 2.5 % of the printed mass, and the notes say so."""
    plane = airframe(part("a"))
    mass = mass_of(plane, [deposit("a", 200.0)])
    assert mass.finish_g == pytest.approx(200.0 * GLUE_SHARE) == pytest.approx(5.0)
    assert any("2.5 %" in note and "common practice" in note for note in mass.notes)


def test_range_by_hand():
    """Two pieces of 100 g PLA (3 % shared, 1 % own): sd = sqrt(6^2 + 1^2 + 1^2) = 6.1644 g."""
    plane = airframe(part("a", copies=2), finish=NO_FINISH)
    mass = mass_of(plane, [deposit("a", 100.0)])
    assert mass.high_g - 200.0 == pytest.approx(Z_HIGH * 38.0**0.5)
    assert 200.0 - mass.low_g == pytest.approx(1.2816 * 6.1644, rel=1e-4)


def test_two_filaments_spread_less_than_one():
    """Shared errors of two filaments do not add straight: sqrt(3^2 + 6^2 + 1^2 + 2^2) = 7.0711 g."""
    plane = airframe(part("a"), part("b", "foam"), finish=NO_FINISH)
    mass = mass_of(plane, [deposit("a", 100.0), deposit("b", 100.0)])
    assert mass.high_g - mass.total_g == pytest.approx(Z_HIGH * 50.0**0.5)


def test_a_weighed_fitting_may_have_no_spread():
    """A fitting that is given a spread of 0 adds nothing to the range."""
    plane = airframe(fittings=(Fitting("lead", 100.0, spread=0.0),))
    mass = mass_of(plane, [])
    assert (mass.low_g, mass.total_g, mass.high_g) == (100.0, 100.0, 100.0)


def test_only_chosen_options_fly():
    """Of two landing gears only the chosen one is in the mass."""
    plane = airframe(
        fittings=(
            Fitting("skid", 10.0, option=("landing", "skid")),
            Fitting("wheels", 30.0, option=("landing", "wheels")),
        ),
        options={"landing": "skid"},
        choices={"landing": ("skid", "wheels")},
    )
    assert mass_of(plane, []).total_g == 10.0


def test_a_piece_without_estimate_is_named():
    """A piece that could not be estimated is left out and said to be."""
    plane = airframe(part("a"), part("b"))
    mass = mass_of(plane, [deposit("a", 100.0)])
    assert mass.printed_g == 100.0
    assert any(note.startswith("b could not be estimated") for note in mass.notes)


def test_unknown_filament_is_refused():
    """A part of a filament that nobody describes has no spread: the error names both."""
    plane = airframe(part("a", "mystery"))
    with pytest.raises(RecordError, match=r"part 'a'.*mystery"):
        mass_of(plane, [deposit("a", 1.0)])


@pytest.mark.parametrize(
    ("limit", "words"), [(90.0, "is over the limit"), (101.0, "the range"), (300.0, None)]
)
def test_mass_class_limits(limit, words):
    """A limit of the user's authority is told when it is broken, and when only the range breaks it."""
    plane = airframe(part("a"), finish=NO_FINISH, mass_limits_g=(("open class", limit),))
    notes = [n for n in mass_of(plane, [deposit("a", 100.0)]).notes if "open class" in n]
    assert (len(notes) == 0) if words is None else (words in notes[0])


def test_paint_sits_where_the_surface_is():
    """30 g of paint on 1 and 2 dm2 at 0 and 90 mm sit at 60 mm; glue by the rule sits at the mass."""
    plane = airframe(part("a", station_mm=0.0), part("b", station_mm=90.0), finish=Finish(paint_g=30.0))
    mass = mass_of(plane, [deposit("a", 80.0, surface=1e4), deposit("b", 20.0, surface=2e4)])
    at = {item.finish: item.station_mm for item in mass.items}
    assert at["primer and paint"] == pytest.approx(60.0)
    assert at["glue"] == pytest.approx(18.0)


def test_a_piece_on_the_scale_weighs_that_whatever_was_told_of_its_bed():
    """Neither printed by the marks nor predicted: its grams and its range are those of the scale."""
    plane = airframe(part("a"), part("b"), finish=NO_FINISH)
    parts = [deposit("a", 100.0), deposit("b", 100.0)]
    one, other = pieces(plane)
    taught = Taught(3, weighed={one.name: WeighedGrams(106.0, 0.0)})
    deposits = {d.part: d for d in parts}
    mass = airframe_mass(plane, plane.parts, deposits, pieces(plane), FILAMENTS, taught=taught)
    told = {item.what: item for item in mass.items}
    assert told[one.name].mass_g == 106.0
    assert (told[one.name].spread, told[one.name].spread_shared) == (0.0, 0.0)
    assert told[other.name].mass_g == pytest.approx(100.0)
