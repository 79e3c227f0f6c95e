"""Rules of drying: a sound plan, made by hand, broken in just that way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import pytest

from planner.model.away import Away
from planner.model.batch import Batch
from planner.model.drying import Dryer, DryerLoad
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.schedule import Draw, Run, Schedule, Visit
from planner.model.workshop import Workshop
from planner.scheduling.verify_drying import dryer_words, drying_faults
from planner.scheduling.verify_tasks import task_faults
from tests.unit.scheduling.sound_plan import at
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch

NYLON = Filament("PA", "PA", 1.14, 1.14, dry_hours=8.0, dry_c=70.0, needs_drying=True, open_hours=24.0)
SOFT = Filament("TPU", "TPU", 1.2, 1.2, dry_hours=4.0, needs_drying=True)
HARD = Filament("ABS", "ABS", 1.04, 1.04)


@dataclass(frozen=True)
class Dried:
    """Monday 18:00 A and B go in, out on Tuesday at 06:00; one prints from A at 06:05, two from C at 18:05.

    C was dried on Sunday at noon, and there are 24 hours until its run is over at 11:00.
    """

    loads: tuple[DryerLoad, ...] = (DryerLoad(1, "PA", ("A", "B"), at("18:00"), at("06:00", 1)),)
    runs: tuple[Run, ...] = (
        Run("run 1", "bed 1", "one", at("06:06", 1), at("10:06", 1), True, (Draw("A", 40.0),), 1.0),
        Run("run 2", "bed 2", "two", at("18:05"), at("11:00", 1), True, (Draw("C", 40.0),), 1.0),
    )
    visits: tuple[Visit, ...] = (
        Visit(
            at("18:00"),
            5,
            (
                "put spool A into dryer 1 for 8 h or more at 70 °C",
                "put spool B into dryer 1 for 8 h or more at 70 °C",
            ),
        ),
        Visit(at("06:00", 1), 6, ("take spool A out of dryer 1", "take spool B out of dryer 1")),
    )
    shop: Workshop = Workshop(
        (Printer("one", "desk", loaded="PA"), Printer("two", "desk", loaded="PA")),
        (NYLON, SOFT, HARD),
        (Spool("A", "PA", 500.0), Spool("B", "PA", 500.0), Spool("C", "PA", 500.0, dried=at("11:00"))),
        attendance=evenings_and_mornings(),
        dryer=Dryer(1, 2),
    )
    batches: tuple[Batch, ...] = (
        make_batch("bed 1", 240.0, filament="PA"),
        make_batch("bed 2", 1015.0, filament="PA"),
    )

    def faults(self) -> tuple[str, ...]:
        """What the check says."""
        schedule = Schedule(
            self.runs, self.visits, at("11:00", 1), 17.0, {}, None, None, 2, 0, drying=self.loads
        )
        named = {batch.name: batch for batch in self.batches}
        mounted = {run.name: run.start - timedelta(minutes=5) for run in self.runs}
        return tuple(drying_faults(schedule, named, self.shop, mounted, MONDAY))


SOUND = Dried()


def load(**changes: object) -> Dried:
    """The slot otherwise; its visits are the hand-made ones."""
    return replace(SOUND, loads=(replace(SOUND.loads[0], **changes),))  # type: ignore[arg-type]


def shop(**changes: object) -> Dried:
    """Another workshop."""
    return replace(SOUND, shop=replace(SOUND.shop, **changes))  # type: ignore[arg-type]


def spool(name: str, **changes: object) -> Dried:
    """A spool otherwise."""
    return shop(spools=tuple(replace(s, **changes) if s.name == name else s for s in SOUND.shop.spools))  # type: ignore[arg-type]


ROOMY = Dryer(1, 9)


def beside(other: DryerLoad, dryer: Dryer = ROOMY) -> Dried:
    """Another slot beside it, told by its visits."""
    base = replace(SOUND, loads=(*SOUND.loads, other), shop=replace(SOUND.shop, dryer=dryer))
    kinds = {filament.name: filament for filament in base.shop.filaments}
    more = tuple(Visit(when, 1, (words,)) for when, words in dryer_words((other,), kinds, base.runs, MONDAY))
    return replace(base, visits=(*base.visits, *more))


SOFT_LOAD = DryerLoad(1, "TPU", ("S",), at("22:00"), at("06:00", 1))


@pytest.mark.parametrize(
    ("case", "words"),
    [
        (SOUND, ()),
        (shop(dryer=Dryer(1, 1)), ("dryer 1 holds 2 spools at 2026-01-05 18:00, it takes 1.",)),
        (
            shop(filaments=(replace(NYLON, dry_hours=12.0), SOFT, HARD)),
            (
                "no visit at 2026-01-05 18:00 says 'put spool A into dryer 1 for 12 h or more at 70 °C'.",
                "no visit at 2026-01-05 18:00 says 'put spool B into dryer 1 for 12 h or more at 70 °C'.",
            ),
        ),
        (beside(SOFT_LOAD), ("dryer 1 dries PA and TPU at once, which ask for other temperatures.",)),
        (beside(replace(SOFT_LOAD, dryer=2), Dryer(2, 9)), ()),
        (
            beside(replace(SOFT_LOAD, filament="PA", spools=("A",), put_in=at("21:59"))),
            ("A is in two slots at once.",),
        ),
        (
            spool("C", dried=at("10:59")),
            ("run 2 draws from C, which is open for 24.0 h by its end.",),
        ),
        (spool("C", dried=None), ("run 2 draws from C, which was not dried before.",)),
        (spool("C", dried=date(2026, 1, 6)), ("run 2 draws from C, which was not dried before.",)),
        (spool("C", filament="TPU"), ()),
        (
            spool("B", filament="TPU"),
            ("B is dried as PA, it holds TPU.",),
        ),
        (
            spool("B", at_hand_from=date(2026, 1, 6)),
            ("B is dried from 2026-01-05 18:00, when it is not at hand.",),
        ),
        (
            spool("B", away=(Away(at("20:00"), at("21:00")),)),
            ("B is dried from 2026-01-05 18:00, when it is not at hand.",),
        ),
        (
            replace(SOUND, visits=SOUND.visits[:1]),
            (
                "no visit at 2026-01-06 06:00 says 'take spool A out of dryer 1'.",
                "no visit at 2026-01-06 06:00 says 'take spool B out of dryer 1'.",
            ),
        ),
        (
            shop(dryer=None),
            ("there is no dryer 1.", "dryer 1 holds 2 spools at 2026-01-05 18:00, it takes 0."),
        ),
        (
            replace(
                SOUND, runs=(replace(SOUND.runs[0], draws=(Draw("A", 20.0), Draw("B", 20.0))), SOUND.runs[1])
            ),
            (),
        ),
        (
            replace(SOUND, runs=(SOUND.runs[0], replace(SOUND.runs[1], draws=(Draw("B", 40.0),)))),
            (
                "B is in the dryer from 2026-01-05 18:00, and on a printer for run 2.",
                "no visit at 2026-01-06 06:00 says 'take spool B out of dryer 1 and put it back on two'.",
                "run 2 draws from B, which was not dried before.",
            ),
        ),
    ],
)
def test_rules_of_drying(case: Dried, words: tuple[str, ...]) -> None:
    """Room, warmth, hours open, spools that are there and on no printer, visits."""
    assert case.faults() == words


@pytest.mark.parametrize(
    ("case", "words"),
    [
        (load(filament="PEEK"), "a dryer holds a filament that the workshop does not know."),
        (load(dryer=2), "there is no dryer 2."),
        (load(take_out=at("22:00")), "PA is in the dryer from 2026-01-05 18:00 for 4.00 h, it asks for 8 h."),
        (load(put_in=at("23:00") - timedelta(hours=6)), ""),
        (
            load(take_out=at("05:00", 1)),
            "PA is taken out of the dryer at 2026-01-06 05:00 while nobody is there.",
        ),
        (
            load(put_in=at("23:00"), take_out=at("07:00", 1)),
            "PA is put into the dryer at 2026-01-05 23:00 while nobody is there.",
        ),
        (load(take_out=at("06:02", 1)), "run 1 draws from A, which was not dried before."),
    ],
)
def test_a_slot_that_is_otherwise(case: Dried, words: str) -> None:
    """What is put in before the plan begins is as it is."""
    found = case.faults()
    assert (words in found) if words else not any("nobody is there" in one for one in found)


def test_without_a_dryer_nothing_is_asked() -> None:
    """Nor where spools are only counted, nor of what had begun before the plan."""
    bare = replace(SOUND, loads=(), visits=())
    assert len(bare.faults()) == 1
    assert replace(bare, shop=replace(bare.shop, dryer=None)).faults() == ()
    assert replace(bare, shop=replace(bare.shop, spools=())).faults() == ()
    begun = tuple(replace(run, mark="running") for run in bare.runs)
    assert replace(bare, runs=begun).faults() == ()


def test_a_spool_goes_back_to_the_printer_that_it_came_from() -> None:
    """If nothing was begun there meanwhile, and no other spool went on in mid-run."""
    kinds = {filament.name: filament for filament in SOUND.shop.filaments}
    again = DryerLoad(1, "PA", ("A",), at("18:00", 1), at("06:00", 2))

    def words(*runs: Run) -> list[str]:
        return [text for _, text in dryer_words((again,), kinds, runs, MONDAY)][1:]

    first = SOUND.runs[0]
    other = replace(first, name="run 3", start=at("18:30", 1), end=at("20:00", 1), draws=(Draw("C", 9.0),))
    assert words(first) == ["take spool A out of dryer 1 and put it back on one"]
    assert words(first, other) == ["take spool A out of dryer 1"]
    assert words(replace(first, draws=(Draw("A", 1.0), Draw("B", 1.0)))) == ["take spool A out of dryer 1"]


def test_words_of_dryers_belong_to_the_visits() -> None:
    """A visit that ends with them ends rightly, and one that says others is strange."""
    runs = tuple(replace(run, mark="running") for run in SOUND.runs)
    visits = (
        replace(SOUND.visits[0], minutes=1),
        replace(SOUND.visits[1], minutes=1),
    )
    good = Schedule(runs, visits, at("11:00", 1), 17.0, {}, None, None, 2, 0, drying=SOUND.loads)

    def said(schedule: Schedule) -> tuple[str, ...]:
        return task_faults(schedule, SOUND.batches, SOUND.shop, MONDAY)

    assert said(good) == ()
    late = (replace(visits[0], minutes=5), visits[1])
    assert said(replace(good, visits=late)) == (
        "the visit at 2026-01-05 18:00 ends at another time than its work.",
    )
    odd = (replace(visits[0], tasks=(*visits[0].tasks, "put spool C into dryer 1")), visits[1])
    assert said(replace(good, visits=odd)) == (
        "a visit says 'put spool C into dryer 1', which no run asks for.",
    )
