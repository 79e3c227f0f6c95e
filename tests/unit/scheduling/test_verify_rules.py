"""Every rule of the check of schedules: a sound plan, broken in just that way, and what is said of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.model.filament import Spool
from planner.model.schedule import Draw, SpoolUse, Visit
from tests.unit.scheduling.sound_plan import (
    FOAM,
    PLA,
    SOUND,
    TPU,
    all_of,
    at,
    batch,
    filament,
    later,
    printer,
    run,
    runs,
    shop,
    spool,
    visits,
)
from tests.unit.scheduling.workshops import evenings_and_mornings

LOST = replace(SOUND.batches[1], name="bed 9")
NIGHT = Visit(at("06:00", 2), 10, ("clear bed 1",))
AGAIN = run("bed 1", "one", at("18:25", 1), 300, Draw("C", 50.0), changed_from=FOAM, purge_g=9.0)
FIRST, *OTHERS = SOUND.visits
LAST = SOUND.visits[-1]
BED_2, BED_4 = ("clear bed 2",), ("clear bed 3", "clear bed 4")
LAST_SECOND = at("20:00") - timedelta(seconds=1)


def test_the_sound_plan_is_sound():
    """Nothing is said of a plan that a person could carry out by hand."""
    assert SOUND.faults() == ()


RUNS = {
    "a bed without a run": (
        lambda c: replace(c, batches=(*c.batches, LOST)),
        ["batch bed 9 does not run exactly once."],
    ),
    "a bed with two runs": (
        all_of(
            lambda c: replace(c, runs=(*c.runs, AGAIN), finish=AGAIN.end, interventions=7),
            lambda c: replace(c, visits=(*c.visits[:-1], Visit(at("18:00", 1), 25, ()), NIGHT)),
            spool("C", grams_used=100.0, grams_purged=10.0, grams_left=290.0),
        ),
        ["batch bed 1 does not run exactly once."],
    ),
    "a run of no bed": (
        all_of(
            lambda c: replace(c, batches=c.batches[:-1]),
            spool("new 2", grams_used=50.0, grams_purged=1.0, grams_left=949.0),
        ),
        ["a run prints bed 4, which is no batch."],
    ),
    "another finish": (
        lambda c: replace(c, finish=at("09:46", 1)),
        ["the finish is not the end of the last run."],
    ),
    "another count of visits": (
        lambda c: replace(c, interventions=5),
        ["the interventions are not the visits."],
    ),
    "a printer that nobody has": (
        lambda c: shop(printers=c.shop.printers[:2])(c),
        ["tall is no printer of the workshop."],
    ),
    "a planned run on a printer that nobody has": (
        runs("bed 1", printer="?"),
        ["? is no printer of the workshop."],
    ),
    "a filament that nobody has": (
        batch("bed 1", filament="wood"),
        [
            "run of bed 1: wood is no filament of the workshop.",
            "run of bed 1 names the wrong filament before the change.",
            "run of bed 2 names the wrong filament before the change.",
            "run of bed 1 asks for work before the plan begins.",
            "run of bed 1 is handled while nobody is there.",
            "run of bed 1 is handled outside of every visit.",
            "run of bed 1 draws from C, which has no wood to give.",
        ],
    ),
    "a second run that is running": (
        runs("bed 4", mark="running"),
        ["run of bed 4 is said to run, but is not the first on two."],
    ),
    "a printer of another kind": (
        batch("bed 1", printer_kind="tall"),
        ["run of bed 1: bed 1 is for tall, but one is a desk."],
    ),
    "a filament that is not listed": (
        printer("one", filaments=(FOAM,)),
        ["run of bed 1: one may not run PLA."],
    ),
    "a list that wins over temperatures": (printer("one", filaments=(FOAM, PLA), nozzle_limit_c=100.0), []),
    "a nozzle that is not hot enough": (
        printer("one", nozzle_limit_c=214.0),
        ["run of bed 1: one may not run PLA.", "run of bed 2: one may not run foaming PLA."],
    ),
    "a bed that is not hot enough": (
        printer("one", bed_limit_c=59.0),
        ["run of bed 1: one may not run PLA.", "run of bed 2: one may not run foaming PLA."],
    ),
    "limits that just do": (printer("one", nozzle_limit_c=215.0, bed_limit_c=60.0), []),
    "a run that is too short": (
        runs("bed 3", end=LAST_SECOND - timedelta(seconds=1)),
        ["run of bed 3 does not last as long as bed 3 takes."],
    ),
    "a run shorter by what rounding may take": (runs("bed 3", end=LAST_SECOND), []),
    "a run that is too long": (
        runs("bed 4", end=at("21:36") + timedelta(seconds=1)),
        ["run of bed 4 does not last as long as bed 4 takes."],
    ),
    "a run of whole minutes": (runs("bed 4", end=at("21:36")), []),
    "a change that is not named": (
        all_of(
            runs("bed 2", changed_from=None, purge_g=1.0), spool("new 1", grams_purged=1.0, grams_left=449.0)
        ),
        ["run of bed 2 names the wrong filament before the change."],
    ),
    "a change that is none": (
        all_of(runs("bed 1", changed_from=PLA, purge_g=9.0), spool("C", grams_purged=9.0, grams_left=341.0)),
        ["run of bed 1 names the wrong filament before the change."],
    ),
    "a change from nothing": (
        all_of(
            runs("bed 3", changed_from=PLA, purge_g=9.0), spool("new 2", grams_purged=10.0, grams_left=890.0)
        ),
        ["run of bed 3 names the wrong filament before the change."],
    ),
    "a change from another filament": (
        runs("bed 2", changed_from=TPU),
        ["run of bed 2 names the wrong filament before the change."],
    ),
    "a change after a bed that runs": (
        all_of(
            batch("bed 4", printer_kind="tall"),
            runs(
                "bed 4", printer="tall", start=at("22:35"), end=at("22:59"), changed_from="PLA", purge_g=9.0
            ),
            batch("bed 4", minutes=24.0),
            spool("new 2", grams_purged=10.0, grams_left=890.0),
            lambda c: visits(
                *c.visits[:3],
                Visit(at("22:00"), 45, ("clear bed 0", "start bed 4")),
                Visit(at("06:00", 1), 45, ("clear bed 3", "clear bed 1", "clear bed 4", "start bed 2")),
                c.visits[5],
            )(c),
        ),
        [],
    ),
    "a bed that is too long after one that runs": (
        all_of(
            batch("bed 4", printer_kind="tall", minutes=23.0),
            runs("bed 4", printer="tall", start=at("22:35"), end=at("23:00"), changed_from=PLA, purge_g=9.0),
            spool("new 2", grams_purged=10.0, grams_left=890.0),
            lambda c: visits(
                *c.visits[:3], Visit(at("22:00"), 45, ()), *c.visits[4:], Visit(at("19:00", 1), 20, BED_4)
            )(c),
        ),
        ["run of bed 4 does not last as long as bed 4 takes."],
    ),
    "a bed that is not cold": (
        printer("two", cool_down_minutes=21.0),
        ["run of bed 4 overlaps run of bed 3 on two, or its bed is not cold and clear."],
    ),
    "a bed of an earlier plan that must be cleared first": (
        lambda c: replace(c, on_bed=(("two", "bed 7"),)),
        [
            "run of bed 3 asks for work before the plan begins.",
            "run of bed 3 is handled while nobody is there.",
            "run of bed 3 needs a person while all 1 are busy.",
            "run of bed 3 is handled outside of every visit.",
        ],
    ),
}

PERSONS = {
    "work before the plan begins": (
        all_of(lambda c: replace(c, start=at("18:01")), visits(*SOUND.visits)),
        [
            "run of bed 1 asks for work before the plan begins.",
            "the visit at 2026-01-05 18:00 is before the plan begins.",
        ],
    ),
    "handled while nobody is there": (
        all_of(
            later("bed 2", 120),
            filament(FOAM, watch_minutes=0, unattended_start=True),
            visits(*SOUND.visits[:4], Visit(at("07:55", 1), 5, ()), Visit(at("08:00", 1), 25, ()), LAST),
        ),
        [
            "run of bed 2 is handled while nobody is there.",
            "the visit at 2026-01-06 08:00 lasts beyond the hours in which somebody is there.",
        ],
    ),
    "a visit that lasts beyond the hours": (
        visits(*SOUND.visits[:5], Visit(at("22:50", 1), 11, BED_2)),
        ["the visit at 2026-01-06 22:50 lasts beyond the hours in which somebody is there."],
    ),
    "a visit that lasts just to the end": (visits(*SOUND.visits[:5], Visit(at("22:50", 1), 10, BED_2)), []),
    "first layers just watched": (filament(FOAM, watch_minutes=95), []),
    "first layers that nobody watches": (
        filament(FOAM, watch_minutes=96),
        ["run of bed 2: nobody is there to watch its first layers."],
    ),
    "a start that nobody attends": (
        runs("bed 1", attended_start=False),
        ["run of bed 1 starts PLA unattended, which that filament does not allow."],
    ),
    "a start that need not be attended": (
        all_of(runs("bed 1", attended_start=False), filament(PLA, unattended_start=True)),
        [],
    ),
    "a run that nobody attends": (
        filament(PLA, unattended_run=False),
        ["run of bed 1 prints PLA unattended, which that filament does not allow."],
    ),
    "two hands of one person": (
        later("bed 3", -1),
        ["run of bed 3 needs a person while all 1 are busy."],
    ),
    "two persons": (all_of(later("bed 3", -1), shop(attendance=evenings_and_mornings(2))), []),
    "handled outside of every visit": (
        visits(*OTHERS),
        [
            "run of bed 1 is handled outside of every visit.",
            "run of bed 3 is handled outside of every visit.",
        ],
    ),
    "a visit that comes too late": (
        visits(Visit(at("18:01"), 20, ()), *OTHERS),
        ["run of bed 1 is handled outside of every visit."],
    ),
    "a visit that ends too early": (
        visits(Visit(at("18:00"), 19, ()), *OTHERS),
        ["run of bed 3 is handled outside of every visit."],
    ),
    "a visit shorter than its clearing": (
        visits(*SOUND.visits[:5], Visit(at("18:00", 1), 9, ("clear bed 2",))),
        ["the visit at 2026-01-06 18:00 is shorter than its work."],
    ),
    "a visit shorter than its work and its clearing": (
        # 15 minutes for bed 4, and two more beds to clear: 35 of 34
        visits(
            *SOUND.visits[:2],
            Visit(at("20:20"), 34, ("clear bed 3", "start bed 4", "clear x", "clear y")),
            *SOUND.visits[3:],
        ),
        ["the visit at 2026-01-05 20:20 is shorter than its work."],
    ),
    "a visit just as long as its work and its clearing": (
        visits(
            *SOUND.visits[:2],
            Visit(at("20:20"), 35, ("clear bed 3", "start bed 4", "clear x", "clear y")),
            *SOUND.visits[3:],
        ),
        [],
    ),
    "a visit shorter than all its work together": (
        # 5 and 15 minutes at the two printers, and a bed to clear: 30 of 27
        visits(Visit(at("18:00"), 27, ("clear x",)), *OTHERS),
        ["the visit at 2026-01-05 18:00 is shorter than its work."],
    ),
    "two persons clear in half the time": (
        all_of(
            shop(attendance=evenings_and_mornings(2)),
            visits(*SOUND.visits[:5], Visit(at("18:00", 1), 10, ("clear bed 2", "clear x"))),
        ),
        [],
    ),
    "a spool that is changed while nobody is there": (
        all_of(runs("bed 0", start=at("09:00"), end=at("19:00")), lambda c: replace(c, start=at("16:00"))),
        [
            "the change of spool in run of bed 0 is handled while nobody is there.",
            "the change of spool in run of bed 0 is handled outside of every visit.",
        ],
    ),
    "a spool that was changed before the plan begins": (
        all_of(
            runs("bed 0", start=at("09:59"), end=at("19:59")), visits(*SOUND.visits[:1], *SOUND.visits[2:])
        ),
        [],
    ),
    "a change of spool outside of every visit": (
        visits(*SOUND.visits[:1], *SOUND.visits[2:]),
        ["the change of spool in run of bed 0 is handled outside of every visit."],
    ),
    "a change of spool lasts a minute at least": (
        all_of(
            shop(change_minutes=0),
            runs("bed 3", start=at("18:20"), end=at("20:00")),
            visits(FIRST, Visit(at("20:01"), 9, ()), *SOUND.visits[2:]),
        ),
        ["the change of spool in run of bed 0 is handled outside of every visit."],
    ),
}

SHELF = SOUND.shop.spools
SPOOLS = {
    "grams that are not drawn": (
        all_of(runs("bed 1", draws=(Draw("C", 49.98),)), spool("C", grams_used=49.98, grams_left=349.02)),
        ["run of bed 1 does not draw the grams of bed 1."],
    ),
    "grams to a hundredth": (runs("bed 1", draws=(Draw("C", 49.995),)), []),
    "grams of another filament": (
        all_of(
            runs("bed 1", draws=(Draw("new 1", 50.0),)),
            spool("C", grams_used=0.0, grams_purged=0.0, grams_left=400.0),
            spool("new 1", grams_used=100.0, grams_purged=10.0, grams_left=390.0),
        ),
        ["run of bed 1 draws from new 1, which has no PLA to give."],
    ),
    "grams of no spool": (
        all_of(
            runs("bed 1", draws=(Draw("?", 50.0),)),
            spool("C", grams_used=0.0, grams_purged=0.0, grams_left=400.0),
        ),
        ["run of bed 1 draws from ?, which has no PLA to give."],
    ),
    "grams below nothing": (
        all_of(
            runs("bed 1", draws=(Draw("B", -10.0), Draw("C", 60.0))),
            later("bed 1", 0),
            spool("B", grams_used=0.0, grams_purged=1.0, grams_left=399.0),
            spool("C", grams_used=60.0, grams_purged=0.0, grams_left=340.0),
        ),
        [
            "run of bed 1 draws from B, which has no PLA to give.",
            "spool B is on tall and one at the same time.",
        ],
    ),
    "more drawn before than at all": (
        all_of(
            runs("bed 0", draws=(Draw("A", 40.0, before_g=41.0), Draw("B", 10.0))),
            spool("A", grams_used=-1.0, grams_left=26.0),
        ),
        ["run of bed 0 draws from A, which has no PLA to give."],
    ),
    "drawn before it begins": (
        all_of(
            runs("bed 1", draws=(Draw("C", 50.0, before_g=10.0),)),
            spool("C", grams_used=40.0, grams_purged=0.0, grams_left=360.0),
        ),
        ["run of bed 1 has drawn from C before it begins."],
    ),
    "all drawn before the spool was weighed": (
        all_of(
            runs("bed 0", draws=(Draw("A", 20.0, before_g=20.0), Draw("B", 30.0))),
            spool("A", grams_used=0.0, grams_left=25.0),
            spool("B", grams_used=30.0, grams_left=370.0),
        ),
        [],
    ),
    "what a bed that runs has purged": (runs("bed 0", purge_g=5.0), []),
    "no purge": (
        all_of(runs("bed 1", purge_g=0.0), spool("C", grams_purged=0.0, grams_left=350.0)),
        ["run of bed 1 does not purge what a run and its changeover purge."],
    ),
    "no purge for the change": (
        all_of(runs("bed 2", purge_g=1.0), spool("new 1", grams_purged=1.0, grams_left=449.0)),
        ["run of bed 2 does not purge what a run and its changeover purge."],
    ),
    "a spool on the shelf that holds other grams": (
        spool("C", grams_before=400.02, grams_left=349.02),
        ["spool C begins with other grams than it has."],
    ),
    "grams on the shelf to a hundredth": (spool("C", grams_before=400.01, grams_left=349.01), []),
    "a spool that is not on the shelf": (
        shop(spools=SHELF[:2]),
        ["spool C begins with other grams than it has."],
    ),
    "grams on the shelf beyond rounding": (
        spool("C", grams_before=400.012, grams_left=349.012),
        ["spool C begins with other grams than it has."],
    ),
    "a gram on spools that nobody has": (
        lambda c: replace(
            c,
            uses=(
                *c.uses,
                SpoolUse("x", PLA, False, 1.0, 0.0, 0.0, 1.0, None),
                SpoolUse("y", "wood", True, 1.0, 0.0, 0.0, 1.0, None),
            ),
        ),
        ["spool x begins with other grams than it has.", "spool y begins with other grams than it has."],
    ),
    "a new spool that is not full": (
        spool("new 1", grams_before=499.0, grams_left=440.0),
        ["spool new 1 begins with other grams than it has."],
    ),
    "a new spool of a filament that nobody has": (
        all_of(spool("new 1", filament="wood")),
        [
            "run of bed 2 draws from new 1, which has no foaming PLA to give.",
            "spool new 1 begins with other grams than it has.",
        ],
    ),
    "a spool below zero": (
        all_of(
            shop(spools=(*SHELF[:2], Spool("C", PLA, 50.0))), spool("C", grams_before=50.0, grams_left=-1.0)
        ),
        ["spool C is drawn below zero."],
    ),
    "a spool told a little below zero": (
        all_of(
            shop(spools=(*SHELF[:2], Spool("C", PLA, 51.0))), spool("C", grams_before=51.0, grams_left=-0.004)
        ),
        ["spool C is drawn below zero."],
    ),
    "a spool that is just empty": (
        all_of(
            shop(spools=(*SHELF[:2], Spool("C", PLA, 51.0))), spool("C", grams_before=51.0, grams_left=0.0)
        ),
        [],
    ),
    "other grams used": (spool("C", grams_used=50.01), ["the grams of spool C do not add up."]),
    "other grams purged": (spool("C", grams_purged=0.99), ["the grams of spool C do not add up."]),
    "other grams left": (spool("C", grams_left=348.99), ["the grams of spool C do not add up."]),
    "grams told in hundredths": (spool("C", grams_used=50.005, grams_purged=0.995, grams_left=349.005), []),
    "a spool on two printers": (
        all_of(
            runs("bed 1", draws=(Draw("B", 50.0),)),
            spool("B", grams_used=60.0, grams_purged=1.0, grams_left=339.0),
            spool("C", grams_used=0.0, grams_purged=0.0, grams_left=400.0),
        ),
        ["spool B is on tall and one at the same time."],
    ),
}


def test_a_filament_that_nobody_has_hides_nothing():
    """A start that nobody attends, later in the plan, is told all the same."""
    broken = all_of(batch("bed 1", filament="wood"), runs("bed 4", attended_start=False))
    wanted = "run of bed 4 starts TPU unattended, which that filament does not allow."
    assert wanted in broken(SOUND).faults()


@pytest.mark.parametrize("rule", RUNS)
def test_rules_of_runs_and_printers(rule):
    """Which bed runs where, how long, and after what."""
    broken, words = RUNS[rule]
    assert list(broken(SOUND).faults()) == words


@pytest.mark.parametrize("rule", PERSONS)
def test_rules_of_persons_and_visits(rule):
    """Who is there, for what, and in which visit."""
    broken, words = PERSONS[rule]
    assert list(broken(SOUND).faults()) == words


@pytest.mark.parametrize("rule", SPOOLS)
def test_rules_of_grams_and_spools(rule):
    """What is drawn, purged, left, and from where."""
    broken, words = SPOOLS[rule]
    assert list(broken(SOUND).faults()) == words
