"""A whole balance: every field of it, and every sentence, by hand."""

from __future__ import annotations

from dataclasses import astuple, replace

import pytest

from planner.model.airframe import Fitting
from planner.model.budget import Mass, MassItem
from planner.model.wing import TailGeometry, WingGeometry
from planner.weights.balance import _margin_notes, balance
from planner.weights.loading import cube_band, loading_band, wing_cube_loading_kg_per_m3
from planner.weights.mass import airframe_mass
from planner.weights.mean_chord import MeanChord, area_of, chord_of
from planner.weights.spread import Z_HIGH, deviation
from planner.weights.stability import LIMITS
from tests.unit.weights.samples import airframe

NOSE, TAIL = (
    Fitting("nose", 100.0, station_mm=0.0, spread=0.1),
    Fitting("tail", 100.0, station_mm=100.0, spread=0.0),
)
LOOSE = Fitting("loose", 50.0)
NO_WINDOW = "No balance window is given, so there is no advice on moving mass."
WING = WingGeometry(100.0, 100.0, 600.0, root_le_mm=10.0)


def weighed(*fittings: Fitting, **more: object):
    plane = airframe(fittings=fittings, **more)
    return balance(plane, airframe_mass(plane, (), {}, (), {}))


def test_every_field_of_a_balance():
    """200 g at 50 mm and 50 g nowhere. 10 % of 100 g, 50 mm ahead: 10 x 50 / 200 = 2.5 mm of deviation."""
    found = weighed(NOSE, TAIL, LOOSE, wing_area_dm2=10.0, mean_chord_mm=200.0, mean_chord_le_mm=30.0)
    assert (found.station_mm, found.placed_g, found.unplaced_g) == (50.0, 200.0, 50.0)
    assert (found.low_mm, found.high_mm) == pytest.approx((50.0 - 2.5 * Z_HIGH, 50.0 + 2.5 * Z_HIGH))
    assert (found.unplaced, found.window_mm, found.inside) == (("loose",), None, None)
    assert (found.percent_chord, found.mean_chord_mm, found.mean_chord_le_mm) == (10.0, 200.0, 30.0)
    assert found.wing_loading_g_per_dm2 == 25.0  # with all of the 250 g
    assert found.wing_cube_loading_kg_per_m3 == pytest.approx(0.25 / 0.1**1.5)
    assert (found.wing_loading_band, found.wing_cube_loading_band) == (
        "gliders",
        "sport and scale aerobatic models",
    )
    assert (found.neutral_point_mm, found.static_margin, found.ballast, found.moves) == (None, None, None, ())
    assert (found.left_g, found.right_g, found.across_mm) == (0.0, 0.0, 0.0)
    assert [s.what for s in found.sensitivity] == ["foremost: nose", "rearmost: tail"]
    assert found.advice == ()
    assert found.notes == (
        "50.0 g have no station and are not in the balance: give a stack or station_mm.",
        NO_WINDOW,
    )


def test_nothing_known_of_the_wing():
    """No area: no loading and no band, no chord."""
    found = weighed(NOSE, TAIL)
    assert (found.wing_loading_g_per_dm2, found.wing_cube_loading_kg_per_m3) == (None, None)
    assert (found.wing_loading_band, found.wing_cube_loading_band) == ("", "")
    assert (found.percent_chord, found.mean_chord_mm, found.mean_chord_le_mm) == (None, None, None)
    assert found.notes == (NO_WINDOW,)


def test_an_airframe_that_weighs_nothing_has_no_loading():
    """An area alone gives no number."""
    found = weighed(wing_area_dm2=10.0)
    assert (found.wing_loading_g_per_dm2, found.wing_cube_loading_kg_per_m3, found.station_mm) == (
        None,
        None,
        None,
    )


@pytest.mark.parametrize(
    ("window", "inside", "doubt"),
    [
        ((40.0, 50.0), True, False),
        ((50.0, 60.0), True, False),
        ((50.001, 60.0), False, False),
        ((40.0, 49.999), False, False),
    ],
)
def test_the_edges_of_the_window_are_inside(window, inside, doubt):
    """Without any spread the range is one point: on the edge it is still inside."""
    found = weighed(replace(NOSE, spread=0.0), TAIL, balance_window_mm=window)
    assert found.inside is inside
    assert any("weigh pieces early" in note for note in found.notes) is doubt


def test_the_range_word_for_word():
    """47 to 53 mm on a window of 48 to 60."""
    found = weighed(NOSE, TAIL, balance_window_mm=(48.0, 60.0))
    assert found.notes == ("The range 47 to 53 mm reaches beyond the window: weigh pieces early.",)
    assert weighed(NOSE, TAIL, balance_window_mm=(40.0, 52.0)).notes == (
        "The range 47 to 53 mm reaches beyond the window: weigh pieces early.",
    )


@pytest.mark.parametrize(("room", "adds"), [(-40.0, False), (-39.0, True)])
def test_ballast_is_advised_only_where_moving_does_not_reach_the_window(room, adds):
    """50 mm, a window of 10 to 30: 100 g of 200 g that go 80 mm forward reach its aft edge, 30 - 40 x 0.5."""
    battery = replace(NOSE, station_mm=0.0, movable_mm=(room, 0.0))
    found = weighed(battery, TAIL, balance_window_mm=(10.0, 30.0))
    assert found.ballast is not None
    assert any("ballast" in line for line in found.advice) is adds


