"""Centre of gravity, its range, what to move, and what else follows from it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.model.airframe import Fitting
from planner.model.budget import Balance, Mass, MassItem
from planner.model.wing import TailGeometry, WingGeometry
from planner.weights.balance import balance, centre
from planner.weights.mass import airframe_mass
from planner.weights.spread import Z_HIGH
from tests.unit.weights.samples import airframe


def weighed(*fittings: Fitting, **more: object) -> Balance:
    plane = airframe(fittings=fittings, **more)
    return balance(plane, airframe_mass(plane, (), {}, (), {}))


BATTERY = Fitting("battery", 200.0, station_mm=-100.0, movable=True)
WING = Fitting("wing", 600.0, station_mm=80.0)
TAIL = Fitting("tail", 200.0, station_mm=600.0)


def test_window_and_moves_by_hand():
    """148 000 g mm / 1000 g = 148 mm; for 100 mm the 200 g battery goes 48 x 1000 / 200 = 240 mm forward."""
    found = weighed(BATTERY, WING, TAIL, balance_window_mm=(90.0, 110.0))
    assert found.station_mm == pytest.approx(148.0)
    assert found.inside is False
    assert found.moves[0].by_mm == pytest.approx(-240.0)
    assert found.ballast is not None
    assert found.ballast.station_mm == -100.0
    assert found.ballast.mass_g == pytest.approx(1000.0 * -48.0 / -200.0)
    assert "240 mm forward" in found.advice[0]
    assert "beyond everything" in found.advice[0]
    assert "240 g of ballast" in found.advice[1]


@pytest.mark.parametrize("window", [(90.0, 110.0), (180.0, 220.0), (100.0, 200.0), (-20.0, 0.0)])
def test_advice_does_what_it_says(window):
    """Following either advice brings the balance to the middle of the window."""
    found = weighed(BATTERY, WING, TAIL, balance_window_mm=window)
    middle = sum(window) / 2.0
    move, ballast = found.moves[0], found.ballast
    moved = replace(BATTERY, station_mm=BATTERY.station_mm + move.by_mm)
    assert weighed(moved, WING, TAIL).station_mm == pytest.approx(middle)
    assert ballast is not None
    assert ballast.mass_g > 0.0
    added = Fitting("ballast", ballast.mass_g, station_mm=ballast.station_mm)
    assert weighed(BATTERY, WING, TAIL, added).station_mm == pytest.approx(middle)


def test_what_can_be_moved_comes_first_and_only_as_far_as_it_has_room():
    """148 mm, 100 wanted: 48 000 g mm. The battery has room for 100 mm: 20 000, to 128 mm.

    The receiver (100 g) has room for 50 mm: 5 000 more, to 123 mm. The other 23 000 are 23 000 / 200 =
    115 g of ballast 200 mm ahead of 100.
    """
    roomy = replace(BATTERY, movable=False, movable_mm=(-200.0, -60.0))
    wing = replace(WING, mass_g=500.0)
    receiver = Fitting("receiver", 100.0, station_mm=80.0, movable_mm=(30.0, 90.0))
    found = weighed(roomy, wing, receiver, TAIL, balance_window_mm=(90.0, 110.0))
    assert [(m.what, m.by_mm, m.balance_mm) for m in found.moves] == [
        ("battery", pytest.approx(-100.0), pytest.approx(128.0)),
        ("receiver", pytest.approx(-50.0), pytest.approx(123.0)),
    ]
    assert found.ballast is not None
    assert found.ballast.mass_g == pytest.approx(115.0)
    assert found.advice[0].startswith("Move battery 100 mm forward, to station -200 mm: its room ends there")
    assert found.advice[1].startswith("Then move receiver 50 mm forward")
    assert found.advice[2].startswith("Then add 115 g of ballast at station -100 mm")
    after = weighed(
        replace(roomy, station_mm=-200.0),
        wing,
        replace(receiver, station_mm=30.0),
        TAIL,
        Fitting("ballast", 115.0, station_mm=-100.0),
    )
    assert after.station_mm == pytest.approx(100.0)


def test_no_ballast_is_advised_where_moving_does_it():
    """With room for 300 mm the battery alone goes 240 mm; nothing is added and the middle is reached."""
    roomy = replace(BATTERY, movable_mm=(-400.0, 0.0))
    found = weighed(roomy, WING, TAIL, balance_window_mm=(90.0, 110.0))
    assert [(m.by_mm, m.balance_mm) for m in found.moves] == [(pytest.approx(-240.0), pytest.approx(100.0))]
    assert found.ballast is None
    assert len(found.advice) == 1


def test_no_ballast_where_nothing_reaches():
    """Nothing sits ahead of a target beyond the nose: no ballast is proposed, the move says so."""
    found = weighed(BATTERY, WING, TAIL, balance_window_mm=(-300.0, -200.0))
    assert found.ballast is None
    assert "beyond everything" in found.advice[0]


def test_unplaced_mass_is_named_and_left_out():
    """A fitting without a station moves nothing; its grams are told."""
    found = weighed(WING, Fitting("wire", 20.0))
    assert found.station_mm == 80.0
    assert found.unplaced == ("wire",)
    assert (found.placed_g, found.unplaced_g) == (600.0, 20.0)
    assert any("20.0 g have no station" in note for note in found.notes)


def test_nothing_placed_gives_no_number():
    """Without any station there is no balance, not a zero."""
    found = weighed(Fitting("wire", 20.0), balance_window_mm=(1.0, 2.0))
    assert (found.station_mm, found.inside, found.percent_chord) == (None, None, None)


def test_range_by_hand():
    """Two masses of 100 g, 100 mm apart, one with 2 % spread: sd = 100 x 0.02 x 50 / 200 = 0.5 mm."""
    found = weighed(
        Fitting("a", 100.0, station_mm=0.0, spread=0.02), Fitting("b", 100.0, station_mm=100.0, spread=0.0)
    )
    assert found.high_mm - found.low_mm == pytest.approx(2.0 * Z_HIGH * 0.5)


def test_sensitivity_by_hand():
    """10 g more at 600 mm on 1000 g at 148 mm: 10 x 452 / 1010 = 4.475 mm aft."""
    found = weighed(BATTERY, WING, TAIL)
    rear = next(s for s in found.sensitivity if s.what.startswith("rearmost"))
    assert rear.moves_mm == pytest.approx(10.0 * 452.0 / 1010.0)


def test_percent_of_the_mean_chord():
    """148 mm on a chord of 200 mm that begins at 98 mm is 25 %."""
    found = weighed(BATTERY, WING, TAIL, mean_chord_mm=200.0, mean_chord_le_mm=98.0)
    assert found.percent_chord == pytest.approx(25.0)
    assumed = weighed(BATTERY, WING, TAIL, mean_chord_mm=200.0)
    assert assumed.percent_chord == pytest.approx(74.0)
    assert any("taken to lie at the datum" in note for note in assumed.notes)


def test_static_margin_by_hand():
    """AR 6, tail AR 4, tail volume 0.5: neutral point at 0.472222 of the chord, 7.2 % behind 0.4."""
    wing = WingGeometry(100.0, 100.0, 600.0)
    tail = TailGeometry(area_dm2=1.0, arm_mm=300.0, span_mm=200.0)
    found = weighed(Fitting("all", 100.0, station_mm=40.0), wing=wing, tail=tail)
    assert found.neutral_point_mm == pytest.approx(47.2222, abs=1e-4)
    assert found.static_margin == pytest.approx(0.0722222, abs=1e-6)
    assert any("within the usual" in note for note in found.notes)
    assert any("first guess" in note for note in found.notes)


def _hands(left: float, right: float, across: float | None) -> Mass:
    items = tuple(
        MassItem(f"wing {hand}", "printed", "wing", grams, 50.0, side, hand=hand)
        for hand, grams, side in (
            ("left", left, None if across is None else -across),
            ("right", right, across),
        )
    )
    return Mass(items, left + right, 0.0, 0.0, left + right, left + right, left + right, None)


def test_lateral_balance_by_hand():
    """100 g at 300 mm left and 110 g at 300 mm right balance 3000 / 210 = 14.286 mm to the right."""
    found = balance(airframe(), _hands(100.0, 110.0, 300.0))
    assert found.across_mm == pytest.approx(3000.0 / 210.0)
    assert (found.left_g, found.right_g) == (100.0, 110.0)
    assert any("right side's pieces are 10.0 g heavier" in note for note in found.notes)
    assert balance(airframe(), _hands(100.0, 110.0, None)).across_mm is None


def test_wing_loadings():
    """750 g on 30 dm2: 25 g/dm2 (gliders), cube loading between slow flyers and trainers."""
    found = weighed(Fitting("all", 750.0, station_mm=0.0), wing_area_dm2=30.0)
    assert found.wing_loading_g_per_dm2 == 25.0
    assert found.wing_loading_band == "gliders"
    assert found.wing_cube_loading_band == "between slow flyers and trainers"


def test_a_range_that_leaves_the_window_is_told():
    """Inside as expected, but with a wide range: the notes say to weigh early."""
    found = weighed(
        Fitting("a", 100.0, station_mm=0.0, spread=0.3),
        Fitting("b", 100.0, station_mm=100.0),
        balance_window_mm=(45.0, 55.0),
    )
    assert found.inside is True
    assert any("weigh pieces early" in note for note in found.notes)


def test_centre_needs_no_order():
    """The order of the items does not matter."""
    items = [MassItem(str(n), "fitting", "", 1.0 + n, 7.0 * n) for n in range(5)]
    assert centre(items) == pytest.approx(centre(items[::-1]))
