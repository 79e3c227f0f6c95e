"""Limits of a bed: kept by the search, told by the plan, and named where they forbid it."""

from dataclasses import replace

import pytest

from planner.errors import Infeasible
from planner.io.records.builtin import builtin_filaments
from planner.joint_search.beds import BedMaker
from planner.joint_search.limits import bed_keeps_limits, limits_told
from planner.joint_search.search import compose
from planner.joint_search.sections import pairs_of
from planner.model.effort import NORMAL, QUICK
from tests.unit.joint_search.tasks import make_task


@pytest.fixture(scope="module")
def task():
    return make_task(seed=3, parts=14, printers=2)


def with_workshop(task, **changes):
    return replace(task, workshop=replace(task.workshop, **changes))


def with_filament(task, name="PLA", **changes):
    changed = tuple(replace(f, **changes) if f.name == name else f for f in task.workshop.filaments)
    return with_workshop(task, filaments=changed)


def with_printers(task, **changes):
    return with_workshop(task, printers=tuple(replace(p, **changes) for p in task.workshop.printers))


def on_beds(made):
    return sorted(placed.piece for batch in made.batches for placed in batch.placed)


@pytest.mark.parametrize("effort", [QUICK, pytest.param(NORMAL, marks=pytest.mark.slow)])
def test_no_bed_lasts_longer_than_a_run_may(task, effort):
    """Said by the workshop, a printer or a filament."""
    for asked in (
        with_workshop(task, longest_run_h=6.0),
        with_printers(task, longest_run_h=6.0),
        with_filament(task, longest_run_h=6.0),
    )[: 1 if effort == NORMAL else 3]:
        made = compose(replace(asked, effort=effort))
        assert on_beds(made) == sorted(piece.name for piece in task.pieces)
        mine = [b for b in made.batches if b.filament == "PLA"]
        assert max(batch.minutes for batch in mine) <= 360.0
    assert max(batch.minutes for batch in compose(task).batches) > 360.0


def test_few_pieces_on_a_bed(task):
    """Said by a filament for its own beds, by a printer for all of its beds."""
    made = compose(with_filament(task, most_pieces=2))
    assert max(len(b.placed) for b in made.batches if b.filament == "PLA") == 2
    asked = with_printers(task, most_pieces=3)
    made = compose(asked)
    assert max(len(batch.placed) for batch in made.batches) == 3
    assert any("most_pieces = 3 of desk 1" in told for told in limits_told(asked.workshop, made.batches))


def test_a_part_alone_and_sections_apart(task):
    """No bed holds another piece beside one that lies alone, or pieces of two sections."""
    parts = {name: replace(part, alone=name == "part 1") for name, part in task.parts.items()}
    made = compose(replace(task, parts=parts))
    assert any(
        told.startswith("alone = true: part 1:")
        for told in limits_told(task.workshop, made.batches, list(parts.values()))
    )
    assert [len(b.placed) for b in made.batches if any(p.piece.startswith("part 1") and p.piece in ("part 1",)
            for p in b.placed)] == [1]  # fmt: skip
    made = compose(with_workshop(task, mix_sections=False))
    section = {piece.name: piece.section for piece in task.pieces}
    assert all(len({section[p.piece] for p in batch.placed}) == 1 for batch in made.batches)
    assert on_beds(made) == sorted(section)


@pytest.mark.parametrize("seed", [3, 4, 5])
def test_pairs_share_a_bed(seed):
    """Left and right hands of each other, in random tasks with a limit of pieces beside."""
    task = with_printers(with_workshop(make_task(seed, 14, 2), pairs_together=True), most_pieces=5)
    made = compose(task)
    bed = {placed.piece: batch.name for batch in made.batches for placed in batch.placed}
    assert all(bed[a] == bed[b] for a, b in pairs_of(task))
    assert max(len(batch.placed) for batch in made.batches) <= 5
    assert all(bed_keeps_limits(batch, task) for batch in made.batches)
    first = next(b for b in made.batches if any(p.piece.endswith(" L") for p in b.placed))
    parted = replace(first, placed=tuple(p for p in first.placed if not p.piece.endswith(" L")))
    assert not bed_keeps_limits(parted, task)


def test_a_limit_that_forbids_a_plan_is_named(task):
    """Which piece, which limit, whose."""
    with pytest.raises(Infeasible, match=r"alone lasts .* longest_run_h = 0.5 of the workshop"):
        compose(with_workshop(task, longest_run_h=0.5))
    with pytest.raises(Infeasible, match=r"pairs_together = true.*most_pieces = 1"):
        compose(with_printers(with_workshop(task, pairs_together=True), most_pieces=1))


def test_foam_brings_few_pieces_with_the_reason():
    """Built-in foaming filaments, and no others."""
    for filament in builtin_filaments().values():
        assert (filament.most_pieces is not None) == filament.foaming
        assert not filament.foaming or "no source" in filament.most_pieces_why


def test_a_pair_goes_to_the_kind_of_printer_that_takes_both():
    """One kind holds one piece a bed: hands that belong together go to the other, and no plan is refused."""
    task = with_workshop(make_task(4, 14, 2, kinds=("desk", "tall")), pairs_together=True)
    one = tuple(replace(p, most_pieces=1) if p.kind == "desk" else p for p in task.workshop.printers)
    task = with_workshop(task, printers=one)
    bedding = BedMaker(task).lay(900.0)
    bed = {placed.piece: batch for batch in bedding.batches for placed in batch.placed}
    assert pairs_of(task)
    assert all(bed[a].name == bed[b].name and bed[a].printer_kind == "tall" for a, b in pairs_of(task))
    assert all(bed_keeps_limits(batch, task) for batch in bedding.batches)
