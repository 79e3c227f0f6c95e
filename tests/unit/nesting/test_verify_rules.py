"""Every rule of the check of beds: a sound bed, broken in just that way, and what is said of it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.model.batch import Unplaced
from planner.model.printer import Bed, Head
from planner.nesting.problem.item import BedKind, FilledBed
from planner.nesting.problem.placement import lay
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle

BED = Bed("rectangle", 100.0, 100.0, margin_mm=4.0, keep_outs=(rectangle(10.0, 10.0, 80.0, 80.0),))
KIND = BedKind("desk", BED, clear_height_mm=50.0, count=2)
LONG = item("long", rectangle(30.0, 10.0), height=50.0, turns=(0.0, 90.0))
SQUARE = item("square", rectangle(20.0, 20.0), height=20.0)
ITEMS = (LONG, SQUARE)
AT = {"long": (4.0, 4.0, 0.0), "square": (37.0, 4.0, 0.0)}  # 3 mm apart, both against the margin


def bed(kind: BedKind = KIND, items=ITEMS, **moved: tuple[float, float, float]) -> FilledBed:
    """The sound bed, with some pieces laid elsewhere (x, y, turn)."""
    return FilledBed(kind, tuple(lay(i, *moved.get(i.piece, AT[i.piece])) for i in items), 0.1)


def faults(filled: FilledBed, *more: FilledBed, items=ITEMS, misfits=(), inside_rings=True) -> list[str]:
    return list(verify_beds([filled, *more], items, 3.0, misfits, inside_rings=inside_rings))


def with_bed(**changes: object) -> BedKind:
    return replace(KIND, bed=replace(BED, **changes))  # type: ignore[arg-type]


def test_the_sound_bed_is_sound():
    """Nothing is said, also where all is within a hundredth of a millimetre."""
    assert faults(bed()) == []
    assert faults(bed(long=(3.991, 4.0, 0.0), square=(36.985, 4.0, 0.0))) == []


@pytest.mark.parametrize(
    ("moved", "words"),
    [
        ({"square": (36.9, 4.0, 0.0)}, "long and square: 2.900 mm apart, 3 wanted"),
        ({"square": (36.98, 4.0, 0.0)}, "long and square: 2.980 mm apart, 3 wanted"),
        ({"square": (20.0, 4.0, 0.0)}, "long and square: 0.000 mm apart, 3 wanted"),
        ({"square": (37.0, 3.9, 0.0)}, "square: 1.800 mm2 outside the bed less margin"),
        ({"square": (76.1, 30.0, 0.0)}, "square: 1.800 mm2 outside the bed less margin"),
        ({"square": (61.0, 61.0, 0.0)}, "square: lies in a keep-out"),
        ({"square": (60.0, 60.0, 0.0)}, None),  # touches the keep-out
        ({"long": (14.0, 4.0, 90.0)}, None),
        ({"long": (8.0, 30.0, 10.0)}, "long: turn 10 is not allowed"),
        ({"long": (34.0, 40.0, 180.0)}, "long: turn 180 is not allowed"),
        ({"long": (4.0, 40.0, 360.0)}, None),
        ({"square": (60.0, 30.0, 33.0)}, None),  # every turn will do
    ],
)
def test_where_a_piece_lies(moved, words):
    """Clearance, margin, keep-outs and turns, by hand: a strip of 0.09 x 20 mm is 1.8 mm2."""
    assert faults(bed(**moved)) == ([] if words is None else [f"bed 1: {words}"])


@pytest.mark.parametrize(
    ("room", "words"),
    [
        (4.0, []),
        (4.009, []),
        (5.0, [f"{name}: 4.000 mm from the front edge, 5 wanted" for name in ("long", "square")]),
    ],
)
def test_the_strip_at_the_front(room, words):
    """Both pieces lie 4 mm from the front edge."""
    assert faults(bed(with_bed(front_room_mm=room))) == [f"bed 1: {text}" for text in words]


def test_height():
    """50 mm pass under 50, not under 49; a placed height that is not the piece's is told, too."""
    assert faults(bed(replace(KIND, clear_height_mm=49.0))) == [
        "bed 1: long: 50 mm is over the clear height 49"
    ]
    short = bed()
    placed = (replace(short.placed[0], height_mm=49.0), short.placed[1])
    assert faults(replace(short, placed=placed)) == ["bed 1: long: 50 mm is over the clear height 50"]


def test_the_outline_that_is_drawn():
    """Shifted by a tenth, or of another size, it is not that of the piece; by five thousandths it is."""
    sound = bed()
    first, second = sound.placed
    for shift, found in ((0.1, 1), (0.005, 0)):
        drawn = tuple((x + shift, y) for x, y in first.outline_mm)
        told = faults(replace(sound, placed=(replace(first, outline_mm=drawn), second)))
        assert told == ["bed 1: long: the drawn outline is not the outline of the piece"] * found


