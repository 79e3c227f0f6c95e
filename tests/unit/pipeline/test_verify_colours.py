"""Every rule of the check of colours: a sound plan, broken in just that way, and the sentence about it."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from planner.model.plan import Plan
from planner.pipeline.verify_colours import colour_faults
from tests.plan_samples import sample_plan

BED = "bed 1"


def in_red() -> Plan:
    """The wings of the sample plan asked for in red, printed so from a spool that is red."""
    plan = sample_plan()
    bed = next(one for one in plan.batches if one.name == BED)
    sections = {piece.section for piece in plan.pieces if piece.name in {p.piece for p in bed.placed}}
    stock = plan.workshop.filament(bed.filament)
    red = stock.coloured("red")
    batches = tuple(
        replace(one, filament=red.name) if one.filament == bed.filament else one for one in plan.batches
    )
    more = {p.piece for one in batches if one.filament == red.name for p in one.placed}
    sections |= {piece.section for piece in plan.pieces if piece.name in more}
    wings = {
        p.section for p in plan.pieces if all(q.name in more for q in plan.pieces if q.section == p.section)
    }
    drawn = {
        draw.spool for run in plan.schedule.runs for draw in run.draws if run.batch in _of(batches, red.name)
    }
    spools = tuple(
        replace(one, filament=red.name, colour="red") if one.name in drawn else one
        for one in plan.workshop.spools
    )
    shop = replace(plan.workshop, filaments=(*plan.workshop.filaments, red), spools=spools)
    frame = replace(plan.airframe, section_colours=dict.fromkeys(sorted(wings), "red"))
    return replace(plan, workshop=shop, airframe=frame, batches=batches)


def _of(batches: tuple[object, ...], filament: str) -> set[str]:
    return {one.name for one in batches if one.filament == filament}  # type: ignore[attr-defined]


def said(plan: Plan, begun: frozenset[str] = frozenset()) -> list[str]:
    return list(colour_faults(plan, begun))


def holds(told: list[str], sentence: str) -> bool:
    pattern = ".+".join(map(re.escape, sentence.split("{}")))
    return any(re.fullmatch(pattern, one) for one in told)


def test_a_sound_plan_has_no_faults() -> None:
    """As asked for; without any colour; and a bed that had begun is of the colour that it is."""
    assert in_red().airframe.section_colours
    assert said(in_red()) == []
    assert said(sample_plan()) == []
    plan = in_red()
    every = frozenset(batch.name for batch in plan.batches)
    other = replace(plan, airframe=replace(plan.airframe, colour="green"))
    assert said(other, every) == []


@pytest.mark.parametrize("colour", ["green", ""])
def test_a_bed_of_another_colour_is_told(colour: str) -> None:
    """Asked for in green, or printed in what has no colour."""
    plan = in_red()
    if colour:
        plan = replace(plan, airframe=replace(plan.airframe, section_colours={}, colour=colour))
    else:
        plan = replace(plan, batches=sample_plan().batches)
    assert holds(said(plan), "{} is {}, {} is asked for in {}")


def test_a_spool_of_another_colour_is_told() -> None:
    """The bed is red, its spool is white, or nobody told its colour."""
    plan = in_red()
    for colour in ("white", ""):
        spools = tuple(replace(one, colour=colour) for one in plan.workshop.spools)
        broken = replace(plan, workshop=replace(plan.workshop, spools=spools))
        assert holds(said(broken), "{} asks for {}, spool {} is {}")


def test_a_colour_that_is_another_stock_item_is_told() -> None:
    """Only name and colour may differ, and the stock item must be there."""
    plan = in_red()
    *others, red = plan.workshop.filaments
    for wrong in (
        replace(red, solid_g_per_cm3=red.solid_g_per_cm3 + 0.1),
        replace(red, of="wood"),
        replace(red, of=""),
    ):
        broken = replace(plan, workshop=replace(plan.workshop, filaments=(*others, wrong)))
        assert holds(said(broken), "{} is not {} in {}") or holds(said(broken), "{} is not  in {}")
