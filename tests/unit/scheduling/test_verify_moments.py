"""Rules of the check of schedules that hang on a moment: spools that come, run dry or wander; the hours."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta, timezone

import pytest

from planner.model.attendance import Absence, Attendance, DateWindow, WeeklyWindow
from planner.model.filament import Spool
from planner.model.schedule import Draw, Visit
from planner.scheduling.verify import _person_faults
from planner.scheduling.verify_hours import persons_there
from tests.unit.scheduling.sound_plan import (
    PLA,
    SOUND,
    all_of,
    at,
    at_hand,
    hours,
    run,
    runs,
    shop,
    spool,
    visits,
)
from tests.unit.scheduling.workshops import ALL_DAYS, MONDAY

SHELF = SOUND.shop.spools
FROM = "run of bed {} draws from {}, which is at hand only from 2026-01-0{}+00:00."


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        (at_hand("C", date(2026, 1, 5)), []),
        (at_hand("C", date(2026, 1, 6)), [FROM.format(1, "C", "6 00:00:00")]),
        (at_hand("C", datetime(2026, 1, 5, 18, 0)), []),  # noqa: DTZ001  as the workshop's clock tells it
        (at_hand("C", datetime(2026, 1, 5, 18, 1)), [FROM.format(1, "C", "5 18:01:00")]),  # noqa: DTZ001
        (at_hand("C", datetime(2026, 1, 5, 18, 1, tzinfo=UTC)), [FROM.format(1, "C", "5 18:01:00")]),
        # of a bed that prints: what is on it is there, what goes on at 20:00 must be by then, to a minute
        (at_hand("A", date(2026, 1, 9)), []),
        (at_hand("B", datetime(2026, 1, 5, 20, 1)), []),  # noqa: DTZ001
        (at_hand("B", datetime(2026, 1, 5, 20, 2)), [FROM.format(0, "B", "5 20:02:00")]),  # noqa: DTZ001
    ],
)
def test_spools_that_come_later(broken, words):
    """No run draws from a spool before it is at hand; it goes on when its bed is started."""
    assert list(broken(SOUND).faults()) == words


def test_spools_come_by_the_clock_of_the_workshop():
    """In Lisbon in July 18:00 is 17:00 UTC: a spool from 18:30 is late for 18:05 and not for 18:35."""
    there = Attendance(zone="Europe/Lisbon")
    summer = timedelta(days=181, hours=-1)  # the 5th of July at 17:00 UTC
    moved = replace(
        SOUND,
        runs=tuple(replace(r, start=r.start + summer, end=r.end + summer) for r in SOUND.runs),
        visits=tuple(replace(v, at=v.at + summer) for v in SOUND.visits),
        finish=SOUND.finish + summer,
        start=MONDAY + summer,
        shop=replace(SOUND.shop, attendance=there),
    )
    assert moved.faults() == ()
    since = datetime(2026, 7, 5, 18, 1)  # noqa: DTZ001
    assert at_hand("C", since)(moved).faults() == (
        "run of bed 1 draws from C, which is at hand only from 2026-07-05 18:01:00+01:00.",
    )
    assert at_hand("C", since - timedelta(minutes=1))(moved).faults() == ()


def dry(**more: object):
    """Spool A holds 20 g when the plan begins, and at 20:00 nobody puts on another: 10 g are lacking."""
    told = {"draws": (Draw("A", 40.0, before_g=20.0),), "short_g": 10.0, "dry_at": at("20:00"), **more}
    return all_of(
        shop(spools=(Spool("A", PLA, 20.0), *SHELF[1:])),
        runs("bed 0", **told),
        spool("A", grams_before=20.0, grams_left=0.0),
        spool("B", grams_used=0.0, grams_left=400.0),
    )


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        (dry(), []),
        (dry(dry_at=None), ["run of bed 0 lacks 10.0 g, and it is not told when it runs dry."]),
        (dry(dry_at=at("19:58")), []),  # to two minutes
        (dry(dry_at=at("19:57")), ["run of bed 0 runs dry at another moment than is told."]),
        (dry(dry_at=at("20:02")), []),
        (dry(dry_at=at("20:03")), ["run of bed 0 runs dry at another moment than is told."]),
        (dry(dry_at=at("23:00")), ["run of bed 0 runs dry at another moment than is told."]),
        (
            dry(short_g=0.0),
            [
                "run of bed 0 lacks 0.0 g, and it is not told when it runs dry.",
                "run of bed 0 does not draw the grams of bed 0.",
            ],
        ),
        (
            all_of(
                dry(),
                shop(spools=(Spool("A", PLA, 21.5), *SHELF[1:])),
                spool("A", grams_before=21.5, grams_left=1.5),
            ),
            ["run of bed 0 is told to run dry, but A holds 1.5 g more."],
        ),
        (  # a gram that the scale does not see
            all_of(
                dry(),
                shop(spools=(Spool("A", PLA, 21.0), *SHELF[1:])),
                spool("A", grams_before=21.0, grams_left=1.0),
            ),
            [],
        ),
        (
            all_of(
                runs("bed 1", draws=(Draw("C", 40.0),), short_g=10.0, dry_at=at("22:05")),
                shop(spools=(*SHELF[:2], Spool("C", PLA, 41.0))),
                spool("C", grams_before=41.0, grams_used=40.0, grams_left=0.0),
            ),
            ["run of bed 1 lacks 10.0 g, and it is not told when it runs dry."],
        ),
    ],
)
def test_beds_that_run_dry(broken, words):
    """Only a bed that had begun may, at the moment that is told, with nothing left on its spool."""
    assert list(broken(SOUND).faults()) == words


def test_a_spool_that_went_on_before_the_plan_begins_is_there():
    """Bed 0 went on with B at 17:59; that B is noted for another day does not matter."""
    begun = all_of(
        runs("bed 0", start=at("09:59"), end=at("19:59")), visits(*SOUND.visits[:1], *SOUND.visits[2:])
    )
    assert all_of(begun, at_hand("B", date(2026, 1, 9)))(SOUND).faults() == ()


def test_what_is_lacking_counts_in_the_moment_of_the_change():
    """Of 50 g A gives 30: at 18:00 B goes on, which comes at 20:00; 10 g are lacking at the end."""
    draws = (Draw("A", 30.0, before_g=20.0), Draw("B", 10.0))
    late = all_of(dry(draws=draws), at_hand("B", datetime(2026, 1, 5, 20, 0)))  # noqa: DTZ001
    assert FROM.format(0, "B", "5 20:00:00") in late(SOUND).faults()


def test_half_a_gram_may_be_lacking():
    """40 g of 40.5 last until 21:52."""
    light = all_of(
        dry(short_g=0.5, dry_at=at("21:52")),
        lambda c: replace(c, batches=(replace(c.batches[0], mass_g=40.5), *c.batches[1:])),
    )
    assert light(SOUND).faults() == ()


def test_without_hours_the_clock_is_that_of_the_beginning():
    """Five hours ahead of UTC: C comes at 23:00 there, which is 18:00 UTC, just in time."""
    there = all_of(hours(), lambda c: replace(c, start=MONDAY.astimezone(timezone(timedelta(hours=5)))))
    assert all_of(there, at_hand("C", datetime(2026, 1, 5, 23, 0)))(SOUND).faults() == ()  # noqa: DTZ001
    assert all_of(there, at_hand("C", datetime(2026, 1, 5, 23, 1)))(SOUND).faults() == (  # noqa: DTZ001
        "run of bed 1 draws from C, which is at hand only from 2026-01-05 23:01:00+05:00.",
    )


def test_each_hand_too_many_is_told_once():
    """One person, three printers: b and c each want hands that a has."""
    blocks = [
        (at("18:00"), at("18:10"), "a"),
        (at("18:02"), at("18:08"), "b"),
        (at("18:04"), at("18:06"), "c"),
    ]
    told = ["b needs a person while all 1 are busy.", "c needs a person while all 1 are busy."]
    assert list(_person_faults(blocks, Attendance())) == told
    assert list(_person_faults(blocks, Attendance(persons=2))) == ["c needs a person while all 2 are busy."]
    assert list(_person_faults(blocks, Attendance(persons=3))) == []


def test_a_bed_of_less_than_a_gram_has_its_moments_too():
    """Of 0.9 g A gives 0.6: B goes on at 18:40, outside of every visit, and comes at 18:42 only."""
    light = all_of(
        lambda c: replace(c, batches=(replace(c.batches[0], mass_g=0.9), *c.batches[1:])),
        runs("bed 0", draws=(Draw("A", 0.6, before_g=0.3), Draw("B", 0.3))),
        spool("A", grams_used=0.3, grams_left=24.7),
        spool("B", grams_used=0.3, grams_left=399.7),
    )
    outside = "the change of spool in run of bed 0 is handled outside of every visit."
    assert light(SOUND).faults() == (outside,)
    late = all_of(light, at_hand("B", datetime(2026, 1, 5, 18, 42)))  # noqa: DTZ001
    assert late(SOUND).faults() == (outside, FROM.format(0, "B", "5 18:42:00"))


def two_running(**more: object):
    """Bed 1 on ``one`` runs already, since 13:00, from the same spool B that bed 0 goes on with."""
    own = run("bed 1", "one", at("13:00"), 300, Draw("B", 50.0, before_g=45.0), **{"mark": "running", **more})
    return all_of(
        lambda c: replace(c, runs=tuple(own if r.batch == "bed 1" else r for r in c.runs)),
        spool("B", grams_used=15.0, grams_left=385.0),
        spool("C", grams_used=0.0, grams_purged=0.0, grams_left=400.0),
    )


def test_two_beds_that_print_already_may_be_noted_with_one_spool():
    """What is, is; one that is still to begin may not take it."""
    assert two_running()(SOUND).faults() == ()


def test_one_spool_goes_from_printer_to_printer():
    """Bed 0 is done at 22:00; a bed of another printer that takes its spool then is fine, before not."""

    def then(clock: str):
        start = at(clock)
        return all_of(
            runs("bed 4", start=start, end=start + timedelta(minutes=60), draws=(Draw("B", 50.0),)),
            lambda c: replace(
                c, batches=tuple(replace(b, filament=PLA) if b.name == "bed 4" else b for b in c.batches)
            ),
            runs("bed 4", changed_from="TPU", purge_g=9.0),
            spool("B", grams_used=60.0, grams_purged=9.0, grams_left=331.0),
            spool("new 2", grams_used=50.0, grams_purged=1.0, grams_left=949.0),
            visits(
                *SOUND.visits[:2],
                Visit(start - timedelta(minutes=25), 25, ("clear bed 3", "start bed 4")),
                *SOUND.visits[4:],
                Visit(at("19:00", 1), 20, ("clear bed 0", "clear bed 4")),
            ),
        )

    assert then("22:25")(SOUND).faults() == ()
    assert then("22:24")(SOUND).faults() == ("spool B is on tall and two at the same time.",)


EVENING = WeeklyWindow(ALL_DAYS, time(18), time(23))
ANN, BEN = WeeklyWindow((0,), time(18), time(20), "Ann"), WeeklyWindow((0,), time(19), time(0), "Ben")


@pytest.mark.parametrize(
    ("there", "clock", "wanted"),
    [
        (Attendance(persons=3), "03:00", 3),  # no window: at every hour
        (Attendance(weekly=(EVENING,), persons=2), "18:00", 2),
        (Attendance(weekly=(EVENING,), persons=2), "17:59", 0),
        (Attendance(weekly=(EVENING,), persons=2), "22:59", 2),
        (Attendance(weekly=(EVENING,), persons=2), "23:00", 0),
        (Attendance(weekly=(WeeklyWindow((1,), time(18), time(23)),)), "18:00", 0),
        (Attendance(weekly=(BEN,)), "23:59", 1),  # until midnight
        (Attendance(weekly=(ANN, BEN)), "18:30", 1),
        (Attendance(weekly=(ANN, BEN)), "19:30", 2),
        (Attendance(weekly=(ANN, BEN, EVENING), persons=2), "19:30", 4),
        (Attendance(weekly=(ANN, ANN)), "19:30", 1),  # nobody is there twice
        (Attendance(dates=(DateWindow(date(2026, 1, 5), time(9), time(10)),)), "09:30", 1),
        (Attendance(dates=(DateWindow(date(2026, 1, 6), time(9), time(10)),)), "09:30", 0),
        (Attendance(weekly=(EVENING,), away=(date(2026, 1, 5),)), "19:00", 0),
        (Attendance(weekly=(EVENING,), away=(date(2026, 1, 4),)), "19:00", 1),
        (Attendance(weekly=(EVENING,), absences=(Absence(date(2026, 1, 5), date(2026, 1, 5)),)), "19:00", 0),
        (Attendance(weekly=(EVENING,), absences=(Absence(date(2026, 1, 6), date(2026, 1, 9)),)), "19:00", 1),
        (
            Attendance(weekly=(ANN, BEN), absences=(Absence(date(2026, 1, 1), date(2026, 1, 5), "Ann"),)),
            "19:30",
            1,
        ),
        (
            Attendance(weekly=(ANN, BEN), absences=(Absence(date(2026, 1, 5), date(2026, 1, 7), "Ann"),)),
            "18:30",
            0,
        ),
        (
            Attendance(weekly=(ANN, BEN), absences=(Absence(date(2026, 1, 1), date(2026, 1, 4), "Ann"),)),
            "19:30",
            2,
        ),
        (Attendance(weekly=(EVENING,), zone="America/St_Johns"), "21:29", 0),  # 17:59 there
        (Attendance(weekly=(EVENING,), zone="America/St_Johns"), "21:30", 1),
    ],
)
def test_who_is_there(there, clock, wanted):
    """Persons on Monday at that clock (UTC), counted by hand."""
    assert persons_there(there, at(clock)) == wanted


def test_a_gap_of_one_minute_is_seen():
    """At 20:00 the person is away for a minute, and just then the spool of bed 0 is empty."""
    gap = (
        WeeklyWindow(ALL_DAYS, time(6), time(8)),
        WeeklyWindow(ALL_DAYS, time(18), time(20)),
        WeeklyWindow(ALL_DAYS, time(20, 1), time(23)),
    )
    assert hours(weekly=gap)(SOUND).faults() == (
        "the change of spool in run of bed 0 is handled while nobody is there.",
        "the visit at 2026-01-05 20:00 lasts beyond the hours in which somebody is there.",
    )
