"""Proposals that keep their promise when they are planned."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import process_time

import pytest

from planner.api import PlanRequest, read_job
from planner.errors import InputError
from planner.estimate.cache import MemoryCache
from planner.model.airframe import Fitting
from planner.model.effort import QUICK
from planner.model.plan import Plan
from planner.pipeline import tradeoff
from planner.pipeline.date_bound import fewest_changes, least_minutes
from planner.pipeline.job import Job
from planner.pipeline.placed.assembly import in_assembly
from planner.pipeline.run import run
from planner.pipeline.tradeoff import changed, missed, study, ways_table
from planner.pipeline.verify import faults
from planner.report.text.tradeoff_text import outcome, tradeoff_text
from planner.tradeoffs.alternatives import Targets, by_part, totals
from planner.tradeoffs.study import Study, Wishes
from planner.tradeoffs.tradeoff import best, least_change
from tests.builders import box, stl_bytes
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
SAME_G, SAME_MM = 0.01, 0.02  # sums of floats, and grams to the milligram


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    folder = write_small_job(tmp_path_factory.mktemp("kit") / "glider")
    found = read_job(PlanRequest((folder,), effort="quick", start="2026-12-01T18:00"), NOW)
    return replace(found, cache=MemoryCache())


@pytest.fixture(scope="module")
def lighter(job: Job) -> Study:
    """Five grams less than planned."""
    return study(job, Wishes(mass_g=run(job).mass.total_g - 5.0))


def kept(found: Study) -> None:
    assert found.refusal == ""
    assert found.proposal is not None
    assert found.after is not None
    assert missed(found.after, found.wishes) == ()
    assert faults(found.after) == ()
    assert found.proposal.totals.mass_g == pytest.approx(found.after.mass.total_g, abs=SAME_G)
    assert found.proposal.totals.station_mm == pytest.approx(found.after.balance.station_mm, abs=SAME_MM)


def test_a_lighter_airframe_is_as_light_as_promised(lighter: Study) -> None:
    """The proposal, planned for real, has the promised mass and balance."""
    kept(lighter)
    assert lighter.proposal is not None
    assert lighter.proposal.proved


def test_balance_and_cost_are_kept_together(job: Job) -> None:
    """One cent less than planned, and a balance inside the window."""
    before = run(job)
    station = before.balance.station_mm
    assert station is not None
    plane = replace(job.airframe, balance_window_mm=(station - 30.0, station + 30.0))
    wishes = Wishes(cost_minor=before.cost.total_minor - 1, balance_inside=True)
    kept(study(replace(job, airframe=plane), wishes))


@pytest.mark.slow
def test_a_date_is_kept_and_says_what_is_proved(job: Job) -> None:
    """Ten minutes earlier than planned, by the calendar of the plan itself.

    Proved only where the bound asks for as many changes as were found.
    """
    finish = run(job).schedule.finish - timedelta(minutes=10)
    found = study(job, Wishes(finish=finish))
    kept(found)
    assert found.proposal is not None
    assert found.proposal.proved is (len(found.proposal.changed) <= found.fewest)
    if not found.proposal.changed:
        assert "No part has to be printed otherwise" in outcome(found)
    elif not found.proposal.proved:
        assert "not proved" in outcome(found)


def test_a_longer_search_comes_before_any_change(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the plan as it is keeps the date with more effort, nothing is printed otherwise."""
    late = run(job)
    sooner = replace(late.schedule, finish=late.schedule.finish - timedelta(hours=1))
    real = tradeoff.run

    def searched(asked: Job, progress: object = None) -> Plan:
        made = real(asked)
        return made if asked.effort == QUICK else replace(made, schedule=sooner, effort=asked.effort.name)

    monkeypatch.setattr(tradeoff, "run", searched)
    found = study(job, Wishes(finish=late.schedule.finish - timedelta(minutes=30)))
    assert found.proposal is not None
    assert found.proposal.changed == ()
    assert outcome(found) == "No part has to be printed otherwise: a longer search (effort normal) keeps it."


def test_a_date_that_no_machine_can_keep_is_refused_with_proof(job: Job) -> None:
    """Five minutes for all of it: the least machine time of the pieces is more than that."""
    found = study(job, Wishes(finish=job.start + timedelta(minutes=5)))
    assert "(proved)" in found.refusal
    assert found.after is None


def test_the_bound_counts_changes_like_brute_force(job: Job) -> None:
    """For three dates: of all combinations whose least machine time fits, the one with fewest changes."""
    placed = in_assembly(job)
    table = ways_table(placed, run(placed))
    parts = by_part(table.rows)
    planned = sum(table.least[row.part, row.name] for row in table.rows if row.planned)
    printers = len(job.workshop.printers)
    for share in (1.001, 0.95, 0.9, 0.8):
        finish = job.start + timedelta(minutes=share * planned / printers)
        fits = [
            sum(not row.planned for row in rows)
            for rows in itertools.product(*parts.values())
            if sum(table.least[row.part, row.name] for row in rows) <= share * planned
        ]
        found = fewest_changes(placed, table.rows, table.least, table.rest, Targets(), finish)
        assert found == min(fits, default=None)


