"""Going on, rule by rule, with stand-ins for the search: spools bought, beds laid again, steps over."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from planner.errors import Infeasible, RecordError
from planner.model.batch import Batch
from planner.model.effort import QUICK
from planner.model.filament import Spool
from planner.model.replan import Changed, EarlierPlan, Marks, PastRun
from planner.model.schedule import Draw, Run, Schedule, SpoolUse, Visit
from planner.pipeline.replan import buying, spread
from planner.pipeline.replan.beds import BedsLeft
from planner.pipeline.replan.buying import Open, bought_as_told
from planner.pipeline.replan.outcomes import Outcomes
from planner.pipeline.replan.spread import SOONER, WHY, beds_and_times
from planner.pipeline.replan.visit import Halfway, halfway, starts, with_changed
from planner.scheduling.repair.replan import Replanned
from planner.scheduling.repair.replan_plan import Underway
from tests.sample_workshop import sample_workshop

START = datetime(2026, 12, 1, 8, 0, tzinfo=UTC)
SHOP = sample_workshop()


def bed(name: str, kind: str = "small 220", filament: str = "PLA", pieces: tuple[str, ...] = ()) -> Batch:
    placed: Any = tuple(SimpleNamespace(piece=piece) for piece in pieces or (f"piece of {name}",))
    return Batch(name, kind, filament, 0.2, placed, 60.0, 10.0, 5.0, 0.1)


def run_of(name: str, hours: float = 0.0, printer: str = "small", changed: str | None = None) -> Run:
    at = START + timedelta(hours=hours)
    return Run(
        name, name, printer, at, at + timedelta(hours=1), True, (Draw(f"for {name}", 10.0),), 2.0, changed
    )


def schedule(hours: float, *runs: Run) -> Schedule:
    return Schedule(runs, (), START + timedelta(hours=hours), hours, {}, None, None, 0, 0)


# Spools of a plan that goes on


@dataclass
class Shelf:
    """What spools each schedule would take, by its hours; an error where they cannot be given."""

    new: dict[float, int | Infeasible]
    least: int = 1
    others: tuple[float, ...] = ()


def told(monkeypatch: pytest.MonkeyPatch, shelf: Shelf, buy: str, tolerance_h: float = 4.0) -> Any:
    def spooled(made: Schedule, *_: object) -> Any:
        many = shelf.new[made.makespan_h]
        if isinstance(many, Infeasible):
            raise many
        uses = [SpoolUse(f"n{n}", "PLA", True, 1000.0, 1.0, 0.0, 999.0, 2190) for n in range(many)]
        return made, tuple(uses)

    monkeypatch.setattr(buying, "spooled", spooled)
    monkeypatch.setattr(buying, "least_by_grams", lambda *_: {"PLA": shelf.least})
    monkeypatch.setattr(buying, "shelf_behind", lambda workshop, _: workshop)
    monkeypatch.setattr(buying, "with_shelf", lambda *_, **__: tuple(map(schedule, shelf.others)))
    left = Open((bed("bed 1"),), Underway(), {})
    answer = Replanned(SimpleNamespace(), (True,), 600, True)  # type: ignore[arg-type]
    return bought_as_told(
        left,
        schedule(10.0),
        answer,
        replace(SHOP, buy=buy),
        START,
        tolerance_h=tolerance_h,
        effort=QUICK,
        seed=1,
    )


@pytest.mark.parametrize(
    ("new", "buy", "others", "hours"),
    [
        ({10.0: 1}, "if needed", (), 10.0),  # no more than the grams need
        ({10.0: 3}, "for speed", (12.0,), 10.0),  # speed pays for them
        ({10.0: 2, 12.0: 1}, "if needed", (12.0,), 12.0),  # within the tolerance
        ({10.0: 2, 14.0: 1}, "if needed", (14.0,), 14.0),  # just so
        ({10.0: 2, 14.1: 1}, "if needed", (14.1,), 10.0),  # beyond it
        ({10.0: 2, 14.1: 1}, "never", (14.1,), 14.1),  # however long it takes
        ({10.0: 2, 11.0: 2, 13.0: 1}, "if needed", (11.0, 13.0), 13.0),  # the first that buys no more
        ({10.0: 2, 11.0: Infeasible("x"), 13.0: 1}, "if needed", (11.0, 13.0), 13.0),
        ({10.0: 2}, "if needed", (), 10.0),  # no other order was found
        ({10.0: Infeasible("no"), 12.0: 1}, "never", (12.0,), 12.0),
    ],
)
def test_which_order_is_taken(
    new: dict[float, Any], buy: str, others: tuple[float, ...], hours: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    (made, _), _ = told(monkeypatch, Shelf(new, others=others), buy)
    assert made.makespan_h == hours


def test_what_more_spools_would_do_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two more at 21.90 would end it two hours sooner; what is proved about the moves is so no more."""
    (made, _), answer = told(monkeypatch, Shelf({10.0: 3, 12.0: 1}, others=(12.0,)), "if needed")
    assert made.buying is not None
    assert (made.buying.spools, made.buying.price_minor, made.buying.sooner_h, made.buying.bought) == (
        2,
        4380,
        2.0,
        False,
    )
    assert made.buying.other_finish == START + timedelta(hours=10)
    assert (answer.best, answer.proved) == (600, False)
    (sooner, _), _ = told(monkeypatch, Shelf({10.0: 3, 9.0: 1}, others=(9.0,)), "if needed")
    assert sooner.buying is None  # nothing is gained by buying
    _, late = told(monkeypatch, Shelf({10.0: 3, 20.0: 1}, others=(20.0,)), "never")
    assert late.best == 1200