def test_each_piece_once():
    """Lost, twice, unknown, or laid and a misfit as well."""
    gone = Unplaced("square", "beds", 0.0, "")
    assert faults(bed(items=(LONG,))) == ["square: wanted 1 times, found 0 times"]
    assert faults(bed(items=(LONG,)), misfits=[gone]) == []
    assert faults(bed(), misfits=[gone]) == ["square: wanted 1 times, found 2 times"]
    assert faults(bed(), bed(items=(LONG,))) == ["long: wanted 1 times, found 2 times"]
    assert faults(bed(), items=(LONG,)) == ["square: wanted 0 times, found 1 times"]


def test_no_more_beds_than_there_are():
    """Two of them may be filled; where nobody counts, any number."""
    square = bed(items=(SQUARE,))
    items = [replace(SQUARE, piece=f"p{n}") for n in range(3)]
    three = [replace(square, placed=(replace(square.placed[0], piece=i.piece),)) for i in items]
    assert verify_beds(three[:2], items[:2], 3.0) == ()
    assert verify_beds(three, items, 3.0) == ("desk: 3 beds filled, but there are 2",)
    free = [replace(b, kind=replace(KIND, count=None)) for b in three]
    assert verify_beds(free, items, 3.0) == ()


def test_faults_are_told_of_their_bed():
    """The second bed is bed 2."""
    second = bed(items=(SQUARE,), square=(4.0, 3.0, 0.0))
    assert faults(bed(items=(LONG,)), second) == ["bed 2: square: 19.800 mm2 outside the bed less margin"]


@pytest.mark.parametrize(
    ("x", "found"),
    [(18.5, []), (18.0, ["bed 1: disc: outside"])],
)
def test_a_round_bed(x, found):
    """A disc of 80 mm on 100 mm less margin 4 has 6 mm to each side of the middle: it may begin at 4."""
    kind = with_bed(shape="round", keep_outs=())
    disc = item("disc", ellipse(63.0, 63.0, 512), height=20.0)
    told = faults(FilledBed(kind, (lay(disc, x - 14.5, 18.5, 0.0),), 0.1), items=[disc])
    assert [text.split(" mm2 ")[0].rsplit(": ", 1)[0] + ": outside" for text in told] == found


def test_a_polygon_bed():
    """On a bed without its front left corner a piece there is outside by what sticks out."""
    cut = ((50.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0), (0.0, 50.0))
    kind = with_bed(shape="polygon", outline=cut, margin_mm=0.0, keep_outs=())
    assert faults(bed(kind, (SQUARE,), square=(30.0, 20.0, 0.0)), items=(SQUARE,)) == []
    # the line x + y = 50 leaves a triangle of legs 10 mm; the slack takes a strip along its long side
    told = faults(bed(kind, (SQUARE,), square=(20.0, 20.0, 0.0)), items=(SQUARE,))
    wanted = (10.0 - 0.01 * math.sqrt(2.0)) ** 2 / 2.0
    assert told == [f"bed 1: square: {wanted:.3f} mm2 outside the bed less margin"]


RING = item("ring", rectangle(60.0, 60.0), holes=(rectangle(50.0, 50.0, 5.0, 5.0),), height=20.0)


@pytest.mark.parametrize(
    ("ring", "inside_rings", "found"),
    [(RING, True, 0), (RING, False, 1), (replace(RING, nothing_inside=True), True, 1)],
)
def test_openings(ring, inside_rings, found):
    """A square in the opening of a ring lies on it where openings are to stay empty."""
    placed = (lay(ring, 4.0, 4.0, 0.0), lay(SQUARE, 24.0, 24.0, 0.0))
    told = faults(FilledBed(KIND, placed, 0.1), items=(ring, SQUARE), inside_rings=inside_rings)
    assert told == ["bed 1: ring and square: 0.000 mm apart, 3 wanted"] * found


HEAD = Head(radius_mm=25.0, height_mm=20.0, gantry_mm=40.0)


