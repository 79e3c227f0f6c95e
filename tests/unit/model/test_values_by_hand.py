"""What values tell of themselves, each by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import numpy as np
import pytest

from planner.errors import RecordError
from planner.model.airframe import Airframe
from planner.model.attendance import Absence, Attendance, DateWindow, WeeklyWindow
from planner.model.batch import Placed, Unplaced, bed_numbers, print_order
from planner.model.deposit import Deposit, Layers
from planner.model.filament import Filament
from planner.model.part import Part, Stack
from planner.model.printed import Make
from planner.model.printer import Head, Printer
from planner.model.recipe import Recipe
from planner.model.schedule import Draw, Run
from planner.model.workshop import Workshop

FOAM = Filament(
    "foam",
    "PLA",
    1.24,
    0.62,
    foaming=True,
    nozzle_c=230.0,
    foam_curve=((200.0, 1.2), (220.0, 0.8), (240.0, 0.6)),
)


@pytest.mark.parametrize(
    ("nozzle", "density"),
    [(190.0, 1.2), (200.0, 1.2), (205.0, 1.1), (220.0, 0.8), (230.0, 0.7), (240.0, 0.6), (260.0, 0.6)],
)
def test_foam_by_hand(nozzle, density):
    """Straight between the rows, level outside them; flow follows the mass."""
    hot = FOAM.at_nozzle(nozzle)
    assert FOAM.foamed_g_per_cm3(nozzle) == pytest.approx(density)
    assert (hot.nozzle_c, hot.deposited_g_per_cm3) == (nozzle, pytest.approx(density))
    assert hot.flow_fraction == pytest.approx(density / 1.24)
    assert replace(FOAM, foam_curve=()).foamed_g_per_cm3(nozzle) == 0.62


def test_metres_of_a_gram():
    """1.75 mm at 1.25 g/cm3: 2.40528 mm2, so 0.33260 m a gram, 333 m of a spool of 1 kg."""
    plain = Filament("PLA", "PLA", 1.25, 1.25)
    assert plain.metres_per_gram == pytest.approx(0.332602, abs=1e-6)
    assert plain.metres_per_gram == pytest.approx(1.0 / (1.25 * math.pi * 0.875**2))


def layers(**more: np.ndarray) -> Layers:
    two = {name: np.array([1.0, 2.0]) for name in Layers.__dataclass_fields__}
    return Layers(**{**two, **more})


def test_support_of_a_deposit():
    """1 + 2 of each of four kinds: 12 mm3, of which 3 are support: a quarter of 8 g."""
    found = Deposit("rib", layers(), {}, 8.0, 2.5, footprint_mm=((3.0, -1.0), (-2.0, 5.0), (4.0, 4.0)))
    assert (found.volume_mm3, found.support_mm3, found.support_g) == (12.0, 3.0, 2.0)
    assert found.footprint_low_mm == (-2.0, -1.0)
    assert repr(found) == "<deposit of 'rib': 2 layers, 8.0 g, 2.50 m of filament>"
    zero = {name: np.zeros(2) for name in ("wall_mm3", "solid_mm3", "sparse_mm3", "support_mm3")}
    assert Deposit("air", layers(**zero), {}, 0.0, 0.0).support_g == 0.0


@pytest.mark.parametrize("wrong", [np.array([1.0]), np.array([1.0, math.nan]), np.array([1.0, math.inf])])
def test_layers_are_of_one_length_and_finite(wrong):
    """A column of another length, or a number that is none, is refused by name."""
    with pytest.raises(RecordError, match=r"layers\.path_mm is not 2 finite numbers"):
        layers(path_mm=wrong)


@pytest.mark.parametrize(
    ("misfit", "words"),
    [
        (Unplaced("p", "x", 12.34, ""), "12.3 mm short in x"),
        (Unplaced("p", "z", 0.06, ""), "too tall: it is 0.1 mm above the clear height"),
        (Unplaced("p", "y", 0.04, ""), "less than 0.1 mm short in y"),
        (Unplaced("p", "x", 0.0, ""), "no place on any bed is clear of margin, keep-outs and gantry"),
        (Unplaced("p", "beds", 5.0, ""), "all beds that take it are full"),
        (Unplaced("p", "filament", 0.0, "", "no printer runs it"), "no printer runs it"),
    ],
)
def test_why_a_piece_fits_nowhere(misfit, words):
    """A length where a length is the reason, never a length of nothing."""
    assert misfit.reason == words


def test_numbers_of_beds():
    """The number in the name; a second bed 2, and beds without one, come after the highest."""
    names = ["bed 2", "wing", "bed 10", "again 2", "tail"]
    assert bed_numbers(names) == {"bed 2": 2, "bed 10": 10, "wing": 11, "again 2": 12, "tail": 13}
    assert bed_numbers([]) == {}


def test_order_of_printing_one_at_a_time():
    """Lowest first, then from the front, then from the left, then by name."""
    rows = [
        ("d", 9.0, 0.0, 0.0),
        ("c", 5.0, 7.0, 1.0),
        ("b", 5.0, 2.0, 1.0),
        ("a", 5.0, 2.0, 1.0),
        ("e", 5.0, 9.0, 0.0),
    ]
    placed = [Placed(name, x, y, 0.0, (), height) for name, height, x, y in rows]
    assert [p.piece for p in print_order(placed)] == ["e", "a", "b", "c", "d"]


def test_what_a_run_charges_to_its_spools():
    """The purge goes to the first spool, unless that had given before it was weighed."""
    at = datetime(2026, 1, 5, tzinfo=UTC)
    run = Run(
        "r",
        "b",
        "p",
        at,
        at + timedelta(hours=1),
        True,
        (Draw("1", 30.0), Draw("2", 20.0, 5.0)),
        2.0,
        short_g=3.0,
    )
    assert run.total_g == 53.0
    assert (run.charge(0), run.charge(1)) == ((30.0, 2.0), (15.0, 0.0))
    begun = replace(run, draws=(Draw("1", 30.0, 10.0),))
    assert begun.charge(0) == (20.0, 0.0)


def test_persons_of_an_attendance():
    """Ann and Ben have hours of their own; windows without a name are of as many as are said."""
    ann, ben = (
        WeeklyWindow((0,), time(8), time(9), "Ann"),
        DateWindow(date(2026, 1, 6), time(8), time(9), "Ben"),
    )
    anyone = WeeklyWindow((1,), time(8), time(9))
    assert (Attendance(persons=3).named, Attendance(persons=3).most) == ((), 3)
    assert Attendance(weekly=(ann, ann), dates=(ben,), persons=3).named == ("Ann", "Ben")
    assert Attendance(weekly=(ann,), dates=(ben,), persons=3).most == 2
    assert Attendance(weekly=(ann, anyone), persons=3).most == 4
    assert Attendance(weekly=(anyone,), persons=3).most == 3
    gone = Attendance(
        weekly=(ann,),
        away=(date(2026, 1, 9),),
        absences=(
            Absence(date(2026, 1, 1), date(2026, 1, 2), "Ann"),
            Absence(date(2026, 1, 5), date(2026, 1, 5)),
        ),
    )
    days = [date(2026, 1, d) for d in range(1, 10)]
    assert [d.day for d in days if gone.away_on(d)] == [5, 9]
    assert [d.day for d in days if gone.away_on(d, "Ann")] == [1, 2, 5, 9]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: WeeklyWindow((), time(8), time(9)), "must be among mon, tue, wed"),
        (lambda: WeeklyWindow((7,), time(8), time(9)), "must be among mon, tue, wed"),
        (lambda: WeeklyWindow((0,), time(9), time(9)), "from 09:00 until 09:00 ends before it begins"),
        (lambda: DateWindow(date(2026, 1, 1), time(9), time(8)), "from 09:00 until 08:00 ends before"),
        (lambda: Absence(date(2026, 1, 2), date(2026, 1, 1)), "from 2026-01-02 until 2026-01-01 ends before"),
        (lambda: WeeklyWindow((0,), time(8), time(9), "A" * 61), "is no name: too long"),
        (
            lambda: Attendance(absences=(Absence(date(2026, 1, 1), date(2026, 1, 1), "Ann"),)),
            "whom no attendance window",
        ),
    ],
)
def test_hours_that_are_none(make, words):
    """Refused in words."""
    with pytest.raises(RecordError, match=words):
        make()
    WeeklyWindow((0,), time(23), time(0), "A" * 60)  # until midnight


def test_what_a_printer_may_run():
    """By its list alone where it has one; else by nozzle and bed, both up to the limit."""
    hot = Filament("nylon", "PA", 1.14, 1.14, nozzle_c=260.0, bed_c=90.0)
    for printer, able in (
        (Printer("a", "k", nozzle_limit_c=260.0, bed_limit_c=90.0), True),
        (Printer("a", "k", nozzle_limit_c=259.0, bed_limit_c=90.0), False),
        (Printer("a", "k", nozzle_limit_c=260.0, bed_limit_c=89.0), False),
        (Printer("a", "k", nozzle_limit_c=200.0, filaments=("nylon",)), True),
        (Printer("a", "k", filaments=("PLA",)), False),
    ):
        assert Workshop((printer,), (hot,)).can_run(printer, hot) is able


def test_the_head_of_a_printer():
    """Only where pieces are printed one at a time."""
    given = {"head_radius_mm": 20.0, "head_height_mm": 5.0, "gantry_height_mm": 30.0}
    assert Printer("a", "k", **given).head is None
    assert Printer("a", "k", one_at_a_time=True, **given).head == Head(20.0, 5.0, 30.0)


def test_how_two_makes_differ():
    """By mesh, pose, recipe and filament; the name of the recipe alone is nothing."""
    was = Make("m", (1.0,), "skin", "r", "PLA")
    assert was.differs(replace(was, recipe="other")) == ()
    now = Make("n", (0.0,), "skin", "s", "TPU")
    assert was.differs(now) == ("mesh", "pose", "recipe", "filament")
    assert was.differs(replace(was, filament="TPU")) == ("filament",)


def test_what_an_airframe_knows_of_a_part():
    """Its own overlap wins over the found one; a mesh that stands off is not drawn in place."""
    a = Part("a", "a.stl", "s", Recipe("r"), "PLA", stack=Stack("row", 1), overlap_mm=0.0)
    b, c = (
        replace(a, name="b", mesh="b.stl", overlap_mm=None),
        replace(a, name="c", mesh="c.stl", overlap_mm=None),
    )
    plane = Airframe(
        "x", (a, b, c), overlaps_mm={"a": 3.0, "b": 4.0}, in_assembly_position=True, out_of_place=("b.stl",)
    )
    assert [plane.overlap_mm(p) for p in (a, b, c)] == [0.0, 4.0, 0.0]
    assert [plane.drawn_in_place(p) for p in (a, b, c)] == [True, False, True]
    assert not replace(plane, in_assembly_position=None).drawn_in_place(a)
    assert replace(plane, overlaps_mm=None).overlap_mm(b) == 0.0
    assert plane.chosen(None)
    assert not plane.chosen(("gear", "skid"))