def test_no_bed_is_quicker_than_its_pieces_at_the_least(job: Job) -> None:
    """Every bed of the plan takes at least the least minutes of the pieces on it."""
    plan = run(job)
    named = {part.name: part for part in plan.parts}
    made = {piece.name: piece.part for piece in plan.pieces}
    for batch in plan.batches:
        least = [least_minutes(job, named[made[p.piece]], plan.deposits[made[p.piece]]) for p in batch.placed]
        assert 0.0 < sum(least) <= batch.minutes


def test_no_choice_at_all_has_fewer_changes(job: Job) -> None:
    """Brute force over every combination of the small airframe's ways."""
    placed = in_assembly(job)
    before = run(placed)
    table = ways_table(placed, before)
    parts = by_part(table.rows)
    assert 1 < len(list(itertools.product(*parts.values()))) < 5000
    for less in (2.0, 5.0, 8.0):
        limit = before.mass.total_g - less
        light = [
            sum(not row.planned for row in rows)
            for rows in itertools.product(*parts.values())
            if totals(table.rest, rows).mass_g <= limit
        ]
        found = least_change(table.rows, table.rest, Targets(mass_g=limit))
        assert len(found.changed) == min(light)
        assert found.proved


def test_what_cannot_be_is_refused_with_reasons(job: Job) -> None:
    """Ten grams are not within reach; fronts and single changes are told all the same."""
    found = study(job, Wishes(mass_g=10.0))
    assert "no allowed choice keeps all targets" in found.refusal
    assert found.after is None
    assert found.by_hour
    assert all(len(points) >= 2 for points in found.fronts.values())


def test_limits_of_the_user_hold(job: Job) -> None:
    """A part that is kept has one way, and none of the others has fewer walls than allowed."""
    parts = tuple(
        replace(p, keep=p.name == "wing L", least_walls=2 if p.name != "wing L" else 0)
        for p in job.airframe.parts
    )
    found = study(replace(job, airframe=replace(job.airframe, parts=parts)), Wishes())
    assert len(found.ways["wing L"]) == 1
    assert found.proposal is None
    assert missed(found.before, found.wishes) == ()


def test_a_window_that_nobody_gave_is_asked_for(job: Job) -> None:
    """Balance inside of what?"""
    plane = replace(job.airframe, balance_window_mm=None)
    with pytest.raises(InputError, match="no window is given"):
        study(replace(job, airframe=plane), Wishes(balance_inside=True))


def test_the_changed_job_differs_in_nothing_else(job: Job, lighter: Study) -> None:
    """Only recipe and filament of the named parts are others."""
    assert lighter.proposal is not None
    placed = in_assembly(job)
    turned = changed(placed, lighter.proposal, ways_table(placed, lighter.before).ways)
    names = {row.part for row in lighter.proposal.changed}
    for old, new in zip(placed.airframe.parts, turned.airframe.parts, strict=True):
        assert replace(new, recipe=old.recipe, filament=old.filament) == old
        assert (new != old) is (old.name in names)


@pytest.mark.slow
def test_the_optimum_of_the_demo_is_proved_in_seconds() -> None:
    """With estimates kept, each optimum of the demo is proved within five seconds of processor time."""
    demo = Path(__file__).parents[3] / "demo_meshes"
    kept_job = replace(
        read_job(PlanRequest((demo,), effort="quick", start="2026-12-01T18:00"), NOW), cache=MemoryCache()
    )
    placed = in_assembly(kept_job)
    before = run(placed)
    table = ways_table(placed, before)
    begun = process_time()
    found = least_change(table.rows, table.rest, Targets(mass_g=before.mass.total_g - 50.0))
    assert process_time() - begun < 5.0
    assert found.proved
    begun = process_time()
    lightest = best(table.rows, table.rest, Targets(window_mm=(60.0, 72.0)), "mass")
    assert process_time() - begun < 5.0
    assert lightest.proved
    after = run(changed(placed, found, table.ways))
    assert found.totals.mass_g == pytest.approx(after.mass.total_g, abs=SAME_G)
    assert found.totals.station_mm == pytest.approx(after.balance.station_mm, abs=SAME_MM)
    joiner = next(way for name, way in table.ways.items() if name == "wing joiner plate")
    assert all(way.part.recipe.walls >= 3 for way in joiner)
    assert len(table.ways["motor mount"]) == 1


