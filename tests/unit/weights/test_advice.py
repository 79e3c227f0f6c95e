"""What to move and what to add, by hand and word for word."""

from __future__ import annotations

import pytest

from planner.model.budget import Ballast, MassItem, Move, Sensitivity
from planner.weights.advice import (
    advice_text,
    ballast_to,
    movable_gmm,
    move_text,
    moves_to,
    reached,
    sensitivity,
    way,
)


def item(what: str, grams: float, at: float | None, room=None, *, movable=False, kind="fitting", section=""):
    return MassItem(what, kind, section, grams, at, movable=movable or room is not None, movable_mm=room)


A = item("battery", 200.0, -100.0, (-200.0, -50.0))
B = item("receiver", 100.0, 0.0, (-50.0, 150.0))
C = item("servo", 300.0, 50.0, movable=True)
D = item("hull", 400.0, 300.0, kind="printed")
NOWHERE = item("horn", 5.0, None, (0.0, 10.0))
WEIGHTLESS = item("tape", 0.0, 10.0, (0.0, 90.0))
LOOSE = item("nut", 5.0, None, movable=True)
NOTHING = item("wire", 0.0, 10.0, movable=True)
ALL = (B, A, C, D, NOWHERE, WEIGHTLESS, LOOSE, NOTHING)


def test_forward_by_hand():
    """48 mm too far aft of 1000 g: 48 000 g mm. The battery gives 20 000, the receiver 5 000; 23 000 are left
    for the servo, 76.7 mm of it, which has no room told."""
    battery = Move("battery", 200.0, -100.0, -100.0, (-200.0, -50.0), 128.0)
    receiver = Move("receiver", 100.0, 0.0, -50.0, (-50.0, 150.0), 123.0)
    servo = Move("servo", 300.0, 50.0, -23_000.0 / 300.0, None, 100.0)
    found = moves_to(100.0, 148.0, 1000.0, ALL)
    assert found == (battery, receiver, servo)
    assert reached(148.0, found) == 123.0
    assert found[0].to_mm == -200.0


def test_aft_by_hand():
    """30 000 g mm: the receiver gives 15 000 and goes first, the battery 10 000, the servo the last 5 000."""
    found = moves_to(130.0, 100.0, 1000.0, ALL)
    assert [(m.what, m.by_mm, m.balance_mm) for m in found] == [
        ("receiver", 150.0, 115.0),
        ("battery", 50.0, 125.0),
        ("servo", 5_000.0 / 300.0, 130.0),
    ]


def test_what_one_fitting_does_alone_is_left_to_it():
    """10 000 g mm forward: the battery goes 50 mm of its 100; nothing else moves."""
    assert moves_to(90.0, 100.0, 1000.0, ALL) == (
        Move("battery", 200.0, -100.0, -50.0, (-200.0, -50.0), 90.0),
    )


@pytest.mark.parametrize(("off", "moves"), [(0.49, 0), (-0.49, 0), (0.5, 1), (-0.5, 1)])
def test_half_a_millimetre_is_close_enough(off, moves):
    """Nearer than that nothing is moved."""
    assert len(moves_to(100.0, 100.0 + off, 1000.0, ALL)) == moves


@pytest.mark.parametrize(("room", "moves"), [(0.04, 0), (0.05, 1)])
def test_nobody_slides_a_battery_by_less(room, moves):
    """A room of 0.04 mm is none."""
    assert len(moves_to(10.0, 0.0, 100.0, (item("battery", 50.0, 0.0, (0.0, room)),))) == moves


def test_what_can_be_moved_at_all_by_hand():
    """Forward 200 x -100 + 100 x -50, aft 200 x 50 + 100 x 150; what has no place or weight gives nothing."""
    assert movable_gmm(ALL) == (-25_000.0, 25_000.0)
    assert movable_gmm((D,)) == (0, 0)
    assert movable_gmm((item("battery", 10.0, 0.0, (-1.0, 2.0)),)) == (-10.0, 20.0)


def test_nothing_moved_stays_where_it_is():
    """Moves without a room do not count: they are told each by itself."""
    assert reached(148.0, ()) == 148.0
    assert reached(148.0, (Move("servo", 1.0, 0.0, 5.0, None, 100.0),)) == 148.0


def test_least_ballast_by_hand():
    """1000 g from 148 to 100: 48 000 / 200 beside the battery, 200 mm ahead of 100. Aft: beside the hull,
    where no fitting lies behind; at 100.4 none is needed; where nothing reaches there is none."""
    assert ballast_to(100.0, 148.0, 1000.0, ALL) == Ballast(240.0, -100.0, "battery")
    assert ballast_to(100.0, 50.0, 1000.0, ALL) == Ballast(250.0, 300.0, "hull")
    assert ballast_to(40.0, 30.0, 1000.0, ALL) == Ballast(1000.0, 50.0, "servo")
    assert ballast_to(100.0, 100.4, 1000.0, ALL) is None
    assert ballast_to(100.0, 100.5, 1000.0, ALL) == Ballast(2.5, -100.0, "battery")
    assert ballast_to(300.0, 100.0, 1000.0, ALL) is None
    assert ballast_to(-100.0, 100.0, 1000.0, ALL) is None


