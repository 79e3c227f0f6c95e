"""Glue and paint by section: grams and places worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.costing.cost import cost_sheet
from planner.costing.section_cost import cost_by_section
from planner.geometry.mesh.outer import OuterSurface
from planner.model.airframe import Airframe, Finish, Fitting, StackPlace
from planner.model.assembly import Contact
from planner.model.budget import Mass, MassItem
from planner.pipeline.verify_sums import finish_faults
from planner.tradeoffs.alternatives import Offer, alternatives, rest_of, totals
from planner.weights.balance import balance
from planner.weights.finish import finish_items
from planner.weights.finish_spots import Ground
from planner.weights.mass import airframe_mass
from planner.weights.spread import Z_HIGH
from tests.plan_samples import sample_plan
from tests.unit.weights.samples import FILAMENTS, airframe, deposit, part, pieces

# Two boxes drawn where they sit: 200 cm2 about (40, 0, 5) and 100 cm2 about (250, 6, 20).
OUTER = {"nose": OuterSurface(2e4, (40.0, 0.0, 5.0)), "tail": OuterSurface(1e4, (250.0, 6.0, 20.0))}
DEPOSITS = {
    "nose": deposit("nose", 80.0, in_mesh=(45.0, 0.0, 5.0), surface=3e4),
    "tail": deposit("tail", 40.0, in_mesh=(240.0, 6.0, 15.0), surface=1.5e4),
    "boom": deposit("boom", 30.0, in_mesh=(150.0, 0.0, 8.0), surface=1e4),
}
MET = Contact(("nose", "tail"), 400.0, 400.0, 100.0, 2.0, 9.0)


def plane(*more, finish: Finish, **keys) -> Airframe:
    """Nose and tail, each a section, in assembly position."""
    two = (part("nose", section="nose"), part("tail", section="tail"))
    return airframe(*two, *more, in_assembly_position=True, finish=finish, **keys)


def weighed(frame: Airframe, *contacts: Contact) -> Mass:
    """The mass with all that is known of surfaces and joints."""
    return airframe_mass(frame, frame.parts, DEPOSITS, pieces(frame), FILAMENTS, OUTER, contacts or (MET,))


def lines(mass: Mass) -> dict[str, MassItem]:
    """Glue and paint by name."""
    return {item.what: item for item in mass.items if item.kind == "finish"}


def at(item: MassItem) -> tuple[float | None, float | None, float | None]:
    """Where a line sits."""
    return item.station_mm, item.across_mm, item.up_mm


def test_two_boxes_by_hand():
    """30 g of paint by 200 and 100 cm2 are 20 and 10 g; 6 g of glue on one joint are 3 g for each side.

    Balance: (80 x 45 + 40 x 240 + 20 x 40 + 10 x 250 + 6 x 100) / 156 = 17 100 / 156 = 109.62 mm.
    """
    frame = plane(finish=Finish(glue_g=6.0, paint_g=30.0))
    mass = weighed(frame)
    found = lines(mass)
    assert {what: item.mass_g for what, item in found.items()} == pytest.approx(
        {"glue, nose": 3.0, "glue, tail": 3.0, "primer and paint, nose": 20.0, "primer and paint, tail": 10.0}
    )
    assert [item.section for item in found.values()] == ["nose", "tail", "nose", "tail"]
    assert at(found["primer and paint, nose"]) == pytest.approx((40.0, 0.0, 5.0))
    assert at(found["primer and paint, tail"]) == pytest.approx((250.0, 6.0, 20.0))
    assert at(found["glue, nose"]) == at(found["glue, tail"]) == pytest.approx((100.0, 2.0, 9.0))
    assert balance(frame, mass).station_mm == pytest.approx(17100.0 / 156.0)
    assert finish_faults(frame.finish, mass) == ()


def test_only_painted_sections_have_paint():
    """All of a total, or of a rate, goes to the tail: 30 g, and 0.01 m2 at 50 g/m2 are 0.5 g."""
    given = lines(weighed(plane(finish=Finish(paint_g=30.0, painted=("tail",)))))
    assert given["primer and paint, tail"].mass_g == 30.0
    assert "primer and paint, nose" not in given
    rate = lines(weighed(plane(finish=Finish(primer_g_per_m2=50.0, painted=("tail",)))))
    assert rate["primer, tail"].mass_g == pytest.approx(0.5)
    assert rate["primer, tail"].station_mm == pytest.approx(250.0)


def test_a_given_station_overrules_all_places():
    """Grams stay with their sections, all of them at 70 mm, also of a piece without a seat."""
    frame = plane(part("boom", section="boom", copies=2), finish=Finish(6.0, 30.0, station_mm=70.0))
    frame = replace(frame, in_assembly_position=False)
    mass = weighed(frame)
    assert {at(item) for item in lines(mass).values()} == {(70.0, None, None)}
    assert {item.section for item in lines(mass).values()} == {"nose", "tail", "boom"}
    assert finish_faults(frame.finish, mass) == ()


def test_a_given_station_is_kept_to_the_last_bit():
    """A mean of equal stations by weight may miss them by a bit; what is given is told as it is."""
    draw = np.random.default_rng(3)
    for station_mm in (88.0, 70.1, -0.3, 1e-3):
        printed = [
            MassItem(f"piece {n}", "printed", "tail", draw.uniform(0.1, 90.0), None) for n in range(40)
        ]
        finish = Finish(glue_g=6.1, paint_g=33.3, station_mm=station_mm)
        found = finish_items(finish, printed, Ground())
        assert {item.station_mm for item in found} == {station_mm}


def test_the_share_of_a_piece_without_a_place_is_told_as_unplaced():
    """Two booms of 1 dm2 have neither seat nor station: 2 / 6.5 of 13 g are 4 g, and they stay unplaced."""
    frame = plane(part("boom", section="tail", copies=2), finish=Finish(glue_g=13.0, paint_g=0.0))
    frame = replace(
        frame,
        parts=(
            part("nose", section="nose", station_mm=45.0),
            part("tail", section="tail", station_mm=240.0),
            frame.parts[2],
        ),
        in_assembly_position=False,
    )
    mass = weighed(frame)
    found = lines(mass)
    assert {what: item.mass_g for what, item in found.items()} == pytest.approx(
        {"glue, nose": 6.0, "glue, tail": 3.0, "glue, tail (no station)": 4.0}
    )
    told = balance(frame, mass)
    assert told.unplaced == ("boom 1", "boom 2", "glue, tail (no station)")
    assert told.unplaced_g == pytest.approx(64.0)
    assert any(
        "4.0 g of glue and paint lie on pieces whose place is not known" in note for note in mass.notes
    )
    assert any("divided by surface: no glued joint is known" in note for note in mass.notes)


def test_joints_take_the_glue_by_their_area_and_fastened_ones_none():
    """300 and 100 mm2: of 8 g the nose has 3, the boom 4, the tail 1; fastened by a screw, the tail none."""
    boom = part("boom", section="boom")
    first = Contact(("nose", "boom"), 300.0, 300.0, 90.0)
    last = Contact(("boom", "tail"), 100.0, 100.0, 200.0)

    def grams(finish: Finish, **more) -> dict[str, float]:
        mass = weighed(plane(boom, finish=finish, **more), first, last)
        return {item.section: item.mass_g for item in lines(mass).values() if item.mass_g > 0.0}

    assert grams(Finish(glue_g=8.0)) == pytest.approx({"nose": 3.0, "boom": 4.0, "tail": 1.0})
    screw = Fitting("screw", 1.0, joins=("boom", "tail"))
    assert grams(Finish(glue_g=8.0), fittings=(screw,)) == pytest.approx({"nose": 4.0, "boom": 4.0})
    # 2.5 % of 150 g are 3.75 g
    assert grams(Finish(), fittings=(screw,)) == pytest.approx({"nose": 1.875, "boom": 1.875})
    known = weighed(plane(boom, finish=Finish()), first, last).notes
    assert any("divided by the area of the glued joints" in note for note in known)


def test_pieces_whose_joints_nobody_knows_keep_their_share():
    """Of 3.75 g by the rule, 0.75 g belong to clips without a seat; 3 g lie on the joint of the others."""
    clips = replace(DEPOSITS["boom"], part="clip", mass_g=15.0)
    frame = plane(part("clip", section="clips", copies=2, station_mm=70.0), finish=Finish())
    mass = airframe_mass(
        frame, frame.parts, {**DEPOSITS, "clip": clips}, pieces(frame), FILAMENTS, OUTER, (MET,)
    )
    found = lines(mass)
    assert {what: item.mass_g for what, item in found.items()} == pytest.approx(
        {"glue, clips": 0.75, "glue, nose": 1.5, "glue, tail": 1.5}
    )
    assert (found["glue, clips"].station_mm, found["glue, nose"].station_mm) == (70.0, 100.0)
    assert any("to pieces without a seat by printed mass" in note for note in mass.notes)


@pytest.mark.parametrize(
    ("finish", "before_g"),
    [
        (Finish(), 0.025 * 120.0),
        (Finish(glue_g=12.34, paint_g=7.89), 12.34 + 7.89),
        (Finish(glue_g=12.34, paint_g=7.89, painted=("tail",)), 12.34 + 7.89),
        (Finish(glue_g=12.34, paint_g=7.89, painted=("canopy",)), 12.34 + 7.89),
        (Finish(glue_g=5.0, station_mm=33.0), 5.0),
        (Finish(glue_g_per_cm2=0.5, primer_g_per_m2=40.0, paint_g_per_m2=65.0), 4.0 * 0.5 + 0.03 * 105.0),
        (Finish(glue_g=0.0, paint_g_per_m2=65.0, painted=("nose",)), 0.02 * 65.0),
    ],
)
def test_sections_make_the_totals_of_before(finish, before_g):
    """One line for all and a line for each section weigh the same, to 0.01 g, and so does their range."""
    frame = plane(finish=finish)
    mass = weighed(frame)
    assert mass.finish_g == pytest.approx(before_g, abs=0.01)
    assert sum(item.mass_g for item in lines(mass).values()) == pytest.approx(mass.finish_g, abs=1e-9)
    assert finish_faults(finish, mass) == ()


def test_the_range_of_a_kind_is_that_of_its_total():
    """30 g of paint within 10 % (standard deviation) are 3 g, in one section or in two."""
    fittings = (Fitting("ballast", 100.0, station_mm=0.0, spread=0.0),)
    frame = plane(finish=Finish(glue_g=0.0, paint_g=30.0), fittings=fittings)
    mass = weighed(frame)
    bare = weighed(replace(frame, finish=Finish(glue_g=0.0, paint_g=0.0)))

    def sigma(one: Mass) -> float:
        return (one.high_g - one.total_g) / Z_HIGH

    assert sigma(mass) ** 2 - sigma(bare) ** 2 == pytest.approx(9.0)


@pytest.mark.parametrize(
    "finish",
    [
        Finish(),
        Finish(glue_g=12.0, paint_g=30.0),
        Finish(paint_g=25.0, painted=("tail",)),
        Finish(glue_g=9.0, paint_g=20.0, station_mm=90.0),
        Finish(glue_g_per_cm2=0.5, paint_g_per_m2=500.0),
    ],
)
@pytest.mark.parametrize("joined", [True, False])
def test_trade_offs_know_where_glue_and_paint_go(finish, joined):
    """A lighter tail in the table of choices balances as it does when it is weighed anew."""
    frame = plane(
        part("boom", section="boom", copies=2, station_mm=70.0),
        finish=finish,
        fittings=(Fitting("battery", 50.0, station_mm=-20.0),),
    )
    copies = pieces(frame)
    met = (MET,) if joined else ()
    mass = airframe_mass(frame, frame.parts, DEPOSITS, copies, FILAMENTS, OUTER, met)
    light = deposit("tail", 25.0, in_mesh=(230.0, 6.0, 14.0), surface=1.5e4)
    offers = {"tail": (Offer("thick", DEPOSITS["tail"], 10.0, 3), Offer("thin", light, 12.0, 4))}
    table = alternatives(frame, frame.parts, DEPOSITS, copies, mass, offers)
    rest = rest_of(frame, copies, mass, table)
    for row, found in zip(table, (DEPOSITS["tail"], light), strict=True):
        built = airframe_mass(frame, frame.parts, {**DEPOSITS, "tail": found}, copies, FILAMENTS, OUTER, met)
        promised = totals(rest, [row])
        assert promised.mass_g == pytest.approx(built.total_g)
        assert promised.station_mm == pytest.approx(balance(frame, built).station_mm)


def test_across_stacks_know_the_side_of_joint_and_paint():
    """Left and right panel of 5 dm2: what is on them lies 60 mm left and right, 80 mm aft of the start."""
    frame = airframe(
        part("in", section="wing", stack=("wing", 1), hand="left", mirror=True, other_section="wing right"),
        finish=Finish(glue_g=0.0, paint_g=10.0),
        stacks=(StackPlace("wing", 10.0, "across", across_mm=20.0),),
    )
    found = {"in": deposit("in", 40.0, in_mesh=(60.0, 0.0, 40.0))}
    low = found["in"].mesh_low_mm[2]
    outer = {"in": OuterSurface(5e4, (70.0, 3.0, low + 40.0))}
    mass = airframe_mass(frame, frame.parts, found, pieces(frame), FILAMENTS, outer)
    places = {item.section: (item.mass_g, item.station_mm, item.across_mm) for item in lines(mass).values()}
    assert places["wing"] == pytest.approx((5.0, 80.0, -60.0))
    assert places["wing right"] == pytest.approx((5.0, 80.0, 60.0))


def test_cost_of_finish_follows_its_grams():
    """A lot of 30.00 for paint on the tail alone is paid by the tail; without a price a kind has one line."""
    plan = sample_plan()
    section = plan.pieces[0].section
    bare = replace(plan.airframe, finish=Finish(glue_g=0.0))
    frame = replace(plan.airframe, finish=Finish(0.0, 30.0, painted=(section,), price_minor=3000))
    filaments = {filament.name: filament for filament in plan.workshop.filaments}
    spent = []
    for one in (bare, frame):
        mass = airframe_mass(one, plan.parts, plan.deposits, plan.pieces, filaments)
        cost = cost_sheet(one, plan.workshop, mass, plan.batches, plan.schedule, plan.spools)
        spent.append(cost_by_section(one, mass, cost))
        assert sum(spent[-1].values()) == cost.total_minor
    assert {name: spent[1][name] - spent[0][name] for name in spent[0]} == {
        name: 3000 if name == section else 0 for name in spent[0]
    }
    free = replace(frame, finish=Finish(5.0, 30.0))
    mass = airframe_mass(free, plan.parts, plan.deposits, plan.pieces, filaments)
    cost = cost_sheet(free, plan.workshop, mass, plan.batches, plan.schedule, plan.spools)
    told = [(line.what, float(line.quantity)) for line in cost.lines if line.kind == "finish"]
    assert told == [("glue", 5.0), ("primer and paint", 30.0)]


def test_the_verifier_knows_glue_and_paint():
    """Lost grams, paint where none belongs, another station and twice the same name are all told."""
    finish = Finish(glue_g=6.0, paint_g=30.0, painted=("tail",))
    mass = weighed(plane(finish=finish))

    def told(**change) -> tuple[str, ...]:
        items = list(mass.items)
        at_paint = next(n for n, item in enumerate(items) if item.what == "primer and paint, tail")
        items[at_paint] = replace(items[at_paint], **change)
        return finish_faults(finish, replace(mass, items=tuple(items)))

    assert told() == ()
    assert "add up to 29.0 g instead of 30.0 g" in told(mass_g=29.0)[0]
    assert told(section="nose") == (
        "primer and paint, tail: nose is not painted.",
        "primer and paint, tail is told of primer and paint, nose.",
    )
    assert told(what="glue, tail") == (
        "glue, tail is told of primer and paint, tail.",
        "Two lines of glue or paint have one name.",
    )
    assert len(finish_faults(replace(finish, station_mm=1.0), mass)) == len(lines(mass))
