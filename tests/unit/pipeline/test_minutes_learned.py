"""Minutes of printers, and of filaments on them: learned, kept while nearly right, and used by beds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from planner.errors import RecordError
from planner.estimate.time.bed import bed_piece, bed_table
from planner.io.results.plan_file import read_plan
from planner.ledger.told_plan import bed_data
from planner.model.learned import Evidence, Taught, TimedRun
from planner.model.replan import EarlierTaught
from planner.pipeline.doubts import timed_printers
from planner.pipeline.taught import _timed
from planner.pipeline.verify_minutes import minutes_faults
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import sample_plan
from tests.sample_workshop import sample_workshop

SHOP = sample_workshop()
FIRST = SHOP.printers[0]
NONE = EarlierTaught()


def runs(printer: str, filament: str, times: float, count: int = 12) -> list[TimedRun]:
    return [TimedRun(f"bed {n}", printer, filament, 5.0 + 100.0 * times, 105.0, 5.0) for n in range(count)]


def factors(evidence: list[TimedRun], before: EarlierTaught = NONE) -> dict[str, float]:
    """Of the first printer by filament, times its factor in the workshop file."""
    workshop, _, _ = _timed(SHOP, Evidence(timed=tuple(evidence)), before)
    return {
        one.name: workshop.printers[0].minutes_times(one.name) / FIRST.minutes_factor
        for one in SHOP.filaments
    }


def test_a_filament_that_prints_slower_on_a_printer_is_timed_so() -> None:
    """Its own minutes are found to the hundredth; others take the printer's."""
    found = factors([*runs(FIRST.name, "PLA", 1.0), *runs(FIRST.name, "foaming PLA", 1.3)])
    assert found["foaming PLA"] == pytest.approx(1.3, rel=0.02)
    assert found["PLA"] == pytest.approx(1.0, rel=0.02)
    others = {found[one.name] for one in SHOP.filaments if one.name not in ("PLA", "foaming PLA")}
    assert len(others) == 1
    assert 1.0 < others.pop() < 1.3


def test_nothing_timed_changes_nothing() -> None:
    """The very same printers; also where all runs took what was planned."""
    for evidence in ([], runs(FIRST.name, "PLA", 1.0)):
        workshop, minutes, on = _timed(SHOP, Evidence(timed=tuple(evidence)), NONE)
        assert workshop == SHOP
        assert (minutes, on) == ({}, {})


def test_what_an_earlier_plan_was_taught_holds_while_nearly_right() -> None:
    """Five per cent around it; beyond that the new value."""
    evidence = Evidence(timed=tuple(runs(FIRST.name, "PLA", 1.30)))
    _, minutes, on = _timed(SHOP, evidence, NONE)
    key = (FIRST.name, "PLA")
    again, kept, kept_on = _timed(
        SHOP,
        Evidence(timed=tuple(runs(FIRST.name, "PLA", 1.32))),
        EarlierTaught(minutes=minutes, minutes_on=on),
    )
    assert kept[FIRST.name] == minutes[FIRST.name]
    assert kept_on.get(key) == on.get(key)
    _, moved, _ = _timed(
        SHOP,
        Evidence(timed=tuple(runs(FIRST.name, "PLA", 1.6))),
        EarlierTaught(minutes=minutes, minutes_on=on),
    )
    assert moved[FIRST.name] > minutes[FIRST.name]
    alike = [one for one in again.printers if one.kind == FIRST.kind]
    assert len({(one.minutes_factor, one.minutes_of) for one in alike}) == 1


def test_beds_take_the_minutes_of_their_filament_and_the_check_knows_it() -> None:
    """A quarter more for one filament: its beds alone last longer, and the plan's own check agrees."""
    plan = sample_plan()
    printer = replace(FIRST, minutes_of=(("PLA", 1.25),))
    piece = next(iter(plan.deposits.values()))
    recipe = plan.parts[0].recipe
    row = [bed_piece(piece, recipe, FIRST.kind)]
    for filament in SHOP.filaments:
        plain, slow = (
            bed_table(row, one, filament).minutes([0]) - one.heat_up_minutes for one in (FIRST, printer)
        )
        assert slow / plain == pytest.approx(1.25 if filament.name == "PLA" else 1.0)
    kind = printer.kind
    shop = replace(
        SHOP,
        printers=tuple(
            replace(p, minutes_of=(("PLA", 1.25),)) if p.kind == kind else p for p in SHOP.printers
        ),
    )
    before = set(minutes_faults(plan, frozenset()))
    wrong = set(minutes_faults(replace(plan, workshop=shop), frozenset())) - before
    named = {fault.split(":")[0] for fault in wrong}
    assert named <= {b.name for b in plan.batches if b.printer_kind == kind and b.filament == "PLA"}
    assert timed_printers(shop)[-1].endswith("prints PLA 1.25 times as long as the rest (learned)")


def test_printers_of_one_factor_are_told_together() -> None:
    """One sentence for each factor, with every name; those that print as reckoned are not told."""
    factors = {"a 1": 1.35, "b": 1.65, "a 2": 1.35, "c": 1.0}
    printers = tuple(
        replace(FIRST, name=name, kind=name, minutes_factor=times, minutes_of=())
        for name, times in factors.items()
    )
    assert timed_printers(replace(SHOP, printers=printers)) == (
        "a 1, a 2: print 1.35 times as long as reckoned (minutes_factor)",
        "b: prints 1.65 times as long as reckoned (minutes_factor)",
    )


def test_printers_of_one_kind_are_alike_in_that_too() -> None:
    twin = replace(FIRST, name="twin", minutes_of=(("PLA", 1.25),))
    with pytest.raises(RecordError, match="of one kind"):
        replace(SHOP, printers=(*SHOP.printers, twin))
    with pytest.raises(RecordError, match="minutes of 'PLA'"):
        replace(FIRST, minutes_of=(("PLA", 0.0),))


def test_the_file_carries_them_and_facts_tell_which_minutes_were_planned(tmp_path: Path) -> None:
    """So that a run that lasts as planned teaches once more what was learned, and not its square."""
    plan = sample_plan()
    run = plan.schedule.runs[0]
    filament = next(bed.filament for bed in plan.batches if bed.name == run.batch)
    taught = Taught(3, minutes={run.printer: 1.1}, minutes_on={(run.printer, filament): 1.3})
    (tmp_path / "plan.json").write_text(plan_json(replace(plan, taught=taught)), encoding="utf-8")
    earlier = read_plan(tmp_path / "plan.json")
    assert earlier.taught.minutes_on == {(run.printer, filament): 1.3}
    assert bed_data(earlier, run.batch)["taught_minutes"] == 1.3
    others = [one for one in plan.schedule.runs if one.printer == run.printer and one.batch != run.batch]
    beds = {bed.name: bed.filament for bed in plan.batches}
    for other in others:
        told = bed_data(earlier, other.batch)["taught_minutes"]
        assert told == (1.3 if beds[other.batch] == filament else 1.1)