def test_ten_grams_at_every_section():
    """990 g at 100 mm: ten grams move it by a hundredth of their lever. Ends are of things, not of glue."""
    items = (
        item("nose", 0.2, 0.0, section="front"),
        item("spinner", 0.6, 40.0, section="front"),
        item("tail", 100.0, 500.0, section="rear"),
        item("label", 0.0, 700.0, section="air"),
        item("glue", 5.0, 900.0, kind="finish", section="rear"),
        item("loose", 5.0, None, section="front"),
    )
    rear = (100.0 * 500.0 + 5.0 * 900.0) / 105.0
    assert sensitivity(100.0, 990.0, items) == (
        Sensitivity("foremost: nose", 0.0, -1.0),
        Sensitivity("front", pytest.approx(30.0), pytest.approx(-0.7)),
        Sensitivity("rear", pytest.approx(rear), pytest.approx((rear - 100.0) / 100.0)),
        Sensitivity("rearmost: label", 700.0, 6.0),
    )
    glue = (items[4],)
    assert [s.what for s in sensitivity(0.0, 5.0, glue)] == ["foremost: glue", "rear", "rearmost: glue"]
    assert sensitivity(0.0, 5.0, (items[5],)) == ()
    assert sensitivity(0.0, 80.0, items[:1], 20.0)[0].moves_mm == 0.0


@pytest.mark.parametrize(
    ("by", "words"),
    [
        (-12.4, "12 mm forward"),
        (3.5, "3.5 mm aft"),
        (9.94, "9.9 mm aft"),
        (9.95, "10 mm aft"),
        (-9.96, "10 mm forward"),
        (0.0, "0.0 mm aft"),
    ],
)
def test_ways_in_words(by, words):
    """One decimal under ten millimetres."""
    assert way(by) == words


ROOM = Move("battery", 200.0, 0.0, -65.0, (-65.0, 0.0), 110.0)
THERE = Move("battery", 200.0, 0.0, -65.0, (-90.0, 0.0), 100.0)
FREE = Move("servo", 200.0, 0.0, 12.0, None, 100.0)
FAR = Move("servo", 200.0, 0.0, -120.0, None, None)
AFAR = Move("servo", 200.0, 0.0, 121.0, None, 100.0)
BALLAST = Ballast(240.0, -100.0, "motor")
PLACED = (item("motor", 1.0, -100.0), item("loose", 1.0, None), item("tail", 1.0, 120.0))
MIDDLE = ": the airframe then balances at 100 mm, the middle of the window."
BEYOND = " That is beyond everything that has a station: there may be no room."
ENDS = ": its room ends there, the airframe then balances at 110 mm."
ADD = "240 g of ballast at station -100 mm (beside motor)."


@pytest.mark.parametrize(
    ("moves", "ballast", "lines"),
    [
        ((), None, []),
        ((), BALLAST, ["Add " + ADD]),
        ((THERE,), None, ["Move battery 65 mm forward, to station -65 mm" + MIDDLE]),
        (
            (ROOM,),
            BALLAST,
            ["Move battery 65 mm forward, to station -65 mm" + ENDS, "Then add " + ADD],
        ),
        (
            (ROOM, FREE),
            BALLAST,
            [
                "Move battery 65 mm forward, to station -65 mm" + ENDS,
                "Then move servo 12 mm aft, to station 12 mm" + MIDDLE,
                "Or add " + ADD,
            ],
        ),
        ((FREE, FREE), None, ["Move servo 12 mm aft, to station 12 mm" + MIDDLE] * 2),
        (
            (FAR,),
            BALLAST,
            ["Move servo 120 mm forward, to station -120 mm" + MIDDLE + BEYOND, "Or add " + ADD],
        ),
        ((AFAR,), None, ["Move servo 121 mm aft, to station 121 mm" + MIDDLE + BEYOND]),
        # a room that was told is a room, also beyond all that is placed
        (
            (Move("battery", 200.0, 0.0, -165.0, (-165.0, 0.0), 110.0),),
            None,
            ["Move battery 165 mm forward, to station -165 mm" + ENDS],
        ),
    ],
)
def test_advice_word_for_word(moves, ballast, lines):
    """Moves first, then ballast, and whether one replaces the other."""
    assert list(advice_text(100.0, moves, ballast, PLACED)) == lines


def test_a_move_to_the_very_end_has_room():
    """To the station of what is foremost or rearmost is not beyond it."""
    for by in (-100.0, 120.0):
        assert BEYOND not in advice_text(100.0, (Move("x", 1.0, 0.0, by, None, 100.0),), None, PLACED)[0]
    assert move_text(FREE) == "servo 12 mm aft, to station 12 mm"
