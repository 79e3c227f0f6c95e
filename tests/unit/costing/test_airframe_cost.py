"""What each airframe costs, worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import numpy as np

from planner.costing.airframe_cost import Work, cost_by_airframe, work_of
from planner.costing.cost import cost_sheet
from planner.model.airframe import Airframe, Finish
from planner.model.batch import Batch, Placed
from planner.model.budget import Cost, CostLine, Mass, MassItem
from planner.model.filament import Filament
from planner.model.part import Part, Piece
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from planner.model.schedule import Run, Schedule
from planner.model.several import together, told_apart
from planner.model.workshop import Workshop

START = datetime(2026, 12, 1, 18, tzinfo=UTC)
SHOP = Workshop((Printer("one", "k"),), (Filament("PLA", "PLA", 1.24, 1.24),))
BOTH = together([told_apart(Airframe(n, (Part("p", "p.stl", "s", Recipe("plain"), "PLA"),))) for n in "ab"])
PIECES = tuple(Piece(f"{n} / p", f"{n} / p", mirrored=False, section=f"{n} / s", airframe=n) for n in "ab")


def deposit(grams: float, seconds: float | None) -> Any:
    """Grams of a piece, and seconds of its layers on printers of kind k."""
    return SimpleNamespace(mass_g=grams, seconds={} if seconds is None else {"k": np.array([seconds, 0.0])})


def bed(*pieces: str) -> Batch:
    placed = tuple(Placed(name, 0.0, 0.0, 0.0, ((0, 0), (1, 0), (1, 1)), 1.0) for name in pieces)
    return Batch("bed 1", "k", "PLA", 0.2, placed, 60.0, 40.0, 1.0, 0.1)


def run(hours: float) -> Run:
    return Run("run 1", "bed 1", "one", START, START + timedelta(hours=hours), True, (), 1.0)


def line(what: str, kind: str, minor: int | None, *, in_total: bool = True) -> CostLine:
    return CostLine(what, Decimal(1), "lot", None, minor, kind, "", in_total)


def cost(*lines: CostLine) -> Cost:
    return Cost("EUR", lines, {}, sum(c.amount_minor or 0 for c in lines if c.in_total))


def test_a_bed_of_two_is_divided_by_grams_and_by_seconds() -> None:
    work = work_of(
        [run(2.0)],
        [bed("a / p", "b / p", "gone / p")],
        PIECES,
        {"a / p": deposit(30.0, 300.0), "b / p": deposit(10.0, 900.0)},
    )
    assert work.grams == {"PLA": {"a": 30.0, "b": 10.0}}
    assert work.minutes == {"a": 30.0, "b": 90.0}  # 120 min as 1 : 3


def test_where_nothing_is_timed_grams_count() -> None:
    work = work_of(
        [run(1.0)], [bed("a / p", "b / p")], PIECES, {n: deposit(20.0, None) for n in ("a / p", "b / p")}
    )
    assert work.minutes == {"a": 30.0, "b": 30.0}


def test_each_kind_goes_by_its_rule_and_adds_up_to_the_last_cent() -> None:
    work = Work({"PLA": {"a": 30.0, "b": 10.0}}, {"a": 30.0, "b": 90.0})
    found = cost_by_airframe(
        BOTH,
        work,
        cost(
            line("PLA", "filament", 101),
            line("PLA, purged", "filament", 3),
            line("energy, printing", "energy", 50),
            line("b / battery", "fittings", 1200),
            line("a / glue, primer and paint", "finish", 300),
            line("spool", "spools to buy", 2000, in_total=False),
            line("glue", "finish", None),
        ),
    )
    # 101 as 3 : 1 is 75.75 and 25.25; 3 is 2.25 and 0.75; 50 as 1 : 3 is 12.5 and 37.5, a tie to the first
    assert found["a"] == {"filament": 76 + 2, "energy": 13, "finish": 300}
    assert found["b"] == {"filament": 25 + 1, "energy": 37, "fittings": 1200}
    assert sum(sum(own.values()) for own in found.values()) == 101 + 3 + 50 + 1200 + 300


def test_without_any_work_all_pay_the_same() -> None:
    found = cost_by_airframe(BOTH, Work(), cost(line("energy, printing", "energy", 10)))
    assert found == {"a": {"energy": 5}, "b": {"energy": 5}}


def test_finish_that_has_a_price_is_a_line_of_its_own_airframe() -> None:
    first, second = BOTH.members
    priced = replace(BOTH, members=(replace(first, finish=Finish(price_minor=450)), second))
    glue = [MassItem(f"glue, {n} / s", "finish", f"{n} / s", 5.0, None, finish="glue") for n in "ab"]
    mass = Mass(tuple(glue), 0.0, 0.0, 10.0, 10.0, 9.0, 11.0, None)
    schedule = Schedule((), (), START, 0.0, {}, None, None, 0, 0)
    lines = cost_sheet(priced, SHOP, mass, (), schedule, ()).lines
    told = [(one.what, one.quantity, one.amount_minor) for one in lines]
    assert told == [
        ("a / glue, primer and paint", Decimal(1), 450),
        ("b / glue", Decimal("5.0"), None),
    ]
    plain = cost_sheet(BOTH, SHOP, mass, (), schedule, ()).lines
    assert [(one.what, one.quantity) for one in plain] == [("glue", Decimal("10.0"))]
