"""Pieces, beds and sequence searched together."""

import numpy as np
import pytest

from planner.errors import Infeasible
from planner.model.printer import Printer
from planner.schedule.calendar import windows
from planner.schedule.joint import JointTask, search_jointly
from planner.schedule.problem import compile_tables
from tests.unit.schedule.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

DAYS = 28


def make_task(shares, minutes, families=None, printers=2):
    """Identical printers, beds of 90 % capacity, 10 minutes of overhead a bed."""
    workshop = make_workshop(
        evenings_and_mornings(),
        *(Printer(str(n), "desk", loaded="PLA", cool_down_minutes=0.0) for n in range(printers)),
    )
    spans = windows(workshop.attendance, MONDAY, DAYS)
    names = ["PLA", "foaming PLA"]
    rows = [make_batch(name, 10.0, filament=name) for name in names]
    tables = compile_tables(rows, workshop, spans, DAYS * 24 * 60, {}, {})
    wide = np.repeat(np.array(shares, dtype=float)[:, None], printers, axis=1)
    long = np.repeat(np.array(minutes, dtype=float)[:, None], printers, axis=1)
    family = np.array(families or [0] * len(shares), dtype=np.int32)
    return JointTask(wide, long, family, np.full(printers, 0.9), np.full(printers, 10.0), 2000.0, tables)


def test_each_piece_lies_on_one_bed_of_its_family_within_capacity():
    """Nothing is lost, mixed or overfilled."""
    rng = np.random.default_rng(4)
    families = rng.integers(0, 2, 30).tolist()
    task = make_task(rng.uniform(0.05, 0.4, 30), rng.uniform(20, 300, 30), families)
    beds = search_jointly(task, steps=20_000, seed=3)
    assert sorted(piece for bed in beds for piece in bed.pieces) == list(range(30))
    for bed in beds:
        assert sum(task.share[piece, 0] for piece in bed.pieces) <= 0.9 + 1e-6
        assert len({families[piece] for piece in bed.pieces}) == 1


def test_beds_are_cut_so_that_they_end_when_somebody_comes():
    """Four pieces of 6 h on one printer: two beds of 12 h end at 06:15 and before the second morning ends.

    18:05 + 12 h 10 = 06:15; cleared and started at 06:30; printed until 18:40. One piece a bed would take
    until the second morning, all four on one bed do not lie there.
    """
    task = make_task([0.4] * 4, [360.0] * 4, printers=1)
    beds = search_jointly(task, steps=5_000, seed=1)
    assert [len(bed.pieces) for bed in beds] == [2, 2]
    assert beds[-1].end == 5 + 730 + 15 + 730


def test_a_piece_larger_than_every_bed_is_infeasible():
    """The capacity is a hard limit."""
    with pytest.raises(Infeasible):
        search_jointly(make_task([0.95], [100.0]), steps=10, seed=1)


def test_the_same_seed_gives_the_same_beds():
    """Steps and seed decide everything."""
    rng = np.random.default_rng(5)
    task = make_task(rng.uniform(0.05, 0.4, 20), rng.uniform(20, 300, 20))
    assert search_jointly(task, steps=5_000, seed=9) == search_jointly(task, steps=5_000, seed=9)