@pytest.mark.parametrize(
    ("gap", "low", "tall", "words"),
    [
        (3.0, 20.0, 50.0, []),  # the lower one is no taller than the head is high
        (3.0, 20.1, 50.0, ["p and q: 3.000 mm apart, 25 wanted"]),
        (24.98, 30.0, 50.0, ["p and q: 24.980 mm apart, 25 wanted"]),
        (25.0, 40.0, 50.0, []),
        (25.0, 41.0, 50.0, ["a piece of 41 mm stands while the gantry passes at 40"]),
        (25.0, 50.0, 41.0, ["a piece of 41 mm stands while the gantry passes at 40"]),
    ],
)
def test_one_at_a_time(gap, low, tall, words):
    """The radius counts between two that are taller than the head, the gantry for all but the last."""
    items = [item(n, rectangle(20.0, 20.0), height=h) for n, h in (("p", low), ("q", tall))]
    placed = tuple(lay(i, 4.0 + n * (20.0 + gap), 4.0, 0.0) for n, i in enumerate(items))
    told = faults(FilledBed(replace(KIND, head=HEAD), placed, 0.1), items=items)
    assert told == [f"bed 1: {text}" for text in words]


def test_a_wide_clearance_wins_over_a_narrow_head():
    """The larger of both is asked for."""
    items = [item(n, rectangle(20.0, 20.0), height=30.0) for n in "pq"]
    placed = tuple(lay(i, 4.0 + n * 22.0, 4.0, 0.0) for n, i in enumerate(items))
    kind = replace(KIND, head=Head(1.0, 20.0, 40.0))
    assert faults(FilledBed(kind, placed, 0.1), items=items) == ["bed 1: p and q: 2.000 mm apart, 3 wanted"]


def test_openings_may_hold_pieces_unless_said_otherwise():
    """Without a word the ring lets the square in."""
    placed = (lay(RING, 4.0, 4.0, 0.0), lay(SQUARE, 24.0, 24.0, 0.0))
    assert verify_beds([FilledBed(KIND, placed, 0.1)], (RING, SQUARE), 3.0) == ()


def test_an_unknown_piece_hides_nothing():
    """What lies behind it on the bed is looked at all the same."""
    stranger = item("stranger", rectangle(5.0, 5.0))
    placed = (lay(stranger, 80.0, 30.0, 0.0), lay(SQUARE, 37.0, 3.9, 0.0))
    assert faults(FilledBed(KIND, placed, 0.1), items=(SQUARE,)) == [
        "stranger: wanted 0 times, found 1 times",
        "bed 1: square: 1.800 mm2 outside the bed less margin",
    ]


def test_half_a_degree_is_another_turn():
    """Allowed turns are exact."""
    assert "bed 1: long: turn 0.5 is not allowed" in faults(bed(long=(6.0, 40.0, 0.5)))


def test_a_round_bed_has_no_corners():
    """A square that lies in the corner of its box sticks out by far."""
    kind = with_bed(shape="round", keep_outs=())
    told = faults(bed(kind, (SQUARE,), square=(4.0, 4.0, 0.0)), items=(SQUARE,))
    assert len(told) == 1
    assert 100.0 < float(told[0].split()[3]) < 400.0
    assert faults(bed(kind, (SQUARE,), square=(40.0, 40.0, 0.0)), items=(SQUARE,)) == []


@pytest.mark.parametrize(("gap", "found"), [(0.0, 0), (-0.1, 1)])
def test_without_a_clearance_pieces_may_touch_and_not_overlap(gap, found):
    """A tenth of a millimetre over 20 is 2 mm2."""
    other = replace(SQUARE, piece="other")
    placed = (lay(SQUARE, 4.0, 4.0, 0.0), lay(other, 24.0 + gap, 4.0, 0.0))
    told = verify_beds([FilledBed(KIND, placed, 0.1)], (SQUARE, other), 0.0)
    assert list(told) == ["bed 1: square and other: 0.000 mm apart, 0 wanted"] * found


def test_the_gantry_passes_all_but_the_tallest():
    """Of three the middle one is too tall; the tallest is the last and does no harm."""
    items = [item(f"p{h:g}", rectangle(20.0, 20.0), height=h) for h in (30.0, 45.0, 50.0)]
    placed = tuple(lay(i, 4.0 + n * 25.0, 4.0, 0.0) for n, i in enumerate(items))
    kind = replace(KIND, head=Head(1.0, 20.0, 40.0))
    assert faults(FilledBed(kind, placed, 0.1), items=items) == [
        "bed 1: a piece of 45 mm stands while the gantry passes at 40"
    ]


def test_a_second_piece_as_tall_as_the_head_is_passed():
    """Only what is taller than the head is high keeps its radius, whichever is named first."""
    items = [item(n, rectangle(20.0, 20.0), height=h) for n, h in (("p", 50.0), ("q", 20.0))]
    placed = tuple(lay(i, 4.0 + n * 23.0, 4.0, 0.0) for n, i in enumerate(items))
    assert faults(FilledBed(replace(KIND, head=HEAD), placed, 0.1), items=items) == []
