"""Each section of ``plan.json`` by itself: numbers by hand, units, what is not known, names as text."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from planner.model.budget import Ballast, CostLine, Move, OptionEffect, Place, Sensitivity
from planner.model.build import BuildOrder, BuildStep, Kit
from planner.model.choices import Choices
from planner.model.printed import Make, PrintedPiece
from planner.model.replan import Change, Changed, PastRun, Replan, Slot
from planner.model.schedule import Buying, Draw
from planner.plan_record.values import Moment
from planner.report.exports import plan_json_values as values
from planner.report.exports.plan_json_beds import batch_record, batch_records
from planner.report.exports.plan_json_build import build_record
from planner.report.exports.plan_json_parts import part_records, piece_records
from planner.report.exports.plan_json_printed import filament_records, printed_records
from planner.report.exports.plan_json_replan import choices_record, past_records, replan_record
from planner.report.exports.plan_json_runs import run_record, run_records, schedule_record, spool_records
from planner.report.exports.plan_json_sums import balance_record, cost_record, mass_record
from planner.report.lookup import Lookup
from tests.plan_edges import HOSTILE, bare_plan, empty_plan, hostile_plan
from tests.plan_samples import START, sample_plan

BAD = "a\x00b\ud800"
CLEAN = "a\ufffdb\ufffd"
MAKE = Make("ab" * 32, (1.0, -0.0, 0.0, 0.0, 0.7071067811865, 0.0, 0.0, 0.0, 1.0), "skin", "cd" * 32, "PLA")


def told(record: Any) -> dict[str, Any]:
    """A record as JSON types."""
    return values.builtins(record)


def test_numbers_are_rounded_and_never_a_negative_nought() -> None:
    """What is not known stays so."""
    assert values.rounded(1.23449) == 1.234
    assert values.rounded(2.0 / 3.0, 6) == 0.666667
    assert str(values.rounded(-0.0001)) == "0.0"
    assert values.rounded(None) is None
    assert values.ring(((1.00049, -0.0), (2.0, 3.5))) == [[1.0, 0.0], [2.0, 3.5]]
    assert str(values.ring(((0.0, -0.0),))[0][1]) == "0.0"


def test_texts_are_such_as_every_reader_takes() -> None:
    assert values.strings(["x", BAD]) == ["x", CLEAN]
    assert values.text_or_none(BAD) == CLEAN
    assert values.text_or_none(None) is None


@pytest.mark.parametrize(
    ("minor", "currency", "text"),
    [
        (3490, "EUR", "34.90"),
        (5, "EUR", "0.05"),
        (-5, "EUR", "-0.05"),
        (3490, "JPY", "3490"),
        (None, "EUR", None),
    ],
)
def test_money_is_a_decimal_in_the_digits_of_its_currency(
    minor: int | None, currency: str, text: str | None
) -> None:
    assert values.money(minor, currency) == text


def test_moments_are_on_the_clock_of_the_workshop() -> None:
    """Lisbon has summer time in July and none in December."""
    plan = sample_plan()
    assert str(values.moment(datetime(2026, 7, 1, 12, tzinfo=UTC), plan)) == "2026-07-01T13:00:00+01:00"
    assert str(values.moment(datetime(2026, 12, 1, 12, tzinfo=UTC), plan)) == "2026-12-01T12:00:00+00:00"
    assert values.moment_or_none(None, plan) is None


def test_values_of_other_kinds_become_json_ones() -> None:
    """A number of numpy; a thing that is none is refused by its kind."""
    assert values._told(np.float64(1.5)) == 1.5
    assert values._told(Moment(START)) == "2026-12-01T18:00:00+00:00"
    with pytest.raises(TypeError, match="no JSON type: object"):
        values._told(object())


def test_a_bed_and_the_pieces_on_it() -> None:
    """Corner, turn and outline where they lie; the bed of its kind with its keep-out."""
    plan = sample_plan()
    first, *_ = records = batch_records(plan.batches, Lookup(plan))
    assert [one.batch for one in records] == [f"bed {n}" for n in range(1, 6)]
    bed = told(first)["bed"]
    assert (bed["shape"], bed["width_mm"], bed["depth_mm"], bed["margin_mm"]) == (
        "rectangle",
        300.0,
        300.0,
        6.0,
    )
    assert bed["keep_outs"] == [[[0.0, 0.0], [26.0, 0.0], [26.0, 34.0], [0.0, 34.0]]]
    assert "outline_mm" not in bed
    piece = told(first)["placed"][3]
    assert (piece["piece"], piece["x_mm"], piece["y_mm"], piece["turn_deg"]) == (
        "wing mid R",
        262.0,
        110.0,
        90.0,
    )
    assert piece["height_mm"] == 172.0
    assert piece["outline_mm"][0] == [round(v, 3) for v in plan.batches[0].placed[3].outline_mm[0]]
    assert first.model_sha256 is None
    named = batch_record(replace(plan.batches[0], digest="ef" * 32, fill=0.123456), Lookup(plan))
    assert (named.model_sha256, named.fill) == ("ef" * 32, 0.1235)


def test_a_bed_of_a_kind_that_is_gone_has_no_sizes() -> None:
    """Nor is it taken for one of nought."""
    plan = sample_plan()
    made = told(batch_record(replace(plan.batches[0], printer_kind="sold"), Lookup(plan)))
    assert made["bed"] == {
        "shape": "rectangle", "width_mm": None, "depth_mm": None, "margin_mm": None, "keep_outs": []
    }  # fmt: skip


def test_a_part_and_what_one_piece_of_it_takes() -> None:
    """Volumes in cm3, minutes of the printer that it is timed on, findings about it and no other."""
    plan = sample_plan()
    deposit = plan.deposits["fin"]
    made = {one.part: one for one in part_records(Lookup(plan))}
    fin = made["fin"]
    assert fin.solid_volume_cm3 == pytest.approx(deposit.solid_volume_mm3 / 1000.0, abs=5e-4)
    assert fin.deposit_volume_cm3 == pytest.approx(float(deposit.layers.volume_mm3.sum()) / 1000.0, abs=5e-4)
    assert fin.mass_g == pytest.approx(fin.deposit_volume_cm3 * 0.62, abs=2e-3)  # type: ignore[operator]
    assert fin.minutes == pytest.approx(float(deposit.seconds["round 240"].sum()) / 60.0, abs=5e-3)
    assert fin.timed_on == "small 220"  # it prints most pieces: nine of twenty
    assert fin.extents_mm == [110.0, pytest.approx(9.9, abs=0.1), 142.0]
    assert made["wing tip"].findings == [
        "wall 0.31 mm at z 84 is thinner than the 0.40 mm that can be printed."
    ]
    assert fin.findings == []
    assert (made["horn"].copies, made["horn"].mirror, made["wing root"].mirror) == (4, False, True)
    assert fin.mesh_sha256 is fin.recipe_sha256 is None
    assert [one.part for one in part_records(Lookup(plan))] == [part.name for part in plan.parts]


def test_a_make_that_is_known_is_told() -> None:
    made = part_records(Lookup(replace(sample_plan(), makes={"fin": MAKE})))
    assert {one.part: one.mesh_sha256 for one in made}["fin"] == "ab" * 32
    assert {one.part: one.recipe_sha256 for one in made}["fin"] == "cd" * 32
    assert {one.mesh_sha256 for one in made if one.part != "fin"} == {None}


def test_pieces_and_their_sections() -> None:
    """The right hand lies in the other section; none is to be printed again."""
    made = {one.piece: one for one in piece_records(Lookup(sample_plan()))}
    assert (made["wing root L"].section, made["wing root R"].section) == ("left wing", "right wing")
    assert (made["wing root L"].mirrored, made["wing root R"].mirrored) == (False, True)
    assert {one.again for one in made.values()} == {False}
    assert len(made) == 20


def test_a_run_and_what_it_draws() -> None:
    """What it had before the spool was weighed, when it runs dry, how much lacks; no mark is none."""
    plan = sample_plan()
    run = plan.schedule.runs[3]
    plain = run_record(run, plan)
    assert (plain.batch, plain.printer, plain.changed_from, plain.mark) == ("bed 4", "small", "PLA", None)
    assert plain.purge_g == pytest.approx(run.purge_g, abs=5e-4)
    assert plain.dry_at is None
    other = replace(
        run,
        draws=(Draw("spool 5", 20.00049, before_g=3.5), Draw("spool 7", 1.0)),
        mark="running",
        dry_at=START + timedelta(minutes=5),
        short_g=2.25,
    )
    made = told(run_record(other, plan))
    assert made["spools"] == [
        {"spool": "spool 5", "grams": 20.0, "before_g": 3.5},
        {"spool": "spool 7", "grams": 1.0, "before_g": 0.0},
    ]
    assert (made["mark"], made["dry_at"], made["short_g"]) == ("running", "2026-12-01T18:05:00+00:00", 2.25)
    assert [one.run for one in run_records(plan.schedule.runs, plan)] == [
        one.name for one in plan.schedule.runs
    ]


def test_spools_with_what_is_left_and_their_price() -> None:
    """Before is used, purged and left together; a price that nobody gave is null."""
    made = {one.spool: one for one in spool_records(sample_plan())}
    assert made["foaming PLA new 1"].price == "34.90"
    assert made["foaming PLA new 1"].bought
    assert made["spool 6"].price is None
    for one in made.values():
        assert one.grams_before == pytest.approx(one.grams_used + one.grams_purged + one.grams_left, abs=2e-3)


def test_the_timetable_and_what_buying_does() -> None:
    """Buying is told only where there is a choice."""
    plan = sample_plan()
    plain = told(schedule_record(plan))
    assert "buying" not in plain
    assert plain["interventions"] == len(plain["visits"]) == 5
    assert plain["changeovers"] == 2
    assert plain["proven_gap"] == 0.021
    assert plain["lower_bound_h"] == pytest.approx(plain["makespan_h"] / 1.021, abs=1e-3)
    assert plain["visits"][3] == {
        "at": "2026-12-03T18:00:00+00:00",
        "minutes": 15,
        "tasks": ['clear the bed of "small"', 'change "small" from PLA', 'start bed 4 on "small"'],
    }
    assert sum(plain["print_hours"].values()) == pytest.approx(
        sum(batch.minutes for batch in plan.batches) / 60.0, abs=5e-3
    )
    for other in (None, START + timedelta(days=9)):
        bought = Buying(2, None if other is None else 4380, 12.00049, other, True)
        made = told(schedule_record(replace(plan, schedule=replace(plan.schedule, buying=bought))))["buying"]
        assert made == {
            "spools": 2,
            "price_minor": None if other is None else 4380,
            "sooner_h": 12.0,
            "other_finish": None if other is None else "2026-12-10T18:00:00+00:00",
            "bought": True,
        }


def test_masses_and_their_items() -> None:
    """Printed, fittings and finish make the total; ten grams at an item move the balance by its arm."""
    plan = sample_plan()
    made = mass_record(plan)
    assert made.total_g == pytest.approx(made.printed_g + made.fittings_g + made.finish_g, abs=2e-3)  # type: ignore[operator]
    assert made.fittings_g == 379.8  # 31 + 38 + 4 x 9.2 + 58 + 186 + 8 + 22
    items = {one.what: one for one in made.items}
    assert items["servo 9 g"].mass_g == 36.8
    assert items["linkage wire and screws"].station_mm is None
    assert items["linkage wire and screws"].ten_g_moves_mm is None
    balance = plan.balance
    assert balance.station_mm is not None
    arm = 10.0 * (-95.0 - balance.station_mm) / (balance.placed_g + 10.0)
    assert items["battery 3 cells"].ten_g_moves_mm == pytest.approx(arm, abs=1e-3)
    assert (items["wing root L"].across_mm, items["wing root R"].across_mm) == (-84.0, 84.0)


def test_the_balance_and_what_moves_it() -> None:
    """Pairs stay pairs, what is not known is null."""
    plan = sample_plan()
    balance = replace(
        plan.balance,
        moves=(
            Move("battery", 186.0, -95.0, 3.14159, (-10.0, 20.0), 40.0),
            Move("motor", 58.0, -180.0, -1.0),
        ),
        ballast=Ballast(4.0, 702.0, "fin"),
        sensitivity=(Sensitivity("fin", 702.0, 7.77777),),
        static_margin=0.123456,
    )
    made = told(balance_record(replace(plan, balance=balance)))
    assert made["window_mm"] == [34.0, 46.0]
    assert made["moves"][0] == {
        "what": "battery", "mass_g": 186.0, "station_mm": -95.0, "by_mm": 3.142, "room_mm": [-10.0, 20.0],
        "balance_mm": 40.0,
    }  # fmt: skip
    assert (made["moves"][1]["room_mm"], made["moves"][1]["balance_mm"]) == (None, None)
    assert made["ballast"] == {"mass_g": 4.0, "station_mm": 702.0, "beside": "fin"}
    assert made["sensitivity"] == [{"what": "fin", "station_mm": 702.0, "moves_mm": 7.778}]
    assert made["static_margin"] == 0.1235
    assert [one["choice"] for one in made["options"]] == ["skid", "wheels"]
    assert made["options"][1]["total_g"] == pytest.approx(plan.mass.total_g + 41.0, abs=1e-3)
    bare = told(balance_record(bare_plan()))
    assert (bare["station_mm"], bare["window_mm"], bare["inside"], bare["ballast"]) == (
        None,
        None,
        None,
        None,
    )
    effect = OptionEffect("gear", "none", planned=False, total_g=1.0, station_mm=None, inside=None)
    (one,) = told(balance_record(replace(plan, option_effects=(effect,))))["options"]
    assert (one["station_mm"], one["inside"], one["planned"]) == (None, None, False)


def test_every_number_of_mass_and_balance_stands_under_its_own_name() -> None:
    """Each gets a value that no other has."""
    plan = sample_plan()
    for part, record in (("mass", mass_record), ("balance", balance_record)):
        value = getattr(plan, part)
        names = [one.name for one in fields(value) if isinstance(getattr(value, one.name), float)]
        names += ["across_mm", "mean_chord_mm", "mean_chord_le_mm", "neutral_point_mm"] * (part == "balance")
        own = {name: 100.5 + n for n, name in enumerate(dict.fromkeys(names))}
        made = told(record(replace(plan, **{part: replace(value, **own)})))
        assert {name: made[name] for name in own} == own
        assert len(own) >= 7
    bands = replace(plan.balance, wing_loading_band="trainer", wing_cube_loading_band="glider")
    made = told(balance_record(replace(plan, balance=bands)))
    assert (made["wing_loading_band"], made["wing_cube_loading_band"]) == ("trainer", "glider")


def test_money_line_by_line() -> None:
    """Unit prices without an exponent; amounts and sums as decimals; what has no price is null and named."""
    plan = sample_plan()
    cheap = CostLine("dust", Decimal("2.0000004"), "g", Decimal("1E-7"), 0, "filament", "list")
    cost = replace(plan.cost, lines=(*plan.cost.lines, cheap), by_section_minor={"tail": 105, "": 7})
    made = cost_record(replace(plan, cost=cost))
    assert made.lines[-1].unit_price == "0.0000001"
    assert made.lines[-1].quantity == 2.0
    lines = {one.what: one for one in made.lines}
    assert lines["servo 9 g"].amount == "27.60"
    assert lines["receiver"].amount is lines["receiver"].unit_price is None
    assert "receiver" in made.left_out
    assert made.by_section == {"tail": "1.05", "": "0.07"}
    assert made.apart == {"spools to buy": "34.90"}
    assert Decimal(made.total) == sum(map(Decimal, made.totals.values()))
    inside = [Decimal(one.amount) for one in made.lines if one.in_total and one.amount is not None]
    assert Decimal(made.total) == sum(inside)


def test_steps_and_kits_of_the_build() -> None:
    """A joint that is fastened stands among the joints, too; a kit that waits tells for what."""
    plan = sample_plan()
    joint = ("fuselage front", "fuselage mid")
    order = BuildOrder(
        (BuildStep(START, ("run 1",), ("fin", "hatch"), (joint,), ("tail",)),),
        (
            Kit("tail", ("fin",), ("servo 9 g",), (("fin", "tail cone"),), START, ()),
            Kit("wings", (), (), (), None, ("wing root L",)),
        ),
    )
    made = told(build_record(replace(plan, build_order=order)))
    assert made["steps"] == [
        {
            "at": "2026-12-01T18:00:00+00:00",
            "runs": ["run 1"],
            "pieces": ["fin", "hatch"],
            "joints": [list(joint)],
            "fastened": [],
            "sections": ["tail"],
        }
    ]
    assert made["kits"][0]["joints"] == [["fin", "tail cone"]]
    assert made["kits"][0]["ready"] == "2026-12-01T18:00:00+00:00"
    assert (made["kits"][1]["ready"], made["kits"][1]["missing"]) == (None, ["wing root L"])
    fittings = (*plan.airframe.fittings, replace(plan.airframe.fittings[0], name="bolts", joins=joint))
    fastened = replace(plan, build_order=order, airframe=replace(plan.airframe, fittings=fittings))
    assert told(build_record(fastened))["steps"][0]["fastened"] == [list(joint)]
    assert told(build_record(empty_plan()))["kits"] is not None


def test_what_is_printed_as_it_was_made() -> None:
    """Nine numbers of its pose to nine digits; an old plan that tells no make leaves it null."""
    new = PrintedPiece("fin", "bed 3", MAKE, 12.34567, 11.0, "PLA", "skin", Place(702.0, 0.0, 55.5))
    old = PrintedPiece("hatch", "bed 2", None, 5.0, 5.0, "PLA", "frame")
    first, second = map(told, printed_records(replace(sample_plan(), printed=(new, old))))
    assert (first["bed"], first["mass_g"], first["flying_g"]) == ("bed 3", 12.346, 11.0)
    assert first["rotation"] == [1.0, 0.0, 0.0, 0.0, 0.707106781, 0.0, 0.0, 0.0, 1.0]
    assert str(first["rotation"][1]) == "0.0"
    assert (first["station_mm"], first["across_mm"], first["up_mm"]) == (702.0, 0.0, 55.5)
    assert (first["mesh_sha256"], first["recipe_sha256"]) == ("ab" * 32, "cd" * 32)
    for key in ("mesh_sha256", "recipe_sha256", "rotation", "station_mm", "across_mm", "up_mm"):
        assert second[key] is None


def test_filaments_that_are_used_or_were() -> None:
    """Of parts, of printed pieces and of beds that are over; none that only lies on the shelf."""
    plan = sample_plan()
    assert [(one.filament, one.deposited_g_per_cm3, one.nozzle_c) for one in filament_records(plan)] == [
        ("foaming PLA", 0.62, 240.0),
        ("PLA", 1.24, plan.workshop.filament("PLA").nozzle_c),
        ("ASA", 1.07, 250.0),
        ("TPU", 1.21, plan.workshop.filament("TPU").nozzle_c),
    ]
    fin = [part for part in plan.parts if part.filament == "PLA"][:1]
    few = replace(plan, parts=tuple(fin))
    assert [one.filament for one in filament_records(few)] == ["PLA"]
    printed = PrintedPiece("x", "bed 9", None, 1.0, 1.0, "TPU", "frame")
    past = PastRun(plan.schedule.runs[3], plan.batches[3], "done")
    assert [one.filament for one in filament_records(replace(few, printed=(printed,), past=(past,)))] == [
        "PLA", "ASA", "TPU"
    ]  # fmt: skip


def test_what_was_asked_for_beside_the_files() -> None:
    made = Choices({"landing": BAD}, ("small",), None, ("visits",), {"tail": date(2026, 12, 5)})
    record = told(choices_record(replace(sample_plan(), choices=made)))
    assert record == {
        "options": {"landing": CLEAN},
        "printers": ["small"],
        "filament": None,
        "prefer": ["visits"],
        "section_dates": {"tail": "2026-12-05"},
    }


def test_runs_that_are_over() -> None:
    """With their bed, and which pieces of it can be used."""
    plan = sample_plan()
    past = PastRun(plan.schedule.runs[0], plan.batches[1], "failed", ("hatch",), True, ("tail cone",))
    (made,) = map(told, past_records(Lookup(replace(plan, past=(past,)))))
    assert (made["outcome"], made["good"], made["on_bed"], made["scrapped"]) == (
        "failed", ["hatch"], True, ["tail cone"]
    )  # fmt: skip
    assert made["run"]["run"] == plan.schedule.runs[0].name
    assert made["batch"]["batch"] == "bed 2"


def test_how_a_plan_differs_from_the_one_before() -> None:
    """Was and now of every bed, visits that fell away, what the shelf was told."""
    plan = sample_plan()
    assert replan_record(plan) is None
    was, now = Slot("a", START, START + timedelta(hours=1)), Slot("b", START, START + timedelta(hours=2))
    made = Replan(
        "since", 4.00049, START, START + timedelta(hours=3), 5, 2, True,
        (Change("bed 1", "moved", was, now, BAD), Change("bed 2", "new", None, now)),
        {"7": 12.34567}, "feed", 3, (START,), changed=(Changed("a", "PLA", "7", 1.23456),), last_bed=9,
    )  # fmt: skip
    record = told(replan_record(replace(plan, replan=made)))
    slots = {"printer": "a", "start": "2026-12-01T18:00:00+00:00", "end": "2026-12-01T19:00:00+00:00"}
    assert record["changes"][0]["was"] == slots
    assert record["changes"][0]["now"]["end"] == "2026-12-01T20:00:00+00:00"
    assert (record["changes"][0]["note"], record["changes"][1]["was"]) == (CLEAN, None)
    assert (record["open"], record["moved"], record["proved_fewest"]) == (5, 2, True)
    assert (record["earlier_finish"], record["best_finish"]) == (
        "2026-12-01T18:00:00+00:00", "2026-12-01T21:00:00+00:00"
    )  # fmt: skip
    assert record["told"] == [{"spool": "7", "grams": 12.346}]
    assert record["changed"] == [{"printer": "a", "filament": "PLA", "spool": "7", "purged_g": 1.235}]
    assert record["visits_gone"] == [{"at": "2026-12-01T18:00:00+00:00"}]
    assert (record["series"], record["generation"], record["last_bed"]) == ("feed", 3, 9)
    assert record["tolerance_h"] == 4.0


def test_a_hostile_name_is_told_as_it_is() -> None:
    """JSON needs no escape but its own; only what no reader takes is replaced."""
    look = Lookup(hostile_plan())
    assert part_records(look)[0].part == f"{HOSTILE} 0"
    assert batch_records(look.plan.batches, look)[0].batch.startswith(f"../{HOSTILE}/")