def test_where_nothing_suffices_the_refusal_is_that_of_the_first_order(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with pytest.raises(Infeasible, match="first"):
        told(
            monkeypatch,
            Shelf({10.0: Infeasible("first"), 12.0: Infeasible("second")}, others=(12.0,)),
            "never",
        )
    with pytest.raises(Infeasible, match="first"):
        told(monkeypatch, Shelf({10.0: Infeasible("first")}), "for speed")


# Beds laid again for printers that none of them is for


def spread_over(
    monkeypatch: pytest.MonkeyPatch,
    ends: dict[int, float],
    *,
    misfits: tuple[str, ...] = (),
    tolerance_h: float = 1.0,
) -> tuple[BedsLeft, float, list[set[str]]]:
    """Four beds for the small printer; ``ends`` tells the hours by how many of them stay."""
    beds = [bed(f"bed {n}") for n in range(1, 5)]
    left = BedsLeft(
        tuple(beds), (), {"bed 4": "prints bed 9 again"}, {"bed 8": "is bed 4 now: moved", "bed 7": "gone"}
    )
    asked: list[set[str]] = []

    def compose(task: Any) -> Any:
        names = {piece.name for piece in task.pieces}
        asked.append(names)
        if any(printer.kind == "small 220" for printer in task.workshop.printers):
            raise Infeasible("not all of it")
        return SimpleNamespace(misfits=misfits, batches=(bed("x", "round 240", pieces=tuple(sorted(names))),))

    def timed(now: BedsLeft) -> Any:
        stay = sum(one.printer_kind == "small 220" for one in now.batches)
        return schedule(ends[stay], *(run_of(one.name, n) for n, one in enumerate(beds))), "answer"

    monkeypatch.setattr(spread, "compose", compose)
    earlier: Any = SimpleNamespace(
        batches=(bed("bed 11"),),
        past=(),
        last_bed=12,
        runs=(SimpleNamespace(batch="bed 3"), SimpleNamespace(batch="bed 4")),
    )
    pieces = tuple(SimpleNamespace(name=f"piece of bed {n}") for n in range(1, 5))

    @dataclass(frozen=True)
    class Task:
        pieces: tuple[Any, ...]
        workshop: Any

    made, planned, _ = beds_and_times(Task(pieces, SHOP), earlier, left, timed, tolerance_h)  # type: ignore[arg-type]
    return made, planned.makespan_h, asked


def test_the_last_beds_go_to_idle_printers_where_that_ends_it_much_earlier(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """So many as end it earliest; new beds take the next number, and what became of the old ones is told."""
    left, hours, asked = spread_over(monkeypatch, {4: 40.0, 3: 35.0, 2: 25.0, 1: 25.0, 0: 50.0})
    assert hours == 25.0
    assert [one.name for one in left.batches] == ["bed 1", "bed 2", "bed 13"]  # two moved, not three
    assert asked[:2] == [{"piece of bed 4"}, {"piece of bed 3", "piece of bed 4"}]
    assert left.notes == {"bed 13": WHY}
    assert left.dropped == {
        "bed 7": "gone", **dict.fromkeys(("bed 8", "bed 3", "bed 4"), f"laid again: {WHY}")
    }  # fmt: skip


@pytest.mark.parametrize(
    ("ends", "tolerance_h", "hours"),
    [
        ({4: 40.0, 3: 39.0, 2: 39.5, 1: 39.5, 0: 39.5}, 1.0, 40.0),  # an hour is tolerated
        ({4: 40.0, 3: 38.9, 2: 39.5, 1: 39.5, 0: 39.5}, 1.0, 38.9),
        ({4: 40.0, 3: 41.0, 2: 42.0, 1: 43.0, 0: 44.0}, 0.0, 40.0),
    ],
)
def test_beds_stay_where_too_little_is_gained(
    ends: dict[int, float], tolerance_h: float, hours: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert spread_over(monkeypatch, ends, tolerance_h=tolerance_h)[1] == hours


def test_what_the_idle_printers_do_not_take_stays(monkeypatch: pytest.MonkeyPatch) -> None:
    ends = {4: 40.0, 3: 1.0, 2: 1.0, 1: 1.0, 0: 1.0}
    left, hours, _ = spread_over(monkeypatch, ends, misfits=("piece of bed 4",))
    assert (hours, len(left.batches)) == (40.0, 4)
    monkeypatch.setattr(spread, "_taken", lambda *_: False)
    _, hours, asked = spread_over(monkeypatch, ends)
    assert hours == 40.0
    assert len(asked) == 1  # all of them for all printers


def test_beds_that_wait_go_to_printers_of_another_kind(monkeypatch: pytest.MonkeyPatch) -> None:
    """The round printer has a bed, too; those that end later than is tolerated are laid again for it."""
    beds = [bed("bed 1", "round 240"), *(bed(f"bed {n}") for n in (2, 3, 4))]
    left = BedsLeft(tuple(beds), (), {}, {})
    asked: list[tuple[set[str], set[str]]] = []

    def compose(task: Any) -> Any:
        names = {piece.name for piece in task.pieces}
        asked.append((names, {printer.kind for printer in task.workshop.printers}))
        return SimpleNamespace(misfits=(), batches=(bed("x", "round 240", pieces=tuple(sorted(names))),))

    def timed(now: BedsLeft) -> Any:
        names = [one.name for one in now.batches]
        hours = {4: 60.0, 3: 20.0}.get(len(names), 30.0) if "bed 3" not in names else 60.0
        return schedule(hours, *(run_of(name, 20 * n) for n, name in enumerate(names))), "answer"

    monkeypatch.setattr(spread, "compose", compose)
    shop = replace(SHOP, printers=tuple(p for p in SHOP.printers if p.kind in ("small 220", "round 240")))
    runs = tuple(SimpleNamespace(batch=one.name) for one in beds)
    pieces = tuple(SimpleNamespace(name=f"piece of bed {n}") for n in range(1, 5))

    @dataclass(frozen=True)
    class Task:
        pieces: tuple[Any, ...]
        workshop: Any

    def told(finish: datetime, tolerance_h: float = 1.0) -> tuple[BedsLeft, float]:
        earlier: Any = SimpleNamespace(batches=tuple(beds), past=(), last_bed=4, runs=runs, finish=finish)
        made, planned, _ = beds_and_times(Task(pieces, shop), earlier, left, timed, tolerance_h)  # type: ignore[arg-type]
        return made, planned.makespan_h

    ends = {run.batch: run.end for run in timed(left)[0].runs}
    found, hours = told(ends["bed 2"])  # beds 3 and 4 end later by more than an hour
    late = {"piece of bed 3", "piece of bed 4"}
    assert asked == [
        ({"piece of bed 4"}, {"round 240"}),
        (late, {"round 240"}),
        ({piece.name for piece in pieces}, {printer.kind for printer in shop.printers}),
    ]
    assert hours == 20.0
    assert [one.name for one in found.batches] == ["bed 1", "bed 2", "bed 5"]
    assert found.notes == {"bed 5": SOONER}
    assert found.dropped == dict.fromkeys(("bed 3", "bed 4"), f"laid again: {SOONER}")
    asked.clear()
    assert told(ends["bed 4"])[0] is left  # no later than before
    told_by_file = BedsLeft(tuple(replace(one, machine_file="moves") for one in beds), (), {}, {})
    left = told_by_file
    assert told(ends["bed 2"])[0] is told_by_file  # what a file says of a bed is lost with the bed
    assert told(ends["bed 2"], 24.0 * 30.0)[0] is left  # so late is tolerated
    assert not asked


# Steps of a visit


def earlier_plan(**more: Any) -> EarlierPlan:
    beds = tuple(bed(f"bed {n}", filament="ASA" if n == 2 else "PLA") for n in (1, 2, 3))
    told: dict[str, Any] = {
        "source": "plan.json", "identification": "", "airframe": "x", "start": START, "finish": START,
        "parts": {}, "part_of": {}, "batches": beds, "runs": (), "past": (), "spools": (), "told_g": {},
    }  # fmt: skip
    return EarlierPlan(**{**told, **more})


def became(*, on_bed: bool = True) -> Outcomes:
    """Bed 1 is done and lies on the small printer, where bed 2, of ASA, starts at 10:00; bed 3 later."""
    past = PastRun(run_of("bed 1", -2.0), bed("bed 1"), "done", on_bed=on_bed)
    open_ = (run_of("bed 3", 8.0), run_of("bed 2", 2.0, changed="PLA"))
    return Outcomes((past,), (past,), (), open_, ())


@pytest.mark.parametrize(
    ("minute", "cleared", "changed", "until"),
    [
        (-60, False, False, None),
        (0, False, False, None),  # clearing begins just now
        (1, True, False, 10),  # being cleared: done when it ends
        (11, True, True, 20),  # being changed, until the start
        (21, True, True, None),
    ],
)
def test_steps_go_as_planned_one_after_another(
    minute: int, cleared: bool, changed: bool, until: int | None
) -> None:
    """Ten minutes to clear, ten to change, five to start at 10:00; told in minutes after 9:35."""
    shop = replace(SHOP, clear_minutes=10, change_minutes=10, start_minutes=5)
    first = START + timedelta(hours=2, minutes=-25)
    found = halfway(earlier_plan(), Marks(as_planned=True), became(), shop, first + timedelta(minutes=minute))
    assert found.cleared == ({"bed 1"} if cleared else set())
    assert [one.printer for one in found.changed] == (["small"] if changed else [])
    if changed:
        assert found.changed == (Changed("small", "ASA", "for bed 2", shop.change_purge_g),)
    assert found.until == ({} if until is None else {"small": first + timedelta(minutes=until)})


def test_without_marks_nothing_is_over() -> None:
    assert halfway(earlier_plan(), Marks(), became(), SHOP, START + timedelta(days=9)) == Halfway(
        begun=frozenset({"small"})
    )


def test_marks_say_what_is_cleared_and_changed() -> None:
    found = halfway(earlier_plan(), Marks(cleared=("bed 1",), changed=("small",)), became(), SHOP, START)
    assert found.cleared == {"bed 1"}
    assert found.changed == (Changed("small", "ASA", "for bed 2", SHOP.change_purge_g),)
    after = found.now(became())
    assert not after.past[0].on_bed
    assert after.newly == after.past
    assert Halfway().now(became()).past[0].on_bed


def test_marks_that_make_no_sense_are_refused_with_what_would() -> None:
    with pytest.raises(RecordError) as caught:
        halfway(earlier_plan(), Marks(cleared=("bed 3",)), became(), SHOP, START)
    assert caught.value.what == "'bed 3' lies on no printer in plan.json, so it cannot have been cleared."
    assert caught.value.next_step.endswith("name one that lies there: bed 1.")
    with pytest.raises(RecordError) as caught:
        halfway(earlier_plan(), Marks(changed=("large",)), became(), SHOP, START)
    assert (caught.value.what, caught.value.where) == (
        "no bed is to be started next on 'large'.",
        "--changed",
    )
    assert caught.value.next_step == "Printers with a bed to start: small."
    busy = replace(became(), running=(run_of("bed 9"),))
    with pytest.raises(RecordError, match="Printers with a bed to start: none"):
        halfway(earlier_plan(), Marks(changed=("small",)), busy, SHOP, START)


def test_a_change_of_before_holds_until_something_was_printed_there() -> None:
    kept = Changed("large", "TPU", "s", 3.0)
    plan = earlier_plan(changed=(kept, Changed("small", "ASA", "s", 3.0)))
    assert halfway(plan, Marks(), became(), SHOP, START).changed == (kept,)


def test_a_visit_that_is_over_has_cleared_what_it_says() -> None:
    """Also where nothing is to be started there; one that goes on has not."""
    bare = replace(became(), open=())
    handled = (Visit(START, 15, ("clear bed 1 from small",)),)
    plan = earlier_plan(handled=handled)
    late, early = START + timedelta(minutes=15), START + timedelta(minutes=14)
    assert halfway(plan, Marks(as_planned=True), bare, SHOP, late).cleared == {"bed 1"}
    assert halfway(plan, Marks(as_planned=True), bare, SHOP, early).cleared == set()


def test_what_a_change_has_purged_is_off_its_spool_once() -> None:
    """Not off one that was weighed since, nor a second time for an earlier change; never below nought."""
    spools = (Spool("a", "ASA", 100.0), Spool("b", "ASA", 5.0), Spool("c", "PLA", 50.0))
    done = Halfway(changed=(Changed("small", "ASA", "a", 8.126), Changed("round", "ASA", "b", 8.0)))
    assert [s.grams_left for s in done.shelf(spools, frozenset(), earlier_plan())] == [91.87, 0.0, 50.0]
    assert [s.grams_left for s in done.shelf(spools, frozenset({"a"}), earlier_plan())] == [100.0, 0.0, 50.0]
    before = earlier_plan(changed=(Changed("small", "ASA", "other", 1.0),))
    assert [s.grams_left for s in done.shelf(spools, frozenset(), before)] == [100.0, 0.0, 50.0]
    since = replace(done, begun=frozenset({"small"}))  # a bed of something else came in between
    assert [s.grams_left for s in since.shelf(spools, frozenset(), before)] == [91.87, 0.0, 50.0]


def test_a_new_spool_that_is_on_a_printer_was_bought() -> None:
    """It joins the shelf less what was purged; one that was not opened does not."""
    uses = (
        SpoolUse("new 1", "ASA", True, 1000.0, 1.0, 0.0, 999.0, 2990),
        SpoolUse("new 2", "ASA", True, 1000.0, 1.0, 0.0, 999.0, 2990),
        SpoolUse("old", "ASA", False, 10.0, 1.0, 0.0, 9.0, None),
    )
    done = Halfway(changed=(Changed("small", "ASA", "new 1", 10.0), Changed("large", "ASA", "old", 1.0)))
    shelf = done.shelf((), frozenset(), earlier_plan(spools=uses))
    assert shelf == (Spool("new 1", "ASA", 990.0, 2990),)


def test_printers_have_on_what_was_changed() -> None:
    shop = with_changed(SHOP, Halfway(changed=(Changed("large", "TPU", "s", 1.0),)), SHOP.spools)
    assert {one.name: one.loaded for one in shop.printers} == {
        "large": "TPU",
        "small": "PLA",
        "round": SHOP.printers[2].loaded,
    }
    assert starts(SHOP) == {
        "large": SHOP.start_minutes,
        "small": SHOP.start_minutes,
        "round": SHOP.start_minutes,
    }