def _twins_job(folder: Path, more: str = "") -> Job:
    """Two wing halves in two pieces each, drawn for their own side, and a hull."""
    folder.mkdir()
    text = '[airframe]\nname = "Twins"\n[[part]]\nmesh = "hull.stl"\nstation_mm = 60\nkeep = true\n'
    for place in (1, 2):
        for side, hand in (("L", "left"), ("R", "right")):
            name = f"wing_{place}_{side}.stl"
            (folder / name).write_bytes(stl_bytes(box(60.0, 8.0 + place, 40.0)))
            text += (
                f'[[part]]\nmesh = "{name}"\nhand = "{hand}"\n'
                f'stack = {{ name = "wing", order = {place} }}\n{more}'
            )
    (folder / "hull.stl").write_bytes(stl_bytes(box(20.0, 20.0, 20.0)))
    (folder / "airframe.toml").write_text(
        text + '[[stack]]\nname = "wing"\ndirection = "across"\n', encoding="utf-8"
    )
    found = read_job(PlanRequest((folder,), effort="quick", start="2026-12-01T18:00"), NOW)
    return replace(found, cache=MemoryCache())


def test_both_sides_change_and_the_sideways_balance_is_told(tmp_path: Path) -> None:
    """Half a gram less: one piece would do, and its twin comes with it, so that nothing leans.

    With ``pairs = false`` one piece changes alone, and the outcome says which side is heavier.
    """
    twin = _twins_job(tmp_path / "kit")
    goal = Wishes(mass_g=run(twin).mass.total_g - 0.5)
    found = study(twin, goal)
    assert found.proposal is not None
    assert found.after is not None
    changed_names = sorted(row.part for row in found.proposal.changed)
    assert len(changed_names) == 2
    assert changed_names[0][:-1] == changed_names[1][:-1]
    assert found.after.balance.left_g == pytest.approx(found.after.balance.right_g, abs=0.01)
    assert found.after.balance.across_mm == pytest.approx(0.0, abs=0.05)
    assert "Sideways    balance in the middle" in tradeoff_text(found)
    alone = study(_twins_job(tmp_path / "free", "pairs = false\n"), goal)
    assert alone.proposal is not None
    assert len(alone.proposal.changed) == 1
    assert "g heavier" in tradeoff_text(alone)
    assert "of the middle" in tradeoff_text(alone)


def _nose_heavy(folder: Path, room: tuple[float, float], shift_mm: float, half_mm: float) -> Job:
    """The twins with a battery of 60 g at -100 mm; the window's middle lies so far ahead of the balance."""
    twin = _twins_job(folder)
    battery = Fitting("battery", 60.0, station_mm=-100.0, movable_mm=room)
    twin = replace(twin, airframe=replace(twin.airframe, fittings=(battery,)))
    station = run(twin).balance.station_mm
    assert station is not None
    middle = station - shift_mm
    window = (middle - half_mm, middle + half_mm)
    return replace(twin, airframe=replace(twin.airframe, balance_window_mm=window))


def test_what_moves_for_nothing_is_moved_before_anything_is_printed_otherwise(tmp_path: Path) -> None:
    """The battery has room: no part changes, it costs no gram, and the middle of the window is reached."""
    found = study(_nose_heavy(tmp_path / "kit", (-300.0, 0.0), 12.0, 4.0), Wishes(balance_inside=True))
    assert found.proposal is not None
    assert found.after is not None
    assert found.proposal.changed == ()
    window = found.after.airframe.balance_window_mm
    assert window is not None
    assert found.after.balance.station_mm == pytest.approx(sum(window) / 2.0, abs=0.05)
    assert found.after.mass.total_g == pytest.approx(found.before.mass.total_g)
    (move,) = found.proposal.moves
    advised = found.before.balance.moves[0]  # both advices say the same
    assert (move.what, move.by_mm) == (advised.what, pytest.approx(advised.by_mm))
    assert "Move battery" in found.before.balance.advice[0]
    assert "No part has to be printed otherwise: move battery" in outcome(found)
    assert faults(found.after) == ()


def test_what_the_room_does_not_do_is_printed_otherwise_and_lies_inside(tmp_path: Path) -> None:
    """Little room: parts change as well, the battery goes as far as it can, and the promise is kept."""
    found = study(_nose_heavy(tmp_path / "kit", (-105.0, 0.0), 4.6, 1.5), Wishes(balance_inside=True))
    assert found.refusal == ""
    assert found.proposal is not None
    assert found.after is not None
    assert found.proposal.changed
    window = found.after.airframe.balance_window_mm
    station = found.after.balance.station_mm
    assert window is not None
    assert station is not None
    assert window[0] < station < window[1]
    assert found.proposal.totals.station_mm == pytest.approx(station, abs=SAME_MM)
    assert "and print" in outcome(found) or not found.proposal.moves