def test_aft_edge_and_fore_edge_of_what_moving_reaches():
    """25 mm aft of 50 is 75, the fore edge of 75 to 95."""
    battery = replace(NOSE, station_mm=0.0, movable_mm=(0.0, 50.0))
    assert not any("ballast" in t for t in weighed(battery, TAIL, balance_window_mm=(75.0, 95.0)).advice)
    assert any("ballast" in t for t in weighed(battery, TAIL, balance_window_mm=(75.1, 95.0)).advice)


def hands(left: float, right: float) -> Mass:
    items = tuple(
        MassItem(f"wing {hand}", "printed", "wing", grams, 50.0, hand=hand)
        for hand, grams in (("left", left), ("right", right))
    )
    return Mass(items, left + right, 0.0, 0.0, left + right, left + right, left + right, None)


@pytest.mark.parametrize(
    ("left", "right", "note", "across"),
    [
        (100.0, 110.0, "The right side's pieces are 10.0 g heavier.", None),
        (110.0, 100.0, "The left side's pieces are 10.0 g heavier.", None),
        (100.0, 100.5, None, 0.0),
        (100.0, 100.625, "The right side's pieces are 0.6 g heavier.", None),
        (100.0, 0.0, None, None),  # one hand alone is not compared
        (0.0, 100.0, None, None),
        (100.0, 100.0, None, 0.0),
    ],
)
def test_hands_by_hand(left, right, note, across):
    """Half a gram is what a kitchen scale can tell."""
    found = balance(airframe(), hands(left, right))
    assert list(found.notes) == [*([note] if note else []), NO_WINDOW]
    assert (found.left_g, found.right_g, found.across_mm) == (left, right, across)


@pytest.mark.parametrize(
    ("margin", "words"),
    [
        (0.049, "4.9 % of the mean chord, below"),
        (0.05, "5.0 % of the mean chord, within"),
        (0.15, "15.0 % of the mean chord, within"),
        (0.151, "15.1 % of the mean chord, above"),
    ],
)
def test_margins_word_for_word(margin, words):
    """The usual is 5 to 15 %, both included."""
    assert _margin_notes(margin) == [f"Static margin {words} the usual 5 to 15 % (common practice).", LIMITS]


def test_the_neutral_point_needs_wing_tail_and_chord():
    """One of them alone gives none."""
    tail = TailGeometry(area_dm2=1.0, arm_mm=300.0, span_mm=200.0)
    assert weighed(NOSE, TAIL, tail=tail).neutral_point_mm is None
    assert weighed(NOSE, TAIL, wing=WING).neutral_point_mm is None
    found = weighed(NOSE, TAIL, wing=WING, tail=tail)
    assert found.neutral_point_mm == pytest.approx(10.0 + 47.2222, abs=1e-4)
    assert found.static_margin == pytest.approx((57.2222 - 50.0) / 100.0, abs=1e-6)


AT_DATUM = "The leading edge of the mean chord is taken to lie at the datum (no mean_chord_le_mm is given)."


@pytest.mark.parametrize(
    ("given", "wanted", "notes"),
    [
        ({}, None, ()),
        ({"wing": WING}, MeanChord(100.0, 150.0, 10.0), ()),  # no taper: the middle of the half span
        ({"wing": WING, "mean_chord_mm": 90.0}, MeanChord(90.0, 150.0, 10.0), ()),
        ({"wing": WING, "mean_chord_mm": 90.0, "mean_chord_le_mm": 7.0}, MeanChord(90.0, 150.0, 7.0), ()),
        ({"mean_chord_mm": 90.0, "mean_chord_le_mm": 7.0}, MeanChord(90.0, 0.0, 7.0), ()),
        ({"mean_chord_mm": 90.0}, MeanChord(90.0, 0.0, 0.0), (AT_DATUM,)),
    ],
)
def test_the_mean_chord_as_given_or_as_drawn(given, wanted, notes):
    """What is given wins over the plan form, each for itself."""
    found, told = chord_of(airframe(**given))
    assert told == notes
    assert (found is None) is (wanted is None)
    if found is not None:
        assert astuple(found) == pytest.approx(astuple(wanted))


def test_the_area_as_given_or_as_drawn():
    """600 mm by 100 mm are 6 dm2."""
    assert area_of(airframe()) is None
    assert area_of(airframe(wing=WING)) == 6.0
    assert area_of(airframe(wing=WING, wing_area_dm2=7.0)) == 7.0


@pytest.mark.parametrize(
    ("loading", "words"),
    [
        (9.9, ""),
        (10.0, "gliders"),
        (25.0, "gliders"),
        (27.0, ""),
        (30.0, "trainers"),
        (45.0, "trainers or sport models"),
        (60.0, "sport models or warbirds"),
        (100.0, "warbirds"),
        (101.0, ""),
    ],
)
def test_bands_of_wing_loading(loading, words):
    """Bands overlap, and between them no kind is named."""
    assert loading_band(loading) == words


@pytest.mark.parametrize(
    ("loading", "words"),
    [
        (3.99, "slow flyers and thermal gliders"),
        (4.0, "between slow flyers and trainers"),
        (5.0, "trainers and park flyers"),
        (7.0, "sport and scale aerobatic models"),
        (10.0, "sport scale models"),
        (13.0, "warbirds and racers"),
    ],
)
def test_bands_of_cube_loading(loading, words):
    """A limit belongs to the heavier band."""
    assert cube_band(loading) == words
    assert wing_cube_loading_kg_per_m3(2000.0, 100.0) == 2.0  # 2 kg on 1 m2


def test_every_item_has_a_weight():
    """A list of weights of another length is an error, not a shorter sum."""
    items = (MassItem("a", "fitting", "", 10.0, None, spread=0.1),)
    assert deviation(items, [2.0]) == pytest.approx(2.0)
    with pytest.raises(ValueError, match="shorter"):
        deviation(items, [])
